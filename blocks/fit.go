package blocks

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/view"
)

var _ = add(fitKind{})

// fitKind is the kind `fit`: a straight line, a line through the origin or a
// polynomial by least squares.
type fitKind struct{}

// Info implements block.Kind.
func (fitKind) Info() block.Info {
	return block.Info{Name: "fit", Naming: block.Named, Keys: []block.Keys{{Of: "a fit", Names: fitKeys}}, What: "a straight, proportional or polynomial fit by least squares"}
}

var fitKeys = []string{"y", "x", "model", "weights", "where", "order", "intercepts"}

type fitBlock struct {
	name    string
	at      source.Span
	head    source.Span
	y       []formula.Expr
	x       formula.Expr
	where   formula.Expr
	order   []formula.Expr
	one     bool // one intercept for all columns
	options fit.Options
	ok      bool
	fitted  *eval.Fitted
}

// Read implements block.Kind.
func (fitKind) Read(r *block.Reader, b *record.Block) block.Instance {
	m := b.ReadSettings(r.Set)
	f := &fitBlock{name: b.Name, at: b.NameAt, head: b.KindAt, ok: true}
	checkKeys(m, "a fit", fitKeys, r.Set)
	f.y = expressions(m, "y", r.Set)
	if s := scalar(m, "x", r.Set); s != nil {
		f.x = expression(s, r.Set)
	}
	for _, key := range []string{"y", "x"} {
		if m.Lacks(key) {
			r.Set.Add(missingKey(b.KindAt, key, "a fit"))
		}
	}
	if s := scalar(m, "where", r.Set); s != nil {
		f.where = expression(s, r.Set)
	}
	f.ok = f.ok && f.x != nil && len(f.y) > 0
	f.order = expressions(m, "order", r.Set)
	f.readIntercepts(scalar(m, "intercepts", r.Set), r.Set)
	f.readModel(scalar(m, "model", r.Set), r.Set)
	f.readWeights(scalar(m, "weights", r.Set), r.Set)
	return f
}

// expressions reads a setting that holds one expression or a list of them.
func expressions(m *record.Setting, key string, set *finding.Set) []formula.Expr {
	s := m.Get(key)
	if s == nil {
		return nil
	}
	var out []formula.Expr
	for _, item := range s.List() {
		if item.Broken {
			return []formula.Expr{&formula.Bad{At: item.At}}
		}
		if item.Kind != record.ScalarSetting {
			set.Add(badValue(item.At, key, "a list or map", "an expression or a list of expressions"))
			return []formula.Expr{&formula.Bad{At: item.At}}
		}
		out = append(out, expression(item, set))
	}
	return out
}

func (f *fitBlock) readModel(s *record.Setting, set *finding.Set) {
	if s == nil {
		return
	}
	switch words := strings.Fields(s.Text); {
	case s.Text == "straight":
	case s.Text == "proportional":
		f.options.Model = fit.Proportional
	case len(words) == 2 && words[0] == "polynomial":
		n, err := strconv.Atoi(words[1])
		if err != nil || n < 2 || n > fit.MaxDegree {
			set.Add(badValue(s.At, "model", s.Text, fmt.Sprintf("polynomial 2 … polynomial %d", fit.MaxDegree)))
			f.ok = false
			return
		}
		f.options.Model, f.options.Degree = fit.Polynomial, n
	default:
		set.Add(badValue(s.At, "model", s.Text, "straight, proportional or polynomial with a degree"))
		f.ok = false
	}
}

func (f *fitBlock) readWeights(s *record.Setting, set *finding.Set) {
	switch {
	case s == nil || s.Text == "equal":
	case s.Text == "stated":
		f.options.Weights = fit.Stated
	default:
		set.Add(badValue(s.At, "weights", s.Text, "equal or stated"))
		f.ok = false
	}
}

func (f *fitBlock) readIntercepts(s *record.Setting, set *finding.Set) {
	switch {
	case s == nil || s.Text == "each":
	case s.Text == "one":
		f.one = true
	default:
		set.Add(badValue(s.At, "intercepts", s.Text, "each or one"))
		f.ok = false
	}
}

