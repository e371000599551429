package fit

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/stat"
)

func line(n int, x0, step, slope, intercept float64) Data {
	var d Data
	for i := range n {
		x := x0 + step*float64(i)
		d.X, d.Y = append(d.X, x), append(d.Y, intercept+slope*x)
	}
	return d
}

// Loading and unloading share a slope: u(b) = s/√(2Sxx) with ν = 2n − 3, and
// b is the mean of the slopes of the columns.
func TestCommonSlope(t *testing.T) {
	up := []float64{3.12, 3.41, 3.73, 4.05, 4.34, 4.66, 4.98, 5.29}
	down := []float64{3.14, 3.42, 3.75, 4.06, 4.37, 4.68, 4.99, 5.30}
	var d Data
	sxx, sup, sdown := 0.0, 0.0, 0.0
	for i := range up {
		x := 0.5 * float64(i)
		d.X, d.Y, d.Group = append(d.X, x, x), append(d.Y, up[i], down[i]), append(d.Group, 0, 1)
		sxx += (x - 1.75) * (x - 1.75)
		sup += (x - 1.75) * up[i]
		sdown += (x - 1.75) * down[i]
	}
	r := mustFit(t, d, Options{Groups: 2})
	near(t, "slope", r.Coef[0], (sup+sdown)/(2*sxx), 1e-14)
	near(t, "u(b)", math.Sqrt(r.Cov[0][0]), r.S/math.Sqrt(2*sxx), 1e-14)
	if r.DOF != 13 || r.P != 3 || r.N != 16 {
		t.Errorf("ν = %g, p = %d, n = %d", r.DOF, r.P, r.N)
	}
	near(t, "intercept 1", r.Coef[1], stat.Mean(up)-r.Coef[0]*1.75, 1e-14)
	near(t, "intercept 2", r.Coef[2], stat.Mean(down)-r.Coef[0]*1.75, 1e-14)
	mean, grad := r.Predict(0, -1)
	near(t, "mean intercept", mean, (r.Coef[1]+r.Coef[2])/2, 1e-15)
	if grad[1] != 0.5 || grad[2] != 0.5 || grad[0] != 0 {
		t.Errorf("gradient %v", grad)
	}
	// A common zero error moves the intercepts and leaves the slope alone.
	q := r.Response()
	zero := [3]float64{}
	for k := range zero {
		for _, v := range q.DY[k] {
			zero[k] += v
		}
	}
	if math.Abs(zero[0]) > 1e-15 || math.Abs(zero[1]-1) > 1e-14 || math.Abs(zero[2]-1) > 1e-14 {
		t.Errorf("response to a common zero %v", zero)
	}
}

// Equally spaced loads: Var b = 12 σ²/(h² n(n² − 1)).
func TestEquallySpacedSlope(t *testing.T) {
	const h, sigma = 0.5, 0.01
	for n := 2; n <= 20; n++ {
		d := line(n, 1, h, 0.6, 2)
		for range n {
			d.UY = append(d.UY, sigma)
		}
		for _, weights := range []Weights{Equal, Stated} { // the points agree exactly: the floor
			r := mustFit(t, d, Options{Weights: weights})
			near(t, "Var b", r.Cov[0][0], 12*sigma*sigma/(h*h*float64(n*(n*n-1))), 1e-13)
			if weights == Equal && !r.Floored {
				t.Errorf("n = %d: the floor did not win", n)
			}
		}
	}
}

func TestFloor(t *testing.T) {
	d := Data{X: []float64{0, 1, 2, 3}, Y: []float64{0.1, 0.9, 2.1, 2.9}}
	free := mustFit(t, d, Options{})
	if free.Floored || free.Scatter != free.S || free.Floor != 0 || free.DOF != 2 {
		t.Errorf("no floor: %+v", free)
	}
	d.UX, d.UY = []float64{0.3, 0.3, 0.3, 0.3}, []float64{0.4, 0.4, 0.4, 0.4}
	r := mustFit(t, d, Options{})
	near(t, "floor", r.Floor, math.Hypot(0.4, 0.3*r.Coef[0]), 1e-14)
	if !r.Floored || r.Scatter != r.Floor || r.DOF != 2 || r.S != free.S {
		t.Errorf("floor: %+v", r)
	}
	near(t, "covariance", r.Cov[0][1], free.Cov[0][1]*r.Floor*r.Floor/free.S/free.S, 1e-13)
	// Unequal uncertainties enter as their root mean square.
	d.UX, d.UY = nil, []float64{0, 0, 3, 4}
	near(t, "root mean square", mustFit(t, d, Options{}).Floor, 2.5, 1e-15)
}

