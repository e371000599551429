package fit

import (
	"math"
	"strconv"
	"testing"

	"example.org/taut/engine/internal/strd"
	"example.org/taut/engine/stat"
)

func mustFit(t testing.TB, d Data, o Options) *Result {
	t.Helper()
	r, err := Fit(d, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// NIST StRD, linear regression: certified coefficients with their standard
// deviations, residual standard deviation and R² (uncentred for NoInt1), from
// the headers of the files. The digits demanded are those that the rounding of
// the data to binary floats leaves, or more than 7.
func TestNISTRegression(t *testing.T) {
	type pair struct{ value, sd float64 }
	for _, c := range []struct {
		name      string
		o         Options
		coef      []pair
		s, r2     float64
		digits    float64 // of the coefficients
		digitsOfU float64
	}{
		{"Norris", Options{}, []pair{
			{1.00211681802045, 0.429796848199937e-03}, {-0.262323073774029, 0.232818234301152},
		}, 0.884796396144373, 0.999993745883712, 13.5, 13.5},
		{"NoInt1", Options{Model: Proportional}, []pair{
			{2.07438016528926, 0.165289256198347e-01},
		}, 3.56753034006338, 0.999365492298663, 14, 14},
		{"Pontius", Options{Model: Polynomial, Degree: 2}, []pair{
			{0.673565789473684e-03, 0.107938612033077e-03}, {0.732059160401003e-06, 0.157817399981659e-09}, {-0.316081871345029e-14, 0.486652849992036e-16},
		}, 0.205177424076185e-03, 0.999999900178537, 12.5, 13},
		{"Wampler1", Options{Model: Polynomial, Degree: 5}, []pair{
			{1, 0}, {1, 0}, {1, 0}, {1, 0}, {1, 0}, {1, 0},
		}, 0, 1, 15, 15},
		{"Wampler3", Options{Model: Polynomial, Degree: 5}, []pair{
			{1, 2152.32624678170}, {1, 2363.55173469681}, {1, 779.343524331583}, {1, 101.475507550350}, {1, 5.64566512170752}, {1, 0.112324854679312},
		}, 2360.14502379268, 0.999995559025820, 11.5, 13.5},
		{"Wampler4", Options{Model: Polynomial, Degree: 5}, []pair{
			{1, 215232.624678170}, {1, 236355.173469681}, {1, 77934.3524331583}, {1, 10147.5507550350}, {1, 564.566512170752}, {1, 11.2324854679312},
		}, 236014.502379268, 0.957478440825662, 9.5, 13.5},
		{"Filip", Options{Model: Polynomial, Degree: 10}, []pair{
			{-1467.48961422980, 298.084530995537}, {-2772.17959193342, 559.779865474950}, {-2316.37108160893, 466.477572127796},
			{-1127.97394098372, 227.204274477751}, {-354.478233703349, 71.6478660875927}, {-75.1242017393757, 15.2897178747400},
			{-10.8753180355343, 2.23691159816033}, {-1.06221498588947, 0.221624321934227}, {-0.670191154593408e-01, 0.142363763154724e-01},
			{-0.246781078275479e-02, 0.535617408889821e-03}, {-0.402962525080404e-04, 0.896632837373868e-05},
		}, 0.334801051324544e-02, 0.996727416185620, 12, 12},
	} {
		columns, err := strd.Columns("../../testdata/nist-strd/" + c.name + ".dat")
		if err != nil {
			t.Fatal(err)
		}
		r := mustFit(t, Data{X: columns[1], Y: columns[0]}, c.o)
		worst, worstU := 15.0, 15.0
		for k, want := range c.coef {
			worst = min(worst, strd.LRE(r.Coef[k], want.value))
			worstU = min(worstU, strd.LRE(math.Sqrt(r.Cov[k][k]), want.sd))
		}
		t.Logf("%s: %.1f digits of the coefficients, %.1f of their standard deviations", c.name, worst, worstU)
		if worst < c.digits || worstU < c.digitsOfU || len(c.coef) != r.P {
			t.Errorf("%s: %.1f and %.1f digits; want %g and %g", c.name, worst, worstU, c.digits, c.digitsOfU)
		}
		if a, b := strd.LRE(r.S, c.s), strd.LRE(r.R2, c.r2); a < 13 || b < 13 {
			t.Errorf("%s: s = %.15g (%.1f digits), R² = %.15g (%.1f)", c.name, r.S, a, r.R2, b)
		}
	}
}

// printed compares with a published figure to all its digits.
func printed(t *testing.T, what string, got float64, decimals int, want string) {
	t.Helper()
	if s := strconv.FormatFloat(got, 'f', decimals, 64); s != want {
		t.Errorf("%s = %s (%g), published %s", what, s, got, want)
	}
}

// GUM (JCGM 100:2008), H.3: calibration of a thermometer, Table H.6.
func TestGUMThermometer(t *testing.T) {
	d := Data{
		X: []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511},
		Y: []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160},
	}
	for i := range d.X {
		d.X[i] -= 20
	}
	r := mustFit(t, d, Options{})
	printed(t, "y2", r.Coef[0], 5, "0.00218")
	printed(t, "y1", r.Coef[1], 4, "-0.1712")
	printed(t, "s(y2)", math.Sqrt(r.Cov[0][0]), 5, "0.00067")
	printed(t, "s(y1)", math.Sqrt(r.Cov[1][1]), 4, "0.0029")
	printed(t, "r", r.Cov[0][1]/math.Sqrt(r.Cov[0][0]*r.Cov[1][1]), 3, "-0.930")
	printed(t, "s", r.S, 4, "0.0035")
	y, grad := r.Predict(10, 0)
	variance := grad[0]*grad[0]*r.Cov[0][0] + 2*grad[0]*grad[1]*r.Cov[0][1] + grad[1]*grad[1]*r.Cov[1][1]
	printed(t, "b(30 °C)", y, 4, "-0.1494")
	printed(t, "u²(b(30 °C)) / 1e-6", 1e6*variance, 1, "17.1")
	printed(t, "u(b(30 °C))", r.PredictU(10, 0), 4, "0.0041")
	if r.DOF != 9 {
		t.Errorf("ν = %g, published 9", r.DOF)
	}
	for i, want := range []string{"-0.1679", "-0.1668", "-0.1657", "-0.1646", "-0.1635", "-0.1625", "-0.1614", "-0.1603", "-0.1592", "-0.1581", "-0.1570"} {
		y, _ := r.Predict(d.X[i], 0)
		printed(t, "predicted b", y, 4, want)
	}
	// H.3.5: about the mean temperature the two are uncorrelated.
	for i := range d.X {
		d.X[i] -= 4.00845454545454545
	}
	c := mustFit(t, d, Options{})
	printed(t, "y1′", c.Coef[1], 4, "-0.1625")
	printed(t, "s(y1′)", math.Sqrt(c.Cov[1][1]), 4, "0.0011")
	if rho := c.Cov[0][1] / math.Sqrt(c.Cov[0][0]*c.Cov[1][1]); math.Abs(rho) > 1e-12 {
		t.Errorf("correlation about the mean %g", rho)
	}
}

