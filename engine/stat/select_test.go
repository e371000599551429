package stat

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// bruteShortest and bruteSymmetric follow JCGM 101:2008, 7.7.2 word for word
// on the sorted values, counting from 1.
func bruteShortest(data []float64, p float64) (low, high float64) {
	y := slices.Sorted(slices.Values(data))
	m := len(y)
	q := int(p * float64(m))
	if float64(q) != p*float64(m) {
		q = int(p*float64(m) + 0.5)
	}
	low, high = math.Inf(-1), math.Inf(1)
	for r := 1; r <= m-q; r++ {
		if y[r+q-1]-y[r-1] < high-low {
			low, high = y[r-1], y[r+q-1]
		}
	}
	return low, high
}

func bruteSymmetric(data []float64, p float64) (low, high float64) {
	y := slices.Sorted(slices.Values(data))
	m := len(y)
	q := int(p * float64(m))
	if float64(q) != p*float64(m) {
		q = int(p*float64(m) + 0.5)
	}
	r := (m - q) / 2
	if 2*r != m-q {
		r = (m - q + 1) / 2
	}
	return y[r-1], y[r+q-1]
}

func TestIntervalsAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	shapes := map[string]func() float64{
		"normal":      r.NormFloat64,
		"exponential": r.ExpFloat64,
		"rectangular": func() float64 { return 2*r.Float64() - 1 },
		"cauchy":      func() float64 { return math.Tan(math.Pi * (r.Float64() - 0.5)) },
		"few values":  func() float64 { return float64(r.IntN(5)) },
		"constant":    func() float64 { return -3.5 },
		"huge range":  func() float64 { return math.Ldexp(r.Float64()-0.5, r.IntN(2000)-1000) },
	}
	for name, draw := range shapes {
		for _, m := range []int{20, 37, 100, 5000, 20001, 60000} {
			data := make([]float64, m)
			for i := range data {
				data[i] = draw()
			}
			if name == "exponential" && m == 20001 {
				slices.Sort(data) // the sample must not mind the order
			}
			before := slices.Clone(data)
			for _, p := range []float64{0.5, 0.6827, 0.9, 0.95, 0.99} {
				if m-int(p*float64(m)+0.5) < 1 {
					continue
				}
				low, high := ShortestInterval(data, p)
				if wl, wh := bruteShortest(data, p); low != wl || high != wh {
					t.Errorf("%s, %d values, p = %g: shortest %g … %g, want %g … %g", name, m, p, low, high, wl, wh)
				}
				low, high = SymmetricInterval(data, p)
				if wl, wh := bruteSymmetric(data, p); low != wl || high != wh {
					t.Errorf("%s, %d values, p = %g: symmetric %g … %g, want %g … %g", name, m, p, low, high, wl, wh)
				}
			}
			if !slices.Equal(data, before) {
				t.Fatalf("%s: data were changed", name)
			}
		}
	}
}

func TestIntervalEdges(t *testing.T) {
	nan := math.NaN()
	big := make([]float64, 50000)
	big[33333] = nan
	for _, c := range []struct {
		data []float64
		p    float64
	}{{nil, 0.95}, {[]float64{1, nan, 2}, 0.95}, {big, 0.95}, {[]float64{1, 2}, 0}, {[]float64{1, 2}, 1.1}, {[]float64{1, 2}, nan}} {
		if low, high := ShortestInterval(c.data, c.p); !math.IsNaN(low) || !math.IsNaN(high) {
			t.Errorf("shortest interval of bad data: %g … %g", low, high)
		}
		if low, high := SymmetricInterval(c.data, c.p); !math.IsNaN(low) || !math.IsNaN(high) {
			t.Errorf("symmetric interval of bad data: %g … %g", low, high)
		}
	}
	for _, p := range []float64{0.1, 0.95, 1} {
		if low, high := ShortestInterval([]float64{4}, p); low != 4 || high != 4 {
			t.Errorf("one value: %g … %g", low, high)
		}
		if low, high := SymmetricInterval([]float64{4, 9}, 1); low != 4 || high != 9 {
			t.Errorf("everything: %g … %g", low, high)
		}
	}
	inf := math.Inf(1)
	if low, high := ShortestInterval([]float64{-inf, 1, 2, 3, inf}, 0.4); low != 1 || high != 3 {
		t.Errorf("with infinities: %g … %g", low, high)
	}
}

