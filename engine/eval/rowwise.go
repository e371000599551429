package eval

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// rowwise holds the functions that make columns of columns.
var rowwise = []function{
	{name: "pointmean", usage: "pointmean(a, b)", what: "row by row, the mean of the cells that were read", least: 1, most: -1, f: pointmean},
	{name: "pairs", usage: "pairs(c, n) or pairs(y, n, x)", what: "fixed differences c[i+n] − c[i], no reading used twice; with x, the slope of each pair", least: 2, most: 3, f: pairs},
	{name: "steps", usage: "steps(c)", what: "the successive differences", least: 1, most: 1, f: steps},
	{name: "columns", usage: "columns(a, b, …)", what: "several columns side by side, as a role that takes several holds them", least: 1, most: -1, f: sideBySide},
	{name: "raw", usage: "raw(c)", what: "the readings as they were read, before the corrections of the instrument", least: 1, most: 1, f: raw},
	{name: "cumsum", usage: "cumsum(c)", what: "the running sum", least: 1, most: 1, f: cumsum},
}

// inspection holds the functions that look at a value instead of computing
// with it.
var inspection = []function{
	{name: "u", usage: "u(x)", what: "the combined standard uncertainty", least: 1, most: 1, f: func(c *Call) Value {
		return c.each(false, func(q quantity.Q) float64 { return q.U() })
	}},
	{name: "rel", usage: "rel(x)", what: "u(x)/|x|, the relative standard uncertainty", least: 1, most: 1, f: func(c *Call) Value {
		return c.each(true, func(q quantity.Q) float64 { return q.U() / math.Abs(q.Value()) })
	}},
	{name: "dof", usage: "dof(x)", what: "the effective degrees of freedom", least: 1, most: 1, f: dof},
	{name: "value", usage: "value(x)", what: "the value without its uncertainty", least: 1, most: 1, f: valueOf},
	{name: "tq", usage: "tq(p, ν)", what: "the p quantile of Student's t with ν degrees of freedom", least: 2, most: 2, f: tq},
	{name: "tp", usage: "tp(t, ν)", what: "the probability that a Student's t value of ν degrees of freedom lies farther from 0 than t, on either side", least: 2, most: 2, f: tp},
	{name: "default", usage: "default(x, y)", what: "x, or y where x as a whole was not stated or not read", least: 2, most: 2, lazy: true, f: orDefault},
	{name: "digit", usage: "digit(c)", what: "one unit in the last place to which the readings were written", least: 1, most: 1, f: digit},
	{name: "resolution", usage: "resolution(c)", what: "the resolution of the instrument of a column", least: 1, most: 1, f: func(c *Call) Value { return ofInstrument(c, "resolution") }},
	{name: "pitch", usage: "pitch(c)", what: "the pitch of the screw of a column", least: 1, most: 1, f: func(c *Call) Value { return ofInstrument(c, "pitch") }},
	{name: "given", usage: "given(role)", what: "whether a role of the method is bound", least: 1, most: 1, lazy: true, byName: true, f: given},
}

// columns returns the columns of all arguments.
func (c *Call) columns() ([]*Column, Value) {
	var out []*Column
	for i, a := range c.Args {
		switch a := a.(type) {
		case *Column:
			out = append(out, a)
		case List:
			for _, m := range a.Members {
				col, ok := m.(*Column)
				if !ok {
					return nil, c.wrong(i, "columns")
				}
				out = append(out, col)
			}
		default:
			return nil, c.wrong(i, "a column")
		}
	}
	for _, col := range out[1:] {
		if col.Dim != out[0].Dim {
			return nil, c.E.fail(errorAt(c.X.At, "unit-clash", "cannot pool "+Describe(out[0])+" and "+Describe(col), clashHint(out[0].Dim, col.Dim)))
		}
		if len(col.Cells) != len(out[0].Cells) {
			return nil, c.E.fail(raggedColumns(c.X.At, c.at(0), c.at(len(c.Args)-1), len(out[0].Cells), len(col.Cells)))
		}
	}
	return out, nil
}

