package blocks

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// comparing sets a comparison in full: each of its numbers in symbols, with
// the numbers put in, and the result with the reason beside it.
type comparing struct {
	s    *block.Shower
	x, y eval.Scalar // both in the unit of the result
	a, b view.Math   // their symbols
}

// comparison takes up a comparison of x with y.
func (b *compareBlock) comparison(s *block.Shower, x, y eval.Scalar) *comparing {
	un := eval.UnitOf(x)
	y.Unit = &un
	result, reference := b.symbols(s)
	return &comparing{s, x, y, result, reference}
}

// symbols are those of the result and of the reference value: their names, or
// where they have none X with a word.
func (b *compareBlock) symbols(s *block.Shower) (result, reference view.Math) {
	symbol := func(x formula.Expr, word string) view.Math {
		if n, ok := bare(x).(*formula.Name); ok {
			return s.Brief(n)
		}
		return script("X", word)
	}
	return symbol(b.of, "result"), symbol(b.with, "ref")
}

// deviation is the symbol of the difference.
func deviation() view.Math { return view.Ident{Name: "Δ"} }

// steps works out the difference, the percentage difference and, where it can
// be assessed, the normalized error.
func (c *comparing) steps() *view.Steps {
	out := &view.Steps{ID: c.s.ID() + "-work", Title: "The comparison, step by step", Standing: view.Computed, Steps: []view.Step{c.difference()}}
	if rel, ok := relative(c.x.Q, c.y.Q); ok {
		out.Steps = append(out.Steps, c.percentage(rel))
	}
	if en, why := normalizedError(c.x.Q, c.y.Q, c.s.Settings.Coverage); why == "" {
		out.Steps = append(out.Steps, c.normalized(en))
	}
	return out
}

func (c *comparing) step(name string, symbol view.Math, label string, stages []view.Math, result view.Text) view.Step {
	return view.Step{ID: c.s.ID() + "-work-" + name, Symbol: symbol, Label: label, Standing: view.Computed, Stages: stages, Result: result}
}

// text shows a difference with its uncertainty, wherever the page shows it.
func (c *comparing) text(q quantity.Q, un unit.Unit) view.Text {
	return view.Text{view.Number{Value: q.Value(), Display: comparisonDisplay(q, un, c.s.Settings), Standing: view.Computed}}
}

// forms are those of the result and the reference value from whose printed
// digits the printed difference follows: intervals, or with the digits of the
// standard uncertainty where those of the expanded one are too few.
func (c *comparing) forms() (result, reference quantity.Form) {
	un := apart(eval.UnitOf(c.x))
	difference := comparisonDisplay(c.x.Q.Sub(c.y.Q), un, c.s.Settings)
	for _, f := range [][2]quantity.Form{{quantity.Interval, quantity.Auto}, {quantity.Interval, quantity.Concise}, {quantity.Concise, quantity.Concise}} {
		x, ok := shownSI(c.x, f[0], c.s.Settings)
		y, too := shownSI(c.y, f[1], c.s.Settings)
		if ok && too && follows(un.FromSI(x-y), difference) {
			return f[0], f[1]
		}
	}
	return quantity.Interval, quantity.Auto
}

// shownSI is the number, in SI, that is shown for a value.
func shownSI(v eval.Scalar, form quantity.Form, with block.Settings) (float64, bool) {
	d := with.Display(v, form, 0)
	n, err := strconv.ParseFloat(d.Number, 64)
	return eval.UnitOf(v).SI(n * math.Pow10(d.Exponent)), err == nil
}

// comparisonDisplay rounds a difference to its uncertainty, to two figures where
// it has none.
func comparisonDisplay(q quantity.Q, un unit.Unit, with block.Settings) quantity.Display {
	if q.IsUncertain() {
		return with.Display(eval.Scalar{Q: q, Unit: &un}, quantity.Interval, 0)
	}
	return quantity.Format(q.Value(), 0, 0, un, quantity.Figures, quantity.Options{N: 2})
}

// comparisonText shows a number without an uncertainty, to two figures.
func comparisonText(v float64, un unit.Unit) view.Text {
	return view.Text{view.Number{Value: v, Display: quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: 2}), Standing: view.Computed}}
}

// going displays a number for going on with.
func going(v float64, un unit.Unit) view.Math {
	return block.QuantityMath(quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: comparisonGuard}), v, "")
}

// comparisonGuard is how many figures the numbers of a comparison have on the
// way: two more than the result.
const comparisonGuard = 4

// carried are the stages before a rounded result: none where the number has no
// more figures.
func (c *comparing) carried(q quantity.Q, shown, un unit.Unit) []view.Math {
	v := q.Value()
	long, short := quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: comparisonGuard}), comparisonDisplay(q, shown, c.s.Settings)
	if strings.TrimRight(long.Number, "0") != strings.TrimRight(short.Number, "0") {
		return []view.Math{block.QuantityMath(long, v, "")}
	}
	return nil
}