// Defs implements block.Definer.
func (f *fitBlock) Defs() []*block.Def {
	if f.name == "" {
		return nil
	}
	d := &block.Def{Name: f.name, At: f.at, Compute: f.compute}
	for _, y := range f.y {
		d.Uses = append(d.Uses, block.UsesOf(y)...)
	}
	if f.x != nil {
		d.Uses = append(d.Uses, block.UsesOf(f.x)...)
	}
	if f.where != nil {
		d.Uses = append(d.Uses, block.UsesOf(f.where)...)
	}
	for _, o := range f.order {
		d.Uses = append(d.Uses, block.UsesOf(o)...)
	}
	return []*block.Def{d}
}

func (f *fitBlock) compute(c *block.Computing) eval.Value {
	if !f.ok {
		return eval.Waiting{}
	}
	e := c.Eval(f.name)
	ys, wait := columnsOf(e, f.y)
	if wait != nil {
		return wait
	}
	xs, wait := columnsOf(e, []formula.Expr{f.x})
	if wait != nil {
		return wait
	}
	if len(xs) != 1 {
		c.Report(errorAt(f.x.Span(), "wrong-argument", "`x` must be one column", ""))
		return eval.Waiting{}
	}
	in := eval.FitInput{Name: c.Full(f.name), Y: ys, X: xs[0], OneIntercept: f.one, Options: f.options}
	if wait := f.rows(c, e, &in); wait != nil {
		return wait
	}
	if in.Order, wait = f.steps(c, e, in); wait != nil {
		return wait
	}
	if n, name := cellsRead(in); n == 0 {
		return eval.Waiting{On: name, Unread: true}
	}
	fitted, err := eval.NewFit(in)
	if err != nil {
		f.failed(c, err)
		return eval.Waiting{}
	}
	f.fitted = fitted
	f.remark(c)
	return fitted.Space()
}

// columnsOf evaluates expressions to columns; a list counts as its members.
func columnsOf(e *eval.Eval, xs []formula.Expr) ([]*eval.Column, eval.Value) {
	var out []*eval.Column
	for _, x := range xs {
		switch v := e.Expr(x).(type) {
		case *eval.Column:
			out = append(out, v)
		case eval.List:
			for _, m := range v.Members {
				col, ok := m.(*eval.Column)
				if !ok {
					e.Report(errorAt(x.Span(), "wrong-argument", "columns are needed here, this is "+eval.Describe(m), ""))
					return nil, eval.Waiting{}
				}
				out = append(out, col)
			}
		case eval.Waiting:
			return nil, v
		default:
			e.Report(errorAt(x.Span(), "wrong-argument", "a column is needed here, this is "+eval.Describe(v), ""))
			return nil, eval.Waiting{}
		}
	}
	return out, nil
}

// rows checks that all columns have the same dimension and length, and reads
// the condition on rows. It returns what the fit waits for, nil for nothing.
func (f *fitBlock) rows(c *block.Computing, e *eval.Eval, in *eval.FitInput) eval.Value {
	n := len(in.X.Cells)
	for i, y := range in.Y {
		at := f.y[min(i, len(f.y)-1)].Span()
		if m := misfit(at, y, in.Y[0], in.X, "fit"); m != nil {
			c.Report(m)
			return eval.Waiting{}
		}
	}
	if f.where == nil {
		return nil
	}
	switch v := e.Expr(f.where).(type) {
	case eval.Bools:
		if len(v.Cells) != n {
			c.Report(errorAt(f.where.Span(), "ragged-columns", fmt.Sprintf("the condition has %s, the columns %s", countOf(len(v.Cells), "row"), countOf(n, "row")), ""))
			return eval.Waiting{}
		}
		in.Where = make([]bool, n)
		for i, b := range v.Cells {
			in.Where[i] = b.Truth.Is && !b.Hole
		}
		return nil
	case eval.Waiting:
		return v
	default:
		c.Report(errorAt(f.where.Span(), "not-a-condition", "`where` needs a condition on rows, such as `load > 1 kg`, this is "+eval.Describe(v), ""))
	}
	return eval.Waiting{}
}

