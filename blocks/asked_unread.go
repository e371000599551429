package blocks

import (
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
)

// unreadColumns are the columns of readings yet to be taken that an expression
// goes along with, row by row; none where it makes one value of them.
func (a *asking) unreadColumns(x formula.Expr) []*eval.Column {
	switch x := bare(x).(type) {
	case *formula.Name:
		return a.unreadName(x.Name)
	case *formula.Unary:
		return a.unreadColumns(x.X)
	case *formula.Binary:
		if cols := a.unreadColumns(x.X); cols != nil {
			return cols
		}
		return a.unreadColumns(x.Y)
	case *formula.Call:
		return a.unreadCall(x)
	}
	return nil
}

// mostUnread is how many columns a sheet asks for at once.
const mostUnread = 50

func (a *asking) unreadCall(x *formula.Call) []*eval.Column {
	switch x.Name {
	case "abs", "sqrt", "exp", "ln", "log10", "sin", "cos", "tan", "asin", "acos", "atan", "value", "pointmean", "columns", "cumsum":
	default:
		return nil // one value, or as many as it makes of them
	}
	var out []*eval.Column
	for _, arg := range x.Args {
		out = append(out, a.unreadColumns(arg)...)
	}
	if x.Name == "pointmean" && len(out) > 1 {
		return out[:1]
	}
	if len(out) > mostUnread {
		return nil
	}
	return out
}

// unreadName looks a name up among the steps beside, among the roles of the
// practical, and among the columns of the record's tables.
func (a *asking) unreadName(name string) []*eval.Column {
	for _, inst := range a.s.Beside() {
		c, ok := inst.(*calcBlock)
		if !ok {
			continue
		}
		for _, st := range c.steps {
			if st.Name != name || st.X == nil {
				continue
			}
			cols, known := a.unread[name]
			if !known {
				a.unread[name] = nil
				cols = a.unreadColumns(st.X)
				a.unread[name] = cols
			}
			return cols
		}
	}
	for _, inst := range a.s.Instances() {
		switch b := inst.(type) {
		case *practicalBlock:
			if b.scope != a.s.Scope {
				continue
			}
			var out []*eval.Column
			for _, binding := range b.bindings {
				for _, x := range binding.Values {
					if n, ok := x.(*formula.Name); ok && binding.Name == name {
						out = append(out, tableColumn(a, n.Name)...)
					}
				}
			}
			return out
		}
	}
	return tableColumn(a, name)
}

// unreadColumn is a column without its readings, which may wait for those or for
// what its instrument resolves.
func (t *dataTable) unreadColumn(c *dataColumn) *eval.Column {
	if col, ok := c.value.(*eval.Column); ok {
		return col
	}
	col := &eval.Column{Name: t.name + "." + c.name}
	if c.hasUnit {
		col.Dim, col.Unit = c.unit.Dim(), &c.unit
	}
	for _, row := range t.rows {
		if !row.out() {
			col.Cells = append(col.Cells, eval.Cell{Hole: true, Row: row.Number})
		}
	}
	return col
}

// tableColumn is the column of that name of the record's tables.
func tableColumn(a *asking, name string) []*eval.Column {
	table, column, ok := strings.Cut(name, ".")
	if !ok {
		return nil
	}
	for _, inst := range a.s.Instances() {
		t, ok := inst.(*dataTable)
		if !ok || t.name != table {
			continue
		}
		for _, c := range t.columns {
			if c.name == column && !c.text {
				return []*eval.Column{t.unreadColumn(c)}
			}
		}
	}
	return nil
}
