package blocks

import (
	"fmt"
	"math"

	"example.org/taut/engine/block"
	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var _ = add(compare{})

// compare is the kind `compare`: a result beside a reference value.
type compare struct{}

// Info implements block.Kind.
func (compare) Info() block.Info {
	return block.Info{Name: "compare", Naming: block.Named, What: "a result beside a handbook value or another quantity"}
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
			if m.Get(key) == nil {
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
				hint = "name one of its constants: `" + formula.Print(x) + "." + s.Names[0] + "`"
			}
			c.Report(errorAt(x.Span(), "wrong-argument", "one quantity is needed here, this is "+eval.Describe(v), hint))
			b.a = eval.Waiting{}
		}
	}
}

// space provides the difference, the ratio and, where it can be assessed, En.
func (b *compareBlock) space(c *block.Computing, x, y eval.Scalar) *eval.Space {
	u := eval.UnitOf(x).Difference()
	return &eval.Space{What: "comparison", Name: b.name, Names: []string{"difference", "percent", "En"}, Get: func(name string) (eval.Value, bool) {
		switch name {
		case "difference":
			return eval.Scalar{Q: x.Q.Sub(y.Q), Unit: &u}, true
		case "percent":
			return eval.Scalar{Q: x.Q.Sub(y.Q).Div(y.Q), Unit: &percent}, true
		case "En":
			if en, ok := normalizedError(c, x, y); ok {
				return eval.Number(en), true
			}
			return eval.Waiting{On: "the uncertainty of the reference value"}, true
		}
		return nil, false
	}}
}

// normalizedError is En of ISO 13528 and ISO/IEC 17043: the difference over
// the root sum of squares of the expanded uncertainties. It needs both.
func normalizedError(c *block.Computing, x, y eval.Scalar) (float64, bool) {
	if !x.Q.IsUncertain() || !y.Q.IsUncertain() {
		return 0, false
	}
	a, b := budget.Expand(x.Q, c.Settings.Coverage).Expanded, budget.Expand(y.Q, c.Settings.Coverage).Expanded
	return (x.Q.Value() - y.Q.Value()) / math.Hypot(a, b), true
}

// Show implements block.Instance.
func (b *compareBlock) Show(s *block.Shower) []view.Node {
	title := view.Text{view.Plain("Comparison")}
	if b.of != nil && b.with != nil {
		title = view.Text{view.Formula{Math: block.MathOf(b.of, s.Anchor, nil)}, view.Plain(" beside " + formula.Print(b.with))}
	}
	x, y, wait := b.pair()
	if wait != nil {
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: append(title, view.Plain(": "), view.Missing{Why: block.WaitsFor(*wait)})}}
	}
	un := eval.UnitOf(x)
	y.Unit = &un
	diff := x.Q.Sub(y.Q)
	f := &view.Facts{ID: s.ID() + "-facts", Title: title, Standing: view.Computed}
	add := func(term string, t view.Text) {
		f.Items = append(f.Items, view.Fact{Term: view.Text{view.Plain(term)}, Text: t})
	}
	add("result", s.Text(x, quantity.Interval, 0, ""))
	ref := s.Text(y, quantity.Auto, 0, "")
	if t := block.SourceOf(b.b); t != "" {
		ref = append(ref, view.Plain(", "+t))
	}
	add("reference value", ref)
	du := un.Difference()
	digits := quantity.Options{N: 2}
	add("difference", view.Text{view.Number{Value: diff.Value(), Display: quantity.Format(diff.Value(), 0, 0, du, quantity.Figures, digits), Standing: view.Computed}})
	rel := diff.Value() / y.Q.Value()
	add("percentage difference", view.Text{view.Number{Value: rel, Display: quantity.Format(rel, 0, 0, percent, quantity.Figures, digits), Standing: view.Computed}})
	en, ok := normalizedError(s.Computing, x, y)
	if ok {
		add("normalized error Eₙ", view.Text{view.Number{Value: en, Display: quantity.Format(en, 0, 0, one, quantity.Figures, digits), Standing: view.Computed}})
	} else {
		add("normalized error Eₙ", view.Text{view.Plain("not assessable: " + b.lacking(x) + " has no stated uncertainty")})
	}
	return []view.Node{f, &view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain(b.sentence(s, x, y, en, ok))}}}
}

func (b *compareBlock) lacking(x eval.Scalar) string {
	if !x.Q.IsUncertain() {
		return "the result"
	}
	return "the reference value"
}

// sentence says in plain words how the two agree.
func (b *compareBlock) sentence(s *block.Shower, x, y eval.Scalar, en float64, assessable bool) string {
	diff := x.Q.Value() - y.Q.Value()
	side := "above"
	if diff < 0 {
		side = "below"
	}
	rel := quantity.Format(math.Abs(diff/y.Q.Value()), 0, 0, percent, quantity.Figures, quantity.Options{N: 2}).String()
	head := fmt.Sprintf("The result lies %s %s the reference value", rel, side)
	if diff == 0 {
		head = "The result equals the reference value"
	}
	switch U := budget.Expand(x.Q, s.Settings.Coverage).Expanded; {
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