// steps reads the columns in whose order a single step is sought.
func (f *fitBlock) steps(c *block.Computing, e *eval.Eval, in eval.FitInput) ([]*eval.Column, eval.Value) {
	if f.order == nil {
		return nil, nil
	}
	order, wait := columnsOf(e, f.order)
	if wait != nil {
		return nil, wait
	}
	at := f.order[0].Span()
	if len(order) != 1 && len(order) != len(in.Y) {
		c.Report(errorAt(at, "wrong-argument", fmt.Sprintf("`order` takes one column, or one for each of the %d columns of `y`, not %d", len(in.Y), len(order)), ""))
		return nil, eval.Waiting{}
	}
	for _, o := range order {
		if len(o.Cells) != len(in.X.Cells) {
			c.Report(errorAt(at, "ragged-columns", fmt.Sprintf("`order` has %s, `x` %s", countOf(len(o.Cells), "row"), countOf(len(in.X.Cells), "row")), "take columns of one table"))
			return nil, eval.Waiting{}
		}
		for g, y := range in.Y {
			if len(order) > 1 && o != order[g] {
				continue
			}
			for i, cell := range o.Cells {
				if cell.Hole && !y.Cells[i].Hole {
					return nil, eval.Waiting{On: o.Name, Unread: true}
				}
			}
		}
	}
	return order, nil
}

// misfit reports a column of `y` that does not go with the first or with `x`;
// verb is what is to be done with them.
func misfit(at source.Span, y, first, x *eval.Column, verb string) *finding.Finding {
	switch {
	case y.Dim != first.Dim:
		return errorAt(at, "unit-clash", "the columns of `y` are "+eval.Describe(first)+" and "+eval.Describe(y), verb+" them apart")
	case len(y.Cells) != len(x.Cells):
		return errorAt(at, "ragged-columns", fmt.Sprintf("`y` has %s, `x` %s", countOf(len(y.Cells), "row"), countOf(len(x.Cells), "row")), "take columns of one table")
	}
	return nil
}

// cellsRead counts the cells that could take part, and names a column.
func cellsRead(in eval.FitInput) (int, string) {
	n := 0
	for _, y := range in.Y {
		for i, cell := range y.Cells {
			if !cell.Hole && !in.X.Cells[i].Hole {
				n++
			}
		}
	}
	return n, in.Y[0].Name
}

func (f *fitBlock) failed(c *block.Computing, err error) {
	why := err.Error()
	var fe *fit.Error
	if errors.As(err, &fe) {
		why = fe.Msg
	}
	g := errorAt(f.at, "no-fit", "this fit cannot be made: "+why, "look at the readings and at `where`")
	g.OfData = true
	c.Report(g)
}

// remark says what a reader of the fit should know.
func (f *fitBlock) remark(c *block.Computing) {
	r := f.fitted.Result
	for i, y := range f.fitted.Y {
		for _, name := range eval.Uninstrumented(y) {
			at := f.y[min(i, len(f.y)-1)].Span()
			c.Report(&finding.Finding{Severity: finding.Note, Slug: "no-instrument", At: at,
				Message: "`" + name + "` was read by no stated instrument: only the scatter counts as uncertainty",
				Hint:    "name the instrument in the heading, as in `up / mm @screw`"})
		}
	}
	if r.N == r.P {
		c.Report(cautionAt(f.at, "no-freedom", fmt.Sprintf("%s determine %s: nothing is left to judge the scatter by", countOf(r.N, "reading"), countOf(r.P, "coefficient")), "take more readings"))
	}
	if r.Options.Weights == fit.Stated && r.N > r.P {
		if limit := stat.ChiSquaredQuantile(0.95, float64(r.N-r.P)); r.Chi2 > limit {
			c.Report(cautionAt(f.at, "chi-squared", fmt.Sprintf("the points scatter more than their stated uncertainties allow: χ² = %s, the 95 %% point is %s",
				quantity.RoundFigures(r.Chi2, 3), quantity.RoundFigures(limit, 3)), "some uncertainty is stated too small, or the line is not straight"))
		}
	}
}

