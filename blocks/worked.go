package blocks

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// working sets one step in full: the formula in symbols, the numbers put in
// with their units, the same in coherent SI units with the units reduced, and
// the value before it is rounded.
type working struct {
	s  *block.Shower
	e  *eval.Eval // evaluates parts of the step, silently: what is wrong was said
	st *formula.Statement
	// more is how many figures what is put in has beyond the guard, where the
	// figures of the result would else not follow from it.
	more int
}

func newWorking(s *block.Shower, st *formula.Statement) *working {
	return &working{s: s, e: quietly(s, st.Name), st: st}
}

// quietly returns an evaluation that reports nothing: what is wrong was said
// when the values were computed.
func quietly(s *block.Shower, owner string) *eval.Eval {
	e := s.Eval(owner)
	e.Report = func(*finding.Finding) {}
	return e
}

// stages returns the right-hand sides between the formula in symbols and the
// result.
func (w *working) stages(v eval.Value) []view.Math {
	switch v := v.(type) {
	case eval.Scalar:
		if list := w.mean(v); list != nil {
			return list
		}
		return w.scalar(v)
	case *eval.Column:
		return w.firstRow(v)
	case eval.List: // of columns, worked out alike: the first stands for all
		if len(v.Members) > 0 {
			return w.stages(v.Members[0])
		}
	}
	return nil
}

// showMeans works out the means that stand inside a formula, before it puts
// them in: a reader would otherwise not see of what they are.
func showMeans(s *block.Shower, st *formula.Statement) []view.Step {
	var out []view.Step
	formula.Walk(st.X, func(x formula.Expr) bool {
		call, ok := x.(*formula.Call)
		if !ok || call.Name != "mean" || x == bare(st.X) {
			return true
		}
		w := newWorking(s, &formula.Statement{Name: st.Name, X: call})
		v, ok := w.e.Expr(call).(eval.Scalar)
		if list := w.mean(v); ok && list != nil {
			out = append(out, view.Step{ID: s.ID() + "-" + st.Name + "-mean-" + strconv.Itoa(len(out)+1), Symbol: view.Upright{Name: "mean"},
				Label: "needed in the next step", Stages: append([]view.Math{block.MathOf(call, s.Anchor, nil)}, list...), Result: s.Text(v, quantity.Auto, 0, ""), Standing: view.Computed})
		}
		return false
	})
	return out
}

// guard is how many digits of its uncertainty a number has while the
// calculation goes on: one more than the result will have.
const guard = 3

// exactGuard is the figures of a number that has no uncertainty.
const exactGuard = 6

// figures is how many figures show a value to so many digits of its
// uncertainty.
func figures(v, u float64) int {
	if u == 0 || v == 0 || math.IsNaN(u) || math.IsInf(u, 0) {
		return exactGuard
	}
	return max(guard, min(12, lead(v)-lead(u)+guard))
}

// lead is the power of ten of the first figure.
func lead(v float64) int {
	s := strconv.FormatFloat(math.Abs(v), 'e', -1, 64)
	n, err := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	if err != nil {
		return 0
	}
	return n
}

// guarded displays a value for going on with.
func guarded(v eval.Scalar, un unit.Unit) quantity.Display { return guardedBy(v, un, 0) }

// guardedBy displays a value for going on with, with some figures more.
func guardedBy(v eval.Scalar, un unit.Unit, more int) quantity.Display {
	if v.Typed != "" && unit.Same(un, eval.UnitOf(v)) {
		return quantity.Typed(v.Typed, un)
	}
	x, u := v.Q.Value(), v.Q.U()
	if u == 0 {
		if d := quantity.Format(x, 0, 0, un, quantity.Auto, quantity.Options{}); len(d.Number) <= exactGuard+2 {
			return d
		}
	}
	n := figures(x, u) + more
	d := quantity.Format(x, 0, 0, un, quantity.Figures, quantity.Options{N: n})
	for n > figures(x, u)-guard+1 && u > 0 && strings.HasSuffix(d.Number, "0") && strings.Contains(d.Number, ".") {
		n-- // a zero that says nothing is not carried along
		d = quantity.Format(x, 0, 0, un, quantity.Figures, quantity.Options{N: n})
	}
	return d
}

func (w *working) scalar(v eval.Scalar) []view.Math {
	if _, single := w.number(bare(w.st.X)); single {
		return nil // the formula is nothing but what is looked up
	}
	for ; ; w.more++ {
		out, follow := w.substituted(v)
		if follow || w.more == mostMore {
			return out
		}
	}
}

// mostMore is how many figures more than usual are put in at most.
const mostMore = 4

// substituted puts the numbers in; follow is false where not even the figures
// of the result follow from what is printed.
func (w *working) substituted(v eval.Scalar) (stages []view.Math, follow bool) {
	inUnits := &substitution{working: w}
	out := []view.Math{block.Substituted(w.st.X, inUnits.replace)}
	if !inUnits.any {
		return nil, true
	}
	un := eval.UnitOf(v)
	if w.scale(w.st.X).equals(scaleOf(un)) {
		return w.unrounded(out, v, un)
	}
	if inUnits.mixed {
		si := &substitution{working: w, coherent: true}
		out = append(out, withBaseUnit(block.Substituted(w.st.X, si.replace), w.st.X, w.baseUnit(w.st.X, v.Q.Dim())))
	}
	return w.unrounded(out, v, un.Coherent())
}

