package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) && !(math.IsNaN(got) && math.IsNaN(want)) && got != want {
		t.Errorf("%s: %.16g, want %.16g", what, got, want)
	}
}

// scenario is a set of readings for one combination of options.
type scenario struct {
	name string
	d    Data
	o    Options
}

// scenarios makes one of every kind of fit, with noise and unequal uncertainties.
func scenarios() []scenario {
	r := rand.New(rand.NewPCG(1, 2))
	var list []scenario
	for _, weights := range []Weights{Equal, Stated} {
		for _, withX := range []bool{false, true} {
			for _, o := range []Options{
				{Model: Straight, Groups: 1}, {Model: Straight, Groups: 2}, {Model: Straight, Groups: 3}, {Model: Proportional, Groups: 1},
				{Model: Proportional, Groups: 2}, {Model: Polynomial, Degree: 1}, {Model: Polynomial, Degree: 2}, {Model: Polynomial, Degree: 4},
			} {
				if o.Weights = weights; weights == Stated && withX && o.Model == Polynomial {
					continue
				}
				name := fmt.Sprintf("model %d, degree %d, %d groups, weights %d, u(x) %v", o.Model, o.Degree, max(1, o.Groups), weights, withX)
				list = append(list, scenario{name, noisy(r, o, withX), o})
			}
		}
	}
	return list
}

func noisy(r *rand.Rand, o Options, withX bool) Data {
	var d Data
	for g := range max(1, o.Groups) {
		for k := range 8 {
			if g == 1 && k == 7 {
				continue // a hole
			}
			x := 0.5 * float64(k+1)
			y := 0.62*x + 0.1*r.NormFloat64()
			if o.Model != Proportional {
				y += 3 + 0.4*float64(g)
			}
			d.X, d.Y = append(d.X, x+0.02*r.NormFloat64()), append(d.Y, y)
			d.Group, d.Row = append(d.Group, g), append(d.Row, k+1)
			d.UY = append(d.UY, 0.05+0.1*r.Float64())
			ux := 0.0
			if withX {
				ux = 0.02 + 0.1*r.Float64()
			}
			d.UX = append(d.UX, ux)
		}
	}
	return d
}

func clone(d Data) Data {
	c := d
	c.X, c.Y = append([]float64(nil), d.X...), append([]float64(nil), d.Y...)
	c.UX, c.UY = append([]float64(nil), d.UX...), append([]float64(nil), d.UY...)
	c.Group, c.Row = append([]int(nil), d.Group...), append([]int(nil), d.Row...)
	return c
}

// The response matrices against central differences of the whole fit.
func TestResponseAgainstDifferences(t *testing.T) {
	for _, s := range scenarios() {
		q := mustFit(t, s.d, s.o).Response()
		e, err := NewEstimator(s.d, s.o)
		if err != nil {
			t.Fatal(err)
		}
		const h = 1e-4
		refit := func(in func(*Data) []float64, i int, by float64) []float64 {
			c := clone(s.d)
			in(&c)[i] += by
			dst := make([]float64, e.p)
			e.Coef(dst, c.X, c.Y)
			return dst
		}
		for name, part := range map[string]struct {
			in func(*Data) []float64
			m  [][]float64
		}{"y": {func(d *Data) []float64 { return d.Y }, q.DY}, "x": {func(d *Data) []float64 { return d.X }, q.DX}} {
			for k := range part.m {
				size := 0.0
				for _, v := range part.m[k] {
					size = max(size, math.Abs(v))
				}
				for i, got := range part.m[k] {
					p1, m1, p2, m2 := refit(part.in, i, h)[k], refit(part.in, i, -h)[k], refit(part.in, i, 2*h)[k], refit(part.in, i, -2*h)[k]
					want := (8*(p1-m1) - (p2 - m2)) / (12 * h)
					if math.Abs(got-want) > 2e-9*size {
						t.Errorf("%s: ∂c%d/∂%s%d = %.12g, differences give %.12g", s.name, k, name, i, got, want)
					}
				}
			}
		}
	}
}

