package blocks

import (
	"fmt"
	"regexp"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
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

// repeated is a statement that does nothing but repeat a name: `x = load`.
var repeated = regexp.MustCompile(`(?m)^[ \t]*(\pL[\pL\pN_]*)[ \t]*=[ \t]*(\pL[\pL\pN_]*)[ \t]*(?:in[ \t][^|#\n]*)?(?:[|#].*)?$`)

// slopes reports whether a role, or what is defined as nothing else, is the x of
// a fit of the method that has a slope besides its intercept.
func (p *practicalBlock) slopes(role string) bool {
	if p.lined == nil {
		p.lined = p.underLines()
	}
	return p.lined[role]
}

// underLines are the names that stand under a line of the method: those of x,
// and what they repeat.
func (p *practicalBlock) underLines() map[string]bool {
	repeats := map[string]string{}
	var under []string
	for _, b := range p.blocks() {
		if !block.Present(b, p.scope) {
			continue
		}
		switch b.Kind {
		case "calc":
			for _, m := range repeated.FindAllStringSubmatch(b.Body.Span.Text(), -1) {
				repeats[m[1]] = m[2]
			}
		case "fit":
			m := b.ReadSettings(&finding.Set{})
			if x, model := m.Get("x"), m.Get("model"); x != nil && (model == nil || model.Text != "proportional") {
				under = append(under, strings.TrimSpace(x.Text))
			}
		}
	}
	out := map[string]bool{}
	for _, name := range under {
		for ; name != "" && !out[name]; name = repeats[name] {
			out[name] = true
		}
	}
	return out
}
