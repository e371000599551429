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
// within range, and the room that the iteration needs.
type scaled struct {
	o            Options
	group        []int
	x, y, ux, uy []float64
	x0, y0       float64
	perX, perY   float64
	w            []float64 // weights at the last slope tried
	means        means
}

func scale(d Data, o Options) *scaled {
	n := len(d.X)
	room := make([]float64, 5*n)
	part := func(k int) []float64 { return room[k*n : (k+1)*n : (k+1)*n] }
	s := &scaled{o: o, group: d.Group, x: part(0), y: part(1), ux: part(2), uy: part(3), w: part(4), means: newMeans(o.Groups)}
	if o.Model == Straight {
		for i := range n {
			s.x0 += d.X[i] / float64(n)
			s.y0 += d.Y[i] / float64(n)
		}
	}
	for i := range n {
		s.perX = max(s.perX, math.Abs(d.X[i]-s.x0))
		s.perY = max(s.perY, math.Abs(d.Y[i]-s.y0))
	}
	if s.perY == 0 { // y are identical: any unit will do
		s.perY = 1
		for _, u := range d.UY {
			s.perY = max(s.perY, u)
		}
	}
	for i := range n {
		s.ux[i], s.uy[i] = at(d.UX, i)/s.perX, at(d.UY, i)/s.perY
	}
	s.load(d.X, d.Y)
	return s
}

// load takes other readings, in the units of the first.
func (s *scaled) load(x, y []float64) {
	for i := range s.x {
		s.x[i], s.y[i] = (x[i]-s.x0)/s.perX, (y[i]-s.y0)/s.perY
	}
}

// ordinary returns the slope of ordinary least squares.
func (s *scaled) ordinary() float64 {
	for i := range s.w {
		s.w[i] = 1
	}
	s.means.take(s.x, s.y, s.group, s.w, s.o)
	xx, xy := 0.0, 0.0
	for i, g := range s.group {
		u := s.x[i] - s.means.x[g]
		xx += float64(u * u)
		xy += float64(u * (s.y[i] - s.means.y[g]))
	}
	return xy / xx
}

// slope iterates from b until the slope stays. York's step draws nearer by a
// constant factor; where two of them show that factor, the secant through them
// goes all the way.
func (s *scaled) slope(b float64) (float64, *Error) {
	lastB, lastMove := math.NaN(), math.NaN()
	for range 1000 {
		next, ok := s.step(b)
		if !ok {
			return 0, failure(NoUncertainty, -1, "a point without uncertainty in y cannot be weighed on a line without slope")
		}
		move := next - b
		if math.Abs(move) <= 2e-16*math.Abs(b) || math.Abs(move) < 1e-300 ||
			math.Abs(move) <= 1e-13*math.Abs(b) && math.Abs(move) >= math.Abs(lastMove)/2 {
			return b, nil
		}
		factor := 1 + (move-lastMove)/(b-lastB)
		lastB, lastMove = b, move
		if math.Abs(factor) < 0.9 { // false at the first step
			b += move / (1 - factor)
		} else {
			b = next
		}
	}
	return 0, failure(NotConverged, -1, "the fit with uncertainty in both coordinates does not settle: the points may not determine a line")
}

// fitYork iterates from the slope of ordinary least squares.
func fitYork(d Data, o Options) (*york, *Error) {
	s := scale(d, o)
	b, err := s.slope(s.ordinary())
	if err != nil {
		return nil, err
	}
	return s.finish(d, b), nil
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

// weigh sets the weights and mean points that go with the slope b.
func (s *scaled) weigh(b float64) (ok bool) {
	for i, u := range s.ux {
		bu := b * u
		s.w[i] = 1 / (float64(s.uy[i]*s.uy[i]) + float64(bu*bu))
		if math.IsInf(s.w[i], 0) {
			return false
		}
	}
	s.means.take(s.x, s.y, s.group, s.w, s.o)
	return true
}

// beta returns the coordinates of point i from the mean point of its group,
// and the x of its expectation point from there.
func (s *scaled) beta(i int, b float64) (u, v, beta float64) {
	g := s.group[i]
	u, v = s.x[i]-s.means.x[g], s.y[i]-s.means.y[g]
	return u, v, s.w[i] * (float64(u*s.uy[i]*s.uy[i]) + float64(b*v*s.ux[i]*s.ux[i]))
}

// step returns the next slope (York et al. 2004, equation 13b).
func (s *scaled) step(b float64) (next float64, ok bool) {
	if !s.weigh(b) {
		return 0, false
	}
	above, below := 0.0, 0.0
	for i, w := range s.w {
		u, v, beta := s.beta(i, b)
		above += float64(w * beta * v)
		below += float64(w * beta * u)
	}
	return above / below, true
}

// coef writes the coefficients that go with the slope b.
func (s *scaled) coef(b float64, dst []float64) {
	dst[0] = b * s.perY / s.perX
	if s.o.Model == Proportional {
		return
	}
	for g := range s.means.x {
		dst[1+g] = s.y0 + float64(s.perY*(s.means.y[g]-float64(b*s.means.x[g]))) - float64(dst[0]*s.x0)
	}
}

// finish computes weights, expectation points and coefficients in the units of
// the data, from the weights of the last step.
func (s *scaled) finish(d Data, b float64) *york {
	greatest := 0.0
	for _, v := range s.w {
		greatest = max(greatest, v)
	}
	y := &york{unit: s.perY / math.Sqrt(greatest), w: s.w, adjusted: make([]float64, len(s.w)), coef: make([]dd, s.o.parameters())}
	for i := range s.w {
		u, _, beta := s.beta(i, b)
		y.adjusted[i] = float64(s.perX*(beta-u)) + d.X[i]
	}
	for i := range y.w {
		y.w[i] /= greatest
	}
	y.coef[0] = dd{hi: b * s.perY / s.perX}
	if s.o.Model == Proportional {
		return y
	}
	for range 2 { // the intercepts, from residuals with all their digits
		rest, total := make([]float64, s.o.Groups), make([]float64, s.o.Groups)
		for i, g := range d.Group {
			rest[g] += float64(y.w[i] * residual(d, s.o, y.coef, i))
			total[g] += y.w[i]
		}
		for g := range rest {
			y.coef[1+g] = y.coef[1+g].plus(dd{hi: rest[g] / total[g]})
		}
	}
	return y
}
