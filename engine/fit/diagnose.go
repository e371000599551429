package fit

import (
	"math"
	"slices"

	"example.org/taut/engine/stat"
)

// Diagnostics returns what the residuals say. For Stated weights the scatter
// of the points is known and the statistics are those of the normal
// distribution; otherwise it comes from the residuals and they are t statistics
// of n − p − 1 degrees of freedom, not defined if that is below 1; the scatter is
// never taken below the points' own uncertainties, as in the fit itself, so that
// rounded readings that happen to agree accuse nobody. With uncertainty in both
// coordinates the weights are held at the solution.
//
// A line that all points fit to their last digit shows nothing: curvature,
// studentised residuals and jump are 0 and JumpP is 1.
func (r *Result) Diagnostics() *Diagnostics {
	g := &diagnosis{Result: r, rss: r.weightedSquares(), free: float64(r.N - r.P - 1)}
	nan := math.NaN()
	d := &Diagnostics{Curvature: nan, CurvatureDOF: nan, Bow: nan, Jump: nan, JumpAt: nan, JumpP: nan}
	g.single(d)
	if !g.defined() {
		return d
	}
	d.CurvatureDOF = g.dof()
	if r.Options.Model != Polynomial {
		g.curvature(d)
	}
	g.jump(d)
	return d
}

// diagnosis adds one term at a time to a fit.
type diagnosis struct {
	*Result
	rss  float64 // weighted
	free float64 // n − p − 1
}

func (g *diagnosis) stated() bool { return g.Options.Weights == Stated }

// defined reports whether a term more can be judged.
func (g *diagnosis) defined() bool { return g.free >= 1 || g.stated() && g.free >= 0 }

func (g *diagnosis) dof() float64 {
	if g.stated() {
		return math.Inf(1)
	}
	return g.free
}

// t returns the statistic of a term that lowers the weighted sum of squares by
// root², with the sign of root.
func (g *diagnosis) t(root float64) float64 {
	switch {
	case g.rss == 0 || root == 0:
		return 0
	case g.stated():
		return root / g.unit()
	}
	rest := g.rss - float64(root*root)
	if rest < 1e-13*g.rss { // the term explains everything
		rest = 0
	}
	s := max(math.Sqrt(rest/g.free), g.Floor)
	if s == 0 {
		return math.Copysign(math.Inf(1), root)
	}
	return root / s
}

// unit returns the standard uncertainty of weight 1 of Stated weights.
func (g *diagnosis) unit() float64 { return g.Factor[0][0] / g.basis.change[0][0] }

// single fills in leverage, deleted and studentised residuals.
func (g *diagnosis) single(d *Diagnostics) {
	d.Leverage, d.Deleted, d.Studentised = make([]float64, g.N), make([]float64, g.N), make([]float64, g.N)
	for i, row := range g.basis.rows {
		h := 0.0
		for _, v := range row {
			h += float64(v * v)
		}
		h = min(1, h*g.basis.w[i])
		d.Leverage[i] = h
		d.Deleted[i], d.Studentised[i] = math.NaN(), math.NaN()
		if 1-h < 1e-10 { // without the point there is no fit
			continue
		}
		d.Deleted[i] = g.Residuals[i] / (1 - h)
		if g.defined() {
			d.Studentised[i] = g.t(math.Sqrt(g.basis.w[i]/(1-h)) * g.Residuals[i])
		}
	}
}

// curvature adds a quadratic term: x² to a line through the origin, the square
// of the distance from the middle, which comes to the same, to others.
func (g *diagnosis) curvature(d *Diagnostics) {
	low, high := stat.Min(g.data.X), stat.Max(g.data.X)
	middle, half := low/2+high/2, high/2-low/2
	if g.Options.Model == Proportional {
		middle, half = 0, max(math.Abs(low), math.Abs(high))
	}
	z := make([]float64, g.N)
	for i, x := range g.abscissae() {
		t := (x - middle) / half
		z[i] = t * t
	}
	zz, zr := g.project(z)
	if zz == 0 {
		return
	}
	d.Curvature = g.t(zr / math.Sqrt(zz))
	c := 0.0
	if g.rss > 0 {
		c = zr / zz
	}
	reach := (high - low) / 2 / half
	d.Bow = -c * reach * reach
}

// abscissae returns the x that the basis was built on.
func (g *diagnosis) abscissae() []float64 {
	if g.york != nil {
		return g.york.adjusted
	}
	return g.data.X
}

