package blocks

import (
	"math"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(compare{})

// compare is the kind `compare`: a result beside a reference value.
type compare struct{}

// Info implements block.Kind.
func (compare) Info() block.Info {
	return block.Info{Name: "compare", Naming: block.Named, Keys: []block.Keys{{Of: "a comparison", Names: compareKeys}}, What: "a result beside a handbook value or another quantity"}
}

var compareKeys = []string{"of", "with"}

type compareBlock struct {
	name     string
	at       source.Span
	of, with formula.Expr
	a, b     eval.Value
}

// Read implements block.Kind.
func (compare) Read(r *block.Reader, b *record.Block) block.Instance {
	m := b.ReadSettings(r.Set)
	c := &compareBlock{name: b.Name, at: b.NameAt}
	checkKeys(m, "a comparison", compareKeys, r.Set)
	for _, key := range compareKeys {
		s := scalar(m, key, r.Set)
		if s == nil {
			if m.Lacks(key) {
				r.Set.Add(missingKey(b.KindAt, key, "a comparison"))
			}
			continue
		}
		x := expression(s, r.Set)
		if key == "of" {
			c.of = x
		} else {
			c.with = x
		}
	}
	return c
}

// Defs implements block.Definer. A comparison provides its numbers.
func (b *compareBlock) Defs() []*block.Def {
	if b.name == "" {
		return nil
	}
	d := &block.Def{Name: b.name, At: b.at, Compute: b.compute}
	for _, x := range []formula.Expr{b.of, b.with} {
		if x != nil {
			d.Uses = append(d.Uses, block.UsesOf(x)...)
		}
	}
	return []*block.Def{d}
}

func (b *compareBlock) compute(c *block.Computing) eval.Value {
	b.a, b.b = eval.Waiting{}, eval.Waiting{}
	if b.of == nil || b.with == nil {
		return eval.Waiting{}
	}
	e := c.Eval(b.name)
	b.a, b.b = e.Expr(b.of), e.Expr(b.with)
	x, y, wait := b.pair()
	if wait != nil {
		b.report(c)
		return *wait
	}
	if x.Q.Dim() != y.Q.Dim() {
		c.Report(errorAt(b.with.Span(), "unit-clash", "cannot compare "+eval.Describe(x)+" with "+eval.Describe(y), "check the formula and the units of what goes in"))
		b.a, b.b = eval.Waiting{}, eval.Waiting{}
		return eval.Waiting{}
	}
	return b.space(c, x, y)
}

func (b *compareBlock) pair() (x, y eval.Scalar, wait *eval.Waiting) {
	for _, v := range []eval.Value{b.a, b.b} {
		if w, ok := v.(eval.Waiting); ok {
			return x, y, &w
		}
	}
	x, okx := b.a.(eval.Scalar)
	y, oky := b.b.(eval.Scalar)
	if !okx || !oky {
		return x, y, &eval.Waiting{}
	}
	return x, y, nil
}

// report says what is not one quantity.
func (b *compareBlock) report(c *block.Computing) {
	for i, v := range []eval.Value{b.a, b.b} {
		switch v.(type) {
		case eval.Scalar, eval.Waiting:
		default:
			x := b.of
			if i == 1 {
				x = b.with
			}
			hint := ""
			if s, ok := v.(*eval.Space); ok && len(s.Names) > 0 {
				hint = "name one of its constants: `" + formula.Print(x) + "." + likely(s, b.a) + "`"
			}
			c.Report(errorAt(x.Span(), "wrong-argument", "one quantity is needed here, this is "+eval.Describe(v), hint))
			b.a = eval.Waiting{}
		}
	}
}

// likely is what is meant inside a thing that stands for a reference value:
// the first of the dimension of the result, if any.
func likely(s *eval.Space, result eval.Value) string {
	dim, ok := eval.DimOf(result)
	if ok {
		for _, name := range s.Names {
			v, _ := s.Get(name)
			if d, ok := eval.DimOf(v); ok && d == dim {
				return name
			}
		}
	}
	return s.Names[0]
}

// space provides the difference, the ratio and, where it can be assessed, En.
func (b *compareBlock) space(c *block.Computing, x, y eval.Scalar) *eval.Space {
	u := apart(eval.UnitOf(x))
	return &eval.Space{What: "comparison", Name: b.name, Names: []string{"difference", "percent", "En"}, Get: func(name string) (eval.Value, bool) {
		switch name {
		case "difference":
			return eval.Scalar{Q: x.Q.Sub(y.Q), Unit: &u}, true
		case "percent":
			if q, ok := relative(x.Q, y.Q); ok {
				return eval.Scalar{Q: q, Unit: &percent}, true
			}
			return eval.Waiting{On: "a reference value other than zero"}, true
		case "En":
			en, why := normalizedError(x.Q, y.Q, c.Settings.Coverage)
			if why == "" {
				return eval.Number(en), true
			}
			return eval.Waiting{On: "En, which is not assessable: " + why}, true
		}
		return nil, false
	}}
}

// apart is the unit of a difference: temperatures differ by kelvins.
func apart(un unit.Unit) unit.Unit {
	if un.IsTemperature() {
		return unit.Of(un.Dim())
	}
	return un.Difference()
}

// relative is the difference of x from y, relative to the magnitude of y, so
// that it is positive where x lies above y. There is none to a y of zero.
func relative(x, y quantity.Q) (quantity.Q, bool) {
	size := y
	if y.Value() < 0 {
		size = y.Neg()
	}
	if size.Value() == 0 {
		return quantity.Q{}, false
	}
	return x.Sub(y).Div(size), true
}

// normalizedError is En of ISO 13528 and ISO/IEC 17043: the difference over
// the root sum of squares of both expanded uncertainties, for a coverage
// probability p. It needs both; why says what it lacks. The standards suppose
// that the two are independent; for two that share sources the sum is less
// twice their covariance, each expanded like its own.
func normalizedError(x, y quantity.Q, p float64) (en float64, why string) {
	switch {
	case !x.IsUncertain():
		return 0, "the result has no stated uncertainty"
	case !y.IsUncertain():
		return 0, "the reference value has no stated uncertainty"
	}
	j := jointly(x, y, p)
	square := j.a + j.b - j.common
	if !(square > 1e-12*(j.a+j.b)) {
		return 0, "both rest on the same sources"
	}
	return (x.Value() - y.Value()) / math.Sqrt(square), ""
}

// joint is what the normalized error divides by: the squares of both expanded
// uncertainties, and what is taken off for sources that both share.
type joint struct{ a, b, common float64 }

func jointly(x, y quantity.Q, p float64) joint {
	a, b := budget.Expand(x, p), budget.Expand(y, p)
	j := joint{a: float64(a.Expanded * a.Expanded), b: float64(b.Expanded * b.Expanded)}
	if shareSources(x, y) {
		u := x.Sub(y).U()
		covariance := (float64(a.U*a.U) + float64(b.U*b.U) - float64(u*u)) / 2
		j.common = 2 * a.K * b.K * covariance
	}
	return j
}

// shareSources reports whether a source, or the scatter of a fit, takes part
// in both quantities.
func shareSources(x, y quantity.Q) bool {
	seen := map[string]bool{}
	for _, t := range x.Terms() {
		seen[sourceID(t.Source)] = true
	}
	for _, t := range y.Terms() {
		if seen[sourceID(t.Source)] {
			return true
		}
	}
	return false
}

func sourceID(s *quantity.Source) string {
	if s.Group != nil {
		return s.Group.ID
	}
	return s.ID
}

// Show implements block.Instance.
func (b *compareBlock) Show(s *block.Shower) []view.Node {
	title := view.Text{view.Plain("Comparison")}
	if b.of != nil && b.with != nil {
		title = view.Text{view.Formula{Math: s.Brief(b.of)}, view.Plain(" beside ")}
		title = append(title, b.referenceName(s)...)
	}
	x, y, wait := b.pair()
	if s.View() == view.AsBlank {
		return b.task(s, title, x)
	}
	if wait != nil {
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: append(title, view.Plain(": "), view.Missing{Why: block.WaitsFor(*wait)})}}
	}
	c := b.comparison(s, x, y)
	en, why := normalizedError(x.Q, y.Q, s.Settings.Coverage)
	nodes := []view.Node{b.facts(s, title, c, en, why)}
	if s.View() == view.AsWorked {
		nodes = append(nodes, c.steps())
	}
	return append(nodes, &view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain(sentence(x.Q, y.Q, en, why == "", s.Settings))}})
}

