package stat

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"example.org/taut/engine/internal/strd"
)

// NIST StRD, univariate summary statistics: the certified values of the file
// headers. NumAcc3 and Mavro keep fewer digits of s because the data, read as
// binary floats, are already off by that much; TestSDExact shows that the
// arithmetic loses nothing.
func TestNISTUnivariate(t *testing.T) {
	for _, c := range []struct {
		name     string
		mean, sd float64
		digits   float64 // of the standard deviation
	}{
		{"Lottery", 518.958715596330, 291.699727470969, 14},
		{"Lew", -177.435000000000, 277.332168044316, 14},
		{"Mavro", 2.00185600000000, 0.000429123454003053, 13},
		{"NumAcc1", 10000002, 1, 15},
		{"NumAcc2", 1.2, 0.1, 14},
		{"NumAcc3", 1000000.2, 0.1, 9},
	} {
		x := readColumns(t, c.name)[0]
		if d := strd.LRE(Mean(x), c.mean); d < 14 {
			t.Errorf("%s: mean %.17g, %.1f digits", c.name, Mean(x), d)
		}
		if d := strd.LRE(SD(x), c.sd); d < c.digits {
			t.Errorf("%s: standard deviation %.17g, %.1f digits", c.name, SD(x), d)
		}
	}
}

func readColumns(t *testing.T, name string) [][]float64 {
	t.Helper()
	c, err := strd.Columns("../../testdata/nist-strd/" + name + ".dat")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// exactMeanSD computes in rational arithmetic from the floats as they are.
func exactMeanSD(x []float64) (mean, sd float64) {
	rat := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	sum := new(big.Rat)
	for _, v := range x {
		sum.Add(sum, rat(v))
	}
	m := sum.Quo(sum, rat(float64(len(x))))
	ss := new(big.Rat)
	for _, v := range x {
		d := new(big.Rat).Sub(rat(v), m)
		ss.Add(ss, d.Mul(d, d))
	}
	ss.Quo(ss, rat(float64(len(x)-1)))
	mean, _ = m.Float64()
	variance := new(big.Float).SetPrec(200).SetRat(ss)
	sd, _ = variance.Sqrt(variance).Float64()
	return mean, sd
}

func TestSDExact(t *testing.T) {
	for _, name := range []string{"Lottery", "Lew", "Mavro", "NumAcc1", "NumAcc2", "NumAcc3"} {
		x := readColumns(t, name)[0]
		mean, sd := exactMeanSD(x)
		if d := strd.LRE(Mean(x), mean); d < 15 {
			t.Errorf("%s: mean %.17g, want %.17g", name, Mean(x), mean)
		}
		if d := strd.LRE(SD(x), sd); d < 14.9 {
			t.Errorf("%s: standard deviation %.17g, want %.17g", name, SD(x), sd)
		}
	}
}

func randomColumn(r *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64() * math.Pow(10, 6*r.Float64()-3)
	}
	return x
}

// Sums are correctly rounded, so they equal those of rational arithmetic, in every order.
func TestSumExact(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 2000 {
		x := make([]float64, 1+r.IntN(40))
		want := new(big.Rat)
		for i := range x {
			x[i] = r.NormFloat64() * math.Pow(2, float64(r.IntN(120)-60))
			if i > 0 && r.IntN(4) == 0 {
				x[i] = -x[i-1] // cancellation
			}
			want.Add(want, new(big.Rat).SetFloat64(x[i]))
		}
		w, _ := want.Float64()
		for range 3 {
			if got := Sum(x); got != w {
				t.Fatalf("Sum(%v) = %.17g, want %.17g", x, got, w)
			}
			r.Shuffle(len(x), func(i, j int) { x[i], x[j] = x[j], x[i] })
		}
	}
	// Ties, which a plain rounding of the leading parts would get wrong.
	for _, c := range []struct {
		x    []float64
		want float64
	}{
		{[]float64{1, 0x1p-53, 0x1p-106}, 1 + 0x1p-52},
		{[]float64{1, 0x1p-53}, 1},
		{[]float64{1, 0x1p-53, -0x1p-106}, 1},
		{[]float64{math.MaxFloat64, math.MaxFloat64, -math.MaxFloat64}, math.MaxFloat64},
		{nil, 0},
	} {
		if got := Sum(c.x); got != c.want {
			t.Errorf("Sum(%v) = %.17g, want %.17g", c.x, got, c.want)
		}
	}
}

func TestDescribeProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 500 {
		x := randomColumn(r, 2+r.IntN(30))
		mean, sd := Mean(x), SD(x)
		y := make([]float64, len(x))
		for i, p := range r.Perm(len(x)) {
			y[i] = x[p]
		}
		if Mean(y) != mean || SD(y) != sd || Min(y) != Min(x) || Max(y) != Max(x) {
			t.Fatalf("the order of %v matters", x)
		}
		for i := range y { // a power of two changes no digit
			y[i] = x[i] * -0x1p300
		}
		if Mean(y) != mean*-0x1p300 || SD(y) != sd*0x1p300 {
			t.Fatalf("scaling of %v", x)
		}
		for i := range y {
			y[i] = x[i] + 4096
		}
		near(t, "shifted mean", Mean(y), mean+4096, 1e-15)
		near(t, "shifted standard deviation", SD(y), sd, 1e-9)
	}
}

func TestDescribeEdges(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"mean of none", Mean(nil), nan},
		{"sd of one", SD([]float64{3}), nan},
		{"min of none", Min(nil), nan},
		{"max of none", Max(nil), nan},
		{"identical readings", SD([]float64{0.1, 0.1, 0.1}), 0},
		{"mean at the end of the range", Mean([]float64{math.MaxFloat64, math.MaxFloat64}), math.MaxFloat64},
		{"mean with infinity", Mean([]float64{inf, 1}), inf},
		{"sd with infinity", SD([]float64{inf, 1}), nan},
		{"sd of tiny values", SD([]float64{1e-300, 3e-300}), math.Sqrt2 * 1e-300},
		{"sum with both infinities", Sum([]float64{inf, -inf}), nan},
	} {
		if c.got != c.want && !(math.IsNaN(c.got) && math.IsNaN(c.want)) && math.Abs(c.got-c.want) > 1e-15*math.Abs(c.want) {
			t.Errorf("%s: %g, want %g", c.name, c.got, c.want)
		}
	}
}

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.17g, want %.17g", what, got, want)
	}
}

func TestMoments(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	x := make([]float64, 10007)
	for i := range x {
		x[i] = 1e6 + r.NormFloat64()
	}
	mean, sd := exactMeanSD(x)
	var whole, merged Moments
	whole.Add(x)
	for from := 0; from < len(x); from += 1000 {
		var part Moments
		part.Add(x[from:min(from+1000, len(x))])
		merged.Merge(part)
	}
	for _, m := range []Moments{whole, merged} {
		near(t, "mean", m.Mean(), mean, 1e-15)
		near(t, "sd", m.SD(), sd, 1e-13)
		if m.N() != len(x) {
			t.Errorf("n = %d", m.N())
		}
	}
	var none Moments
	none.Merge(Moments{})
	none.Add(nil)
	if !math.IsNaN(none.Mean()) || !math.IsNaN(none.SD()) {
		t.Error("moments of nothing are defined")
	}
}