func TestAsManyCoefficientsAsPoints(t *testing.T) {
	d := Data{X: []float64{1, 3}, Y: []float64{2, 8}, UY: []float64{0.1, 0.1}}
	r := mustFit(t, d, Options{})
	if r.Coef[0] != 3 || r.Coef[1] != -1 || !math.IsInf(r.DOF, 1) || !math.IsNaN(r.S) || !r.Floored || r.Scatter != 0.1 {
		t.Errorf("two points: %+v", r)
	}
	near(t, "u(b)", math.Sqrt(r.Cov[0][0]), 0.1/math.Sqrt2, 1e-14)
	if r.Residuals[0] != 0 || r.Residuals[1] != 0 {
		t.Errorf("residuals %v", r.Residuals)
	}
	g := r.Diagnostics()
	for name, v := range map[string]float64{"curvature": g.Curvature, "bow": g.Bow, "jump": g.Jump, "p": g.JumpP, "studentised": g.Studentised[0], "deleted": g.Deleted[0], "dof": g.CurvatureDOF} {
		if !math.IsNaN(v) {
			t.Errorf("two points: %s = %g", name, v)
		}
	}
	if g.JumpRow != 0 {
		t.Errorf("two points: jump at row %d", g.JumpRow)
	}
	cubic := mustFit(t, Data{X: []float64{-1, 0, 1, 2}, Y: []float64{-1, 0, 1, 8}}, Options{Model: Polynomial, Degree: 3})
	for k, want := range []float64{0, 0, 0, 1} {
		if math.Abs(cubic.Coef[k]-want) > 1e-15 {
			t.Errorf("c%d = %g", k, cubic.Coef[k])
		}
	}
}

// x far from 0 against its spacing, such as clock times.
func TestFarFromZero(t *testing.T) {
	d := Data{}
	e := []float64{0.25, -0.5, 0, 0.5, 0.25}
	for i, v := range e {
		d.X, d.Y = append(d.X, 1e9+float64(i)), append(d.Y, 3*float64(i)+v)
	}
	near2 := Data{X: []float64{0, 1, 2, 3, 4}, Y: d.Y}
	r, base := mustFit(t, d, Options{}), mustFit(t, near2, Options{})
	near(t, "slope", r.Coef[0], base.Coef[0], 1e-15)
	near(t, "intercept", r.Coef[1], base.Coef[1]-1e9*base.Coef[0], 1e-15)
	near(t, "s", r.S, base.S, 1e-14)
	near(t, "u(slope)", r.Cov[0][0], base.Cov[0][0], 1e-14)
	for _, x := range []float64{-2, 2, 7} {
		y, _ := r.Predict(1e9+x, 0)
		want, _ := base.Predict(x, 0)
		near(t, "prediction", y, want, 1e-14)
		near(t, "its uncertainty", r.PredictU(1e9+x, 0), base.PredictU(x, 0), 1e-14)
	}
	p, q := base.Diagnostics(), r.Diagnostics()
	near(t, "curvature", q.Curvature, p.Curvature, 1e-12)
	near(t, "bow", q.Bow, p.Bow, 1e-12)
	near(t, "jump", q.Jump, p.Jump, 1e-12)
	square := mustFit(t, d, Options{Model: Polynomial, Degree: 2})
	squareBase := mustFit(t, near2, Options{Model: Polynomial, Degree: 2})
	near(t, "c2", square.Coef[2], squareBase.Coef[2], 1e-12)
	for i := range d.X {
		if math.Abs(square.Residuals[i]-squareBase.Residuals[i]) > 1e-12 {
			t.Errorf("residual %d of the parabola: %g, want %g", i, square.Residuals[i], squareBase.Residuals[i])
		}
	}
}

