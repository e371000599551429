package method

import (
	"slices"
	"strconv"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/unit"
)

// readTableCell reads what a role suggests: `pull.up, pull.down × 8`.
func (r *Role) readTableCell(set *finding.Set) {
	if r.Table == "" {
		return
	}
	bad := func(message string) {
		set.Add(badRole(r.TableAt, message, "columns and their number of rows, `pull.up, pull.down × 8`"))
		r.Columns, r.Rows = nil, 0
	}
	columns, rows, ok := strings.Cut(r.Table, "×")
	if !ok {
		columns, rows, ok = strings.Cut(r.Table, " x ")
	}
	n, err := strconv.Atoi(strings.TrimSpace(rows))
	if !ok || err != nil || n < 1 || n > 1000 {
		bad("`" + r.Table + "` does not say how many rows are suggested")
		return
	}
	for _, c := range strings.Split(columns, ",") {
		table, column, ok := strings.Cut(strings.TrimSpace(c), ".")
		if !ok || !record.IsName(table) || !record.IsName(column) {
			bad("`" + strings.TrimSpace(c) + "` is no column of a data block")
			return
		}
		r.Columns = append(r.Columns, ColumnName{table, column})
	}
	r.Rows = n
	if takesWord(r) || r.Takes == "quantity" || len(r.Columns) > r.Most() {
		bad("the role `" + r.Name + "` takes " + r.TakesWords() + ", not the columns that are suggested")
	}
}

// sheet is one data block of a new record.
type sheet struct {
	name    string
	columns []*sheetColumn
	rows    int
}

// sheetColumn is one column of it.
type sheetColumn struct {
	name  string
	role  *Role
	unit  unit.Unit
	cells []string // simulated readings; none where they are to be taken
}

func (c *sheetColumn) heading() string {
	h := c.name
	if !c.unit.IsOne() {
		h += " / " + c.unit.String()
	}
	if c.role.With != "" {
		h += " @" + c.role.With
	}
	return h
}

// text is the data file.
func (s *sheet) text() string {
	var b strings.Builder
	line := func(cell func(*sheetColumn) string) {
		for i, c := range s.columns {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(cell(c))
		}
		b.WriteByte('\n')
	}
	line((*sheetColumn).heading)
	for i := range s.rows {
		line(func(c *sheetColumn) string {
			if i < len(c.cells) {
				return c.cells[i]
			}
			return "–"
		})
	}
	return b.String()
}

// looseTable is the data block of columns for which none is suggested.
const looseTable = "readings"

const looseRows = 5

// suggested are the columns of a role: those that its method suggests, else,
// where it takes nothing but columns, ones of its own.
func (r *Role) suggested() ([]ColumnName, int) {
	if len(r.Columns) > 0 || r.Takes != "column" && r.Takes != "columns" {
		return r.Columns, r.Rows
	}
	if r.Most() == 1 {
		return []ColumnName{{looseTable, r.Name}}, looseRows
	}
	return []ColumnName{{looseTable, r.Name + "_1"}, {looseTable, r.Name + "_2"}}, looseRows
}

// columns are those of a role in this record. Simulated ones for which no table
// is suggested stand in the rows of the readings that they were taken with, so
// that a row that is struck is struck as a whole.
func (l *layout) columns(r *Role) (names []ColumnName, rows int) {
	names, rows = r.suggested()
	if len(names) == 0 || names[0].Table != looseTable || len(r.Columns) > 0 || l.fill == nil || len(l.given(r)) == 0 {
		return names, rows
	}
	for i := range l.method.Roles {
		o := &l.method.Roles[i]
		if len(o.Columns) > 0 && o.Takes == r.Takes && len(l.given(o)) > 0 && len(cells(l.given(o)[0])) == len(cells(l.given(r)[0])) {
			for k := range names {
				names[k].Table = o.Columns[0].Table
			}
			break
		}
	}
	return names, rows
}

// sheets lays out the data blocks of a new record, in the order of the roles.
func (l *layout) sheets() []*sheet {
	var out []*sheet
	for i := range l.method.Roles {
		r := &l.method.Roles[i]
		if !l.inTable(r) {
			continue
		}
		names, rows := l.columns(r)
		for k, n := range names {
			if k >= len(l.given(r)) && l.fill != nil {
				break
			}
			s := sheetOf(&out, n.Table)
			if slices.ContainsFunc(s.columns, func(c *sheetColumn) bool { return c.name == n.Column }) {
				continue
			}
			c := &sheetColumn{name: n.Column, role: r, unit: l.unit(r)}
			if l.fill != nil {
				c.cells = l.fill.texts(r, l.given(r)[k])
				rows = len(c.cells)
			}
			s.columns = append(s.columns, c)
			s.rows = max(s.rows, rows)
		}
	}
	return out
}

func sheetOf(list *[]*sheet, name string) *sheet {
	for _, s := range *list {
		if s.name == name {
			return s
		}
	}
	s := &sheet{name: name}
	*list = append(*list, s)
	return s
}

// texts are the readings of one column as an instrument shows them.
func (s *Simulated) texts(r *Role, v eval.Value) []string {
	var out []string
	for _, c := range cells(v) {
		if c.Hole {
			out = append(out, "–")
			continue
		}
		out = append(out, s.text(r, c))
	}
	return out
}

// text is one reading of a role.
func (s *Simulated) text(r *Role, c eval.Cell) string {
	if c.Typed != "" {
		return c.Typed
	}
	resolution := s.Readings[r.Name].Resolution
	if s.Plan {
		resolution = 0
	}
	return numberText(c.Q.Value(), s.unitOf(r), resolution)
}

func (s *Simulated) unitOf(r *Role) unit.Unit {
	if u, ok := s.Units[r.Name]; ok {
		return u
	}
	u, _ := r.ParseUnit() // reported when the method was read
	return u
}
