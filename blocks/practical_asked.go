package blocks

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/method"
	"example.org/taut/engine/view"
)

// names is the table that a blank sheet has before the formulas of a method:
// what each of their names is, and which readings it stands for. Roles that no
// formula of the sheet uses are left out.
func (p *practicalBlock) names(s *block.Shower) []view.Node {
	if p.method == nil || p.scope == nil {
		return nil
	}
	t := &view.Table{ID: s.ID() + "-names", Caption: view.Text{view.Plain("The names in the formulas")}, Ledger: true, Standing: view.Given}
	for _, h := range []string{"name", "stands for", "what it is"} {
		t.Columns = append(t.Columns, view.Column{Quantity: view.Text{view.Plain(h)}})
	}
	used := namesAsked(s.Within(p.scope))
	for i := range p.method.Roles {
		r := &p.method.Roles[i]
		row := func(name string, stands view.Text) {
			t.Rows = append(t.Rows, view.Row{Cells: []view.Cell{{Text: view.Text{view.Formula{Math: block.Symbol(name)}}}, {Text: stands}, {Text: whatIs(r)}}})
		}
		if used[r.Name] {
			row(r.Name, p.standsFor(s, r))
		}
		for k, x := range p.boundValues(r) {
			if name := fmt.Sprintf("%s_%d", r.Name, k+1); used[name] && p.scope.Roles[name] {
				row(name, boundTo(s, x, r))
			}
		}
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return []view.Node{t}
}

// whatIs says what a role is to whoever fills the sheet in: without the value
// that is yet to be found, and without the author's help on how to bind it.
func whatIs(r *method.Role) view.Text {
	if strings.Contains(r.What, "=[") {
		return nil
	}
	what, _, _ := strings.Cut(r.What, ", such as `")
	return view.Inline(what)
}

// boundValues are what the record binds a role to; none where it does not.
func (p *practicalBlock) boundValues(r *method.Role) []formula.Expr {
	for _, b := range p.bindings {
		if b.Name == r.Name {
			return b.Values
		}
	}
	return nil
}

// namesAsked are the names in the formulas that a blank sheet shows of blocks.
func namesAsked(shown []block.Instance) map[string]bool {
	used := map[string]bool{}
	use := func(list ...formula.Expr) {
		for _, x := range list {
			if x == nil {
				continue
			}
			for _, n := range formula.Names(x) {
				head, _, _ := strings.Cut(n.Name, ".")
				used[head] = true
			}
		}
	}
	for _, inst := range shown {
		switch b := inst.(type) {
		case *calcBlock:
			for _, st := range b.steps {
				if st.X != nil && !beyondHand(st.X) {
					use(st.X)
				}
			}
		case *fitBlock:
			use(append(b.y, b.x)...)
		case *plotBlock:
			use(append(b.y, b.x)...)
		}
	}
	return used
}

// standsFor says what a role is bound to: columns of tables, a name of the
// record, or a value that is to be written in.
func (p *practicalBlock) standsFor(s *block.Shower, r *method.Role) view.Text {
	if values := p.boundValues(r); values != nil {
		var out view.Text
		for i, x := range values {
			if i > 0 {
				out = append(out, view.Plain(", "))
			}
			out = append(out, boundTo(s, x, r)...)
		}
		return out
	}
	if r.Needed() {
		return view.Text{view.Blank{Unit: r.Unit}}
	}
	var set finding.Set
	x := formula.ParseExpr(r.AbsentAt, &set)
	if _, typed := plainLiteral(x); typed {
		return view.Text{view.Formula{Math: block.MathOf(x, nil, nil)}}
	}
	return view.Text{view.Formula{Math: s.Formula(x)}}
}

// boundTo sets one binding of a role. A whole number that was typed for a role
// without a unit is a count, and told.
func boundTo(s *block.Shower, x formula.Expr, r *method.Role) view.Text {
	if lit, typed := plainLiteral(x); typed {
		if isWhole(lit) && (r.Unit == "" || r.Unit == "1") {
			return view.Text{view.Formula{Math: block.MathOf(x, nil, nil)}}
		}
		return view.Text{view.Blank{Unit: lit.Unit.Text}}
	}
	switch x := x.(type) {
	case *formula.Name:
		if i := strings.IndexByte(x.Name, '.'); i > 0 && isTable(s, x.Name[:i]) {
			return append(headingText(x.Name[i+1:]), view.Plain(" in "), view.Code(x.Name[:i]))
		}
		if r.Takes == "material" || r.Takes == "word" || r.Takes == "yesno" {
			return view.Text{view.Plain(x.Name)}
		}
	case *formula.Word:
		return view.Text{view.Plain(x.Text)}
	case *formula.Unread:
		return view.Text{view.Blank{Unit: r.Unit}}
	}
	return view.Text{view.Formula{Math: s.Formula(x)}}
}

// isWhole reports whether a whole number was typed and nothing else: no unit,
// no uncertainty, no instrument.
func isWhole(lit *formula.Literal) bool {
	_, err := strconv.Atoi(lit.Number.Text)
	return err == nil && lit.Unit.Text == "" && lit.Number.Paren == "" && len(lit.Limits) == 0 && lit.Instrument == ""
}

// isTable reports whether the record has a table of that name.
func isTable(s *block.Shower, name string) bool {
	for _, inst := range s.Instances() {
		if t, ok := inst.(*dataTable); ok && t.name == name {
			return true
		}
	}
	return false
}
