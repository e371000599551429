package eval

import (
	"math"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
)

// compare evaluates a comparison; columns are compared row by row.
func (e *Eval) compare(x *formula.Binary, a, b Value) Value {
	if wa, ok := a.(Word); ok {
		wb, ok := b.(Word)
		if !ok || x.Op != "==" && x.Op != "!=" {
			return e.fail(notNumeric(x.Y.Span(), x.Op, b))
		}
		return Bool{quantity.Known((wa.Text == wb.Text) == (x.Op == "=="))}
	}
	da, oka := DimOf(a)
	db, okb := DimOf(b)
	if !oka {
		return e.fail(notNumeric(x.X.Span(), x.Op, a))
	}
	if !okb {
		return e.fail(notNumeric(x.Y.Span(), x.Op, b))
	}
	if da != db {
		return e.fail(unitClash(e, x, a, b))
	}
	e.remarkRounding(x, a, b)
	return e.zipTruth(x, a, b, comparison(x.Op))
}

// remarkRounding notes an equality that fails by the last digits alone.
func (e *Eval) remarkRounding(x *formula.Binary, a, b Value) {
	p, okp := a.(Scalar)
	q, okq := b.(Scalar)
	if !okp || !okq || x.Op != "==" && x.Op != "!=" {
		return
	}
	v, w := p.Q.Value(), q.Q.Value()
	if v != w && math.Abs(v-w) <= 1e-12*math.Abs(v) {
		e.Report(roundingOnly(x.OpAt, x))
	}
}

func comparison(op string) func(p, q quantity.Q) quantity.Truth {
	switch op {
	case "==":
		return quantity.Equals
	case "!=":
		return func(p, q quantity.Q) quantity.Truth { return quantity.Equals(p, q).Not() }
	case "<":
		return quantity.LessThan
	case "<=":
		return func(p, q quantity.Q) quantity.Truth { return quantity.LessThan(q, p).Not() }
	case ">":
		return func(p, q quantity.Q) quantity.Truth { return quantity.LessThan(q, p) }
	}
	return func(p, q quantity.Q) quantity.Truth { return quantity.LessThan(p, q).Not() }
}

func (e *Eval) zipTruth(x *formula.Binary, a, b Value, f func(p, q quantity.Q) quantity.Truth) Value {
	la, isA := a.(List)
	lb, isB := b.(List)
	if isA || isB {
		n := len(la.Members)
		if !isA {
			n = len(lb.Members)
		}
		if isA && isB && len(la.Members) != len(lb.Members) {
			return e.fail(raggedColumns(x.At, x.X.Span(), x.Y.Span(), len(la.Members), len(lb.Members)))
		}
		var all Bools
		for i := 0; i < n; i++ {
			p, q := a, b
			if isA {
				p = la.Members[i]
			}
			if isB {
				q = lb.Members[i]
			}
			switch r := e.zipTruth(x, p, q, f).(type) {
			case Bools:
				all.Cells = append(all.Cells, r.Cells...)
			case Bool:
				all.Cells = append(all.Cells, BoolCell{Truth: r.Truth})
			default:
				return r
			}
		}
		return all
	}
	ca, colA := a.(*Column)
	cb, colB := b.(*Column)
	if !colA && !colB {
		return Bool{f(Single(a).(Scalar).Q, Single(b).(Scalar).Q)}
	}
	main := ca
	if !colA {
		main = cb
	}
	if colA && colB && len(ca.Cells) != len(cb.Cells) {
		return e.fail(raggedColumns(x.At, x.X.Span(), x.Y.Span(), len(ca.Cells), len(cb.Cells)))
	}
	out := Bools{Cells: make([]BoolCell, len(main.Cells))}
	for i, c := range main.Cells {
		p, hp := cellOf(a, i)
		q, hq := cellOf(b, i)
		out.Cells[i] = BoolCell{Hole: hp || hq, Row: c.Row, At: c.At}
		if !out.Cells[i].Hole {
			out.Cells[i].Truth = f(p, q)
		}
	}
	return out
}

func (e *Eval) logic1(x *formula.Unary, v Value) Value {
	switch v := v.(type) {
	case Waiting:
		return v
	case Bool:
		return Bool{v.Truth.Not()}
	case Bools:
		out := Bools{Cells: append([]BoolCell(nil), v.Cells...)}
		for i := range out.Cells {
			out.Cells[i].Truth = out.Cells[i].Truth.Not()
		}
		return out
	}
	return e.fail(notCondition(x.X.Span(), x.Op, v))
}

func (e *Eval) logic2(x *formula.Binary) Value {
	a, b := e.Expr(x.X), e.Expr(x.Y)
	if w, ok := waiting(a, b); ok {
		return w
	}
	f := quantity.Truth.And
	if x.Op == "or" {
		f = quantity.Truth.Or
	}
	ba, oka := bools(a)
	bb, okb := bools(b)
	switch {
	case !oka:
		return e.fail(notCondition(x.X.Span(), x.Op, a))
	case !okb:
		return e.fail(notCondition(x.Y.Span(), x.Op, b))
	}
	sa, singleA := a.(Bool)
	sb, singleB := b.(Bool)
	if singleA && singleB {
		return Bool{f(sa.Truth, sb.Truth)}
	}
	main, n := ba, len(ba)
	if singleA {
		main, n = bb, len(bb)
	}
	if !singleA && !singleB && len(ba) != len(bb) {
		return e.fail(raggedColumns(x.At, x.X.Span(), x.Y.Span(), len(ba), len(bb)))
	}
	out := Bools{Cells: make([]BoolCell, n)}
	for i := range out.Cells {
		p, q := ba[0], bb[0]
		if !singleA {
			p = ba[i]
		}
		if !singleB {
			q = bb[i]
		}
		out.Cells[i] = BoolCell{Truth: f(p.Truth, q.Truth), Hole: p.Hole || q.Hole, Row: main[i].Row, At: main[i].At}
	}
	return out
}

func bools(v Value) ([]BoolCell, bool) {
	switch v := v.(type) {
	case Bool:
		return []BoolCell{{Truth: v.Truth}}, true
	case Bools:
		return v.Cells, true
	}
	return nil, false
}
