package block

import (
	"example.org/taut/engine/formula"
	"example.org/taut/engine/view"
)

// View returns the view that is being shown.
func (s *Shower) View() view.View { return s.program.View }

// given reports whether an expression is made of names that a blank sheet
// shows anyway.
func (p *Program) given(x formula.Expr, s *Scope) bool {
	names := formula.Names(x)
	for _, n := range names {
		d, _ := p.find(n.Name, s)
		if d == nil || d.unit == nil {
			return false
		}
		if k, ok := d.unit.Inst.(Keeper); !ok || !k.Given() {
			return false
		}
	}
	return len(names) > 0
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
