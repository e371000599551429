package eval

import (
	"encoding/hex"
	"fmt"
	"hash/fnv"
	"math"
	"sort"
	"strconv"
	"strings"
	"sync"

	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// FitInput is what a fit is made of: one or several columns y of one
// dimension and length over a column x. Where, if not nil, says which rows
// take part. Order, if not nil, is one column for all of Y or one for each: the
// order in which a single step is sought. With OneIntercept all columns of y
// share one straight line instead of having an intercept each.
type FitInput struct {
	Name         string
	Y            []*Column
	X            *Column
	Where        []bool
	Order        []*Column
	OneIntercept bool
	Options      fit.Options
}

// Intercepts is the number of intercepts of a straight fit.
func (f *FitInput) Intercepts() int {
	if f.OneIntercept {
		return 1
	}
	return len(f.Y)
}

// Fitted is a finished fit with the data behind it.
type Fitted struct {
	FitInput
	Result *fit.Result
	Coef   []quantity.Q
	// Entries tells, for each entry of the fit's data, its column and cell.
	Entries []Entry
	diag    *fit.Diagnostics
}

// Entry is a cell that took part in a fit.
type Entry struct{ Group, Cell int }

// NewFit makes a fit. The error is a *fit.Error.
func NewFit(in FitInput) (*Fitted, error) {
	f := &Fitted{FitInput: in}
	var d fit.Data
	var ys, xs []quantity.Q
	for g, y := range in.Y {
		for i, c := range y.Cells {
			if c.Hole || in.X.Cells[i].Hole || in.Where != nil && !in.Where[i] {
				continue
			}
			f.Entries = append(f.Entries, Entry{g, i})
			ys, xs = append(ys, c.Q), append(xs, in.X.Cells[i].Q)
			d.Y, d.X = append(d.Y, c.Q.Value()), append(d.X, in.X.Cells[i].Q.Value())
			d.UY, d.UX = append(d.UY, OwnU(c.Q)), append(d.UX, OwnU(in.X.Cells[i].Q))
			d.Group, d.Row = append(d.Group, min(g, in.Intercepts()-1)), append(d.Row, i+1)
			if in.Order != nil {
				d.Order = append(d.Order, in.Order[min(g, len(in.Order)-1)].Cells[i].Q.Value())
			}
		}
	}
	in.Options.Groups = in.Intercepts()
	var err error
	if f.Result, err = fit.Fit(d, in.Options); err != nil {
		return nil, err
	}
	f.coefficients(d, ys, xs)
	return f, nil
}

// OwnU is the root sum of squares of a reading's own uncertainties.
func OwnU(q quantity.Q) float64 {
	sum := 0.0
	for _, t := range q.Terms() {
		if t.Source.Own != quantity.Common {
			cu := t.C * t.Source.U
			sum += float64(cu * cu)
		}
	}
	return math.Sqrt(sum)
}

// coefficients makes quantities of the coefficients: their scatter is one
// group of sources, and the sources that the readings have in common pass
// through the fit's linear response.
func (f *Fitted) coefficients(d fit.Data, ys, xs []quantity.Q) {
	r := f.Result
	group := f.group(ys, xs)
	resp := r.Response()
	extra := make([][]quantity.Term, r.P)
	dims := make([]unit.Dim, r.P)
	for k := range extra {
		extra[k] = []quantity.Term{{Source: group.Sources[k], C: 1}}
		dims[k] = f.coefDim(k)
	}
	f.Coef = make([]quantity.Q, r.P)
	if f.linear(xs, d) {
		for k := range f.Coef {
			f.Coef[k] = quantity.Reduce(r.Coef[k], dims[k], resp.DY[k], ys, extra[k]...)
		}
		return
	}
	if closed, ok := f.closedForm(xs, ys); ok {
		for k, q := range closed {
			f.Coef[k] = q.Add(quantity.Uncertain(r.Coef[k]-q.Value(), dims[k], extra[k]...))
		}
		return
	}
	n := len(ys)
	args := append(append(make([]quantity.Q, 0, 2*n), ys...), xs...)
	jac := make([][]float64, r.P)
	for k := range jac {
		jac[k] = append(append(make([]float64, 0, 2*n), resp.DY[k]...), resp.DX[k]...)
	}
	f.Coef = quantity.Picks(f.again(d, args), args, r.Coef, dims, jac, extra)
}

// linear reports whether the coefficients are linear in all that is uncertain
// about the readings in common: the x values are certain and the weights do
// not depend on the slope.
func (f *Fitted) linear(xs []quantity.Q, d fit.Data) bool {
	for i, x := range xs {
		if f.Options.Weights == fit.Stated && d.UX[i] > 0 {
			return false
		}
		for _, t := range x.Terms() {
			if t.Source.Own == quantity.Common && t.Source.U > 0 {
				return false
			}
		}
	}
	return true
}

// again returns the fit as a function of its readings, for the draws of a
// Monte Carlo evaluation.
func (f *Fitted) again(d fit.Data, args []quantity.Q) *quantity.Multi {
	n, p := len(d.X), f.Result.P
	m := &quantity.Multi{Outputs: p}
	for _, a := range args {
		m.Args = append(m.Args, a.Node())
	}
	o := f.Options
	o.Groups = f.Intercepts()
	pool := sync.Pool{New: func() any {
		e, err := fit.NewEstimator(d, o)
		if err != nil {
			return err
		}
		return e
	}}
	m.F = func(in, out []float64) {
		e, ok := pool.Get().(*fit.Estimator)
		if !ok {
			for k := range out {
				out[k] = math.NaN()
			}
			return
		}
		e.Coef(out, in[n:], in[:n])
		pool.Put(e)
	}
	return m
}

func (f *Fitted) group(ys, xs []quantity.Q) *quantity.Group {
	r := f.Result
	h := fnv.New128a()
	fmt.Fprintf(h, "%v %d %v %d\n%s\n%s", f.Options.Model, f.Options.Degree, f.Options.Weights, f.Intercepts(),
		reductionKey("y", ys), reductionKey("x", xs))
	for _, e := range f.Entries {
		fmt.Fprintf(h, " %d", e.Group)
	}
	g := &quantity.Group{ID: "fit " + hex.EncodeToString(h.Sum(nil)), Cov: r.Cov, DOF: r.DOF,
		Label: fmt.Sprintf("scatter about %s (%s, n = %d)", f.Name, f.What(), r.N)}
	g.Cells = append(cellsOf(ys, false), cellsOf(xs, true)...)
	sort.Slice(g.Cells, func(i, j int) bool { return g.Cells[i].Less(g.Cells[j]) })
	dist := quantity.StudentT
	if math.IsInf(r.DOF, 1) {
		dist = quantity.Normal
	}
	for k := range r.Coef {
		s := quantity.Source{ID: g.ID + "#" + strconv.Itoa(k), Label: g.Label, Dist: dist, Value: r.Coef[k], Unit: UnitOf(f.coefficientLike(k)),
			U: math.Sqrt(r.Cov[k][k]), DOF: r.DOF, TypeA: f.Options.Weights == fit.Equal, Group: g, Index: k, Cells: g.Cells}
		g.Sources = append(g.Sources, s.New())
	}
	return g
}

// What names the model.
func (f *Fitted) What() string {
	switch f.Options.Model {
	case fit.Proportional:
		return "line through the origin"
	case fit.Polynomial:
		return fmt.Sprintf("polynomial of degree %d", f.Options.Degree)
	}
	if f.Intercepts() > 1 {
		return "parallel straight lines"
	}
	return "straight line"
}

// coefDim is the dimension of coefficient k.
func (f *Fitted) coefDim(k int) unit.Dim {
	y, x := f.Y[0].Dim, f.X.Dim
	switch {
	case f.Options.Model == fit.Polynomial:
		for ; k > 0; k-- {
			y = y.Div(x)
		}
		return y
	case k == 0:
		return y.Div(x)
	}
	return y
}

// coefficient returns coefficient k as a value.
func (f *Fitted) coefficient(k int) Value {
	s := f.coefficientLike(k)
	s.Q = f.Coef[k]
	return s
}

// coefficientLike returns a value of the dimension and unit of coefficient k.
func (f *Fitted) coefficientLike(k int) Scalar {
	s := Scalar{Q: quantity.Exact(f.Result.Coef[k], f.coefDim(k))}
	switch {
	case f.Options.Model == fit.Polynomial && k == 0, f.Options.Model != fit.Polynomial && k > 0:
		s.Unit = f.Y[0].Unit
	default:
		s.Unit = quotientUnit(f.Y[0], f.X)
		for range k - 1 {
			u := unit.Quotient(*s.Unit, UnitOf(f.X).Difference())
			s.Unit = &u
		}
	}
	return s
}

// Names lists what a fit provides, the coefficients first.
func (f *Fitted) Names() []string {
	var out []string
	switch f.Options.Model {
	case fit.Polynomial:
		for k := range f.Coef {
			out = append(out, fmt.Sprintf("c%d", k))
		}
	case fit.Proportional:
		out = append(out, "slope")
	default:
		out = append(out, "slope", "intercept")
		for g := range f.Intercepts() {
			if f.Intercepts() > 1 {
				out = append(out, fmt.Sprintf("intercept_%d", g+1))
			}
		}
	}
	out = append(out, "residuals")
	for g := range f.Y {
		if len(f.Y) > 1 {
			out = append(out, fmt.Sprintf("residuals_%d", g+1))
		}
	}
	return append(out, "s", "r2", "n", "dof", "chi2", "curvature", "bow", "studentised", "deleted", "leverage", "jump", "jump_row", "jump_at", "jump_p")
}

// Space returns the fit as a value with what it provides inside.
func (f *Fitted) Space() *Space {
	return &Space{What: "fit", Name: f.Name, Names: f.Names(), Get: f.get, Call: f.call, Data: f}
}

func (f *Fitted) get(name string) (Value, bool) {
	r := f.Result
	base, index, numbered := strings.Cut(name, "_")
	if numbered && len(f.Y) > 1 {
		if g, err := strconv.Atoi(index); err == nil && g >= 1 && g <= len(f.Y) {
			switch {
			case base == "intercept" && f.Options.Model == fit.Straight && f.Intercepts() > 1:
				return f.coefficient(g), true
			case base == "residuals":
				return f.column(g-1, r.Residuals), true
			}
		}
	}
	switch name {
	case "slope":
		if f.Options.Model != fit.Polynomial {
			return f.coefficient(0), true
		}
	case "intercept":
		if f.Options.Model == fit.Straight {
			return f.intercept(), true
		}
	case "residuals":
		return f.columns(r.Residuals), true
	case "studentised":
		return f.numbers(bounded(f.Diagnostics().Studentised)), true
	case "leverage":
		return f.numbers(f.Diagnostics().Leverage), true
	case "deleted":
		return f.columns(f.Diagnostics().Deleted), true
	}
	if v, ok := f.figure(name); ok {
		return v, true
	}
	if k, err := strconv.Atoi(strings.TrimPrefix(name, "c")); err == nil && f.Options.Model == fit.Polynomial && name[0] == 'c' && k >= 0 && k < len(f.Coef) {
		return f.coefficient(k), true
	}
	return nil, false
}

// figure returns one of the single numbers that describe a fit.
func (f *Fitted) figure(name string) (Value, bool) {
	r := f.Result
	y := f.Y[0]
	switch name {
	case "s":
		return f.orWaits(name, r.S, y.Dim, differenceUnit(y)), true
	case "r2":
		return f.orWaits(name, r.R2, unit.Dim{}, nil), true
	case "n":
		return Number(float64(r.N)), true
	case "dof":
		return f.orWaits(name, float64(r.N-r.P), unit.Dim{}, nil), true
	case "chi2":
		return f.orWaits(name, r.Chi2, unit.Dim{}, nil), true
	case "curvature":
		return f.orWaits(name, bounded([]float64{f.Diagnostics().Curvature})[0], unit.Dim{}, nil), true
	case "bow":
		return f.orWaits(name, f.Diagnostics().Bow, y.Dim, differenceUnit(y)), true
	case "jump":
		return f.orWaits(name, f.Diagnostics().Jump, y.Dim, differenceUnit(y)), true
	case "jump_row":
		row := float64(f.Diagnostics().JumpRow)
		if row == 0 {
			row = math.NaN()
		}
		return f.orWaits(name, row, unit.Dim{}, nil), true
	case "jump_at":
		at := f.X
		if f.Order != nil {
			at = f.Order[0]
		}
		return f.orWaits(name, f.Diagnostics().JumpAt, at.Dim, at.Unit), true
	case "jump_p":
		return f.orWaits(name, f.Diagnostics().JumpP, unit.Dim{}, nil), true
	}
	return nil, false
}

func differenceUnit(c *Column) *unit.Unit {
	if c.Unit == nil {
		return nil
	}
	u := differenceOf(*c.Unit)
	return &u
}

// orWaits returns an exact value; one that is not defined, for want of
// readings, waits.
func (f *Fitted) orWaits(name string, v float64, d unit.Dim, u *unit.Unit) Value {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Waiting{On: f.Name + "." + name, Unread: true}
	}
	return Scalar{Q: quantity.Exact(v, d), Unit: u}
}