var pearson = Data{
	X: []float64{0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4},
	Y: []float64{5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5},
}

func init() {
	wx := []float64{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1}
	wy := []float64{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500}
	for i := range wx {
		pearson.UX = append(pearson.UX, 1/math.Sqrt(wx[i]))
		pearson.UY = append(pearson.UY, 1/math.Sqrt(wy[i]))
	}
}

// Pearson's data (1901) with York's weights (York, Can. J. Phys. 44 (1966)
// 1079, Tables I and II). Slope and intercept are his; the standard errors are
// those of the expectation points, not scaled by χ² (York et al., Am. J. Phys.
// 72 (2004) 367; digits from memory).
func TestYorkPearson(t *testing.T) {
	r := mustFit(t, pearson, Options{Weights: Stated})
	printed(t, "slope", r.Coef[0], 6, "-0.480533")
	printed(t, "intercept", r.Coef[1], 5, "5.47991")
	printed(t, "χ²", r.Chi2, 3, "11.866")
	printed(t, "u(intercept)", math.Sqrt(r.Cov[1][1]), 4, "0.2950")
	printed(t, "u(slope)", math.Sqrt(r.Cov[0][0]), 4, "0.0580")
	// The same with more digits, as printed by independent implementations.
	for _, c := range []struct{ got, want float64 }{
		{r.Coef[0], -0.48053340744620}, {r.Coef[1], 5.47991022403286},
		{math.Sqrt(r.Cov[1][1] * r.Chi2 / 8), 0.359246522551112}, {math.Sqrt(r.Cov[0][0] * r.Chi2 / 8), 0.070620269528771},
	} {
		if strd.LRE(c.got, c.want) < 11 {
			t.Errorf("%.14g, want %.14g", c.got, c.want)
		}
	}
	if !math.IsInf(r.DOF, 1) {
		t.Errorf("ν = %g", r.DOF)
	}
	// Exchanged axes describe the same line.
	x := mustFit(t, Data{X: pearson.Y, Y: pearson.X, UX: pearson.UY, UY: pearson.UX}, Options{Weights: Stated})
	if strd.LRE(x.Coef[0], 1/r.Coef[0]) < 13 || strd.LRE(x.Chi2, r.Chi2) < 13 {
		t.Errorf("axes exchanged: slope %.15g instead of %.15g", x.Coef[0], 1/r.Coef[0])
	}
}

// ISO/TS 28037:2010, clause 6, equal weights (data and results from memory).
func TestISO28037(t *testing.T) {
	d := Data{
		X:  []float64{1, 2, 3, 4, 5, 6},
		Y:  []float64{3.3, 5.6, 7.1, 9.3, 10.7, 12.1},
		UY: []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5},
	}
	r := mustFit(t, d, Options{Weights: Stated})
	printed(t, "a", r.Coef[1], 3, "1.867")
	printed(t, "b", r.Coef[0], 3, "1.757")
	printed(t, "u(a)", math.Sqrt(r.Cov[1][1]), 3, "0.465")
	printed(t, "u(b)", math.Sqrt(r.Cov[0][0]), 3, "0.120")
	printed(t, "cov(a, b)", r.Cov[0][1], 3, "-0.050")
	printed(t, "χ²", r.Chi2, 3, "1.665")
	if r.Chi2 > stat.ChiSquaredQuantile(0.95, float64(r.N-r.P)) {
		t.Error("χ² is beyond its 95 % point")
	}
}
