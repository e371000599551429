package stat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

const draws = 1_000_000

func sample(s Sampler, name string, n int) []float64 {
	x := make([]float64, n)
	s.Fill(x, NewStream(7, name, 3))
	return x
}

// The generator is that of the standard library, bit for bit.
func TestStreamIsPCG(t *testing.T) {
	s := NewStream(1, "wire.across", 0)
	want := rand.NewPCG(s.hi, s.lo)
	for i := range 1000 {
		if got := s.Uint64(); got != want.Uint64() {
			t.Fatalf("number %d differs", i)
		}
	}
}

func TestStreamsDiffer(t *testing.T) {
	seen := map[Stream]string{}
	for seed := range uint64(40) {
		for _, name := range []string{"", "a", "b", "ab", "ba", "screw.zero", "screw.calibration"} {
			for chunk := range 40 {
				s := *NewStream(seed, name, chunk)
				key := fmt.Sprint(seed, name, chunk)
				if other, ok := seen[s]; ok {
					t.Fatalf("%s and %s have one stream", key, other)
				}
				seen[s] = key
			}
		}
	}
	if a, b := NewStream(5, "x", 2), NewStream(5, "x", 2); *a != *b {
		t.Error("one stream, two states")
	}
}

// What is drawn from one stream does not depend on how the block is cut.
func TestFillInParts(t *testing.T) {
	for name, s := range standardSamplers() {
		whole := sample(s, "parts", 10000)
		parts := make([]float64, 10000)
		stream := NewStream(7, "parts", 3)
		for from := 0; from < len(parts); from += 37 {
			s.Fill(parts[from:min(from+37, len(parts))], stream)
		}
		if !slices.Equal(whole, parts) {
			t.Errorf("%s: cut blocks differ", name)
		}
	}
}

func standardSamplers() map[string]Sampler {
	return map[string]Sampler{
		"normal": Normal(), "rectangular": Rectangular(), "triangular": Triangular(), "arcsine": Arcsine(),
		"t0.5": StudentT(0.5), "t1": StudentT(1), "t1.5": StudentT(1.5), "t2": StudentT(2), "t3": StudentT(3),
		"t5": StudentT(5), "t16.7": StudentT(16.7), "t100": StudentT(100), "t1e6": StudentT(1e6),
	}
}

// kolmogorovSmirnov returns √n·D for the ordered sample x, seen at every 64th
// value: too small by less than 64/√n.
func kolmogorovSmirnov(x []float64, cdf func(float64) float64) float64 {
	d, n := 0.0, float64(len(x))
	for i := 0; i < len(x); i += 64 {
		f := cdf(x[i])
		d = max(d, f-float64(i)/n, float64(i+1)/n-f)
	}
	return d * math.Sqrt(n)
}

// tCDF is the library's distribution function, or that of this package where
// the library is slow; both are compared in TestTDistributionProperties.
func tCDF(nu float64) func(float64) float64 {
	if nu > 1000 {
		return func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 } // within 1e-7 of it
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.CDF
}

// The samplers against the exact distribution functions: a fixed seed, a
// million draws. √n·D exceeds 1.95 with probability 0.001 (Kolmogorov).
func TestSamplersKolmogorovSmirnov(t *testing.T) {
	cdfs := map[string]func(float64) float64{
		"normal":      func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 },
		"rectangular": func(x float64) float64 { return (1 + x) / 2 },
		"triangular": func(x float64) float64 {
			if x < 0 {
				return (1 + x) * (1 + x) / 2
			}
			return 1 - (1-x)*(1-x)/2
		},
		"arcsine": func(x float64) float64 { return 0.5 + math.Asin(x)/math.Pi },
	}
	for _, nu := range []float64{0.5, 1, 1.5, 2, 3, 5, 16.7, 100, 1e6} {
		cdfs[fmt.Sprintf("t%v", nu)] = tCDF(nu)
	}
	cdfs["t1e6"] = cdfs["t1e+06"]
	for name, s := range standardSamplers() {
		x := sample(s, name, draws)
		sortFloats(x)
		if d := kolmogorovSmirnov(x, cdfs[name]); !(d < 1.95) {
			t.Errorf("%s: √n·D = %.3f", name, d)
		}
		// The tail by itself: among the outermost values the distribution
		// function of |x|, given that it is beyond a bound, is rectangular.
		if name[0] == 't' && name[1] != 'r' || name == "normal" {
			checkTail(t, name, x, cdfs[name])
		}
	}
}