// Diagnostics returns what the residuals say, worked out once.
func (f *Fitted) Diagnostics() *fit.Diagnostics {
	if f.diag == nil {
		f.diag = f.Result.Diagnostics()
	}
	return f.diag
}

// intercept is the mean of the intercepts.
func (f *Fitted) intercept() Value {
	sum := f.Coef[1]
	for _, q := range f.Coef[2:] {
		sum = sum.Add(q)
	}
	if n := len(f.Coef) - 1; n > 1 {
		sum = sum.Div(quantity.Number(float64(n)))
	}
	return Scalar{Q: sum, Unit: f.Y[0].Unit}
}

// column spreads what the fit says of its entries over the rows of column g.
func (f *Fitted) column(g int, v []float64) *Column {
	return f.spread(g, v, f.Y[g].Dim, differenceUnit(f.Y[g]))
}

func (f *Fitted) spread(g int, v []float64, d unit.Dim, u *unit.Unit) *Column {
	y := f.Y[g]
	out := &Column{Cells: make([]Cell, len(y.Cells)), Dim: d, Unit: u, Instrument: y.Instrument, Of: y.origins()}
	for i, c := range y.Cells {
		out.Cells[i] = Cell{Hole: true, Row: c.Row, At: c.At}
	}
	for k, e := range f.Entries {
		if e.Group == g && !math.IsNaN(v[k]) && !math.IsInf(v[k], 0) {
			out.Cells[e.Cell].Hole = false
			out.Cells[e.Cell].Q = quantity.Exact(v[k], d)
		}
	}
	return out
}

