package block

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// Shower is what a block may use while it is shown.
type Shower struct {
	*Computing
}

// Show returns the view of the whole record.
func (p *Program) Show() *view.Prose { return p.prose(p.Record.Doc, p.Root, 0) }

// ShowFront returns what the front matter's blocks show.
func (p *Program) ShowFront() []view.Node {
	var out []view.Node
	for _, u := range p.front {
		if g := p.group(u); g != nil {
			out = append(out, g)
		}
	}
	return out
}

func (p *Program) prose(doc *record.Document, s *Scope, shift int) *view.Prose {
	out := &view.Prose{Doc: doc, Shift: shift, Blocks: map[*record.Block][]view.Node{}, Inlines: map[*record.Inline]view.Text{}}
	here := p.within[place{doc, s}]
	if here == nil {
		return out
	}
	for _, u := range here.units {
		out.Blocks[u.Block] = []view.Node{} // a block that shows nothing is not shown as source
		if g := p.group(u); g != nil {
			out.Blocks[u.Block] = []view.Node{g}
		}
	}
	for _, b := range here.absent {
		out.Blocks[b] = []view.Node{}
	}
	for _, in := range here.inlines {
		out.Inlines[in.node] = p.inlineText(in)
	}
	return out
}

// group shows one block with the findings that stand in it; nil where there is
// nothing to show.
func (p *Program) group(u *Unit) *view.Group {
	g := &view.Group{ID: u.ID, Kind: u.Block.Kind, Name: u.Block.Name}
	if u.Block.Name != "" {
		g.Name = u.Scope.Prefix + u.Block.Name
	}
	if !u.hide {
		g.Nodes = u.Inst.Show(&Shower{p.computing(u.Scope, u)})
	}
	p.displayed[u] = len(g.Nodes) > 0
	if f := p.findingsOf(u); len(f) > 0 {
		g.Nodes = append([]view.Node{&view.Notice{Findings: f}}, g.Nodes...)
	}
	if len(g.Nodes) == 0 {
		return nil
	}
	return g
}

// Value returns the value of a name in the block's scope.
func (s *Shower) Value(name string) eval.Value {
	if d := s.program.names[s.Scope.Prefix+name]; d != nil && d.unit == s.unit {
		return d.value // what it waits for itself, not for its own name
	}
	v, rest := env{s.program, s.Scope}.Lookup(name)
	for _, field := range rest {
		in, ok := eval.Field(v, field)
		if !ok {
			return eval.Waiting{On: name}
		}
		v = in
	}
	return v
}

// Text sets a value in a form as running text; what cannot be had is shown as
// missing. Link is the ID of the node that the value comes from.
func (c *Computing) Text(v eval.Value, form quantity.Form, n int, link string) view.Text {
	switch v := v.(type) {
	case eval.Scalar:
		return view.Text{c.number(v, form, n, link)}
	case eval.Waiting:
		return view.Text{view.Missing{Why: WaitsFor(v)}}
	case eval.Bool:
		if v.Truth.Is {
			return view.Text{view.Plain("yes")}
		}
		return view.Text{view.Plain("no")}
	case eval.Word:
		return view.Text{view.Plain(v.Text)}
	case *eval.Column:
		return c.columnText(v, form, n, link)
	case eval.List:
		var out view.Text
		for i, m := range v.Members {
			if i > 0 {
				out = append(out, view.Plain("; "))
			}
			out = append(out, c.Text(m, form, n, link)...)
		}
		return out
	}
	return view.Text{view.Missing{Why: "this is " + eval.Describe(v) + ", which has no number"}}
}

// WaitsFor says what a value waits for.
func WaitsFor(w eval.Waiting) string {
	switch {
	case w.Unread && w.On != "":
		return "not yet read: " + w.On
	case w.Unread:
		return "not yet read"
	case w.On != "":
		return "waits for " + w.On
	}
	return "see the finding"
}

// columnText lists the cells of a column, rounded to their uncertainty, with
// the unit behind the last one that was read: what lacks after it, such as the
// rows that pairs leave over, is not listed.
func (c *Computing) columnText(v *eval.Column, form quantity.Form, n int, link string) view.Text {
	if form == quantity.Auto {
		form = quantity.Rounded
	}
	last := len(v.Cells) - 1
	for last > 0 && v.Cells[last].Hole {
		last--
	}
	var out view.Text
	for i, cell := range v.Cells[:min(last+1, len(v.Cells))] {
		if i > 0 {
			out = append(out, view.Plain(", "))
		}
		if cell.Hole && cell.Struck {
			out = append(out, view.Emph("struck"))
			continue
		}
		if cell.Hole {
			out = append(out, view.Plain("–"))
			continue
		}
		x := c.number(eval.Scalar{Q: cell.Q, Unit: v.Unit}, form, n, link)
		if i < last {
			x.Display.Unit = ""
		}
		out = append(out, x)
	}
	return out
}

func (c *Computing) number(v eval.Scalar, form quantity.Form, n int, link string) view.Number {
	return view.Number{Value: v.Q.Value(), Display: c.Display(v, form, n), Link: link, Standing: view.Computed}
}

// Display sets one quantity in a form.
func (c *Computing) Display(v eval.Scalar, form quantity.Form, n int) quantity.Display {
	return c.Settings.Display(v, form, n)
}

// exactFigures is how many figures are shown of a computed value without
// uncertainty that has more than longFigures; the results file has them all.
const (
	exactFigures = 4
	longFigures  = 9
)