// referenceName says with what the result is compared: a handbook value by its
// material, anything else by its symbol.
func (b *compareBlock) referenceName(s *block.Shower) view.Text {
	n, ok := bare(b.with).(*formula.Name)
	if i := strings.LastIndexByte(formula.Print(b.with), '.'); ok && i >= 0 && block.SourceOf(b.b) != "" {
		material := n.Name[strings.LastIndexByte(n.Name[:i], '.')+1 : i]
		return view.Text{view.Plain("the handbook value of "), view.Formula{Math: block.Symbol(n.Name[i+1:])},
			view.Plain(" for " + strings.ReplaceAll(material, "_", " "))}
	}
	return view.Text{view.Formula{Math: s.Brief(b.with)}}
}

// facts lists the numbers of the comparison.
func (b *compareBlock) facts(s *block.Shower, title view.Text, c *comparing, en float64, why string) *view.Facts {
	f := &view.Facts{ID: s.ID() + "-facts", Title: title, Standing: view.Computed}
	add := func(term string, t view.Text) {
		f.Items = append(f.Items, view.Fact{Term: view.Text{view.Plain(term)}, Text: t})
	}
	result, reference := c.forms()
	add("result", s.Text(c.x, result, 0, ""))
	add("reference value", append(s.Text(c.y, reference, 0, ""), fromSource(b.b)...))
	add("difference", c.text(c.x.Q.Sub(c.y.Q), apart(eval.UnitOf(c.x))))
	if rel, ok := relative(c.x.Q, c.y.Q); ok {
		add("percentage difference", c.text(rel, percent))
	}
	if why == "" {
		add("normalized error Eₙ", comparisonText(en, one))
	} else {
		add("normalized error Eₙ", view.Text{view.Plain("not assessable: " + why)})
	}
	return f
}

