package blocks

import (
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// tasks is what a blank sheet asks for in place of worked steps: of each step
// the formula in symbols, room for the numbers and a place for the result; of
// columns a table with a cell for each row.
//
// Not everything is asked. A step that repeats another name, or that counts
// readings and makes something of counts alone, is told: its formula stands
// there. A step that needs an uncertainty, degrees of freedom or a probability
// is left out: the budget asks for those.
func (c *calcBlock) tasks(s *block.Shower) []view.Node {
	a := &asking{s: s, counts: countsBeside(s), unread: map[string][]*eval.Column{}}
	for _, st := range c.steps {
		if st.Name != "" && st.X != nil && !beyondHand(st.X) {
			a.add(st)
		}
	}
	a.fillIn()
	return a.nodes
}

// asking gathers the steps and tables of one block.
type asking struct {
	s      *block.Shower
	counts map[string]bool
	// unread are the columns that a name goes along with; none while that is
	// still being looked up.
	unread map[string][]*eval.Column
	nodes  []view.Node
	steps  []view.Step
	grid   []gridColumn
}

// gridColumn is a column that is to be worked out row by row.
type gridColumn struct {
	head view.Column
	of   *eval.Column
	step *formula.Statement
	rows int
}

func (a *asking) add(st *formula.Statement) {
	v := a.s.Value(st.Name)
	step := view.Step{ID: a.s.ID() + "-" + st.Name, Symbol: block.Symbol(st.Name), Label: st.Label, Standing: view.Given}
	if formulaKnown(st.X) {
		step.Stages = []view.Math{a.s.Formula(st.X)}
	}
	_, alias := bare(st.X).(*formula.Name)
	cols := a.columns(st, v)
	switch {
	case alias || a.counts[st.Name]:
	case len(cols) > 0:
		if len(a.grid) > 0 && a.grid[0].rows != cols[0].rows {
			a.fillIn()
		}
		a.grid = append(a.grid, cols...)
	default:
		a.table()
		step.Result, step.Room = placeFor(st, blankUnit(st, v)), roomFor(st)
	}
	a.steps = append(a.steps, step)
}

// placeFor is the place of a result; of what is written down with its
// uncertainty, of both.
func placeFor(st *formula.Statement, un string) view.Text {
	if lit, ok := plainLiteral(st.X); ok && (len(lit.Limits) > 0 || lit.Number.Paren != "") {
		return view.Text{view.Blank{}, view.Plain("\u00a0±\u00a0"), view.Blank{Unit: un}}
	}
	return view.Text{view.Blank{Unit: un}}
}

// columns are those that a step asks for; none where it is one value.
func (a *asking) columns(st *formula.Statement, v eval.Value) []gridColumn {
	var members []*eval.Column
	switch v := v.(type) {
	case *eval.Column:
		members = append(members, v)
	case eval.List:
		for _, m := range v.Members {
			if c, ok := m.(*eval.Column); ok {
				members = append(members, c)
			}
		}
	case eval.Waiting:
		members = a.unreadColumns(st.X)
	}
	var out []gridColumn
	for g, c := range members {
		of := v // of what waits, the unit is not known
		if _, waits := v.(eval.Waiting); !waits {
			of = c
		}
		head := view.Column{Quantity: view.Text{view.Formula{Math: block.Symbol(st.Name)}}, Unit: blankUnit(st, of), Numeric: true}
		if len(members) > 1 {
			head.Note = readingsNames(members)[g]
		}
		out = append(out, gridColumn{head, c, st, a.rowsOf(st.X, c)})
	}
	return out
}

// fillIn puts down what has been gathered.
func (a *asking) fillIn() {
	a.put()
	a.table()
}

// put puts the steps down.
func (a *asking) put() {
	if len(a.steps) > 0 {
		a.nodes = append(a.nodes, &view.Steps{ID: a.id("steps"), Steps: a.steps, Standing: view.Given})
		a.steps = nil
	}
}

// table puts the columns down in one table, below the steps that say how they
// are worked out.
func (a *asking) table() {
	if len(a.grid) == 0 {
		return
	}
	a.put()
	t := &view.Table{ID: a.id("grid"), Standing: view.Given, Fill: true}
	var told []view.Cell
	if x, head := a.beside(); x != nil {
		t.Columns = append(t.Columns, view.Column{Quantity: head, Unit: axisUnit(unitOf(x)), Numeric: true})
		told = toldCells(a.s, x)
	}
	for _, c := range a.grid {
		t.Columns = append(t.Columns, c.head)
	}
	for i := range a.grid[0].rows {
		row := view.Row{Cells: make([]view.Cell, len(t.Columns))}
		if i < len(told) {
			row.Cells[0] = told[i]
		}
		t.Rows = append(t.Rows, row)
	}
	a.nodes, a.grid = append(a.nodes, t), nil
}

// id is that of the next node.
func (a *asking) id(what string) string {
	id := a.s.ID() + "-" + what
	if n := len(a.nodes); n > 0 {
		id += "-" + strconv.Itoa(n+1)
	}
	return id
}

// beside is what a grid has at its left: the column against which one of its
// own is fitted or plotted, else one against which something else of the same
// table is, else a column of readings that its formulas name; nil where there is
// none.
func (a *asking) beside() (x *eval.Column, head view.Text) {
	of := a.grid[0].of
	take := func(e formula.Expr) bool {
		v := quietly(a.s, "").Expr(e)
		c, ok := v.(*eval.Column)
		if _, waits := v.(eval.Waiting); waits {
			if cols := a.unreadColumns(e); len(cols) == 1 {
				c, ok = cols[0], true
			}
		}
		if !ok || len(c.Cells) != len(of.Cells) || c.Name == "" && a.isAsked(e) {
			return false
		}
		name, named := bare(e).(*formula.Name)
		switch {
		case c.Name != "":
			x, head = c, headingText(lastPart(c.Name))
		case named:
			x, head = c, view.Text{view.Formula{Math: block.Symbol(name.Name)}}
		}
		return c.Name != "" || named
	}
	for _, g := range a.graphs() {
		if a.areAsked(g.y) && take(g.x) {
			return x, head
		}
	}
	table := tableOf(a.s, of)
	for _, g := range a.graphs() {
		if table != nil && take(g.x) {
			if tableOf(a.s, x) == table {
				return x, head
			}
			x, head = nil, nil
		}
	}
	for _, c := range a.grid {
		for _, n := range formula.Names(c.step.X) {
			if !a.isAsked(n) && take(n) {
				return x, head
			}
		}
	}
	return nil, nil
}

// graph is what is fitted or plotted against what.
type graph struct {
	y []formula.Expr
	x formula.Expr
}

func (a *asking) graphs() []graph {
	var out []graph
	for _, inst := range a.s.Beside() {
		switch b := inst.(type) {
		case *fitBlock:
			if b.x != nil {
				out = append(out, graph{b.y, b.x})
			}
		case *plotBlock:
			if b.x != nil {
				out = append(out, graph{b.y, b.x})
			}
		}
	}
	return out
}

// areAsked reports whether one of the expressions is a column of the grid.
func (a *asking) areAsked(list []formula.Expr) bool {
	for _, x := range list {
		if a.isAsked(x) {
			return true
		}
	}
	return false
}

// isAsked reports whether an expression is nothing but a column of the grid.
func (a *asking) isAsked(x formula.Expr) bool {
	n, ok := bare(x).(*formula.Name)
	return ok && a.asks(n.Name)
}

func (a *asking) asks(name string) bool {
	for _, c := range a.grid {
		if c.step.Name == name {
			return true
		}
	}
	return false
}

func lastPart(name string) string { return name[strings.LastIndexByte(name, '.')+1:] }

// tableOf is the table of readings that a column is one of, or was worked out
// from; nil where that is not known.
func tableOf(s *block.Shower, c *eval.Column) *dataTable {
	for _, inst := range s.Instances() {
		if t, ok := inst.(*dataTable); ok && t.name != "" && restsOn(c, t.name+".") {
			return t
		}
	}
	return nil
}

// restsOn reports whether a column is one of a table, or was worked out from
// readings by instruments that all stand in it.
func restsOn(c *eval.Column, table string) bool {
	if c.Name != "" {
		return strings.HasPrefix(c.Name, table)
	}
	found := false
	for _, cell := range c.Cells {
		for _, t := range cell.Q.Terms() {
			if t.Source.Own != quantity.Resolution {
				continue
			}
			if !strings.HasPrefix(t.Source.ID, table) {
				return false
			}
			found = true
		}
	}
	return found
}

// rowsOf is how many rows a column of the grid has, that was worked out by x.
// Of differences between rows there are as many as the rows of the sheet give,
// which are more than were used where one was struck.
func (a *asking) rowsOf(x formula.Expr, c *eval.Column) int {
	call, ok := bare(x).(*formula.Call)
	if !ok || call.Name != "pairs" && call.Name != "steps" {
		return sheetRows(a.s, c)
	}
	rows := len(c.Cells)
	from, ok := quietly(a.s, "").Expr(call.Args[0]).(*eval.Column)
	if !ok {
		return rows
	}
	if call.Name == "steps" {
		return max(sheetRows(a.s, from)-1, 0)
	}
	lit, ok := plainLiteral(call.Args[1])
	if !ok {
		return rows // it is worked out from the number of rows that were used
	}
	apart, err := strconv.Atoi(lit.Number.Text)
	if err != nil || apart < 1 {
		return rows
	}
	return eval.Pairs(sheetRows(a.s, from), apart)
}

// sheetRows is how many rows a column has on a blank sheet: as many as the
// table of its readings, where that is known.
func sheetRows(s *block.Shower, c *eval.Column) int {
	t := tableOf(s, c)
	if t == nil {
		return len(c.Cells)
	}
	used, asked := 0, 0
	for i, row := range t.rows {
		if !row.out() {
			used++
		}
		if t.given && !row.out() || !t.given && !t.readAgain(i) {
			asked++
		}
	}
	if used != len(c.Cells) {
		return len(c.Cells)
	}
	return asked
}

// toldCells are the cells of a column that is given; none of any other.
func toldCells(s *block.Shower, c *eval.Column) []view.Cell {
	if t := tableOf(s, c); t == nil || !t.given || c.Raw == nil {
		return nil
	}
	var out []view.Cell
	for _, cell := range c.Raw.Cells {
		if cell.Hole || cell.Typed == "" {
			out = append(out, view.Cell{})
			continue
		}
		n := view.Number{Value: cell.Q.Value(), Display: quantity.Typed(cell.Typed, unit.Of(unit.Dim{})), Standing: view.Given}
		out = append(out, view.Cell{Text: view.Text{n}, Standing: view.Given})
	}
	return out
}

// formulaKnown reports whether a step has a formula to be shown: a value that
// was typed, or is still to be read, is looked up instead.
func formulaKnown(x formula.Expr) bool {
	_, unread := x.(*formula.Unread)
	return !unread && len(formula.Names(x)) > 0
}

// beyondHand reports whether an expression asks for what a budget gives.
func beyondHand(x formula.Expr) bool {
	found := false
	formula.Walk(x, func(x formula.Expr) bool {
		if call, ok := x.(*formula.Call); ok {
			switch call.Name {
			case "u", "rel", "dof", "tq", "tp":
				found = true
			}
		}
		return !found
	})
	return found
}

// countsBeside are the names in the scope of a block that are counts of
// readings, or made of such counts and bare numbers alone.
func countsBeside(s *block.Shower) map[string]bool {
	counts := map[string]bool{}
	for grew := true; grew; {
		grew = false
		for _, inst := range s.Beside() {
			c, ok := inst.(*calcBlock)
			if !ok {
				continue
			}
			for _, st := range c.steps {
				if st.X != nil && !counts[st.Name] && isCount(st.X, counts) {
					counts[st.Name], grew = true, true
				}
			}
		}
	}
	return counts
}

// isCount reports whether an expression counts readings, or is made of counts.
func isCount(x formula.Expr, counts map[string]bool) bool {
	counted, other := false, false
	formula.Walk(x, func(x formula.Expr) bool {
		switch x := x.(type) {
		case *formula.Call:
			if x.Name == "rows" || x.Name == "count" {
				counted = true
				return false
			}
		case *formula.Name:
			counted = counted || counts[x.Name]
			other = other || !counts[x.Name]
		case *formula.Literal:
			other = other || x.Unit.Text != ""
		}
		return true
	})
	return counted && !other
}