func pointmean(c *Call) Value {
	cols, bad := c.columns()
	if bad != nil {
		return bad
	}
	out := like(cols[0], len(cols[0].Cells))
	out.Of = c.pooled()
	for i := range out.Cells {
		main := cols[0].Cells[i]
		out.Cells[i] = Cell{Row: main.Row, At: main.At, Hole: true}
		var sum quantity.Q
		n := 0
		for _, col := range cols {
			if col.Cells[i].Hole {
				continue
			}
			if n == 0 {
				sum = col.Cells[i].Q
			} else {
				sum = sum.Add(col.Cells[i].Q)
			}
			n++
		}
		if n > 0 {
			out.Cells[i].Hole = false
			out.Cells[i].Q = sum
			if n > 1 {
				out.Cells[i].Q = sum.Div(quantity.Number(float64(n)))
			}
		}
	}
	return out
}

// like returns an empty column of n cells of the kind of another.
func like(c *Column, n int) *Column {
	return &Column{Cells: make([]Cell, n), Dim: c.Dim, Unit: c.Unit, Instrument: c.Instrument, Of: c.origins()}
}

// differences is like like, but for differences: of temperatures, in kelvins.
func differences(c *Column, n int) *Column {
	out := like(c, n)
	if c.Unit != nil {
		u := differenceOf(*c.Unit)
		out.Unit = &u
	}
	return out
}

func pairs(c *Call) Value {
	if l, ok := c.Args[0].(List); ok && len(l.Members) != 1 {
		out := List{}
		for _, m := range l.Members {
			one := &Call{E: c.E, X: c.X, Args: append([]Value{m}, c.Args[1:]...)}
			r := pairs(one)
			if w, ok := r.(Waiting); ok {
				return w
			}
			out.Members = append(out.Members, r)
		}
		return out
	}
	y, bad := c.column(0)
	if bad != nil {
		return bad
	}
	n, bad := c.whole(1, 1)
	if bad != nil {
		return bad
	}
	if n >= len(y.Cells) {
		return c.E.fail(wrongSize(c.at(1), fmt.Sprintf("%d rows hold no pair %d rows apart", len(y.Cells), n), "half the number of rows is usual"))
	}
	if len(c.Args) == 3 {
		return slopePairs(c, y, n)
	}
	out := differences(y, 0)
	for _, p := range pairing(y, n) {
		a, b := y.Cells[p[0]], y.Cells[p[1]]
		out.Cells = append(out.Cells, Cell{Q: b.Q.Sub(a.Q), Row: a.Row, At: a.At})
	}
	if len(out.Cells) == 0 {
		return Waiting{On: y.Name, Unread: true}
	}
	c.remarkSpans(y, n)
	return out
}

// Pairs is how many pairs the function pairs makes of so many rows, all of them
// read, that far apart (≥ 1).
func Pairs(rows, apart int) int {
	n := 0
	for i := 0; i+apart < rows; i++ {
		if i/apart%2 == 0 {
			n++
		}
	}
	return n
}

// pairing returns the indices of the pairs: i with ⌊i/n⌋ even (from 0) and
// i + n, where both were read.
func pairing(y *Column, n int) [][2]int {
	var out [][2]int
	for i := 0; i+n < len(y.Cells); i++ {
		if i/n%2 == 0 && !y.Cells[i].Hole && !y.Cells[i+n].Hole {
			out = append(out, [2]int{i, i + n})
		}
	}
	return out
}

// remarkSpans notes pairs that do not span equal numbers of rows of the text.
func (c *Call) remarkSpans(y *Column, n int) {
	span := 0
	for _, p := range pairing(y, n) {
		d := y.Cells[p[1]].Row - y.Cells[p[0]].Row
		if span != 0 && d != span {
			c.E.Report(unequalSpans(c.X.At, fmt.Sprintf("pairs(%s, %s, x)", formula.Print(c.X.Args[0]), formula.Print(c.X.Args[1]))))
			return
		}
		span = d
	}
}

func slopePairs(c *Call, y *Column, n int) Value {
	x, bad := c.column(2)
	if bad != nil {
		return bad
	}
	if len(x.Cells) != len(y.Cells) {
		return c.E.fail(raggedColumns(c.X.At, c.at(0), c.at(2), len(y.Cells), len(x.Cells)))
	}
	out := &Column{Dim: y.Dim.Div(x.Dim), Instrument: y.Instrument, Unit: quotientUnit(y, x), Of: y.origins()}
	for _, p := range pairing(y, n) {
		a, b := x.Cells[p[0]], x.Cells[p[1]]
		if a.Hole || b.Hole {
			continue
		}
		q := y.Cells[p[1]].Q.Sub(y.Cells[p[0]].Q).Div(b.Q.Sub(a.Q))
		if !q.Finite() {
			return c.E.fail(notFinite(c.X.At, q, y.Cells[p[0]].Row))
		}
		out.Cells = append(out.Cells, Cell{Q: q, Row: y.Cells[p[0]].Row, At: y.Cells[p[0]].At})
	}
	if len(out.Cells) == 0 {
		return Waiting{On: y.Name, Unread: true}
	}
	return out
}