// Values near the ends of the range of numbers.
func TestExtremeScales(t *testing.T) {
	for _, k := range []float64{1e-150, 1e-60, 1, 1e60, 1e150} {
		d := Data{X: []float64{1 * k, 2 * k, 3 * k, 4 * k}, Y: []float64{1.1 / k, 1.9 / k, 3.2 / k, 3.8 / k}}
		r := mustFit(t, d, Options{})
		near(t, "slope", r.Coef[0]*k*k, 0.94, 1e-13)
		near(t, "s", r.S*k, mustFit(t, Data{X: []float64{1, 2, 3, 4}, Y: []float64{1.1, 1.9, 3.2, 3.8}}, Options{}).S, 1e-12)
		d.UX, d.UY = []float64{0.1 * k, 0.1 * k, 0.2 * k, 0.1 * k}, []float64{0.1 / k, 0.1 / k, 0.1 / k, 0.3 / k}
		b := mustFit(t, d, Options{Weights: Stated})
		if v := b.Coef[0] * k * k; math.Abs(v-0.94) > 0.1 {
			t.Errorf("scale %g: slope %g", k, v)
		}
	}
	_, err := Fit(Data{X: []float64{0, 1e-300}, Y: []float64{0, 1e300}}, Options{})
	wantKind(t, "slope beyond the range", err, OutOfRange)
	_, err = Fit(Data{X: []float64{0, 1, 2, 3}, Y: []float64{1e308, 1.5e308, 1.2e308, 1.7e308}}, Options{})
	wantKind(t, "sums beyond the range", err, OutOfRange)
	// No coefficients of powers tell a bend of 5 in 1e15: an error, not a wrong number.
	_, err = Fit(Data{X: []float64{1e15, 1e15 + 1, 1e15 + 2, 1e15 + 5}, Y: []float64{1, 2, 4, 8}}, Options{Model: Polynomial, Degree: 3})
	wantKind(t, "far from 0", err, OutOfRange)
}

func TestIdenticalReadings(t *testing.T) {
	d := Data{X: []float64{1, 2, 3, 4}, Y: []float64{0.1, 0.1, 0.1, 0.1}}
	r := mustFit(t, d, Options{})
	if r.Coef[0] != 0 || r.Coef[1] != 0.1 || r.S != 0 || !math.IsNaN(r.R2) {
		t.Errorf("identical y: %+v", r)
	}
	d.UX, d.UY = []float64{0.1, 0.1, 0.1, 0.1}, []float64{0.2, 0.2, 0.2, 0.2}
	b := mustFit(t, d, Options{Weights: Stated})
	if math.Abs(b.Coef[0]) > 1e-15 || b.Chi2 != 0 {
		t.Errorf("identical y, both uncertain: %+v", b)
	}
}

// Points that agree to their last digit show nothing, though rounding leaves
// residuals near 1e-17; points on an exact step or parabola show it for certain.
func TestExactShapes(t *testing.T) {
	g := mustFit(t, line(9, 0, 0.1, 0.3, 0.7), Options{}).Diagnostics()
	if g.Curvature != 0 || g.Bow != 0 || g.Jump != 0 || g.JumpP != 1 || g.JumpRow != 0 {
		t.Errorf("exact line: %+v", g)
	}
	step := line(8, 0, 1, 2, 1)
	for i := 5; i < 8; i++ {
		step.Y[i] += 0.5
	}
	step.Row = []int{1, 2, 3, 5, 6, 7, 8, 9} // row 4 was struck
	g = mustFit(t, step, Options{}).Diagnostics()
	if math.Abs(g.Jump-0.5) > 1e-14 || g.JumpRow != 7 || g.JumpP > 1e-20 {
		t.Errorf("exact step: %g at row %d, p = %g", g.Jump, g.JumpRow, g.JumpP)
	}
	bent := line(9, 0, 1, 2, 1)
	for i, x := range bent.X {
		bent.Y[i] += 0.25 * x * x
	}
	g = mustFit(t, bent, Options{}).Diagnostics()
	if !math.IsInf(g.Curvature, 1) || math.Abs(g.Bow+0.25*16) > 1e-12 || g.CurvatureDOF != 6 {
		t.Errorf("exact parabola: %+v", g)
	}
}

// The p of the jump: t tail of n − p − 1 degrees of freedom times the number of
// places where a step is not itself a line.
func TestJumpP(t *testing.T) {
	d := Data{X: []float64{1, 2, 3, 4, 5, 6}, Y: []float64{1.02, 1.97, 3.04, 4.51, 5.46, 6.53}}
	g := mustFit(t, d, Options{}).Diagnostics()
	z := []float64{0, 0, 0, 1, 1, 1}
	statistic, height := addTerm(scenario{d: Data{X: d.X, Y: d.Y, Group: make([]int, 6)}, o: Options{Groups: 1}}, z)
	near(t, "jump", g.Jump, height, 1e-12)
	near(t, "p", g.JumpP, 5*stat.TTail(statistic, 3), 1e-10)
	if g.JumpRow != 4 || g.JumpP > 0.05 {
		t.Errorf("jump at row %d, p = %g", g.JumpRow, g.JumpP)
	}
	// Rows in falling order of x: the step still shows at the larger x.
	down := Data{X: []float64{6, 5, 4, 3, 2, 1}, Y: []float64{6.53, 5.46, 4.51, 3.04, 1.97, 1.02}}
	h := mustFit(t, down, Options{}).Diagnostics()
	near(t, "jump of the reversed rows", h.Jump, g.Jump, 1e-12)
	if h.JumpRow != 3 {
		t.Errorf("reversed rows: jump at row %d", h.JumpRow)
	}
}

