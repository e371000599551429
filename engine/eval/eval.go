package eval

import (
	"math"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Env tells an evaluation what names stand for.
type Env interface {
	// Lookup returns the value of the longest defined beginning of a dotted
	// name, and what is left of the name. A name that is not defined is
	// waiting: the finding has been made.
	Lookup(name string) (v Value, rest []string)
	// Instrument returns an instrument; a nil instrument with a Waiting value
	// where it cannot be had.
	Instrument(name string) (*instrument.Instrument, Waiting, bool)
	// Given reports whether a role of a practical is bound; known is false
	// where there is no such role.
	Given(role string) (bound, known bool)
	// Defined returns the place where a name is defined.
	Defined(name string) source.Span
}

// Eval evaluates expressions. Owner names the sources that are typed in them:
// it must not depend on where in the file they stand.
type Eval struct {
	Env    Env
	Owner  string
	Report func(*finding.Finding)
	// Extra are functions that are known here only; nil for none.
	Extra map[string]Extra

	literals int
}

// failed is what an evaluation gives after a finding.
var failed = Waiting{}

func (e *Eval) fail(f *finding.Finding) Value {
	e.Report(f)
	return failed
}

// Expr evaluates an expression. What is wrong is reported once and the value
// is then waiting.
func (e *Eval) Expr(x formula.Expr) Value {
	switch x := x.(type) {
	case *formula.Name:
		return e.name(x.Name, x.At)
	case *formula.Pi:
		return Number(math.Pi)
	case *formula.Literal:
		return e.Literal(x, false)
	case *formula.Word:
		return Word{x.Text}
	case *formula.Paren:
		return e.Expr(x.X)
	case *formula.Unary:
		return e.unary(x)
	case *formula.Binary:
		return e.binary(x)
	case *formula.Call:
		return e.call(x)
	case *formula.Unread:
		return Waiting{Unread: true}
	}
	return failed // formula.Bad: the finding has been made
}

// name looks up a name and follows it inside.
func (e *Eval) name(name string, at source.Span) Value {
	v, rest := e.Env.Lookup(name)
	for i, field := range rest {
		if w, ok := v.(Waiting); ok {
			return w
		}
		in, ok := Field(v, field)
		if !ok {
			whole := strings.TrimSuffix(name, "."+strings.Join(rest[i:], "."))
			return e.fail(noSuchPart(at, whole, field, v))
		}
		if w, waits := in.(Waiting); waits && w.On == "" {
			w.On = name
			in = w
		}
		v = in
	}
	return v
}

// Field returns what is inside a value under a name.
func Field(v Value, name string) (Value, bool) {
	switch v := v.(type) {
	case *Space:
		return v.Get(name)
	case *Column:
		if name == "raw" && v.Raw != nil {
			return v.Raw, true
		}
	case List:
		out := List{}
		for _, m := range v.Members {
			f, ok := Field(m, name)
			if !ok {
				return nil, false
			}
			out.Members = append(out.Members, f)
		}
		return out, len(out.Members) > 0
	}
	return nil, false
}

// FieldNames lists the names of the parts that Field finds in a value.
func FieldNames(v Value) []string {
	switch v := v.(type) {
	case *Space:
		return v.Names
	case *Column:
		if v.Raw != nil {
			return []string{"raw"}
		}
	case List:
		if len(v.Members) > 0 {
			return FieldNames(v.Members[0])
		}
	}
	return nil
}

func (e *Eval) unary(x *formula.Unary) Value {
	if l, ok := x.X.(*formula.Literal); ok && x.Op == "-" {
		return e.Literal(l, true) // so that −5 °C is a temperature
	}
	v := e.Expr(x.X)
	if x.Op == "not" {
		return e.logic1(x, v)
	}
	if w, ok := v.(Waiting); ok {
		return w
	}
	if _, ok := DimOf(v); !ok {
		return e.fail(notNumeric(x.X.Span(), "-", v))
	}
	return e.map1(v, UnitOf(v), x.At, func(q quantity.Q) quantity.Q { return q.Neg() })
}

func (e *Eval) binary(x *formula.Binary) Value {
	switch x.Op {
	case "and", "or":
		return e.logic2(x)
	}
	a, b := e.Expr(x.X), e.Expr(x.Y)
	if w, ok := waiting(a, b); ok {
		return w
	}
	switch x.Op {
	case "==", "!=", "<", "<=", ">", ">=":
		return e.compare(x, a, b)
	}
	da, oka := DimOf(a)
	db, okb := DimOf(b)
	if !oka {
		return e.fail(notNumeric(x.X.Span(), x.Op, a))
	}
	if !okb {
		return e.fail(notNumeric(x.Y.Span(), x.Op, b))
	}
	switch x.Op {
	case "+", "-":
		if da != db {
			return e.fail(unitClash(e, x, a, b))
		}
		u := UnitOf(a)
		if x.Op == "-" {
			u = differenceOf(u)
		}
		if x.Op == "+" {
			return e.map2(x, a, b, da, &u, quantity.Q.Add)
		}
		r := e.map2(x, a, b, da, &u, quantity.Q.Sub)
		if s, ok := r.(Scalar); ok && UnitOf(a).IsTemperature() && UnitOf(b).IsTemperature() {
			s.Difference = true
			return s
		}
		return r
	case "*":
		return e.map2(x, a, b, da.Mul(db), productUnit(a, b), quantity.Q.Mul)
	case "/":
		var u *unit.Unit
		if db.IsOne() && !isAngle(chosen(b)) {
			u = chosen(a)
		}
		return e.map2(x, a, b, da.Div(db), u, quantity.Q.Div)
	case "^":
		return e.power(x, a, b)
	}
	return failed
}

// productUnit keeps the unit that was chosen for a factor when the other is a
// pure number. An angle is one too, of which a multiple is an angle again.
func productUnit(a, b Value) *unit.Unit {
	da, _ := DimOf(a)
	db, _ := DimOf(b)
	switch {
	case da.IsOne() && !db.IsOne():
		return chosen(b)
	case db.IsOne() && !da.IsOne():
		return chosen(a)
	case da.IsOne() && isAngle(chosen(b)) && !isAngle(chosen(a)):
		return chosen(b)
	case db.IsOne() && isAngle(chosen(a)) && !isAngle(chosen(b)):
		return chosen(a)
	}
	return nil
}

// isAngle reports whether a unit is one of plane angle.
func isAngle(u *unit.Unit) bool {
	return u != nil && u.Coherent().String() == "rad"
}

func chosen(v Value) *unit.Unit {
	switch v := v.(type) {
	case Scalar:
		if v.Unit != nil && v.Unit.IsTemperature() {
			return nil
		}
		return v.Unit
	case *Column:
		if v.Unit != nil && v.Unit.IsTemperature() {
			return nil
		}
		return v.Unit
	case Rowwise:
		return v.Unit
	case List:
		if len(v.Members) > 0 {
			return chosen(v.Members[0])
		}
	}
	return nil
}

func (e *Eval) power(x *formula.Binary, a, b Value) Value {
	db, _ := DimOf(b)
	if !db.IsOne() {
		return e.fail(notANumber(x.Y.Span(), "an exponent", b))
	}
	da, _ := DimOf(a)
	dim := da
	if !da.IsOne() {
		s, ok := b.(Scalar)
		if !ok || s.Q.IsUncertain() {
			return e.fail(notANumber(x.Y.Span(), "the exponent of "+Describe(a), b))
		}
		num, den, ok := ratio(s.Q.Value())
		if ok {
			dim, ok = da.Pow(num, den)
		}
		if !ok {
			return e.fail(badExponent(x.Y.Span(), s.Q.Value(), a))
		}
	}
	var u *unit.Unit
	if s, ok := b.(Scalar); ok && s.Q.Value() == 1 {
		u = chosen(a)
	}
	return e.map2(x, a, b, dim, u, func(p, q quantity.Q) quantity.Q { return p.Pow(q, dim) })
}

// ratio finds the small fraction that a number is.
func ratio(v float64) (num, den int, ok bool) {
	if math.Abs(v) > 100 {
		return 0, 0, false
	}
	for den = 1; den <= 12; den++ {
		n := math.RoundToEven(v * float64(den))
		if math.Abs(v-n/float64(den)) < 1e-12 {
			return int(n), den, true
		}
	}
	return 0, 0, false
}

// waiting returns the wait of the first value that waits; one behind which
// something is wrong goes first.
func waiting(vs ...Value) (Waiting, bool) {
	found := false
	var first Waiting
	for _, v := range vs {
		w, ok := v.(Waiting)
		if !ok {
			continue
		}
		if !found || first.Unread && !w.Unread {
			first, found = w, true
		}
	}
	return first, found
}

// map1 applies f to a scalar, to each cell of a column, to each member of a
// list.
func (e *Eval) map1(v Value, u unit.Unit, at source.Span, f func(quantity.Q) quantity.Q) Value {
	switch v := v.(type) {
	case Scalar:
		q := f(v.Q)
		if !q.Finite() {
			return e.fail(notFinite(at, q, 0))
		}
		return Scalar{Q: q, Unit: &u}
	case *Column:
		out := &Column{Cells: make([]Cell, len(v.Cells)), Unit: &u, Instrument: v.Instrument, Of: v.origins()}
		for i, c := range v.Cells {
			out.Cells[i] = Cell{Hole: c.Hole, Struck: c.Struck, Row: c.Row, At: c.At}
			if c.Hole {
				continue
			}
			q := f(c.Q)
			if !q.Finite() {
				return e.fail(notFinite(at, q, c.Row))
			}
			out.Cells[i].Q = q
		}
		out.Dim = f(quantity.Exact(1, v.Dim)).Dim()
		return out
	case Rowwise:
		return Rowwise{Dim: f(quantity.Exact(1, v.Dim)).Dim(), Unit: &u, At: func(i int) quantity.Q { return f(v.At(i)) }}
	case List:
		out := List{}
		for _, m := range v.Members {
			r := e.map1(m, u, at, f)
			if w, ok := r.(Waiting); ok {
				return w
			}
			out.Members = append(out.Members, r)
		}
		return out
	}
	return e.fail(notNumeric(at, "a function", v))
}

// map2 applies f, which gives quantities of dimension d, to scalars, row by row
// to columns, member by member to lists; what is single is taken with each.
func (e *Eval) map2(x *formula.Binary, a, b Value, d unit.Dim, u *unit.Unit, f func(p, q quantity.Q) quantity.Q) Value {
	return e.zip(a, b, d, u, x.At, x.X.Span(), x.Y.Span(), f)
}

func (e *Eval) zip(a, b Value, d unit.Dim, u *unit.Unit, at, atA, atB source.Span, f func(p, q quantity.Q) quantity.Q) Value {
	la, isA := a.(List)
	lb, isB := b.(List)
	if isA || isB {
		return e.zipLists(a, b, la, lb, isA, isB, d, u, at, atA, atB, f)
	}
	ca, colA := a.(*Column)
	cb, colB := b.(*Column)
	if !colA && !colB {
		if isRowwise(a) || isRowwise(b) {
			return zipRowwise(a, b, d, u, f)
		}
		q := f(a.(Scalar).Q, b.(Scalar).Q)
		if !q.Finite() {
			return e.fail(notFinite(at, q, 0))
		}
		return Scalar{Q: q, Unit: u}
	}
	if colA && colB && len(ca.Cells) != len(cb.Cells) {
		return e.fail(raggedColumns(at, atA, atB, len(ca.Cells), len(cb.Cells)))
	}
	main, n := ca, 0
	if !colA {
		main = cb
	}
	n = len(main.Cells)
	out := &Column{Cells: make([]Cell, n), Dim: d, Unit: u, Instrument: main.Instrument, Of: main.origins()}
	if colA && colB {
		out.Of = both(ca, cb)
		if out.Instrument == nil {
			out.Instrument = cb.Instrument
		}
	}
	for i := range out.Cells {
		c := Cell{Row: main.Cells[i].Row, At: main.Cells[i].At}
		p, hp := cellOf(a, i)
		q, hq := cellOf(b, i)
		if hp || hq {
			c.Hole, c.Struck = true, struckAt(a, i) || struckAt(b, i)
		} else if c.Q = f(p, q); !c.Q.Finite() {
			return e.fail(notFinite(at, c.Q, c.Row))
		}
		out.Cells[i] = c
	}
	return out
}

func (e *Eval) zipLists(a, b Value, la, lb List, isA, isB bool, d unit.Dim, u *unit.Unit, at, atA, atB source.Span, f func(p, q quantity.Q) quantity.Q) Value {
	if isA && isB && len(la.Members) != len(lb.Members) {
		return e.fail(raggedColumns(at, atA, atB, len(la.Members), len(lb.Members)))
	}
	n := len(la.Members)
	if !isA {
		n = len(lb.Members)
	}
	out := List{}
	for i := 0; i < n; i++ {
		x, y := a, b
		if isA {
			x = la.Members[i]
		}
		if isB {
			y = lb.Members[i]
		}
		r := e.zip(x, y, d, u, at, atA, atB, f)
		if w, ok := r.(Waiting); ok {
			return w
		}
		out.Members = append(out.Members, r)
	}
	return out
}

func cellOf(v Value, i int) (q quantity.Q, hole bool) {
	switch v := v.(type) {
	case *Column:
		return v.Cells[i].Q, v.Cells[i].Hole
	case Rowwise:
		return v.At(i), false
	}
	return v.(Scalar).Q, false
}

func isRowwise(v Value) bool {
	_, ok := v.(Rowwise)
	return ok
}

// zipRowwise is what f makes of two values of which one at least is row-wise
// and none a column.
func zipRowwise(a, b Value, d unit.Dim, u *unit.Unit, f func(p, q quantity.Q) quantity.Q) Value {
	return Rowwise{Dim: d, Unit: u, At: func(i int) quantity.Q {
		p, _ := cellOf(a, i)
		q, _ := cellOf(b, i)
		return f(p, q)
	}}
}

// Single returns a value that stands alone: of a row-wise one that of the
// first row.
func Single(v Value) Value {
	if r, ok := v.(Rowwise); ok {
		return Scalar{Q: r.At(0), Unit: r.Unit}
	}
	return v
}

// struckAt reports whether a column has a struck cell there.
func struckAt(v Value, i int) bool {
	c, ok := v.(*Column)
	return ok && i < len(c.Cells) && c.Cells[i].Struck
}