// quotientUnit is the unit “y per x” of a slope, such as mm/kg or s²/kg, in the
// words of both.
func quotientUnit(y, x *Column) *unit.Unit {
	u := unit.Quotient(UnitOf(y).Difference(), UnitOf(x).Difference())
	return &u
}

func steps(c *Call) Value {
	return c.columnwise(0, func(y *Column) Value {
		if len(y.Cells) < 2 {
			return c.E.fail(wrongSize(c.at(0), "one row makes no step", ""))
		}
		out := differences(y, len(y.Cells)-1)
		for i := range out.Cells {
			a, b := y.Cells[i], y.Cells[i+1]
			out.Cells[i] = Cell{Hole: a.Hole || b.Hole, Row: b.Row, At: b.At}
			if !out.Cells[i].Hole {
				out.Cells[i].Q = b.Q.Sub(a.Q)
			}
		}
		return out
	})
}

// maxRunning bounds the rows of a running sum.
const maxRunning = 3000

func cumsum(c *Call) Value {
	return c.columnwise(0, func(y *Column) Value {
		if len(y.Cells) > maxRunning {
			return c.E.fail(errorAt(c.at(0), "too-large", fmt.Sprintf("a running sum over %d rows would keep all their uncertainties apart, in every row", len(y.Cells)),
				fmt.Sprintf("take at most %d rows", maxRunning)))
		}
		out := like(y, len(y.Cells))
		var sum quantity.Q
		begun := false
		for i, cell := range y.Cells {
			out.Cells[i] = Cell{Hole: cell.Hole, Row: cell.Row, At: cell.At}
			if cell.Hole {
				continue
			}
			if !begun {
				sum, begun = cell.Q, true
			} else {
				sum = sum.Add(cell.Q)
			}
			out.Cells[i].Q = sum
		}
		return out
	})
}

// columnwise applies f to the column, or to each column of a list.
func (c *Call) columnwise(i int, f func(*Column) Value) Value {
	if l, ok := c.Args[i].(List); ok {
		out := List{}
		for _, m := range l.Members {
			col, ok := m.(*Column)
			if !ok {
				return c.wrong(i, "a column")
			}
			r := f(col)
			if w, ok := r.(Waiting); ok {
				return w
			}
			out.Members = append(out.Members, r)
		}
		return out
	}
	col, bad := c.column(i)
	if bad != nil {
		return bad
	}
	return f(col)
}

// each applies f to a quantity or to each cell of a column; the result is
// exact, a pure number where ratio is set.
func (c *Call) each(ratio bool, f func(quantity.Q) float64) Value {
	d, ok := DimOf(c.Args[0])
	if !ok {
		return c.wrong(0, "a quantity or a column")
	}
	u := differenceOf(UnitOf(c.Args[0]))
	if ratio {
		d, u = unit.Dim{}, percent
	}
	return c.E.map1(c.Args[0], u, c.X.At, func(q quantity.Q) quantity.Q { return quantity.Exact(f(q), d) })
}

var percent = unit.MustParse("%")

// dof returns the degrees of freedom; they wait where they are not limited,
// since no number stands for infinity.
func dof(c *Call) Value {
	s, bad := c.Scalar(0)
	if bad != nil {
		return bad
	}
	nu := s.Q.DOF()
	if math.IsInf(nu, 1) {
		return c.E.fail(wrongSize(c.X.At, "the degrees of freedom are not limited", "`dof(x)` has a value where a Type A evaluation takes part"))
	}
	return Number(nu)
}

func valueOf(c *Call) Value {
	if _, ok := DimOf(c.Args[0]); !ok {
		return c.wrong(0, "a quantity or a column")
	}
	return c.E.map1(c.Args[0], UnitOf(c.Args[0]), c.X.At, quantity.Q.ValueOnly)
}