func (f *Fitted) columns(v []float64) Value {
	return f.members(func(g int) Value { return f.column(g, v) })
}

func (f *Fitted) numbers(v []float64) Value {
	return f.members(func(g int) Value { return f.spread(g, v, unit.Dim{}, nil) })
}

func (f *Fitted) members(of func(g int) Value) Value {
	if len(f.Y) == 1 {
		return of(0)
	}
	out := List{}
	for g := range f.Y {
		out.Members = append(out.Members, of(g))
	}
	return out
}

// bounded has the greatest number stand for infinity, which no quantity is: a
// term that explains everything is not the same as nothing to go by.
func bounded(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, x := range v {
		out[i] = x
		if math.IsInf(x, 0) {
			out[i] = math.Copysign(math.MaxFloat64, x)
		}
	}
	return out
}

// call computes line.at(x): the fitted function at x, of which the
// uncertainty is the line's, not that of a new reading; and line.added(z) and
// line.added_t(z), what a further term z would do.
func (f *Fitted) call(c *Call, name string) (Value, bool) {
	switch name {
	case "added", "added_t":
		return f.added(c, name), true
	case "at":
	default:
		return nil, false
	}
	if len(c.Args) != 1 {
		return c.E.fail(wrongArguments(c.X.At, f.Name+".at(x)", len(c.Args))), true
	}
	d, ok := DimOf(c.Args[0])
	if !ok || d != f.X.Dim {
		return c.E.fail(wrongKind(c.at(0), f.Name+".at(x)", article(dimWords(f.X.Dim)), c.Args[0])), true
	}
	u := UnitOf(f.Y[0])
	return c.E.map1(c.Args[0], u, c.X.At, f.at), true
}

