package trial

import (
	"math"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// Each distribution alone, against its exact quantiles (JCGM 101, 6.4).
func TestSingleSources(t *testing.T) {
	p := 0.975
	cases := []struct {
		name    string
		dist    quantity.Dist
		dof     float64
		u, high float64 // for a standard uncertainty of 1
	}{
		{"normal", quantity.Normal, inf, 1, stat.NormalQuantile(p)},
		{"normal, 9 degrees of freedom", quantity.Normal, 9, math.Sqrt(9.0 / 7), stat.TQuantile(p, 9)},
		{"t", quantity.StudentT, 5, math.Sqrt(5.0 / 3), stat.TQuantile(p, 5)},
		{"rectangular", quantity.Rectangular, inf, 1, math.Sqrt(3) * 0.95},
		{"rectangular, 9 degrees of freedom", quantity.Rectangular, 9, 1, math.Sqrt(3) * 0.95},
		{"triangular", quantity.Triangular, inf, 1, math.Sqrt(6) * (1 - math.Sqrt(0.05))},
		{"arcsine", quantity.Arcsine, inf, 1, math.Sqrt2 * math.Cos(0.025*math.Pi)},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := run(t, from("x", 10, c.dist, 0.1, c.dof), 0.1*c.high, million)
			near(t, "mean", r.Mean, 10, 5e-4)
			near(t, "u", r.U, 0.1*c.u, 1e-3)
			near(t, "symmetric low", r.SymLow, 10-0.1*c.high, 1.5e-3)
			near(t, "symmetric high", r.SymHigh, 10+0.1*c.high, 1.5e-3)
		})
	}
}

// A sum of a normal and a rectangular value has the distribution function
// F(y) = [G(y + a) − G(y − a)]/2a, G(z) = z Φ(z/σ) + σ φ(z/σ), by integration.
func TestNormalPlusRectangular(t *testing.T) {
	const sigma, a = 0.5, 1.5
	g := func(z float64) float64 {
		return z*stat.NormalCDF(z/sigma) + sigma*math.Exp(-z*z/sigma/sigma/2)/math.Sqrt(2*math.Pi)
	}
	exact := bisect(func(y float64) bool { return (g(y+a)-g(y-a))/(2*a) < 0.975 }, 0, 10)
	r := run(t, normal("x", 0, sigma/2).Mul(quantity.Number(2)).Add(limits("y", 0, a)), 0, million)
	near(t, "symmetric low", r.SymLow, -exact, 5e-3)
	near(t, "symmetric high", r.SymHigh, exact, 5e-3)
	near(t, "shortest interval", r.High-r.Low, 2*exact, 5e-3)
}

// The slope and the height of a fitted line have scaled t distributions with
// the fit's degrees of freedom, and so has every point of the line.
func TestFitCoefficients(t *testing.T) {
	cov := [][]float64{{4, -1.5}, {-1.5, 1}}
	fit := coefficients("fit", []float64{10, 20}, cov, 6)
	k := stat.TQuantile(0.975, 6)
	point := fit[0].Mul(quantity.Number(3)).Add(fit[1])
	both := fit[0].Mul(fit[1]).Div(fit[1]) // uses both coefficients on their own
	for name, q := range map[string]quantity.Q{"slope": fit[0], "height": fit[1], "point": point, "both": both} {
		r := run(t, q, k*q.U(), million)
		near(t, name+" symmetric low", (r.SymLow-q.Value())/q.U(), -k, 0.02)
		near(t, name+" symmetric high", (r.SymHigh-q.Value())/q.U(), k, 0.02)
		near(t, name+" u", r.U/q.U(), math.Sqrt(6.0/4), 0.015)
		if name != "both" && r.Verdict != Validated {
			t.Errorf("%s: %v, d = %v, %v, δ = %v", name, r.Verdict, r.DLow, r.DHigh, r.Tolerance)
		}
	}
}

// Coefficients drawn together keep their covariance, times ν/(ν − 2).
func TestJointCovariance(t *testing.T) {
	cov := [][]float64{{4, -1.5, 0.3}, {-1.5, 1, 0.2}, {0.3, 0.2, 2}}
	fit := coefficients("fit", []float64{0, 0, 0}, cov, 12)
	factor := 12.0 / 10
	for i := range cov {
		for j := range i {
			// Two uses that are no multiples of each other, recombined.
			q := square(fit[i].Add(fit[j])).Sub(square(fit[i].Sub(fit[j])))
			r := run(t, q, 0, million)
			near(t, "4·covariance", r.Mean, 4*factor*cov[i][j], 0.06)
		}
	}
}

