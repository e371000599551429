package fit

import "math"

// Fit fits d. The error is an *Error.
func Fit(d Data, o Options) (*Result, error) {
	d, o, failed := check(d, o)
	if failed != nil {
		return nil, failed
	}
	n := len(d.X)
	r := &Result{Options: o, N: n, P: o.parameters(), data: d, basis: newBasis(o, n)}
	sigma := 1.0 // standard deviation of a point of weight 1
	if o.Weights == Stated && anyPositive(d.UX) {
		var err *Error
		if r.york, err = fitYork(d, o); err != nil {
			return nil, err
		}
		sigma = r.york.unit
		copy(r.basis.w, r.york.w)
		r.basis.build(r.york.adjusted, d.Group)
		r.coef = r.york.coef
	} else {
		sigma = r.basis.weigh(d)
		r.basis.build(d.X, d.Group)
		var err *Error
		if r.coef, err = refine(d, o, r.basis); err != nil {
			return nil, err
		}
	}
	r.Coef = make([]float64, r.P)
	for k, c := range r.coef {
		r.Coef[k] = c.hi
		if !finite(c.hi) {
			return nil, beyondRange()
		}
	}
	r.summarise(sigma)
	return r, nil
}

func beyondRange() *Error {
	return failure(OutOfRange, -1, "the coefficients are beyond the range of numbers: choose other units")
}

func anyPositive(s []float64) bool {
	for _, v := range s {
		if v > 0 {
			return true
		}
	}
	return false
}

// weigh sets the weights of the points, the greatest 1, and returns the
// standard uncertainty that weight 1 stands for, 1 for equal weights.
func (b *basis) weigh(d Data) (unit float64) {
	if b.o.Weights == Equal {
		for i := range b.w {
			b.w[i] = 1
		}
		return 1
	}
	unit = math.Inf(1)
	for _, u := range d.UY {
		unit = min(unit, u)
	}
	for i, u := range d.UY {
		b.w[i] = (unit / u) * (unit / u)
	}
	return unit
}

// refine projects y on the basis, and then the residuals, computed with twice
// the digits, until nothing is left.
func refine(d Data, o Options, b *basis) ([]dd, *Error) {
	p := o.parameters()
	coef := make([]dd, p)
	along := make([]float64, p)
	first, last := math.NaN(), math.Inf(1)
	for range 8 {
		clear(along)
		for i, row := range b.rows {
			r := b.w[i] * residual(d, o, coef, i)
			for k, v := range row {
				along[k] += float64(v * r)
			}
		}
		size := 0.0
		for _, a := range along {
			size = max(size, math.Abs(a))
		}
		if math.IsInf(last, 1) {
			first = size
		}
		if !(size < last/2) { // nothing is left but rounding
			break
		}
		last = size
		for k, row := range b.exact {
			for l, v := range row {
				coef[k] = coef[k].plus(v.times(along[l]))
			}
		}
	}
	if !finite(last) {
		return nil, beyondRange()
	}
	if last > 1e-9*first {
		return nil, failure(OutOfRange, -1, "x lies too far from 0 against its spread for coefficients of the powers of x: subtract a constant from x")
	}
	return coef, nil
}

// value returns the fitted value at x with twice the digits.
func value(o Options, coef []dd, x float64, group int) dd {
	switch o.Model {
	case Straight:
		if group >= 0 {
			return coef[0].times(x).plus(coef[1+group])
		}
		var sum dd
		for _, c := range coef[1:] {
			sum = sum.plus(c)
		}
		return coef[0].times(x).plus(sum.over(float64(len(coef) - 1)))
	case Proportional:
		return coef[0].times(x)
	}
	var v dd
	for k := len(coef) - 1; k >= 0; k-- {
		v = v.times(x).plus(coef[k])
	}
	return v
}

func residual(d Data, o Options, coef []dd, i int) float64 {
	f := value(o, coef, d.X[i], d.Group[i])
	return dd{hi: d.Y[i]}.plus(dd{-f.hi, -f.lo}).hi
}

// slope returns the derivative of the fitted function at point i.
func (r *Result) slope(i int) float64 {
	if r.Options.Model != Polynomial {
		return r.Coef[0]
	}
	v := dd{}
	for k := r.P - 1; k >= 1; k-- {
		v = v.times(r.data.X[i]).plus(r.coef[k].times(float64(k)))
	}
	return v.hi
}