// The estimator and its block form give the coefficients of Fit, for new readings too.
func TestEstimatorIsFit(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, s := range scenarios() {
		e, err := NewEstimator(s.d, s.o)
		if err != nil {
			t.Fatal(err)
		}
		e = e.Clone()
		const m = 5
		n := len(s.d.X)
		x, y, dst := matrix(n, m), matrix(n, m), matrix(e.p, m)
		x[0], y[1], x[2], y[2] = nil, nil, nil, nil // readings that do not vary
		for i := range n {
			for j := range m {
				if x[i] != nil {
					x[i][j] = s.d.X[i] + 0.05*r.NormFloat64()
				}
				if y[i] != nil {
					y[i][j] = s.d.Y[i] + 0.5*r.NormFloat64()
				}
			}
		}
		e.CoefBlock(dst, x, y)
		for j := range m {
			c := clone(s.d)
			for i := range n {
				c.X[i], c.Y[i] = draw(x[i], j, c.X[i]), draw(y[i], j, c.Y[i])
			}
			want := mustFit(t, c, s.o)
			one := make([]float64, e.p)
			e.Coef(one, c.X, c.Y)
			for k, w := range want.Coef {
				near(t, s.name+": one draw", one[k], w, 1e-11)
				near(t, s.name+": block", dst[k][j], w, 1e-11)
			}
		}
	}
}

// R² of a line with several intercepts is that of the readings within the
// groups, (ΣSxy)²/(ΣSxx ΣSyy): a gap between the groups does not raise it.
func TestR2WithinGroups(t *testing.T) {
	d := Data{X: []float64{1, 2, 4, 7, 1, 3, 4}, Y: []float64{2.1, 2.9, 5.2, 7.8, 1.8, 4.1, 4.7}, Group: []int{0, 0, 0, 0, 1, 1, 1}}
	var sxx, sxy, syy float64
	for _, g := range [][2]int{{0, 4}, {4, 7}} {
		var mx, my float64
		n := float64(g[1] - g[0])
		for i := g[0]; i < g[1]; i++ {
			mx, my = mx+d.X[i]/n, my+d.Y[i]/n
		}
		for i := g[0]; i < g[1]; i++ {
			sxx, sxy, syy = sxx+(d.X[i]-mx)*(d.X[i]-mx), sxy+(d.X[i]-mx)*(d.Y[i]-my), syy+(d.Y[i]-my)*(d.Y[i]-my)
		}
	}
	for _, gap := range []float64{0, 300} {
		c := clone(d)
		for i := 4; i < 7; i++ {
			c.Y[i] += gap
		}
		near(t, "R²", mustFit(t, c, Options{Groups: 2}).R2, sxy*sxy/(sxx*syy), 1e-11)
	}
}

// Units and zero points: x → αx + β, y → γy + δ change the coefficients,
// uncertainties and diagnostics as they must, and the order of points nothing.
func TestInvariance(t *testing.T) {
	const alpha, gamma = 1e-6, 4e5 // other units
	r := rand.New(rand.NewPCG(5, 6))
	for _, s := range scenarios() {
		base := mustFit(t, s.d, s.o)
		beta, delta := 0.003, -7e5
		if s.o.Model == Proportional {
			beta, delta = 0, 0
		}
		c := clone(s.d)
		for to, from := range r.Perm(len(c.X)) {
			c.X[to], c.Y[to] = alpha*s.d.X[from]+beta, gamma*s.d.Y[from]+delta
			c.UX[to], c.UY[to] = alpha*s.d.UX[from], gamma*s.d.UY[from]
			c.Group[to], c.Row[to] = s.d.Group[from], s.d.Row[from]
		}
		got := mustFit(t, c, s.o)
		near(t, s.name+": s", got.S, gamma*base.S, 1e-8)
		near(t, s.name+": floor", got.Floor, gamma*base.Floor, 1e-8)
		near(t, s.name+": χ²", got.Chi2, base.Chi2, 1e-8)
		near(t, s.name+": R²", got.R2, base.R2, 1e-8)
		for _, x := range []float64{0.7, 2, 9} {
			for group := -1; group < max(1, s.o.Groups); group++ {
				y, _ := base.Predict(x, group)
				moved, _ := got.Predict(alpha*x+beta, group)
				near(t, s.name+": prediction", moved, gamma*y+delta, 1e-8)
				near(t, s.name+": its uncertainty", got.PredictU(alpha*x+beta, group), gamma*base.PredictU(x, group), 1e-8)
			}
		}
		p, q := base.Diagnostics(), got.Diagnostics()
		near(t, s.name+": curvature", q.Curvature, p.Curvature, 1e-6)
		near(t, s.name+": bow", q.Bow, gamma*p.Bow, 1e-6)
		near(t, s.name+": jump", q.Jump, gamma*p.Jump, 1e-6)
		near(t, s.name+": p of the jump", q.JumpP, p.JumpP, 1e-6)
		if p.JumpRow != q.JumpRow {
			t.Errorf("%s: jump at row %d, then %d", s.name, p.JumpRow, q.JumpRow)
		}
	}
}