// checkTail compares both tails of the ordered sample with the exact one: the
// number of values beyond the 1e-4 point and 3e-4 … 0.01 points, where a
// ziggurat changes from layers to tail, within four standard deviations.
func checkTail(t *testing.T, name string, x []float64, cdf func(float64) float64) {
	n := float64(len(x))
	for _, q := range []float64{2e-5, 1e-4, 1e-3, 3e-3, 0.01} {
		i := sort.Search(len(x), func(k int) bool { return cdf(x[k]) >= q })
		j := sort.Search(len(x), func(k int) bool { return cdf(-x[len(x)-1-k]) >= q })
		for side, count := range map[string]int{"lower": i, "upper": j} {
			if z := (float64(count) - n*q) / math.Sqrt(n*q); math.Abs(z) > 4 {
				t.Errorf("%s: %s tail beyond the %g point: %d values instead of %g", name, side, q, count, n*q)
			}
		}
	}
}

// Means and variances, where they exist with a variance of their own: within
// five standard deviations. Var s² = (μ4 − σ⁴)/n.
func TestSamplersMoments(t *testing.T) {
	for _, c := range []struct {
		name               string
		s                  Sampler
		variance, kurtosis float64
	}{
		{"normal", Normal(), 1, 3},
		{"rectangular", Rectangular(), 1. / 3, 1.8},
		{"triangular", Triangular(), 1. / 6, 2.4},
		{"arcsine", Arcsine(), 0.5, 1.5},
		{"t5", StudentT(5), 5. / 3, 9},
		{"t16.7", StudentT(16.7), 16.7 / 14.7, 3 + 6/12.7},
		{"t100", StudentT(100), 100. / 98, 3 + 6./96},
	} {
		var m Moments
		m.Add(sample(c.s, c.name, draws))
		if z := m.Mean() / math.Sqrt(c.variance/draws); math.Abs(z) > 5 {
			t.Errorf("%s: mean %g is off by %.1f standard deviations", c.name, m.Mean(), z)
		}
		if z := (m.Variance()/c.variance - 1) / math.Sqrt((c.kurtosis-1)/draws); math.Abs(z) > 5 {
			t.Errorf("%s: variance %g is off by %.1f standard deviations", c.name, m.Variance(), z)
		}
	}
}

// The layers have one area and end at the peak, for every ν.
func TestZigguratLayers(t *testing.T) {
	for nu := 0.5; nu < 1e17; nu *= 1.37 {
		checkLayers(t, newZiggurat(nu))
	}
	z := newZiggurat(math.Inf(1))
	checkLayers(t, z)
	// Marsaglia and Tsang (2000), J. Stat. Softw. 5 (8): r of 256 layers.
	near(t, "r of the normal", z.layer[0].inner, 3.6541528853610088, 1e-13)
}

func checkLayers(t *testing.T, z *ziggurat) {
	t.Helper()
	area := z.layer[0].scale * 0x1p52 * z.height[1]
	for i := 1; i < layers; i++ {
		a := z.layer[i].scale * 0x1p52 * (z.height[i+1] - z.height[i])
		if math.Abs(a/area-1) > 1e-9 {
			t.Fatalf("ν = %g: layer %d has %.15g of the area", z.nu, i, a/area)
		}
		if z.layer[i].scale*0x1p52 != z.layer[i-1].inner {
			t.Fatalf("ν = %g: layer %d is as wide as no edge", z.nu, i)
		}
	}
	if cover := 2 * halfArea(z.nu); layers*area*2 < cover || layers*area*2 > 1.03*cover {
		t.Errorf("ν = %g: the layers cover %g of the density", z.nu, layers*area*2/cover)
	}
}

