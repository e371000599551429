package fit

import "math"

// Estimator estimates the coefficients alone, for the draws of a Monte Carlo
// evaluation: the same estimator as Fit, of readings that change while their
// number, groups and uncertainties stay. It is not safe for concurrent use.
type Estimator struct {
	o        Options
	p        int
	d        Data
	w        []float64 // weights of a fit without uncertainty in x
	both     bool      // uncertainty in both coordinates
	cx, cy   []float64 // means of the readings at the start, of each group
	groupSum []float64 // weights of each group
	x, y     []float64 // room for one draw
	one      []float64
	sums     [][]float64 // room of CoefBlock
	basis    *basis
	along    []float64
	york     *scaled // of both coordinates
	start    float64 // its slope at the start
}

// NewEstimator prepares for readings like d. The error is an *Error.
func NewEstimator(d Data, o Options) (*Estimator, error) {
	d, o, failed := check(d, o)
	if failed != nil {
		return nil, failed
	}
	n := len(d.X)
	e := &Estimator{o: o, p: o.parameters(), d: d, both: o.Weights == Stated && anyPositive(d.UX)}
	b := newBasis(o, n)
	if !e.both {
		b.weigh(d)
	}
	e.w = b.w
	m := newMeans(o.Groups)
	if !e.both {
		m.take(d.X, d.Y, d.Group, e.w, o)
	}
	e.cx, e.cy, e.groupSum = m.x, m.y, m.w
	e.room()
	if e.both {
		var err *Error
		if e.start, err = e.york.slope(e.york.ordinary()); err != nil {
			return nil, err
		}
	}
	return e, nil
}

// room makes the scratch memory.
func (e *Estimator) room() {
	n := len(e.d.X)
	e.x, e.y, e.one = make([]float64, n), make([]float64, n), make([]float64, e.p)
	e.along = make([]float64, e.p)
	e.basis = newBasis(e.o, n)
	copy(e.basis.w, e.w)
	e.sums = make([][]float64, 2+2*e.o.Groups)
	if e.both {
		e.york = scale(e.d, e.o)
	}
}

// Clone returns an estimator for another goroutine.
func (e *Estimator) Clone() *Estimator {
	c := *e
	c.room()
	return &c
}

// Coef writes the coefficients of the readings x, y to dst (length P); NaN
// where they have no fit.
func (e *Estimator) Coef(dst, x, y []float64) {
	switch {
	case e.both:
		e.coefBoth(dst, x, y)
	case e.o.Model == Polynomial:
		e.basis.build(x, e.d.Group)
		clear(e.along)
		for i, row := range e.basis.rows {
			r := e.w[i] * y[i]
			for k, v := range row {
				e.along[k] += float64(v * r)
			}
		}
		e.basis.toCoef(e.along, dst)
	default:
		e.coefLine(dst, x, y)
	}
}

// coefBoth iterates from the slope at the start.
func (e *Estimator) coefBoth(dst, x, y []float64) {
	e.york.load(x, y)
	b, err := e.york.slope(e.start)
	if err != nil {
		for k := range dst {
			dst[k] = math.NaN()
		}
		return
	}
	e.york.coef(b, dst)
}

// coefLine is the closed form on readings less their means at the start, which
// are near enough to lose no digits.
func (e *Estimator) coefLine(dst, x, y []float64) {
	groups := e.o.Groups
	if e.o.Model == Proportional || groups == 1 {
		e.coefOneLine(dst, x, y)
		return
	}
	sx, sy := e.along[:groups], dst[1:1+groups]
	clear(sx)
	clear(sy)
	sxx, sxy := 0.0, 0.0
	for i, g := range e.d.Group {
		u, v := x[i]-e.cx[g], y[i]-e.cy[g]
		wu := e.w[i] * u
		sx[g] += wu
		sy[g] += float64(e.w[i] * v)
		sxx += float64(wu * u)
		sxy += float64(wu * v)
	}
	for g, w := range e.groupSum {
		sxx -= sx[g] * sx[g] / w
		sxy -= sx[g] * sy[g] / w
	}
	b := sxy / sxx
	dst[0] = b
	for g, w := range e.groupSum {
		dst[1+g] = e.cy[g] + sy[g]/w - float64(b*(e.cx[g]+sx[g]/w))
	}
}

func (e *Estimator) coefOneLine(dst, x, y []float64) {
	var sx, sy, sxx, sxy float64
	cx, cy := e.cx[0], e.cy[0] // 0 without intercept
	w := e.w[:len(x)]
	y = y[:len(x)]
	for i, v := range x {
		u, v := v-cx, y[i]-cy
		wu := w[i] * u
		sx += wu
		sy += float64(w[i] * v)
		sxx += float64(wu * u)
		sxy += float64(wu * v)
	}
	if e.o.Model == Proportional {
		dst[0] = sxy / sxx
		return
	}
	total := e.groupSum[0]
	sxx -= sx * sx / total
	sxy -= sx * sy / total
	b := sxy / sxx
	dst[0] = b
	dst[1] = cy + sy/total - float64(b*(cx+sx/total))
}