// Cov = Factor·Factorᵀ, and the gradient of Predict with Cov gives PredictU.
func TestCovarianceIsOne(t *testing.T) {
	for _, s := range scenarios() {
		r := mustFit(t, s.d, s.o)
		for _, group := range []int{-1, 0} {
			_, grad := r.Predict(1.3, group)
			variance := 0.0
			for k := range grad {
				for l := range grad {
					variance += grad[k] * r.Cov[k][l] * grad[l]
				}
			}
			near(t, s.name, math.Sqrt(variance), r.PredictU(1.3, group), 1e-9)
		}
		for k := range r.Cov {
			for l := range r.Cov {
				sum := 0.0
				for j := range r.Factor {
					sum += r.Factor[k][j] * r.Factor[l][j]
				}
				near(t, s.name+": factor", sum, r.Cov[k][l], 1e-14)
			}
		}
		if s.o.Weights == Equal { // V = σ²·DY·DYᵀ
			q := r.Response()
			for k := range r.Cov {
				sum := 0.0
				for _, v := range q.DY[k] {
					sum += v * v
				}
				near(t, s.name+": response", r.Scatter*r.Scatter*sum, r.Cov[k][k], 1e-10)
			}
		}
	}
}

// addTerm fits the design of s plus one column z by QR of the library, without
// any of the code tested, and returns the t statistic and the coefficient of z.
func addTerm(s scenario, z []float64) (statistic, coefficient float64) {
	n, p := len(s.d.X), s.o.parameters()
	a, b := mat.NewDense(n, p+1, nil), mat.NewVecDense(n, nil)
	for i, x := range s.d.X {
		w := 1.0
		if s.o.Weights == Stated {
			w = 1 / s.d.UY[i]
		}
		switch s.o.Model {
		case Straight:
			a.Set(i, 0, w*x)
			a.Set(i, 1+s.d.Group[i], w)
		case Proportional:
			a.Set(i, 0, w*x)
		default:
			for k := range p {
				a.Set(i, k, w*math.Pow(x, float64(k)))
			}
		}
		a.Set(i, p, w*z[i])
		b.SetVec(i, w*s.d.Y[i])
	}
	floor := 0.0
	if r, err := Fit(s.d, s.o); err == nil {
		floor = r.Floor
	}
	var qr mat.QR
	qr.Factorize(a)
	var c, fitted mat.VecDense
	if err := qr.SolveVecTo(&c, false, b); err != nil {
		return math.NaN(), math.NaN()
	}
	fitted.MulVec(a, &c)
	fitted.SubVec(b, &fitted)
	var r mat.Dense
	qr.RTo(&r)
	sigma := 1.0
	if s.o.Weights == Equal {
		sigma = max(mat.Norm(&fitted, 2)/math.Sqrt(float64(n-p-1)), floor)
	}
	return c.AtVec(p) / (sigma / math.Abs(r.At(p, p))), c.AtVec(p)
}