func TestSamplerDegreesOfFreedomOutOfRange(t *testing.T) {
	for _, nu := range []float64{0.49, 0, -3, math.NaN()} {
		x := []float64{1, 1}
		StudentT(nu).Fill(x, NewStream(1, "", 0))
		y := [][]float64{{1}, {1}}
		NewMultivariateT(nu, 2).Fill(y, NewStream(1, "", 0))
		if !math.IsNaN(x[0]) || !math.IsNaN(x[1]) || !math.IsNaN(y[0][0]) || !math.IsNaN(y[1][0]) {
			t.Errorf("ν = %g draws numbers", nu)
		}
	}
}

// The multivariate t distribution: every coordinate is t, coordinates are
// uncorrelated with variance ν/(ν−2), and the sum of squares over the dimension
// has the F distribution (Kotz and Nadarajah, 2004).
func TestMultivariateT(t *testing.T) {
	const dim = 3
	for _, nu := range []float64{1, 2, 6.5, 30, math.Inf(1)} {
		x := make([][]float64, dim)
		for j := range x {
			x[j] = make([]float64, draws)
		}
		NewMultivariateT(nu, dim).Fill(x, NewStream(11, "line", 0))
		f := make([]float64, draws)
		product := make([]float64, draws)
		for i := range f {
			for j := range x {
				f[i] += x[j][i] * x[j][i] / dim
			}
			product[i] = x[0][i] * x[2][i]
		}
		if nu > 6 {
			c := nu / (nu - 2)
			fourth := c * nu / (nu - 4) // E x²y²
			if math.IsInf(nu, 1) {
				c, fourth = 1, 1
			}
			if z := Mean(product) / math.Sqrt(fourth/draws); math.Abs(z) > 5 {
				t.Errorf("ν = %g: coordinates are correlated, %.1f standard deviations", nu, z)
			}
		}
		for j := range x {
			sortFloats(x[j])
			if d := kolmogorovSmirnov(x[j], tCDF(nu)); !(d < 1.95) {
				t.Errorf("ν = %g: coordinate %d: √n·D = %.3f", nu, j, d)
			}
		}
		sortFloats(f)
		cdf := func(v float64) float64 { return mathext.RegIncBeta(dim/2., nu/2, dim*v/(dim*v+nu)) }
		if math.IsInf(nu, 1) {
			cdf = func(v float64) float64 { return mathext.GammaIncReg(dim/2., dim*v/2) }
		}
		if d := kolmogorovSmirnov(f, cdf); !(d < 1.95) {
			t.Errorf("ν = %g: radius: √n·D = %.3f", nu, d)
		}
	}
}

// BenchmarkFill shows nanoseconds a draw, and as x_floor the ratio to the bare
// generator of the standard library.
func BenchmarkFill(b *testing.B) {
	block := make([]float64, 4096)
	perDraw := func(b *testing.B) float64 {
		return float64(b.Elapsed().Nanoseconds()) / float64(b.N) / float64(len(block))
	}
	pcg := rand.NewPCG(1, 2)
	floor := 0.0
	b.Run("floor", func(b *testing.B) {
		for b.Loop() {
			for i := range block {
				block[i] = float64(int64(pcg.Uint64()) >> 11)
			}
		}
		floor = perDraw(b)
		b.ReportMetric(floor, "ns/draw")
	})
	all := standardSamplers()
	for _, name := range []string{"normal", "rectangular", "triangular", "arcsine", "t1", "t5", "t16.7", "t1e6"} {
		b.Run(name, func(b *testing.B) {
			s := NewStream(1, name, 0)
			for b.Loop() {
				all[name].Fill(block, s)
			}
			b.ReportMetric(perDraw(b), "ns/draw")
			b.ReportMetric(perDraw(b)/floor, "x_floor")
		})
	}
}

func BenchmarkNewZiggurat(b *testing.B) {
	for b.Loop() {
		newZiggurat(16.7)
	}
}