// JCGM 101:2008, 9.2: the sum of four values. Exact ends of the 95 % interval:
// 3.92 for four normal ones (Table 2), 2√3·(2 − (3/5)^¼) = 3.88 for four
// rectangular ones of unit standard deviation (Table 3 and Annex E). The scatter
// between the published Monte Carlo runs is 0.02.
func TestJCGM101AdditiveModel(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     Sampler
		scale float64
		ends  float64
	}{
		{"normal", Normal(), 1, 3.919928},
		{"rectangular", Rectangular(), math.Sqrt(3), 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25))},
	} {
		sum := make([]float64, draws)
		for _, input := range []string{"X1", "X2", "X3", "X4"} {
			x := make([]float64, draws)
			c.s.Fill(x, NewStream(1, input, 0))
			for i, v := range x {
				sum[i] += c.scale * v
			}
		}
		var m Moments
		m.Add(sum)
		if math.Abs(m.SD()-2) > 0.005 {
			t.Errorf("%s: u = %g, want 2.00", c.name, m.SD())
		}
		for kind, interval := range map[string]func([]float64, float64) (float64, float64){"shortest": ShortestInterval, "symmetric": SymmetricInterval} {
			low, high := interval(sum, 0.95)
			if math.Abs(high-c.ends) > 0.04 || math.Abs(low+c.ends) > 0.04 || math.Abs(high-low-2*c.ends) > 0.02 {
				t.Errorf("%s, %s: %.3f … %.3f, want ±%.3f", c.name, kind, low, high, c.ends)
			}
		}
	}
}

// JCGM 101:2008, 9.4.2.2.3: x1 = x2 = 0 with u = 0.005: X1² + X2² is
// exponential with mean 50e-6, so the shortest 95 % interval is 0 … 150e-6.
func TestJCGM101ComparisonLoss(t *testing.T) {
	a, b := sample(Normal(), "X1", draws), sample(Normal(), "X2", draws)
	for i := range a {
		a[i] = 25e-6 * (a[i]*a[i] + b[i]*b[i])
	}
	var m Moments
	m.Add(a)
	low, high := ShortestInterval(a, 0.95)
	if math.Abs(m.Mean()-50e-6) > 0.5e-6 || math.Abs(m.SD()-50e-6) > 0.5e-6 || low > 0.5e-6 || math.Abs(high-150e-6) > 0.5e-6 {
		t.Errorf("mean %g, u %g, %g … %g", m.Mean(), m.SD(), low, high)
	}
}

func TestSortFloats(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	for _, n := range []int{0, 1, 2047, 2048, 50000} {
		x := make([]float64, n)
		for i := range x {
			x[i] = math.Ldexp(r.NormFloat64(), r.IntN(200)-100)
		}
		if n > 100 {
			x[3], x[50], x[77], x[78] = math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1)
		}
		want := slices.Sorted(slices.Values(x))
		sortFloats(x)
		if !slices.Equal(x, want) {
			t.Errorf("%d values are not in order", n)
		}
	}
}

// BenchmarkShortestInterval shows nanoseconds a value, and as x_floor the ratio
// to a bare loop for the mean.
func BenchmarkShortestInterval(b *testing.B) {
	data := sample(StudentT(5), "interval", 200_000)
	perValue := func(b *testing.B) float64 {
		return float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(len(data))
	}
	floor := 0.0
	b.Run("floor", func(b *testing.B) {
		total := 0.0
		for b.Loop() {
			for _, v := range data {
				total += v
			}
		}
		floor = perValue(b)
	})
	b.Run("tails", func(b *testing.B) {
		for b.Loop() {
			ShortestInterval(data, 0.95)
		}
		b.ReportMetric(perValue(b), "ns/value")
		b.ReportMetric(perValue(b)/floor, "x_floor")
	})
	b.Run("moments", func(b *testing.B) {
		for b.Loop() {
			var m Moments
			m.Add(data)
		}
		b.ReportMetric(perValue(b), "ns/value")
	})
	b.Run("whole sort", func(b *testing.B) {
		for b.Loop() {
			slices.Sort(slices.Clone(data))
		}
		b.ReportMetric(perValue(b), "ns/value")
	})
}