func (f *Fitted) at(x quantity.Q) quantity.Q {
	switch f.Options.Model {
	case fit.Proportional:
		return f.Coef[0].Mul(x)
	case fit.Straight:
		return f.Coef[0].Mul(x).Add(f.intercept().(Scalar).Q)
	}
	n := len(f.Coef) - 1
	out := f.Coef[n]
	for k := n - 1; k >= 0; k-- {
		out = out.Mul(x).Add(f.Coef[k])
	}
	return out
}

// added computes line.added(z), the coefficient of a further term, and
// line.added_t(z), its t statistic of n − p − 1 degrees of freedom: the test of
// an added variable (Cook and Weisberg, Residuals and Influence in Regression,
// 1982, 2.4). Z is one column, or one for each column of y; its uncertainty
// does not count.
func (f *Fitted) added(c *Call, name string) Value {
	usage := f.Name + "." + name + "(z)"
	if len(c.Args) != 1 {
		return c.E.fail(wrongArguments(c.X.At, usage, len(c.Args)))
	}
	cols, bad := c.columns()
	if bad != nil {
		return bad
	}
	if len(cols) != 1 && len(cols) != len(f.Y) || len(cols[0].Cells) != len(f.X.Cells) {
		return c.E.fail(wrongSize(c.at(0), fmt.Sprintf("`%s` takes one column of %d rows, or one for each column of y", usage, len(f.X.Cells)), ""))
	}
	z := make([]float64, len(f.Entries))
	for k, e := range f.Entries {
		cell := cols[min(e.Group, len(cols)-1)].Cells[e.Cell]
		if cell.Hole {
			return Waiting{On: fmt.Sprintf("row %d of the term", cell.Row), Unread: true}
		}
		z[k] = cell.Q.Value()
	}
	a := f.Result.Add(z)
	if name == "added_t" {
		return f.orWaits(name, bounded([]float64{a.T})[0], unit.Dim{}, nil)
	}
	return f.orWaits(name, a.Coef, f.Y[0].Dim.Div(cols[0].Dim), quotientUnit(f.Y[0], cols[0]))
}
