package blocks

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// following displays the value so that it follows, to its last figure, from
// every stage before it as that is printed: what is put in was rounded, and a
// figure that rests on what rounding took away could not be checked. It keeps
// as many figures as the result, and reports whether these follow; a stage that
// cannot be worked out from what is printed, such as one with columns in it,
// decides nothing.
func (w *working) following(stages []view.Math, v eval.Scalar, un unit.Unit) (quantity.Display, bool) {
	first := guarded(eval.Scalar{Q: v.Q}, un)
	least := significant(w.s.Display(v, quantity.Auto, 0).Number)
	if !v.Q.IsUncertain() { // its result is shown with every figure
		least = min(least, exactGuard-2)
	}
	d := first
	for n := significant(first.Number); !followsAll(stages, d, un); {
		if n--; n < least {
			return first, false
		}
		d = quantity.Format(v.Q.Value(), 0, 0, un, quantity.Figures, quantity.Options{N: n})
	}
	return d, true
}

// significant is how many figures a number has, zeros in front not counted.
func significant(number string) int {
	return len(strings.TrimLeft(strings.NewReplacer("-", "", ".", "").Replace(number), "0"))
}

func followsAll(stages []view.Math, d quantity.Display, un unit.Unit) bool {
	for _, m := range stages {
		if x, ok := asPrinted(m); ok && !follows(un.FromSI(x), d) {
			return false
		}
	}
	return true
}

// follows reports whether x rounds to what is displayed.
func follows(x float64, d quantity.Display) bool {
	shown, err := strconv.ParseFloat(d.Number, 64)
	if err != nil {
		return true
	}
	half := 0.5 * math.Pow10(-block.Places(d.Number))
	return math.Abs(x/math.Pow10(d.Exponent)-shown) <= half*(1+1e-6)
}

// asPrinted works a formula out, in SI, from the digits and units that are
// printed in it. It is not ok where there is more in it than numbers.
func asPrinted(m view.Math) (float64, bool) {
	switch m := m.(type) {
	case view.Num:
		v, err := strconv.ParseFloat(m.Digits, 64)
		return v, err == nil
	case view.Ident:
		return math.Pi, m.Name == "π"
	case view.Valued:
		return asPrinted(m.Body)
	case view.Measure:
		v, ok := asPrinted(m.Number)
		un, err := unit.Parse(m.Unit)
		if !ok || err != nil {
			return 0, false
		}
		return un.SI(v), true
	case view.Frac:
		a, ok := asPrinted(m.Num)
		b, too := asPrinted(m.Den)
		return a / b, ok && too
	case view.Root:
		v, ok := asPrinted(m.Body)
		return math.Sqrt(v), ok
	case view.Script:
		if m.Sup == nil || m.Sub != nil {
			return 0, false
		}
		a, ok := asPrinted(m.Base)
		b, too := asPrinted(m.Sup)
		return math.Pow(a, b), ok && too
	case view.Seq:
		return asPrintedRow(m.Items)
	}
	return 0, false
}

// asPrintedRow works out a row of terms with their signs, in which products bind
// first; brackets stand about a row of their own.
func asPrintedRow(items []view.Math) (float64, bool) {
	sum, product, begun := 0.0, 1.0, false
	for _, it := range items {
		op, isOp := it.(view.Op)
		if !isOp {
			v, ok := asPrinted(it)
			if !ok {
				return 0, false
			}
			product *= v
			begun = true
			continue
		}
		switch op.Symbol {
		case "(", ")", "×":
		case "+", "−", "-":
			if begun {
				sum += product
				product, begun = 1, false
			}
			if op.Symbol != "+" {
				product = -product
			}
		default:
			return 0, false
		}
	}
	return sum + product, true
}