// Show implements block.Instance.
func (f *fitBlock) Show(s *block.Shower) []view.Node {
	if s.View() == view.AsBlank {
		if f.onPaper(s) {
			return nil
		}
		return f.task(s)
	}
	if f.fitted == nil {
		w, _ := s.Value(f.name).(eval.Waiting)
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain("Fit "), view.Code(f.name), view.Plain(": "), view.Missing{Why: block.WaitsFor(w)}}}}
	}
	r := f.fitted.Result
	facts := &view.Facts{ID: s.ID() + "-facts", Standing: view.Computed,
		Title: view.Text{view.Plain("Fit "), view.Code(s.Full(f.name)), view.Plain(": " + f.fitted.What() + ", " + weighing(r))}}
	for _, name := range f.fitted.Names() {
		switch name {
		case "residuals", "s", "r2", "n", "dof", "chi2":
		default:
			if !strings.HasPrefix(name, "slope") && !strings.HasPrefix(name, "intercept") && !isCoefficient(name) || name == "intercept" && f.fitted.Intercepts() > 1 {
				continue
			}
			v := s.Value(f.name + "." + name)
			facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Formula{Math: block.Symbol(name)}}, Text: s.Text(v, quantity.Concise, 0, "")})
		}
	}
	text := s.Text(s.Value(f.name+".s"), quantity.Figures, 2, "")
	facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Plain("scatter of a point")}, Text: append(text, view.Plain(", "+countOf(r.N, "reading")+", "+countOf(r.N-r.P, "degree")+" of freedom"))})
	if r.Floored {
		facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Plain("taken as")}, Text: view.Text{
			view.Number{Value: r.Floor, Display: quantity.Format(r.Floor, 0, 0, unitOf(f.fitted.Y[0]).Difference(), quantity.Figures, quantity.Options{N: 2}), Standing: view.Computed},
			view.Plain(", by the resolution of the readings, which is larger")}})
	}
	if !math.IsNaN(r.Chi2) {
		facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Plain("χ²")}, Text: s.Text(s.Value(f.name+".chi2"), quantity.Figures, 3, "")})
	}
	if !math.IsNaN(r.R2) {
		facts.Items = append(facts.Items, f.determination(s))
	}
	nodes := []view.Node{facts}
	if s.View() == view.AsWorked {
		nodes = append(f.work(s), facts)
	}
	return nodes
}

// determination shows R², which is 1 only where the line meets every reading.
func (f *fitBlock) determination(s *block.Shower) view.Fact {
	term := view.Text{view.Formula{Math: view.Script{Base: view.Ident{Name: "R"}, Sup: view.Num{Digits: "2"}}}}
	if f.options.Model == fit.Straight && f.fitted.Intercepts() > 1 {
		term = append(term, view.Plain(" within the columns"))
	}
	text := s.Text(s.Value(f.name+".r2"), quantity.Figures, 5, "")
	switch r2 := f.fitted.Result.R2; {
	case r2 == 1:
		text = view.Text{view.Plain("1")}
	case r2 > nearlyOne:
		text = view.Text{view.Plain("> " + quantity.RoundPlaces(nearlyOne, 5))}
	}
	return view.Fact{Term: term, Text: text}
}

// nearlyOne is the greatest R² that five figures tell from 1.
const nearlyOne = 0.99999

func isCoefficient(name string) bool {
	return len(name) > 1 && name[0] == 'c' && isDigits(name[1:])
}

func weighing(r *fit.Result) string {
	if r.Options.Weights == fit.Stated {
		return "weighted by the stated uncertainties"
	}
	return "least squares, equal weights"
}
