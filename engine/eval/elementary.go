package eval

import (
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// elementary holds the functions of one variable, which are applied to each
// cell of a column, and the choice.
var elementary = []function{
	{name: "abs", usage: "abs(x)", what: "the magnitude", least: 1, most: 1, f: func(c *Call) Value {
		return c.E.map1(c.numeric(), UnitOf(c.Args[0]), c.X.At, func(q quantity.Q) quantity.Q { return q.Apply(quantity.Abs, q.Dim()) })
	}},
	{name: "sqrt", usage: "sqrt(x)", what: "the square root; √x may be typed", least: 1, most: 1, f: sqrt},
	pureFunction("exp", "the exponential", quantity.Exp),
	pureFunction("ln", "the natural logarithm", quantity.Ln),
	pureFunction("log10", "the decimal logarithm", quantity.Log10),
	pureFunction("sin", "the sine of an angle", quantity.Sin),
	pureFunction("cos", "the cosine of an angle", quantity.Cos),
	pureFunction("tan", "the tangent of an angle", quantity.Tan),
	pureFunction("asin", "the angle of a sine, in rad", quantity.Asin),
	pureFunction("acos", "the angle of a cosine, in rad", quantity.Acos),
	pureFunction("atan", "the angle of a tangent, in rad", quantity.Atan),
	pureFunction("round", "the nearest whole number, half to even", quantity.Round),
	pureFunction("floor", "the whole number at or below", quantity.Floor),
	{name: "if", usage: "if(condition, a, b)", what: "a where the condition holds, else b; row by row over columns", least: 3, most: 3, f: choose},
}

// numeric returns the first argument; map1 reports what is not numeric.
func (c *Call) numeric() Value { return c.Args[0] }

// pureFunction is a function of a pure number that gives a pure number.
func pureFunction(name, what string, op quantity.Op) function {
	return function{name: name, usage: name + "(x)", what: what, least: 1, most: 1, f: func(c *Call) Value {
		d, ok := DimOf(c.Args[0])
		if !ok || !d.IsOne() {
			return c.wrong(0, "a pure number or an angle")
		}
		u := unit.Of(unit.Dim{})
		if name[0] == 'a' {
			u = radian
		}
		return c.E.map1(c.Args[0], u, c.X.At, func(q quantity.Q) quantity.Q { return q.Apply(op, unit.Dim{}) })
	}}
}

var radian = unit.MustParse("rad")

func sqrt(c *Call) Value {
	d, ok := DimOf(c.Args[0])
	if !ok {
		return c.wrong(0, "a quantity or a column")
	}
	dim, ok := d.Pow(1, 2)
	if !ok {
		return c.E.fail(badExponent(c.at(0), 0.5, c.Args[0]))
	}
	return c.E.map1(c.Args[0], unit.Of(dim), c.X.At, func(q quantity.Q) quantity.Q { return q.Apply(quantity.Sqrt, dim) })
}

func choose(c *Call) Value {
	cond, ok := bools(c.Args[0])
	if !ok {
		return c.wrong(0, "a condition")
	}
	da, oka := DimOf(c.Args[1])
	db, okb := DimOf(c.Args[2])
	switch {
	case !oka:
		return c.wrong(1, "a quantity or a column")
	case !okb:
		return c.wrong(2, "a quantity or a column")
	case da != db:
		return c.E.fail(errorAt(c.X.At, "unit-clash", "the two outcomes are "+Describe(c.Args[1])+" and "+Describe(c.Args[2]), clashHint(da, db)))
	}
	u := UnitOf(c.Args[1])
	if _, single := c.Args[0].(Bool); single {
		if !cond[0].Truth.Is {
			u = UnitOf(c.Args[2])
		}
		return c.E.zip(c.Args[1], c.Args[2], da, &u, c.X.At, c.at(1), c.at(2), func(a, b quantity.Q) quantity.Q {
			return quantity.If(cond[0].Truth, a, b)
		})
	}
	out := &Column{Cells: make([]Cell, len(cond)), Dim: da, Unit: &u}
	for i, t := range cond {
		a, ha, oka := cellAt(c.Args[1], i, len(cond))
		b, hb, okb := cellAt(c.Args[2], i, len(cond))
		if !oka || !okb {
			return c.E.fail(wrongSize(c.X.At, "the condition and its outcomes have unequal numbers of rows", "take columns of one table"))
		}
		cell := Cell{Row: t.Row, At: t.At, Hole: t.Hole}
		if !t.Hole {
			cell.Q = quantity.If(t.Truth, a, b)
			cell.Hole = t.Truth.Is && ha || !t.Truth.Is && hb
		}
		out.Cells[i] = cell
	}
	return out
}

func cellAt(v Value, i, n int) (q quantity.Q, hole, ok bool) {
	switch v := v.(type) {
	case Scalar:
		return v.Q, false, true
	case *Column:
		if len(v.Cells) != n {
			return q, false, false
		}
		return v.Cells[i].Q, v.Cells[i].Hole, true
	case Rowwise:
		return v.At(i), false, true
	}
	return q, false, false
}
