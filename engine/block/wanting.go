package block

import (
	"strings"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/view"
)

// Wanting returns running text in which the places that lack a value say of
// which name it is: the full one, "young.E"; "" for none.
func Wanting(t view.Text, name string) view.Text {
	for i, r := range t {
		if m, ok := r.(view.Missing); ok {
			m.Of = name
			t[i] = m
		}
	}
	return t
}

// fullName is the full name of what an expression names; "" where it is no
// name, or of nothing.
func (p *Program) fullName(x formula.Expr, s *Scope) string {
	n, ok := x.(*formula.Name)
	if !ok {
		return ""
	}
	d, rest := p.find(n.Name, s)
	if d == nil {
		return ""
	}
	return strings.Join(append([]string{d.full}, rest...), ".")
}
