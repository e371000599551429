package blocks

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var _ = add(calc{})

// calc is the kind `calc`: worked statements.
type calc struct{}

// Info implements block.Kind.
func (calc) Info() block.Info {
	return block.Info{Name: "calc", Naming: block.Labelled, Options: []string{"given"}, What: "statements `name = expression`, shown as a worked calculation"}
}

type calcBlock struct {
	name  string
	id    string
	steps []*formula.Statement
	given bool
}

// Read implements block.Kind.
func (calc) Read(r *block.Reader, b *record.Block) block.Instance {
	c := &calcBlock{name: b.Name, id: r.ID(), steps: formula.ParseStatements(b.Body.Span, r.Set)}
	if o, ok := b.Option("given"); ok {
		c.given = o.Value == "yes"
		if o.Value != "yes" && o.Value != "no" {
			r.Set.Add(badValue(o.ValueAt, "given", o.Value, "yes or no"))
		}
	}
	if len(c.steps) == 0 && strings.TrimSpace(b.Body.Span.Text()) == "" {
		r.Set.Add(&finding.Finding{Severity: finding.Note, Slug: "empty-block", At: b.KindAt, Message: "this block holds nothing", Hint: "write statements such as `A = pi * d^2 / 4`"})
	}
	return c
}

// Defs implements block.Definer.
func (c *calcBlock) Defs() []*block.Def {
	var out []*block.Def
	for _, st := range c.steps {
		if st.Name == "" || st.X == nil {
			continue
		}
		out = append(out, &block.Def{Name: st.Name, At: st.NameAt, Uses: block.UsesOf(st.X), Anchor: c.id + "-" + st.Name, Alias: block.AliasOf(st.X),
			Compute: func(x *block.Computing) eval.Value {
				e := x.Eval(st.Name)
				v := x.InUnit(e, e.Expr(st.X), st.In, st.X)
				if s, ok := v.(eval.Scalar); ok {
					overlap(x, st, s.Q)
				}
				return v
			}})
	}
	return out
}

// overlap cautions where different reductions of shared readings meet in one
// value: their scatter is counted as if it were independent.
func overlap(x *block.Computing, st *formula.Statement, q quantity.Q) {
	a, b := eval.SharedReadings(q)
	if a == nil {
		return
	}
	for _, n := range formula.Names(st.X) {
		if v, _ := x.Eval("").Env.Lookup(n.Name); v != nil {
			if s, ok := v.(eval.Scalar); ok {
				if p, _ := eval.SharedReadings(s.Q); p != nil {
					return // it was said there
				}
			}
		}
	}
	x.Report(cautionAt(st.X.Span(), "shared-readings",
		fmt.Sprintf("%s and %s rest on the same readings and meet in `%s`, as if they were independent", a.Label, b.Label, st.Name),
		"take one of the two results; their agreement shows nothing about the readings"))
}

// Show implements block.Instance.
func (c *calcBlock) Show(s *block.Shower) []view.Node {
	out := &view.Steps{ID: s.ID() + "-steps", Standing: view.Computed}
	if c.given {
		out.Standing = view.Given
	}
	for _, st := range c.steps {
		if st.Name != "" && st.X != nil {
			if s.View() == view.AsWorked {
				out.Steps = append(out.Steps, showMeans(s, st)...)
			}
			step := showStep(s, st, out.Standing)
			if c.given {
				step.Result = givenNumbers(step.Result)
			}
			out.Steps = append(out.Steps, step)
		}
	}
	if len(out.Steps) == 0 {
		return nil
	}
	return []view.Node{out}
}

// givenNumbers is a text whose numbers are what every reader is told.
func givenNumbers(t view.Text) view.Text {
	for i, r := range t {
		if n, ok := r.(view.Number); ok {
			n.Standing = view.Given
			t[i] = n
		}
	}
	return t
}

// Given implements block.Keeper.
func (c *calcBlock) Given() bool { return c.given }

func showStep(s *block.Shower, st *formula.Statement, standing view.Standing) view.Step {
	v := s.Value(st.Name)
	out := view.Step{ID: s.ID() + "-" + st.Name, Symbol: block.Symbol(st.Name), Label: st.Label, Standing: standing}
	if s.View() == view.AsBlank && standing != view.Given {
		out.Result, out.Room = view.Text{view.Blank{Unit: blankUnit(st, v)}}, roomFor(st, v)
		return out
	}
	if lit, ok := plainLiteral(st.X); ok && lit.Instrument == "" {
		out.Result = literalResult(s, v)
		return out
	}
	if _, ok := st.X.(*formula.Unread); ok {
		out.Result = block.Wanting(s.Text(v, quantity.Auto, 0, ""), s.Full(st.Name))
		return out
	}
	out.Uses = usesOf(s, st.X)
	out.Stages = []view.Math{block.MathOf(st.X, s.Anchor, nil)}
	if s.View() == view.AsWorked {
		out.Stages = append(out.Stages, newWorking(s, st).stages(v)...)
	} else if _, ok := v.(eval.Scalar); ok && hasNumbers(s, st.X) {
		out.Stages = append(out.Stages, block.MathOf(st.X, s.Anchor, s.Numbers()))
	}
	out.Result = block.Wanting(s.Text(v, quantity.Auto, 0, ""), s.Full(st.Name))
	return out
}

// blankUnit is the unit in which a result is asked for.
func blankUnit(st *formula.Statement, v eval.Value) string {
	if st.In.Text != "" {
		return st.In.Text
	}
	if _, ok := eval.DimOf(v); ok {
		return axisUnit(eval.UnitOf(v))
	}
	return ""
}

// Lines of room for working something out by hand: a formula in symbols, in
// numbers, and the result; for a column, two of its cells to a line.
const (
	stepRoom     = 3
	cellsPerLine = 2
)

func roomFor(st *formula.Statement, v eval.Value) int {
	_, literal := plainLiteral(st.X)
	_, unread := st.X.(*formula.Unread)
	_, named := bare(st.X).(*formula.Name)
	if literal || unread || named {
		return 0 // it is looked up, read, or worked out before
	}
	if c, ok := v.(*eval.Column); ok {
		return stepRoom + len(c.Cells)/cellsPerLine
	}
	return stepRoom
}

// literalResult shows what was typed: the value with its standard uncertainty.
func literalResult(s *block.Shower, v eval.Value) view.Text {
	if block.Uncertain(v) {
		return s.Text(v, quantity.Concise, 0, "")
	}
	return s.Text(v, quantity.Auto, 0, "")
}

func plainLiteral(x formula.Expr) (*formula.Literal, bool) {
	switch x := x.(type) {
	case *formula.Literal:
		return x, true
	case *formula.Unary:
		if x.Op == "-" {
			return plainLiteral(x.X)
		}
	case *formula.Paren:
		return plainLiteral(x.X)
	}
	return nil, false
}

// hasNumbers reports whether there is a quantity to be put in for a name.
func hasNumbers(s *block.Shower, x formula.Expr) bool {
	for _, n := range formula.Names(x) {
		if _, ok := s.Value(n.Name).(eval.Scalar); ok {
			return true
		}
	}
	return false
}

// usesOf lists the names of an expression, each once, with what defines them.
func usesOf(s *block.Shower, x formula.Expr) []view.Ref {
	var out []view.Ref
	seen := map[string]bool{}
	for _, n := range formula.Names(x) {
		if id := s.Anchor(n.Name); id != "" && !seen[n.Name] {
			seen[n.Name] = true
			out = append(out, view.Ref{Name: n.Name, ID: id})
		}
	}
	return out
}