func tq(c *Call) Value {
	p, bad := c.pureNumber(0)
	if bad != nil {
		return bad
	}
	nu, bad := c.pureNumber(1)
	if bad != nil {
		return bad
	}
	if !(p > 0 && p < 1) {
		return c.E.fail(wrongSize(c.at(0), "a probability between 0 and 1 is needed here", ""))
	}
	if !(nu >= 1) {
		return Waiting{On: "more readings", Unread: true}
	}
	return Number(stat.TQuantile(p, nu))
}

func ofInstrument(c *Call, what string) Value {
	if _, single := c.Args[0].(Scalar); single { // a role of readings may be bound to one quantity
		return Waiting{On: "the " + what + " of the instrument", Unread: true}
	}
	col, ok := c.Args[0].(*Column)
	if l, isList := c.Args[0].(List); isList && len(l.Members) > 0 {
		col, ok = l.Members[0].(*Column)
	}
	if !ok {
		return c.wrong(0, "a column")
	}
	in := col.Instrument
	v := 0.0
	if in != nil {
		v = in.Resolution
		if what == "pitch" {
			v = in.Pitch
		}
	}
	if v == 0 {
		return Waiting{On: "the " + what + " of the instrument", Unread: true}
	}
	u := in.Unit
	return Scalar{Q: quantity.Exact(v, in.Dim), Unit: &u}
}

// given looks at the name of a role, not at its value.
func given(c *Call) Value {
	n, ok := c.X.Args[0].(*formula.Name)
	if ok {
		if bound, known := c.E.Env.Given(n.Name); known {
			return Bool{quantity.Known(bound)}
		}
	}
	return c.E.fail(errorAt(c.at(0), "wrong-argument", "`given(role)` needs the name of a role", "it has a meaning in method files only"))
}

// sideBySide makes a list of columns of one dimension and length.
func sideBySide(c *Call) Value {
	cols, bad := c.columns()
	if bad != nil {
		return bad
	}
	out := List{}
	for _, col := range cols {
		out.Members = append(out.Members, col)
	}
	return out
}

// raw returns what was read; what has had no correction is that already.
func raw(c *Call) Value {
	of := func(v Value) Value {
		if col, ok := v.(*Column); ok && col.Raw != nil {
			return col.Raw
		}
		return v
	}
	switch v := c.Args[0].(type) {
	case List:
		out := List{}
		for _, m := range v.Members {
			out.Members = append(out.Members, of(m))
		}
		return out
	case *Column, Scalar:
		return of(v)
	}
	return c.wrong(0, "a column")
}

func tp(c *Call) Value {
	t, bad := c.pureNumber(0)
	if bad != nil {
		return bad
	}
	nu, bad := c.pureNumber(1)
	if bad != nil {
		return bad
	}
	if !(nu >= 1) {
		return Waiting{On: "more readings", Unread: true}
	}
	return Number(stat.TTail(t, nu))
}

// orDefault evaluates the default only where it is needed, which is where the
// whole of the first argument was not stated or not read: a hole in a column
// stays one, since what was not read must not take part in a mean as if it had
// been. What is wrong stays wrong: no default hides it.
func orDefault(c *Call) Value {
	v := c.E.Expr(c.X.Args[0])
	if w, ok := v.(Waiting); ok && w.Unread {
		return c.E.Expr(c.X.Args[1])
	}
	return v
}

// digit returns one unit in the last place of what was typed, the smallest of
// all cells: 0.01 mm of 3.12 mm. It waits where nothing was typed.
func digit(c *Call) Value {
	if _, single := c.Args[0].(Scalar); single {
		return Waiting{On: "a reading as it was written", Unread: true}
	}
	cols, bad := c.columns()
	if bad != nil {
		return bad
	}
	best, found := 0.0, Scalar{}
	for _, col := range cols {
		u := UnitOf(col).Difference()
		for _, cell := range col.Cells {
			if n, ok := decimals(cell.Typed); ok {
				if v, err := u.ToSI("1e-" + strconv.Itoa(n)); err == nil && (best == 0 || v < best) {
					best, found = v, Scalar{Q: quantity.Exact(v, col.Dim), Unit: &u}
				}
			}
		}
	}
	if best == 0 {
		return Waiting{On: "a reading as it was written", Unread: true}
	}
	return found
}

// decimals counts the decimals of a plain typed number.
func decimals(typed string) (int, bool) {
	if typed == "" || strings.Trim(typed, "+-−0123456789.") != "" {
		return 0, false
	}
	_, after, _ := strings.Cut(typed, ".")
	return len(after), true
}
