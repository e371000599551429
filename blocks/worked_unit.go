package blocks

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/unit"
)

// scale is the unit in which a formula comes out when numbers are put in with
// their units: its size in the coherent SI unit, and the power of the radian
// in it, which the SI counts as a number but a reader wants to see.
type scale struct {
	factor  float64
	radians float64
	ok      bool // the formula comes out in one unit
}

func scaleOf(un unit.Unit) scale {
	if un.IsTemperature() {
		return scale{}
	}
	return scale{un.Factor(), radians(un), true}
}

// radians is the power of the radian in a unit, 1 for ° and for rad/kg.
func radians(un unit.Unit) float64 {
	sum, sign := 0.0, 1.0
	for _, part := range strings.SplitAfter(un.Coherent().String(), "/") {
		for _, f := range strings.FieldsFunc(strings.TrimSuffix(part, "/"), func(r rune) bool { return r == ' ' || r == '(' || r == ')' }) {
			symbol, power, raised := strings.Cut(f, "^")
			if symbol != "rad" {
				continue
			}
			n, err := strconv.ParseFloat(power, 64)
			if !raised || err != nil {
				n = 1
			}
			sum += sign * n
		}
		sign = -1
	}
	return sum
}

func (s scale) equals(t scale) bool {
	return s.ok && t.ok && math.Abs(s.factor-t.factor) <= 1e-12*math.Abs(t.factor) && s.radians == t.radians
}

// scale finds the unit of a formula from those of the numbers put in.
func (w *working) scale(x formula.Expr) scale {
	if v, ok := w.number(x); ok {
		return scaleOf(eval.UnitOf(v))
	}
	switch x := x.(type) {
	case *formula.Pi:
		return scale{factor: 1, ok: true}
	case *formula.Literal:
		if v, ok := w.e.Expr(x).(eval.Scalar); ok {
			return scaleOf(eval.UnitOf(v))
		}
	case *formula.Paren:
		return w.scale(x.X)
	case *formula.Unary:
		return w.scale(x.X)
	case *formula.Call:
		return w.scaleOfCall(x)
	case *formula.Binary:
		return w.scaleOfTwo(x)
	}
	return scale{}
}

func (w *working) scaleOfCall(x *formula.Call) scale {
	if !carriedOut[x.Name] || len(x.Args) != 1 {
		return scale{}
	}
	switch s := w.scale(x.Args[0]); x.Name {
	case "abs":
		return s
	case "sqrt":
		return scale{math.Sqrt(s.factor), s.radians / 2, s.ok}
	default:
		return scale{factor: 1, ok: s.ok}
	}
}

func (w *working) scaleOfTwo(x *formula.Binary) scale {
	a := w.scale(x.X)
	if x.Op == "^" {
		n, ok := w.e.Expr(x.Y).(eval.Scalar)
		if !ok {
			return scale{}
		}
		p := n.Q.Value()
		return scale{math.Pow(a.factor, p), a.radians * p, a.ok}
	}
	b := w.scale(x.Y)
	switch x.Op {
	case "*":
		return scale{a.factor * b.factor, a.radians + b.radians, a.ok && b.ok}
	case "/":
		return scale{a.factor / b.factor, a.radians - b.radians, a.ok && b.ok}
	case "+", "-":
		if a.equals(b) {
			return a
		}
	}
	return scale{}
}

// baseUnit is the unit of a formula with its numbers put in in SI: base units
// with the radian, "" for a number.
func (w *working) baseUnit(x formula.Expr, dim unit.Dim) string {
	var parts []string
	if !dim.IsOne() {
		parts = append(parts, dim.String())
	}
	switch n := w.radians(x); {
	case n == 1:
		parts = append(parts, "rad")
	case n != 0 && n == math.Trunc(n):
		parts = append(parts, "rad^"+strconv.FormatFloat(n, 'f', 0, 64))
	}
	return strings.Join(parts, " ")
}

// radians is the power of the radian that a formula comes out with: that of
// its first term, since a sum of an angle and a number has none of its own.
func (w *working) radians(x formula.Expr) float64 {
	switch x := x.(type) {
	case *formula.Paren:
		return w.radians(x.X)
	case *formula.Unary:
		return w.radians(x.X)
	case *formula.Binary:
		a, b := w.radians(x.X), 0.0
		switch x.Op {
		case "*":
			b = w.radians(x.Y)
		case "/":
			b = -w.radians(x.Y)
		case "^":
			if n, ok := w.e.Expr(x.Y).(eval.Scalar); ok {
				return a * n.Q.Value()
			}
		case "+", "-":
			if a != w.radians(x.Y) {
				return 0
			}
		}
		return a + b
	}
	return w.scale(x).radians
}