// tidy returns a computed value without uncertainty as it is shown: without
// the traces of binary arithmetic where it has longFigures figures but for
// those, and whether it has more figures and is not a whole number.
func tidy(v float64, un unit.Unit) (shown float64, long bool) {
	x := un.FromSI(v)
	short, err := strconv.ParseFloat(quantity.RoundFigures(x, longFigures), 64)
	switch {
	case err != nil || x == math.Trunc(x):
		return v, false
	case math.Abs(x-short) > 1e-12*math.Abs(x):
		return v, true
	}
	return un.SI(short), false
}

// Display sets one quantity in a form.
func (s Settings) Display(v eval.Scalar, form quantity.Form, n int) quantity.Display {
	un := eval.UnitOf(v)
	if form == quantity.Auto && v.Typed != "" {
		return quantity.Typed(v.Typed, un)
	}
	value := v.Q.Value()
	if form == quantity.Auto && !v.Q.IsUncertain() {
		long := false
		if value, long = tidy(value, un); long {
			form, n = quantity.Figures, exactFigures
		}
	}
	cov := budget.Expand(v.Q, s.Coverage)
	u, U := cov.U, cov.Expanded
	opt := quantity.Options{Digits: s.Digits, N: n, Coverage: s.CoverageText, DOF: cov.DOF}
	return quantity.Format(value, u, U, un, form, opt)
}

// FormOf returns the form of an inline value.
func FormOf(name string) quantity.Form {
	switch name {
	case "interval":
		return quantity.Interval
	case "concise":
		return quantity.Concise
	case "value":
		return quantity.Rounded
	case "statement":
		return quantity.Statement
	case "sf":
		return quantity.Figures
	case "dp":
		return quantity.Places
	}
	return quantity.Auto
}

// InUnit converts a value to the unit asked for, checking the dimension; x is
// the expression that gave it.
func (c *Computing) InUnit(e *eval.Eval, v eval.Value, in formula.Unit, x formula.Expr) eval.Value {
	if in.Text == "" {
		return v
	}
	un, ok := eval.ParseUnit(in.Text, in.At, e)
	if !ok {
		return eval.Waiting{}
	}
	if _, waits := v.(eval.Waiting); waits {
		return v
	}
	d, ok := eval.DimOf(v)
	if !ok || d != un.Dim() {
		e.Report(eval.InClash(e, in.At, un, x, v))
		return eval.Waiting{}
	}
	if s, ok := v.(eval.Scalar); ok && s.Difference && un.IsTemperature() {
		e.Report(eval.DifferenceInCelsius(in.At))
		return eval.Waiting{}
	}
	return eval.In(v, un)
}

// Message sets a text that may hold inline values. What is wrong in it is
// reported where it stands.
func (c *Computing) Message(parts []Part, e *eval.Eval) view.Text {
	var out view.Text
	for _, p := range parts {
		if p.Insert == nil {
			out = append(out, view.Plain(p.Text))
			continue
		}
		v := c.InUnit(e, e.Expr(p.Insert.X), p.Insert.In, p.Insert.X)
		out = append(out, c.Text(v, FormOf(p.Insert.Form), p.Insert.Digits, "")...)
	}
	return out
}

// Part is a piece of a text: plain, or an inline value.
type Part struct {
	Text   string
	Insert *formula.Insert
}

// ParseMessage splits a text at its inline values.
func ParseMessage(at source.Span, set *finding.Set) []Part {
	var out []Part
	t := at.Text()
	last := 0
	for i := 0; i+1 < len(t); i++ {
		switch {
		case t[i] == '\\' && strings.HasPrefix(t[i+1:], "=["):
			out = append(out, Part{Text: t[last:i]})
			last = i + 1
			i += 2
		case strings.HasPrefix(t[i:], "=["):
			end := strings.IndexByte(t[i:], ']')
			if end < 0 {
				continue
			}
			if i > last {
				out = append(out, Part{Text: t[last:i]})
			}
			out = append(out, Part{Insert: formula.ParseInsert(at.Sub(i+2, i+end), false, set)})
			i += end
			last = i + 1
		}
	}
	if last < len(t) {
		out = append(out, Part{Text: t[last:]})
	}
	return out
}

// PlainText returns running text as a string, for findings and titles.
func PlainText(t view.Text) string {
	var b strings.Builder
	for _, r := range t {
		switch r := r.(type) {
		case view.Plain:
			b.WriteString(string(r))
		case view.Code:
			b.WriteString(string(r))
		case view.Emph:
			b.WriteString(string(r))
		case view.Strong:
			b.WriteString(string(r))
		case view.Number:
			b.WriteString(r.Display.String())
			if r.Display.Coverage != "" && r.Display.PlusMinus != "" {
				b.WriteString(" at " + r.Display.Coverage)
			}
		case view.Missing:
			b.WriteString("(" + r.Why + ")")
		}
	}
	return b.String()
}

// Uncertain reports whether a value is one with an uncertainty.
func Uncertain(v eval.Value) bool {
	s, ok := v.(eval.Scalar)
	return ok && s.Q.IsUncertain()
}

// RoundedIn returns a value rounded to two digits of its standard uncertainty,
// for substituting in a worked step.
func RoundedIn(q quantity.Q, un unit.Unit) quantity.Display {
	return RoundedTo(q.Value(), q.U(), un)
}

// RoundedTo returns a value rounded to two digits of u; where u is 0, as a value
// without uncertainty is shown anywhere.
func RoundedTo(v, u float64, un unit.Unit) quantity.Display {
	if u == 0 || math.IsNaN(u) {
		return Settings{}.Display(eval.Scalar{Q: quantity.Exact(v, un.Dim()), Unit: &un}, quantity.Auto, 0)
	}
	return quantity.Format(v, u, 0, un, quantity.Rounded, quantity.Options{})
}
