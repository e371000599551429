package blocks

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/unit"
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
	c := &calcBlock{name: b.Name, id: r.ID(), given: readGiven(r, b), steps: formula.ParseStatements(b.Body.Span, r.Set)}
	if len(c.steps) == 0 && strings.TrimSpace(b.Body.Span.Text()) == "" {
		r.Set.Add(&finding.Finding{Severity: finding.Note, Slug: "empty-block", At: b.KindAt, Message: "this block holds nothing", Hint: "write statements such as `A = pi * d^2 / 4`"})
	}
	return c
}

// readGiven reads the option that keeps a block filled on a blank sheet.
func readGiven(r *block.Reader, b *record.Block) bool {
	o, ok := b.Option("given")
	if ok && o.Value != "yes" && o.Value != "no" {
		r.Set.Add(badValue(o.ValueAt, "given", o.Value, "yes or no"))
	}
	return ok && o.Value == "yes"
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
	if s.View() == view.AsBlank && !c.given {
		return c.tasks(s)
	}
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
	if lit, ok := plainLiteral(st.X); ok {
		out.Result = literalResult(s, v)
		if lit.Instrument != "" {
			out.Stages = readingStages(s, st, lit)
			out.Result = block.Wanting(s.Text(v, quantity.Auto, 0, ""), s.Full(st.Name))
		}
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
	} else if m := inNumbers(s, st, v); m != nil {
		out.Stages = append(out.Stages, m)
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

// stepRoom is how many lines there are to work something out by hand: a
// formula in numbers, and the numbers on the way.
const stepRoom = 2

// picked reports whether a formula takes one of its readings.
func picked(x formula.Expr) bool {
	call, ok := bare(x).(*formula.Call)
	return ok && has([]string{"max", "min", "first", "last", "nth"}, call.Name)
}

func roomFor(st *formula.Statement) int {
	_, literal := plainLiteral(st.X)
	_, unread := st.X.(*formula.Unread)
	if literal || unread || picked(st.X) {
		return 0 // it is looked up or read
	}
	if !formulaKnown(st.X) {
		return stepRoom + 1 // the formula is to be written too
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

// readingStages sets a reading as it was typed, and what the instrument takes
// off it.
func readingStages(s *block.Shower, st *formula.Statement, lit *formula.Literal) []view.Math {
	typed := block.MathOf(st.X, s.Anchor, nil)
	v, ok := s.Value(st.Name).(eval.Scalar)
	in, _, known := quietly(s, st.Name).Env.Instrument(lit.Instrument)
	un, err := unit.Parse(lit.Unit.Text)
	if !ok || !known || err != nil {
		return []view.Math{typed}
	}
	number := lit.Number.Text
	if _, negative := bare(st.X).(*formula.Unary); negative {
		number = "-" + number
	}
	value, err := un.ToSI(number)
	if err != nil {
		return []view.Math{typed}
	}
	items := []view.Math{typed}
	for _, off := range []*quantity.Q{in.Zero, in.Error} {
		if off != nil && off.Value() != 0 {
			value -= off.Value()
			items = append(items, view.Op{Symbol: "−"}, signed(guarded(eval.Scalar{Q: *off}, un.Difference()), off.Value()))
		}
	}
	if len(items) == 1 || math.Abs(value-v.Q.Value()) > 1e-9*math.Abs(value) {
		return []view.Math{typed}
	}
	return []view.Math{typed, view.Seq{Items: items}}
}

// inNumbers sets a formula with every quantity in it as a number; nil where
// that cannot be, as with a column, or would say nothing.
func inNumbers(s *block.Shower, st *formula.Statement, v eval.Value) view.Math {
	if _, ok := v.(eval.Scalar); !ok {
		return nil
	}
	w := newWorking(s, st)
	if _, single := w.number(bare(st.X)); single {
		return nil
	}
	some, all := false, true
	m := block.Substituted(st.X, func(x formula.Expr) view.Math {
		switch x := x.(type) {
		case *formula.Name:
		case *formula.Call:
			if carriedOut[x.Name] {
				return nil
			}
		default:
			return nil
		}
		y, ok := w.number(x)
		some, all = some || ok, all && ok
		if !ok {
			return nil
		}
		un := eval.UnitOf(y)
		d := block.RoundedIn(y.Q, un)
		if y.Typed != "" {
			d = quantity.Typed(y.Typed, un)
		}
		return signed(d, y.Q.Value())
	})
	if !some || !all {
		return nil
	}
	return m
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