// put is a quantity put in for its symbol.
func (c *comparing) put(v eval.Scalar) view.Math {
	return block.QuantityMath(guarded(v, eval.UnitOf(c.x)), v.Q.Value(), "")
}

// putBehind is one put in behind an operator.
func (c *comparing) putBehind(v eval.Scalar) view.Math {
	return signed(guarded(v, eval.UnitOf(c.x)), v.Q.Value())
}

func (c *comparing) difference() view.Step {
	d, du := c.x.Q.Sub(c.y.Q), apart(eval.UnitOf(c.x))
	return c.step("difference", deviation(), "difference of the result from the reference value",
		append([]view.Math{minusMath(c.a, c.b), minusMath(c.put(c.x), c.putBehind(c.y))}, c.carried(d, du, du)...), c.text(d, du))
}

// percentage: the difference over the magnitude of the reference value.
func (c *comparing) percentage(rel quantity.Q) view.Step {
	y := c.y
	if un := eval.UnitOf(y); un.IsTemperature() { // a part of a temperature is one of its kelvins
		kelvin := apart(un)
		y.Unit, y.Typed = &kelvin, ""
	}
	under, below, label := c.b, block.QuantityMath(guarded(y, eval.UnitOf(y)), y.Q.Value(), ""), "percentage difference: the difference as a part of the reference value, not of the result"
	if c.y.Q.Value() < 0 {
		under, below = magnitudeOf(c.b), magnitudeOf(below)
		label += "; of its magnitude, so that the sign says on which side the result lies"
	}
	d := c.x.Q.Sub(c.y.Q).Value()
	ratio := view.Styled{Style: "displaystyle", Body: view.Frac{Num: deviation(), Den: under}}
	return c.step("percentage", ratio, label,
		append([]view.Math{view.Frac{Num: going(d, apart(eval.UnitOf(c.x))), Den: below}}, c.carried(rel, percent, one)...), c.text(rel, percent))
}

func magnitudeOf(m view.Math) view.Math {
	return view.Seq{Items: []view.Math{view.Op{Symbol: "|", Fence: true, Form: "prefix"}, m, view.Op{Symbol: "|", Fence: true, Form: "postfix"}}}
}

// normalized: the difference over the root sum of squares of the expanded
// uncertainties, less what both have in common.
func (c *comparing) normalized(en float64) view.Step {
	du := apart(eval.UnitOf(c.x))
	j := jointly(c.x.Q, c.y.Q, c.s.Settings.Coverage)
	d := c.x.Q.Sub(c.y.Q).Value()
	expanded := func(m view.Math) view.Math {
		return view.Seq{Items: []view.Math{view.Script{Base: ident("U"), Sup: view.Num{Digits: "2"}}, inBrackets(m)}}
	}
	putIn := func(square float64) view.Math {
		return view.Script{Base: inBrackets(going(math.Sqrt(square), du)), Sup: view.Num{Digits: "2"}}
	}
	plus := func(a, b view.Math) view.Math { return view.Seq{Items: []view.Math{a, view.Op{Symbol: "+"}, b}} }
	symbols, numbers := plus(expanded(c.a), expanded(c.b)), plus(putIn(j.a), putIn(j.b))
	label := "normalized error (ISO 13528): the difference over the root sum of squares of both expanded uncertainties; up to 1 in magnitude the two agree"
	if j.common != 0 {
		both := view.Seq{Items: []view.Math{c.a, view.Op{Symbol: ","}, view.Space{Em: 0.17}, c.b}}
		symbols = minusMath(symbols, view.Seq{Items: []view.Math{view.Num{Digits: "2"}, view.Space{Em: 0.17}, script("k", "1"), view.Space{Em: 0.17}, script("k", "2"), view.Space{Em: 0.17}, ident("u"), inBrackets(both)}})
		numbers = minusMath(numbers, inBrackets(going(j.common, squareOf(du))))
		label += "; twice the covariance, u of both, is taken off for what they rest on in common"
	}
	return c.step("En", script("E", "n"), label, []view.Math{
		view.Frac{Num: deviation(), Den: view.Root{Body: symbols}},
		view.Frac{Num: going(d, du), Den: view.Root{Body: numbers}},
		view.Frac{Num: going(d, du), Den: going(math.Sqrt(j.a+j.b-j.common), du)},
	}, comparisonText(en, one))
}

// squareOf is the unit of a square.
func squareOf(un unit.Unit) unit.Unit {
	if u, err := unit.Parse(squared(axisUnit(un))); err == nil {
		return u
	}
	return unit.Of(un.Dim().Mul(un.Dim()))
}