// A combination that the covariance matrix says is certain does not vary.
func TestSemiDefiniteCovariance(t *testing.T) {
	fit := coefficients("fit", []float64{1, 2}, [][]float64{{1, 2}, {2, 4}}, 8)
	difference := square(fit[1]).Sub(square(fit[0].Mul(quantity.Number(2))))
	r := run(t, difference, 0, Options{})
	near(t, "u", r.U, 0, 1e-12)
	if _, err := cholesky([][]float64{{1, 2}, {2, 1}}); err == nil {
		t.Error("a covariance matrix that is none was taken")
	}
}

// A mean of readings: what is common to them passes, their own sources do
// not, the scatter stands for them. A reading by itself has its own source.
func TestReadingsOwnSources(t *testing.T) {
	screw := source("screw", 0.3)
	scatter := quantity.Term{Source: source("scatter", 0.4), C: 1}
	var logs []quantity.Q
	k := []float64{0.25, 0.25, 0.25, 0.25}
	for _, id := range []string{"a", "b", "c", "d"} {
		logs = append(logs, apply(quantity.Exp, reading(id, 0, 5, screw)))
	}
	mean := quantity.Reduce(1, unit.Dim{}, k, logs, scatter)
	if mean.Node().Op != quantity.Line {
		t.Fatal("the mean is affine")
	}
	// e^s with s normal of standard deviation 0.3: moments of the log-normal
	// distribution; the mean of four alike is one of them.
	v := 0.3 * 0.3
	wantMean := math.Exp(v / 2)
	wantU := math.Sqrt(math.Expm1(v)*math.Exp(v) + 0.16)
	r := run(t, mean, 0, million)
	near(t, "mean", r.Mean, wantMean, 3e-3)
	near(t, "u", r.U, wantU, 3e-3)

	// The same node within and without, in one program: the own source acts
	// on the reading alone.
	both := mean.Sub(quantity.Reduce(1, unit.Dim{}, k, logs, scatter)).Add(logs[0]).Sub(logs[0])
	for i, x := range draws(t, both, Options{}) {
		if math.Abs(x) > 1e-9 {
			t.Fatalf("draw %d is %v", i, x)
		}
	}
	single := run(t, apply(quantity.Ln, logs[0]).Add(mean), 0, million)
	// ln of the reading itself: variance of own and screw, and the covariance
	// of s and e^s, 0.09·e^0.045, twice.
	want := math.Sqrt(25 + v + wantU*wantU + 2*v*wantMean)
	near(t, "u of a reading and the mean", single.U, want, 0.02)
}

// A function of several outputs gets the readings without their own sources,
// and its outputs share each call.
func TestFunctionOfSeveral(t *testing.T) {
	scale := source("scale", 0.2)
	a, b := reading("a", 3, 1, scale), reading("b", 5, 1, scale)
	m := &quantity.Multi{
		Args:    []*quantity.Node{a.Node(), b.Node()},
		Outputs: 2,
		F:       func(in, out []float64) { out[0], out[1] = in[0]*in[1], in[0]/in[1] },
	}
	extra := [][]quantity.Term{{{Source: source("fit", 0.1), C: 1}}, nil}
	out := quantity.Picks(m, []quantity.Q{a, b}, []float64{15, 0.6}, make([]unit.Dim, 2),
		[][]float64{{5, 3}, {0.2, -0.12}}, extra)
	// product·quotient = a² but for the fit's own uncertainty.
	q := out[0].Mul(out[1]).Sub(square(normalOn(scale, 3))).Div(out[1])
	r := run(t, q, 0, million)
	near(t, "mean", r.Mean, 0, 1e-3)
	near(t, "u", r.U, 0.1, 1e-3)
	product := run(t, out[0], 0, million)
	// (3 + s)(5 + s): mean 15 + 0.04, variance (8·0.2)² + 2·0.04².
	near(t, "mean of the product", product.Mean, 15.04, 6e-3)
	near(t, "u of the product", product.U, math.Sqrt(2.56+2*0.0016+0.01), 6e-3)
}

func normalOn(s *quantity.Source, v float64) quantity.Q {
	return quantity.Uncertain(v, unit.Dim{}, quantity.Term{Source: s, C: 1})
}