// project makes z orthogonal to the model and returns its weighted square and
// its product with the residuals; zz is 0 if z lies in the model.
func (g *diagnosis) project(z []float64) (zz, zr float64) {
	before := g.dot(z, z)
	for range 2 {
		for k := range g.P {
			c := 0.0
			for i, row := range g.basis.rows {
				c += float64(g.basis.w[i] * row[k] * z[i])
			}
			for i, row := range g.basis.rows {
				z[i] -= float64(c * row[k])
			}
		}
	}
	if zz = g.dot(z, z); zz < 1e-20*before {
		return 0, 0
	}
	return zz, g.dot(z, g.Residuals)
}

// steps judges a step before each entry of the order, by running sums: the
// square of what it would take off the residuals, in the time of one pass. Dim
// tells where a step is so nearly part of the fit that the sums say nothing.
func (g *diagnosis) steps(order []int) (quick []float64, dim []bool) {
	quick, dim = make([]float64, g.N), make([]bool, g.N)
	c := make([]float64, g.P)
	zz, zr := 0.0, 0.0
	for k := g.N - 1; k > 0; k-- {
		i := order[k]
		w := g.basis.w[i]
		zz += w
		zr += float64(w * g.Residuals[i])
		rest := zz
		for j := range c {
			c[j] += float64(w * g.basis.rows[i][j])
			rest -= float64(c[j] * c[j])
		}
		if dim[k] = rest < 1e-6*zz; !dim[k] {
			quick[k] = zr * zr / rest
		}
	}
	return quick, dim
}

func (g *diagnosis) dot(a, b []float64) float64 {
	sum := 0.0
	for i, w := range g.basis.w {
		sum += float64(w * a[i] * b[i])
	}
	return sum
}

// Add returns what a further term z, one value for each entry of the data, would
// do in the fit: the test of an added variable. The slice is not changed.
func (r *Result) Add(z []float64) Addition {
	g := &diagnosis{Result: r, rss: r.weightedSquares(), free: float64(r.N - r.P - 1)}
	zz, zr := g.project(slices.Clone(z))
	out := Addition{T: math.NaN(), DOF: math.NaN()}
	if zz > 0 {
		out.Coef = zr / zz
	}
	if !g.defined() {
		return out
	}
	out.T, out.DOF = 0, g.dof()
	if zz > 0 {
		out.T = g.t(zr / math.Sqrt(zz))
	}
	return out
}

// jump adds a step between each two neighbours in turn, in the order of x or in
// that of the data, and keeps the one with the greatest statistic.
func (g *diagnosis) jump(d *Diagnostics) {
	order := make([]int, g.N)
	for i := range order {
		order[i] = i
	}
	x := g.data.X
	if g.data.Order != nil {
		x = g.data.Order
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case x[a] < x[b]:
			return -1
		case x[a] > x[b]:
			return 1
		}
		return 0
	})
	best, places := -1.0, 0
	z := make([]float64, g.N)
	quick, dim := g.steps(order)
	apart := func(k int) bool { return x[order[k]] != x[order[k-1]] }
	most := -1.0
	for k := 1; k < g.N; k++ {
		if apart(k) && !dim[k] {
			most = math.Max(most, quick[k])
		}
	}
	for k := 1; k < g.N; k++ {
		if !apart(k) {
			continue
		}
		if !dim[k] && quick[k] < most*(1-1e-6) {
			places++ // it is a place, and surely not the best
			continue
		}
		clear(z)
		for _, i := range order[k:] {
			z[i] = 1
		}
		zz, zr := g.project(z)
		if zz == 0 {
			continue
		}
		places++
		if t := math.Abs(g.t(zr / math.Sqrt(zz))); t > best {
			best = t
			d.Jump, d.JumpRow, d.JumpAt = zr/zz, g.firstRow(x, order[k:]), x[order[k]]
		}
	}
	switch {
	case places == 0:
	case g.rss == 0:
		d.Jump, d.JumpRow, d.JumpAt, d.JumpP = 0, 0, math.NaN(), 1
	default:
		d.JumpP = min(1, float64(places)*stat.TTail(best, g.dof()))
	}
}

// firstRow returns the first row of the points that share the least x of a
// list in the order of x.
func (g *diagnosis) firstRow(x []float64, list []int) int {
	row := 0
	for _, i := range list {
		if x[i] != x[list[0]] {
			break
		}
		if r := g.row(i); row == 0 || r < row {
			row = r
		}
	}
	return row
}

// row returns the row of point i, from 1.
func (g *diagnosis) row(i int) int {
	if g.data.Row != nil {
		return g.data.Row[i]
	}
	n := 0
	for _, group := range g.data.Group[:i+1] {
		if group == g.data.Group[i] {
			n++
		}
	}
	return n
}
