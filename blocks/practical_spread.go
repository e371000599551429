package blocks

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

// alike tells of a column in which all that was read is one value, where the
// method lays a line over it: one message at the binding, for each fit and each
// formula of the method would fail with its own.
func (p *practicalBlock) alike(r *method.Role, v eval.Value, at source.Span) *finding.Finding {
	c, ok := v.(*eval.Column)
	if !ok {
		return nil
	}
	n, first := 0, 0.0
	for _, cell := range c.Cells {
		switch {
		case cell.Hole:
			continue
		case n == 0:
			first = cell.Q.Value()
		case cell.Q.Value() != first:
			return nil
		}
		n++
	}
	if n == 0 || !p.slopes(r.Name) {
		return nil
	}
	what := fmt.Sprintf("`%s` has a single value here", r.Name)
	if n > 1 {
		what = fmt.Sprintf("all %d values of `%s` are equal here", n, r.Name)
	}
	f := errorAt(at, "no-fit", what+": the line of this method needs two different ones at least", "read at more values of it; rows that are struck do not count")
	f.OfData = true
	return f
}

// slopes reports whether a role, or what is defined as nothing else, is the x of
// a fit of the method that has a slope besides its intercept.
func (p *practicalBlock) slopes(role string) bool {
	same := map[string]bool{role: true}
	for _, b := range p.blocks() {
		if !block.Present(b, p.scope) {
			continue
		}
		switch b.Kind {
		case "calc":
			for _, st := range formula.ParseStatements(b.Body.Span, &finding.Set{}) {
				if n, ok := st.X.(*formula.Name); ok && same[n.Name] {
					same[st.Name] = true
				}
			}
		case "fit":
			m := b.ReadSettings(&finding.Set{})
			x, model := m.Get("x"), m.Get("model")
			if x != nil && same[strings.TrimSpace(x.Text)] && (model == nil || model.Text != "proportional") {
				return true
			}
		}
	}
	return false
}