// task is what a blank sheet asks for. What the result is compared with is told
// where it is no result itself.
func (b *compareBlock) task(s *block.Shower, title view.Text, x eval.Scalar) []view.Node {
	un, du := axisUnit(eval.UnitOf(x)), axisUnit(apart(eval.UnitOf(x)))
	blank := func(un string) view.Text { return view.Text{view.Blank{Unit: un}} }
	reference := blank(un)
	y, known := b.b.(eval.Scalar)
	if known && b.isTold(s) {
		reference = append(givenNumbers(s.Text(y, quantity.Auto, 0, "")), fromSource(b.b)...)
	}
	f := &view.Facts{ID: s.ID() + "-facts", Title: title, Standing: view.Given, Items: []view.Fact{
		{Term: view.Text{view.Plain("result")}, Text: blank(un)},
		{Term: view.Text{view.Plain("reference value")}, Text: reference}}}
	steps := &view.Steps{ID: s.ID() + "-work", Standing: view.Given}
	add := func(name string, symbol view.Math, label, un string, stages ...view.Math) {
		steps.Steps = append(steps.Steps, view.Step{ID: s.ID() + "-work-" + name, Symbol: symbol, Label: label, Room: comparisonRoom,
			Stages: stages, Result: blank(un), Standing: view.Given})
	}
	of, with := b.symbols(s)
	add("difference", deviation(), "difference", du, minusMath(of, with))
	add("percentage", view.Styled{Style: "displaystyle", Body: view.Frac{Num: deviation(), Den: with}}, "percentage difference", "%")
	if known && y.Q.IsUncertain() {
		add("En", script("E", "n"), "normalized error", "", view.Frac{Num: deviation(), Den: rootOfSquares(of, with)})
	}
	return []view.Node{f, steps, &view.Ruled{Title: "In words:", Label: "room for what the comparison says", Lines: comparisonRoom}}
}

// isTold reports whether the reference value is typed where it stands, or what
// every reader is told.
func (b *compareBlock) isTold(s *block.Shower) bool {
	lit, typed := plainLiteral(b.with)
	return typed && lit.Instrument == "" || s.Given(b.with)
}

// fromSource says where a handbook value comes from.
func fromSource(v eval.Value) view.Text {
	if t := block.SourceOf(v); t != "" {
		return view.Text{view.Plain(", " + t)}
	}
	return nil
}

// rootOfSquares is the root sum of squares of two expanded uncertainties.
func rootOfSquares(a, b view.Math) view.Math {
	square := func(m view.Math) view.Math {
		return view.Seq{Items: []view.Math{view.Script{Base: ident("U"), Sup: view.Num{Digits: "2"}}, inBrackets(m)}}
	}
	return view.Root{Body: view.Seq{Items: []view.Math{square(a), view.Op{Symbol: "+"}, square(b)}}}
}

// comparisonRoom is how many lines there are for each number of a comparison,
// and for what it says.
const comparisonRoom = 2

// sentence says in plain words how the two agree.
func sentence(x, y quantity.Q, en float64, assessable bool, with block.Settings) string {
	diff := x.Value() - y.Value()
	head := "The result equals the reference value"
	if diff != 0 {
		head = "The result lies" + howMuch(x, y, with) + " the reference value"
	}
	switch U := budget.Expand(x, with.Coverage).Expanded; {
	case assessable && math.Abs(en) <= 1:
		return head + ": the two agree within their expanded uncertainties (|Eₙ| ≤ 1)."
	case assessable:
		return head + ": more than their expanded uncertainties explain (|Eₙ| > 1)."
	case U > 0 && math.Abs(diff) <= U:
		return head + ", which is within the result's own expanded uncertainty."
	case U > 0:
		return head + ", which is outside the result's own expanded uncertainty: the material may not be what the handbook describes, or something in the measurement is not accounted for."
	}
	return head + "."
}

func howMuch(x, y quantity.Q, with block.Settings) string {
	side := " above"
	if x.Value() < y.Value() {
		side = " below"
	}
	rel, ok := relative(x, y)
	if !ok {
		return side
	}
	d := comparisonDisplay(rel, percent, with)
	d.Number, d.PlusMinus, d.Coverage = strings.TrimPrefix(d.Number, "-"), "", ""
	if strings.Trim(d.Number, "0.") == "" {
		return " less than its uncertainty" + side
	}
	return " " + d.String() + side
}