func TestLeverageOne(t *testing.T) {
	d := Data{X: []float64{0, 0, 0, 0, 1}, Y: []float64{1, 1.1, 0.9, 1, 3}}
	g := mustFit(t, d, Options{}).Diagnostics()
	if !math.IsNaN(g.Deleted[4]) || !math.IsNaN(g.Studentised[4]) || math.Abs(g.Leverage[4]-1) > 1e-12 {
		t.Errorf("the only point of its kind: %+v", g)
	}
	if !math.IsNaN(g.Curvature) || !math.IsNaN(g.JumpP) { // two different x: no bend, no step apart from the line
		t.Errorf("two different x: %+v", g)
	}
}

// A vertical limit: uncertainty in x alone is the regression of x on y.
func TestUncertaintyInXAlone(t *testing.T) {
	d := Data{X: []float64{1, 2.1, 2.9, 4.2}, Y: []float64{2, 4, 6, 8}, UX: []float64{0.1, 0.1, 0.1, 0.1}}
	r := mustFit(t, d, Options{Weights: Stated})
	other := mustFit(t, Data{X: d.Y, Y: d.X, UY: d.UX}, Options{Weights: Stated})
	near(t, "slope", r.Coef[0], 1/other.Coef[0], 1e-14)
	near(t, "χ²", r.Chi2, other.Chi2, 1e-13)
}

// Where u(x) is 0 the fit with both is the weighted fit in y.
func TestUncertaintyInXVanishes(t *testing.T) {
	for _, s := range scenarios() {
		if s.o.Weights == Equal || s.o.Model == Polynomial || anyPositive(s.d.UX) {
			continue
		}
		want := mustFit(t, s.d, s.o)
		c := clone(s.d)
		for i := range c.UX {
			c.UX[i] = 1e-12
		}
		got := mustFit(t, c, s.o)
		for k := range want.Coef {
			near(t, s.name, got.Coef[k], want.Coef[k], 1e-12)
			near(t, s.name+": u", got.Cov[k][k], want.Cov[k][k], 1e-9)
		}
	}
}

func wantKind(t *testing.T, name string, err error, kind Kind) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) || e.Kind != kind || e.Msg == "" || e.Error() != e.Msg {
		t.Errorf("%s: error %v, want one of kind %s", name, err, kind)
	}
}

func TestErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	two, three := []float64{1, 2}, []float64{1, 2, 3}
	for _, c := range []struct {
		name string
		d    Data
		o    Options
		kind Kind
		says string
	}{
		{"lengths of y", Data{X: three, Y: two}, Options{}, Lengths, "y 2"},
		{"lengths of u", Data{X: two, Y: two, UY: three}, Options{}, Lengths, "uncertainties of y"},
		{"none", Data{}, Options{}, TooFew, "0 points"},
		{"one point", Data{X: two[:1], Y: two[:1]}, Options{}, TooFew, "1 points are too few for 2"},
		{"empty column", Data{X: three, Y: three, Group: []int{0, 0, 0}}, Options{Groups: 2}, TooFew, "column 2"},
		{"column beyond", Data{X: two, Y: two, Group: []int{0, 1}}, Options{}, BadOption, "column 2 of 1"},
		{"equal x", Data{X: []float64{2, 2, 2}, Y: three}, Options{}, NoSpread, "no slope"},
		{"equal x in each column", Data{X: []float64{1, 1, 2, 2}, Y: []float64{1, 2, 3, 4}, Group: []int{0, 0, 1, 1}}, Options{Groups: 2}, NoSpread, "no slope"},
		{"x all 0", Data{X: []float64{0, 0}, Y: two}, Options{Model: Proportional}, NoSpread, "all x are 0"},
		{"few x", Data{X: []float64{1, 1, 2, 2}, Y: []float64{1, 2, 3, 4}}, Options{Model: Polynomial, Degree: 2}, NoSpread, "2 different x"},
		{"NaN", Data{X: two, Y: []float64{1, nan}}, Options{}, NotFinite, "y of point 2"},
		{"infinite x", Data{X: []float64{inf, 1}, Y: two}, Options{}, NotFinite, "x of point 1"},
		{"negative u", Data{X: two, Y: two, UY: []float64{1, -1}}, Options{}, NotFinite, "point 2"},
		{"degree 0", Data{X: two, Y: two}, Options{Model: Polynomial}, BadOption, "1 to 10"},
		{"degree 11", Data{X: two, Y: two}, Options{Model: Polynomial, Degree: 11}, BadOption, "not 11"},
		{"polynomial of columns", Data{X: two, Y: two}, Options{Model: Polynomial, Degree: 1, Groups: 2}, BadOption, "one column"},
		{"no model", Data{X: two, Y: two}, Options{Model: 9}, BadOption, "model"},
		{"no weights", Data{X: two, Y: two}, Options{Weights: 9}, BadOption, "weights"},
		{"negative groups", Data{X: two, Y: two}, Options{Groups: -1}, BadOption, "columns"},
		{"no uncertainty", Data{X: two, Y: two}, Options{Weights: Stated}, NoUncertainty, "point 1"},
		{"zero uncertainty", Data{X: three, Y: three, UY: []float64{1, 0, 1}}, Options{Weights: Stated}, NoUncertainty, "point 2"},
		{"polynomial of both", Data{X: three, Y: three, UX: three, UY: three}, Options{Model: Polynomial, Degree: 2, Weights: Stated}, BothStated, "in y alone"},
		{"level line of uncertain x", Data{X: three, Y: []float64{1, 1, 1}, UX: three}, Options{Weights: Stated}, NoUncertainty, "without slope"},
	} {
		_, err := Fit(c.d, c.o)
		wantKind(t, c.name, err, c.kind)
		if err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %q does not say %q", c.name, err, c.says)
		}
		if _, err2 := NewEstimator(c.d, c.o); err2 == nil || err2.Error() != err.Error() {
			t.Errorf("%s: the estimator says %v", c.name, err2)
		}
	}
}

// The data are not touched, and the result does not change with them later.
func TestDataAreCopied(t *testing.T) {
	d := Data{X: []float64{1, 2, 3, 4}, Y: []float64{2, 4.1, 5.9, 8}, UY: []float64{1, 1, 1, 1}}
	r := mustFit(t, d, Options{})
	want := *r.Diagnostics()
	for i := range d.X {
		d.X[i], d.Y[i], d.UY[i] = 0, 0, 0
	}
	if got := r.Diagnostics(); got.Curvature != want.Curvature || got.Bow != want.Bow {
		t.Error("the result hangs on the caller's data")
	}
}

func benchData() Data {
	d := line(16, 0, 0.5, 0.6, 3)
	for i := range d.Y {
		d.Y[i] += 0.01 * math.Sin(float64(7*i))
		d.Group, d.UY, d.UX = append(d.Group, i%2), append(d.UY, 0.01), append(d.UX, 0.01)
	}
	return d
}

func BenchmarkFit(b *testing.B) {
	d := benchData()
	for name, o := range map[string]Options{"straight": {Groups: 2}, "both": {Groups: 2, Weights: Stated}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				mustFit(b, d, o)
			}
		})
	}
	b.Run("diagnostics", func(b *testing.B) {
		r := mustFit(b, d, Options{Groups: 2})
		for b.Loop() {
			r.Diagnostics()
		}
	})
}

// BenchmarkEstimator shows the time for one draw of a line of 16 points in two
// columns.
func BenchmarkEstimator(b *testing.B) {
	d := benchData()
	e, err := NewEstimator(d, Options{Groups: 2})
	if err != nil {
		b.Fatal(err)
	}
	dst := make([]float64, 3)
	b.Run("one", func(b *testing.B) {
		for b.Loop() {
			e.Coef(dst, d.X, d.Y)
		}
	})
	const m = 1024
	x, y, out := matrix(16, m), matrix(16, m), matrix(3, m)
	for i := range x {
		for j := range m {
			x[i][j], y[i][j] = d.X[i], d.Y[i]
		}
	}
	b.Run("block", func(b *testing.B) {
		for b.Loop() {
			e.CoefBlock(out, x, y)
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/m, "ns/draw")
	})
	both, err := NewEstimator(d, Options{Groups: 2, Weights: Stated})
	if err != nil {
		b.Fatal(err)
	}
	b.Run("both coordinates", func(b *testing.B) {
		for b.Loop() {
			both.Coef(dst, d.X, d.Y)
		}
	})
}