// summarise fills in everything but the coefficients.
func (r *Result) summarise(unit float64) {
	d, o := r.data, r.Options
	r.Residuals = make([]float64, r.N)
	largest, rss := 0.0, 0.0
	for i := range r.Residuals {
		r.Residuals[i] = residual(d, o, r.coef, i)
		largest = max(largest, math.Abs(d.Y[i]))
	}
	r.Residuals, rss = settle(r.Residuals, largest)
	free := float64(r.N - r.P)
	r.S = math.NaN()
	if free > 0 {
		r.S = rss / math.Sqrt(free)
	}
	r.Floor = r.ownUncertainty()
	r.Chi2, r.Scatter, r.DOF = math.NaN(), math.NaN(), math.Inf(1)
	sigma := unit
	if o.Weights == Equal {
		r.Floored = !(r.S >= r.Floor)
		r.Scatter = r.S
		if r.Floored {
			r.Scatter = r.Floor
		}
		sigma = r.Scatter
		if free > 0 {
			r.DOF = free
		}
	} else {
		r.Chi2 = r.weightedSquares() / unit / unit
	}
	r.R2 = r.determination()
	r.Factor, r.Cov = matrix(r.P, r.P), matrix(r.P, r.P)
	for k, row := range r.basis.change {
		for l, m := range row {
			r.Factor[k][l] = sigma * m
		}
	}
	for k := range r.Cov {
		for l := range r.Cov {
			for j := range r.P {
				r.Cov[k][l] += float64(r.Factor[k][j] * r.Factor[l][j])
			}
		}
	}
}

// settle returns the root of the sum of squared residuals. Residuals within the
// rounding of the readings become 0.
func settle(residuals []float64, largest float64) ([]float64, float64) {
	root := norm(residuals)
	if root <= 1e-15*largest*math.Sqrt(float64(len(residuals))) {
		clear(residuals)
		return residuals, 0
	}
	return residuals, root
}

// norm returns the Euclidean norm, safe from overflow and underflow.
func norm(v []float64) float64 {
	scale := 0.0
	for _, x := range v {
		scale = max(scale, math.Abs(x))
	}
	if scale == 0 {
		return 0
	}
	ss := 0.0
	for _, x := range v {
		ss += float64((x / scale) * (x / scale))
	}
	return scale * math.Sqrt(ss)
}

// ownUncertainty returns the root mean square of u_y² + slope²·u_x².
func (r *Result) ownUncertainty() float64 {
	own := make([]float64, r.N)
	for i := range own {
		own[i] = math.Hypot(at(r.data.UY, i), r.slope(i)*at(r.data.UX, i))
	}
	return norm(own) / math.Sqrt(float64(r.N))
}

func (r *Result) weightedSquares() float64 {
	ss := 0.0
	for i, e := range r.Residuals {
		ss += float64(r.basis.w[i] * e * e)
	}
	return ss
}

// determination returns R²: of what the readings vary about their mean, of
// each group where each has an intercept of its own, the part that the line
// accounts for. With groups it is (ΣSxy)²/(ΣSxx ΣSyy) of the sums within them
// (Snedecor and Cochran, Statistical Methods, 7th ed., chapter 18, on the
// regression within groups; from memory): the gap between groups is none of the
// line's merit.
func (r *Result) determination() float64 {
	mean := r.groupMeans()
	dev, rest, level := make([]float64, r.N), make([]float64, r.N), make([]float64, r.N)
	for i, y := range r.data.Y {
		root, m := math.Sqrt(r.basis.w[i]), mean[r.groupOf(i)]
		dev[i], rest[i], level[i] = root*(y-m), root*r.Residuals[i], root*m
	}
	if ss := norm(dev); ss > 1e-15*norm(level) {
		q := norm(rest) / ss
		return 1 - q*q
	}
	return math.NaN()
}

// groupOf is the group of an entry that has an intercept of its own; 0 where
// there is one for all.
func (r *Result) groupOf(i int) int {
	if r.Options.Model != Straight || r.data.Group == nil {
		return 0
	}
	return r.data.Group[i]
}

// groupMeans are the weighted means about which the readings of each group
// vary: zero for a line through the origin.
func (r *Result) groupMeans() []float64 {
	mean := make([]float64, max(1, r.Options.Groups))
	if r.Options.Model == Proportional {
		return mean
	}
	total := make([]float64, len(mean))
	for i, y := range r.data.Y {
		g := r.groupOf(i)
		mean[g] += float64(r.basis.w[i] * y)
		total[g] += r.basis.w[i]
	}
	for g := range mean {
		mean[g] /= total[g]
	}
	return mean
}

// Predict returns the fitted value at x and its gradient over Coef. A group
// below 0 stands for the mean of the intercepts.
func (r *Result) Predict(x float64, group int) (y float64, grad []float64) {
	grad = make([]float64, r.P)
	switch r.Options.Model {
	case Straight:
		grad[0] = x
		for g := range r.Options.Groups {
			switch {
			case g == group:
				grad[1+g] = 1
			case group < 0:
				grad[1+g] = 1 / float64(r.Options.Groups)
			}
		}
	case Proportional:
		grad[0] = x
	default:
		grad[0] = 1
		for k := 1; k < r.P; k++ {
			grad[k] = grad[k-1] * x
		}
	}
	return value(r.Options, r.coef, x, group).hi, grad
}

// PredictU returns the standard uncertainty of the fitted value at x, without
// the loss of digits that gradient and Cov suffer far from x = 0.
func (r *Result) PredictU(x float64, group int) float64 {
	row := make([]float64, r.P)
	r.basis.eval(x, group, row)
	// Factor = sigma·change, and change[0][0] is not 0.
	sigma := r.Factor[0][0] / r.basis.change[0][0]
	return math.Abs(sigma) * norm(row)
}
