package fit

import "math"

// york is a fit with uncertainty in both coordinates: York et al. 2004, for
// uncorrelated errors, with a mean point for each group. Its slope makes
// Σ (y − a − bx)²/(u_y² + b²u_x²) a minimum.
type york struct {
	coef     []dd
	unit     float64   // standard uncertainty of weight 1
	w        []float64 // final weights, the greatest 1
	adjusted []float64 // expectation points
}

// scaled holds the points in units of their own spread, so that squares keep
// within range.
type scaled struct {
	x, y, ux, uy []float64
	perX, perY   float64
}

func scale(d Data, o Options) scaled {
	n := len(d.X)
	s := scaled{x: make([]float64, n), y: make([]float64, n), ux: make([]float64, n), uy: make([]float64, n)}
	x0, y0 := 0.0, 0.0
	if o.Model == Straight {
		for i := range n {
			x0 += d.X[i] / float64(n)
			y0 += d.Y[i] / float64(n)
		}
	}
	for i := range n {
		s.perX = max(s.perX, math.Abs(d.X[i]-x0))
		s.perY = max(s.perY, math.Abs(d.Y[i]-y0))
	}
	if s.perY == 0 {
		s.perY = 1
		for _, u := range d.UY {
			s.perY = max(s.perY, u)
		}
	}
	for i := range n {
		s.x[i], s.y[i] = (d.X[i]-x0)/s.perX, (d.Y[i]-y0)/s.perY
		s.ux[i], s.uy[i] = at(d.UX, i)/s.perX, at(d.UY, i)/s.perY
	}
	return s
}

// fitYork iterates from the slope of ordinary least squares.
func fitYork(d Data, o Options) (*york, *Error) {
	s := scale(d, o)
	start := newBasis(o, len(d.X))
	for i := range start.w {
		start.w[i] = 1
	}
	start.build(s.x, d.Group)
	along, coef := make([]float64, start.o.parameters()), make([]float64, start.o.parameters())
	for i, row := range start.rows {
		for k, v := range row {
			along[k] += float64(v * s.y[i])
		}
	}
	start.toCoef(along, coef)
	b, w := coef[0], make([]float64, len(d.X))
	room := newMeans(o.Groups)
	for round := 0; ; round++ {
		next, ok := yorkStep(s, d.Group, o, b, w, room)
		if !ok {
			return nil, failure(NoUncertainty, -1, "a point without uncertainty in y cannot be weighed on a line without slope")
		}
		change := math.Abs(next - b)
		b = next
		if change <= 1e-16*math.Abs(b) || change <= 4e-16*math.Abs(b) && round > 100 || change < 1e-300 {
			break
		}
		if round == 2000 {
			if change > 1e-12*math.Abs(b) {
				return nil, failure(NotConverged, -1, "the fit with uncertainty in both coordinates does not settle: the points may not determine a line")
			}
			break
		}
	}
	return finishYork(d, o, s, b, w, room), nil
}

// means holds the weighted mean point of each group.
type means struct{ w, x, y []float64 }

func newMeans(groups int) means {
	return means{make([]float64, groups), make([]float64, groups), make([]float64, groups)}
}

// take computes the means, which stay 0 without intercepts.
func (m means) take(x, y []float64, group []int, w []float64, o Options) {
	clear(m.w)
	clear(m.x)
	clear(m.y)
	if o.Model == Proportional {
		return
	}
	for i, g := range group {
		m.w[g] += w[i]
		m.x[g] += float64(w[i] * x[i])
		m.y[g] += float64(w[i] * y[i])
	}
	for g := range m.w {
		m.x[g] /= m.w[g]
		m.y[g] /= m.w[g]
	}
}

// yorkStep returns the next slope (York et al. 2004, equation 13b); w is left
// with the weights of the slope b.
func yorkStep(s scaled, group []int, o Options, b float64, w []float64, m means) (next float64, ok bool) {
	for i := range w {
		w[i] = 1 / (float64(s.uy[i]*s.uy[i]) + float64(b*b*s.ux[i]*s.ux[i]))
		if math.IsInf(w[i], 0) {
			return 0, false
		}
	}
	m.take(s.x, s.y, group, w, o)
	above, below := 0.0, 0.0
	for i, g := range group {
		u, v := s.x[i]-m.x[g], s.y[i]-m.y[g]
		beta := w[i] * (float64(u*s.uy[i]*s.uy[i]) + float64(b*v*s.ux[i]*s.ux[i]))
		above += float64(w[i] * beta * v)
		below += float64(w[i] * beta * u)
	}
	return above / below, true
}

// finishYork computes weights, expectation points and coefficients in the units of the data.
func finishYork(d Data, o Options, s scaled, b float64, w []float64, m means) *york {
	greatest := 0.0
	for _, v := range w {
		greatest = max(greatest, v)
	}
	y := &york{unit: s.perY / math.Sqrt(greatest), w: w, adjusted: make([]float64, len(w)), coef: make([]dd, o.parameters())}
	slope := b * s.perY / s.perX
	y.coef[0] = dd{hi: slope}
	for i, g := range d.Group {
		u, v := s.x[i]-m.x[g], s.y[i]-m.y[g]
		beta := w[i] * (float64(u*s.uy[i]*s.uy[i]) + float64(b*v*s.ux[i]*s.ux[i]))
		y.adjusted[i] = float64(s.perX*(beta-u)) + d.X[i]
	}
	for i := range w {
		w[i] /= greatest
	}
	if o.Model == Proportional {
		return y
	}
	for range 2 { // the intercepts, from residuals with all their digits
		rest, total := make([]float64, o.Groups), make([]float64, o.Groups)
		for i, g := range d.Group {
			rest[g] += float64(w[i] * residual(d, o, y.coef, i))
			total[g] += w[i]
		}
		for g := range rest {
			y.coef[1+g] = y.coef[1+g].plus(dd{hi: rest[g] / total[g]})
		}
	}
	return y
}