// Curvature, bow, jump, deleted and studentised residuals against refits that
// add the term or leave out the point.
func TestDiagnosticsAgainstRefits(t *testing.T) {
	for _, s := range scenarios() {
		if s.o.Weights == Stated && anyPositive(s.d.UX) {
			continue // weights depend on the slope there
		}
		r := mustFit(t, s.d, s.o)
		d := r.Diagnostics()
		if s.o.Model != Polynomial {
			z := make([]float64, r.N)
			low, high := math.Inf(1), math.Inf(-1)
			for i, x := range s.d.X {
				z[i] = x * x
				low, high = min(low, x), max(high, x)
			}
			statistic, c := addTerm(s, z)
			near(t, s.name+": curvature", d.Curvature, statistic, 1e-9)
			bow := 0.0 // the greatest departure, by search
			for k := range 2001 {
				x := low + (high-low)*float64(k)/2000
				chord := c*low*low + (x-low)/(high-low)*c*(high*high-low*low)
				if v := c*x*x - chord; math.Abs(v) > math.Abs(bow) {
					bow = v
				}
			}
			near(t, s.name+": bow", d.Bow, bow, 1e-9)
		} else if !math.IsNaN(d.Curvature) {
			t.Errorf("%s: curvature of a polynomial", s.name)
		}
		checkSingles(t, s, r, d)
		checkJump(t, s, d)
		checkOrder(t, s)
	}
}

func checkSingles(t *testing.T, s scenario, r *Result, d *Diagnostics) {
	t.Helper()
	sum := 0.0
	for i := range s.d.X {
		sum += d.Leverage[i]
		c := Data{}
		for j := range s.d.X {
			if j != i {
				c.X, c.Y = append(c.X, s.d.X[j]), append(c.Y, s.d.Y[j])
				c.UX, c.UY = append(c.UX, s.d.UX[j]), append(c.UY, s.d.UY[j])
				c.Group = append(c.Group, s.d.Group[j])
			}
		}
		without := mustFit(t, c, s.o)
		y, _ := without.Predict(s.d.X[i], s.d.Group[i])
		near(t, s.name+": deleted", d.Deleted[i], s.d.Y[i]-y, 1e-9)
		z := make([]float64, r.N) // a term for this point alone
		z[i] = 1
		statistic, c1 := addTerm(s, z)
		near(t, s.name+": studentised", d.Studentised[i], statistic, 1e-8)
		near(t, s.name+": deleted", d.Deleted[i], c1, 1e-8)
	}
	near(t, s.name+": sum of the leverages", sum, float64(r.P), 1e-12)
}

func checkJump(t *testing.T, s scenario, d *Diagnostics) {
	t.Helper()
	best, height := -1.0, 0.0
	for _, edge := range s.d.X {
		z := make([]float64, len(s.d.X))
		ones := 0
		for i, x := range s.d.X {
			if x >= edge {
				z[i] = 1
				ones++
			}
		}
		if ones == len(z) {
			continue
		}
		if statistic, c := addTerm(s, z); math.Abs(statistic) > best {
			best, height = math.Abs(statistic), c
		}
	}
	near(t, s.name+": jump", d.Jump, height, 1e-8)
}

// An added term against a refit, and a step in an order that is not that of x.
func checkOrder(t *testing.T, s scenario) {
	t.Helper()
	n := len(s.d.X)
	z, order := make([]float64, n), make([]float64, n)
	for i := range z {
		z[i] = math.Sin(float64(3 * i))
		order[i] = float64((7*i + 3) % n)
	}
	statistic, c := addTerm(s, z)
	a := mustFit(t, s.d, s.o).Add(z)
	near(t, s.name+": added", a.Coef, c, 1e-8)
	near(t, s.name+": t of the added", a.T, statistic, 1e-8)
	if n%7 == 0 {
		return // 7i + 3 is no permutation then
	}
	with := s.d
	with.Order = order
	d := mustFit(t, with, s.o).Diagnostics()
	best, height, at := -1.0, 0.0, 0.0
	for edge := 1; edge < n; edge++ {
		z := make([]float64, n)
		for i := range z {
			if order[i] >= float64(edge) {
				z[i] = 1
			}
		}
		if statistic, c := addTerm(s, z); math.Abs(statistic) > best {
			best, height, at = math.Abs(statistic), c, float64(edge)
		}
	}
	near(t, s.name+": step in an order", d.Jump, height, 1e-8)
	if d.JumpAt != at {
		t.Errorf("%s: the step in an order is at %g, want %g", s.name, d.JumpAt, at)
	}
}