// unrounded appends the value with a guard figure, in the unit that the stage
// before comes out in, unless it says no more than that or the result.
func (w *working) unrounded(out []view.Math, v eval.Scalar, un unit.Unit) (stages []view.Math, follow bool) {
	d, follow := w.following(out, v, un)
	if last := w.s.Display(v, quantity.Auto, 0); unit.Same(un, eval.UnitOf(v)) && d.Exponent == 0 && last.Exponent == 0 && block.Places(d.Number) < block.Places(last.Number) {
		d.Number = last.Number // no less exact than the result
	}
	if v.Q.IsUncertain() || d.String() != w.s.Display(v, quantity.Auto, 0).String() {
		out = append(out, block.QuantityMath(d, v.Q.Value(), ""))
	}
	return withoutRepeats(out), follow
}

// withoutRepeats leaves out stages that read like the one before.
func withoutRepeats(stages []view.Math) []view.Math {
	var out []view.Math
	for _, m := range stages {
		if len(out) == 0 || !view.Alike(out[len(out)-1], m) {
			out = append(out, m)
		}
	}
	return out
}

// withBaseUnit sets a number in coherent units with the base units that come
// out of it.
func withBaseUnit(m view.Math, x formula.Expr, un string) view.Math {
	if un == "" {
		return m
	}
	if b, ok := bare(x).(*formula.Binary); ok && (b.Op == "+" || b.Op == "-") {
		m = view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, m, view.Op{Symbol: ")", Fence: true}}}
	}
	return view.Measure{Number: m, Unit: un}
}

func bare(x formula.Expr) formula.Expr {
	for {
		p, ok := x.(*formula.Paren)
		if !ok {
			return x
		}
		x = p.X
	}
}

// carriedOut are the functions that stand in a worked step with the numbers in
// them; every other is replaced by what it gives.
var carriedOut = map[string]bool{"abs": true, "sqrt": true, "exp": true, "ln": true, "log10": true,
	"sin": true, "cos": true, "tan": true, "asin": true, "acos": true, "atan": true}

// number returns what a name or a function gives that is one quantity.
func (w *working) number(x formula.Expr) (eval.Scalar, bool) {
	switch x := x.(type) {
	case *formula.Name:
		v, ok := w.s.Value(x.Name).(eval.Scalar)
		return v, ok
	case *formula.Call:
		if carriedOut[x.Name] {
			return eval.Scalar{}, false
		}
		v, ok := w.e.Expr(x).(eval.Scalar)
		if ok && v.Typed == "" {
			v.Typed = w.readingOf(x, v)
		}
		return v, ok
	}
	return eval.Scalar{}, false
}

// readingOf is the number that was typed for the reading that a function of
// columns picks out, such as the greatest; "" where it is not the value.
func (w *working) readingOf(x *formula.Call, v eval.Scalar) string {
	for _, a := range x.Args {
		var cols []*eval.Column
		switch a := w.e.Expr(a).(type) {
		case *eval.Column:
			cols = append(cols, a)
		case eval.List:
			for _, m := range a.Members {
				if c, ok := m.(*eval.Column); ok {
					cols = append(cols, c)
				}
			}
		}
		for _, c := range cols {
			un := eval.UnitOf(c)
			if !unit.Same(un, eval.UnitOf(v)) {
				continue
			}
			for _, cell := range c.Cells {
				if !cell.Hole && cell.Q.Value() == v.Q.Value() && typedIs(cell.Typed, cell.Q.Value(), un) {
					return cell.Typed
				}
			}
		}
	}
	return ""
}

// typedIs reports whether what was typed is the value and no more.
func typedIs(typed string, v float64, un unit.Unit) bool {
	plain, err := un.ToSI(typed)
	return err == nil && !strings.ContainsAny(typed, "eE") && math.Abs(plain-v) <= 1e-12*math.Abs(v)
}

// substitution puts numbers in for names.
type substitution struct {
	*working
	coherent bool // in coherent SI units, which are not shown
	any      bool // something was put in
	mixed    bool // something was not in coherent SI units
}

func (t *substitution) replace(x formula.Expr) view.Math {
	v, ok := t.number(x)
	if lit, isLit := x.(*formula.Literal); isLit {
		if lit.Unit.Text == "" {
			return nil // a number stays as it was typed
		}
		v, ok = t.e.Expr(lit).(eval.Scalar)
	}
	if !ok {
		return nil
	}
	return t.set(v)
}

func (t *substitution) set(v eval.Scalar) view.Math {
	un := eval.UnitOf(v)
	t.any = true
	t.mixed = t.mixed || !unit.Same(un, unit.Of(v.Q.Dim()))
	if !t.coherent {
		return signed(guardedBy(v, un, t.more), v.Q.Value())
	}
	d := guardedBy(v, unit.Of(v.Q.Dim()), t.more)
	d.Unit = ""
	return signed(d, v.Q.Value())
}

// signed puts a negative number in brackets: it stands behind an operator.
func signed(d quantity.Display, v float64) view.Math {
	m := block.QuantityMath(d, v, "")
	if strings.HasPrefix(d.Number, "-") {
		return view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, m, view.Op{Symbol: ")", Fence: true}}}
	}
	return m
}
