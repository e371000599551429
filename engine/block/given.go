package block

import (
	"strings"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/view"
)

// View returns the view that is being shown.
func (s *Shower) View() view.View { return s.program.View }

// Instances lists the instances of all blocks of the record, as
// [Program.Instances] does.
func (s *Shower) Instances() []Instance { return s.program.Instances() }

// Within lists the instances of the blocks in a scope that are shown.
func (s *Shower) Within(scope *Scope) []Instance {
	var out []Instance
	for _, u := range scope.units {
		if !u.hide {
			out = append(out, u.Inst)
		}
	}
	return out
}

// Given reports whether an expression does no more than name what every reader
// is told: what is given, or a constant of the handbook. What is computed is
// the answer, also where it is computed from what is given.
func (s *Shower) Given(x formula.Expr) bool { return s.program.given(x, s.Scope) }

func (p *Program) given(x formula.Expr, s *Scope) bool {
	n, ok := bare(x).(*formula.Name)
	if !ok {
		return false
	}
	d, _ := p.find(n.Name, s)
	if d == nil {
		return p.builtIn(n.Name)
	}
	if d.unit == nil {
		return false
	}
	k, ok := d.unit.Inst.(Keeper)
	return ok && k.Given()
}

// Formula sets an expression for a blank sheet: in symbols, with … in the place
// of a quantity that was typed within it, which may be a reading.
func (s *Shower) Formula(x formula.Expr) view.Math {
	return mathSetter{link: s.Anchor, sheet: true}.set(x)
}

// isReading reports whether a number within a formula may be one that was read:
// it has a unit, and is no 1 mm that only rids another quantity of its unit.
func isReading(x *formula.Literal) bool {
	return x.Unit.Text != "" && (x.Number.Text != "1" || len(x.Limits) > 0 || x.Number.Paren != "") || x.Instrument != ""
}

// onSheet sets a function of the record language that a reader of a sheet could
// not know in the words of mathematics; nil for any other.
func (m mathSetter) onSheet(x *formula.Call) view.Math {
	later := func(a formula.Expr) view.Math {
		sub := view.Seq{Items: []view.Math{view.Ident{Name: "i"}, view.Op{Symbol: "+"}, m.set(x.Args[1])}}
		return view.Script{Base: m.set(a), Sub: sub}
	}
	difference := func(a formula.Expr) view.Math {
		return view.Seq{Items: []view.Math{later(a), view.Op{Symbol: "−"}, view.Script{Base: m.set(a), Sub: view.Ident{Name: "i"}}}}
	}
	fenced := func(open string, body view.Math, end string) view.Math {
		return view.Seq{Items: []view.Math{view.Op{Symbol: open, Fence: true, Form: "prefix"}, body, view.Op{Symbol: end, Fence: true, Form: "postfix"}}}
	}
	switch {
	case x.Name == "pairs" && len(x.Args) == 2:
		return difference(x.Args[0])
	case x.Name == "pairs" && len(x.Args) == 3:
		return view.Styled{Style: "displaystyle", Body: view.Frac{Num: difference(x.Args[0]), Den: difference(x.Args[2])}}
	case x.Name == "floor" && len(x.Args) == 1:
		return fenced("⌊", m.set(bare(x.Args[0])), "⌋")
	case x.Name == "value" && len(x.Args) == 1:
		return m.set(x.Args[0])
	case x.Name == "pointmean":
		return m.named("mean of each row of", x.Args)
	case x.Name == "columns":
		return m.named("", x.Args)
	case x.Name == "rows" && len(x.Args) == 1:
		return m.named("number of values of", x.Args)
	}
	return nil
}

// named sets words and the arguments of a function, without brackets.
func (m mathSetter) named(words string, args []formula.Expr) view.Math {
	var items []view.Math
	if words != "" {
		items = append(items, view.Words{Text: words + " "})
	}
	for i, a := range args {
		if i > 0 {
			items = append(items, view.Op{Symbol: ","}, view.Space{Em: 0.3})
		}
		items = append(items, m.set(a))
	}
	return view.Seq{Items: items}
}

// asGiven marks the numbers of a text as what every reader is told.
func asGiven(t view.Text) view.Text {
	out := append(view.Text(nil), t...)
	for i, r := range out {
		if n, ok := r.(view.Number); ok {
			n.Standing = view.Given
			out[i] = n
		}
	}
	return out
}

// Short returns the last part of the name of a result, E of young.E, where
// nothing else that is defined on the page ends so; else the name as it is.
func (s *Shower) Short(name string) string {
	tail := name[strings.LastIndexByte(name, '.')+1:]
	if s.program.names[s.Full(name)] == nil {
		return name
	}
	n := 0
	for full := range s.program.names {
		if full[strings.LastIndexByte(full, '.')+1:] == tail {
			n++
		}
	}
	if n > 1 {
		return name
	}
	return tail
}

// Brief sets an expression in symbols, a name alone as short as it can be.
func (s *Shower) Brief(x formula.Expr) view.Math {
	n, ok := bare(x).(*formula.Name)
	if !ok {
		return MathOf(x, s.Anchor, nil)
	}
	short := &formula.Name{At: n.At, Name: s.Short(n.Name)}
	return MathOf(short, func(string) string { return s.Anchor(n.Name) }, nil)
}