// CoefBlock is Coef over a block of draws: x[i][j] is draw j of entry i, and
// dst[k][j] becomes draw j of coefficient k. An x[i] or y[i] that is nil stands
// for the reading itself, which does not vary.
func (e *Estimator) CoefBlock(dst, x, y [][]float64) {
	if !e.both && e.o.Model != Polynomial {
		e.blockLine(dst, x, y)
		return
	}
	for j := range dst[0] {
		for i := range x {
			e.x[i], e.y[i] = draw(x[i], j, e.d.X[i]), draw(y[i], j, e.d.Y[i])
		}
		e.Coef(e.one, e.x, e.y)
		for k, v := range e.one {
			dst[k][j] = v
		}
	}
}

func draw(block []float64, j int, fixed float64) float64 {
	if block == nil {
		return fixed
	}
	return block[j]
}

// blockLine sums over the points for all draws at once.
func (e *Estimator) blockLine(dst, x, y [][]float64) {
	m, groups := len(dst[0]), e.o.Groups
	for k := range e.sums {
		if cap(e.sums[k]) < m {
			e.sums[k] = make([]float64, m)
		}
		e.sums[k] = e.sums[k][:m]
		clear(e.sums[k])
	}
	sxx, sxy := e.sums[0], e.sums[1]
	for i, g := range e.d.Group {
		sums := lineSums{sxx, sxy, e.sums[2+g], e.sums[2+groups+g]}
		cx, cy := e.cx[g], e.cy[g]
		switch {
		case x[i] == nil && y[i] == nil:
			sums.addFixed(e.w[i], e.d.X[i]-cx, e.d.Y[i]-cy)
		case x[i] == nil:
			sums.addY(e.w[i], e.d.X[i]-cx, y[i], cy)
		case y[i] == nil:
			sums.addX(e.w[i], x[i], cx, e.d.Y[i]-cy)
		default:
			sums.addBoth(e.w[i], x[i], cx, y[i], cy)
		}
	}
	if e.o.Model == Proportional {
		for j := range m {
			dst[0][j] = sxy[j] / sxx[j]
		}
		return
	}
	for g, w := range e.groupSum {
		sx, sy := e.sums[2+g], e.sums[2+groups+g]
		for j := range m {
			sxx[j] -= sx[j] * sx[j] / w
			sxy[j] -= sx[j] * sy[j] / w
		}
	}
	for j := range m {
		dst[0][j] = sxy[j] / sxx[j]
	}
	for g, w := range e.groupSum {
		sx, sy := e.sums[2+g], e.sums[2+groups+g]
		for j, b := range dst[0] {
			dst[1+g][j] = e.cy[g] + sy[j]/w - float64(b*(e.cx[g]+sx[j]/w))
		}
	}
}

// lineSums holds the sums of one group over a block of draws.
type lineSums struct{ xx, xy, x, y []float64 }

func (s lineSums) addBoth(w float64, x []float64, cx float64, y []float64, cy float64) {
	n := len(s.xx)
	x, y, sxy, sx, sy := x[:n], y[:n], s.xy[:n], s.x[:n], s.y[:n]
	for j := range s.xx {
		u, v := x[j]-cx, y[j]-cy
		wu := w * u
		sx[j] += wu
		sy[j] += float64(w * v)
		s.xx[j] += float64(wu * u)
		sxy[j] += float64(wu * v)
	}
}

func (s lineSums) addX(w float64, x []float64, cx, v float64) {
	n := len(s.xx)
	x, sxy, sx, sy := x[:n], s.xy[:n], s.x[:n], s.y[:n]
	for j := range s.xx {
		u := x[j] - cx
		wu := w * u
		sx[j] += wu
		sy[j] += float64(w * v)
		s.xx[j] += float64(wu * u)
		sxy[j] += float64(wu * v)
	}
}

func (s lineSums) addY(w, u float64, y []float64, cy float64) {
	n := len(s.xx)
	y, sxy, sx, sy := y[:n], s.xy[:n], s.x[:n], s.y[:n]
	wu, wuu := w*u, w*u*u
	for j := range s.xx {
		v := y[j] - cy
		sx[j] += wu
		sy[j] += float64(w * v)
		s.xx[j] += wuu
		sxy[j] += float64(wu * v)
	}
}

func (s lineSums) addFixed(w, u, v float64) {
	for j := range s.xx {
		s.x[j] += w * u
		s.y[j] += w * v
		s.xx[j] += w * u * u
		s.xy[j] += w * u * v
	}
}
