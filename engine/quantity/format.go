package quantity

import (
	"math"
	"strconv"

	"example.org/taut/engine/unit"
)

// figuresHeld is how many significant decimal figures a float64 holds for
// certain. What is displayed is first rounded to these: beyond them stand the
// traces of binary arithmetic (0.30000000000000004), which differ between
// processors, while what is shown may not. A number within 10^-15 of a tie is
// so taken for the tie.
const figuresHeld = 15

// A number is set without a power of ten while every digit shown is
// significant, its first figure is not below the fourth decimal place, and it
// has no more than nine digits before the point; an exact number that ends in
// zeros, while it has no more than six.
const (
	lowestLead     = -4
	highestLead    = 8
	highestRounded = 5
)

// Options are what a form needs beside the numbers.
type Options struct {
	Digits   int     // significant digits of an uncertainty, 1 or 2 (GUM 7.2.6); anything else means 2
	N        int     // how many, for Figures and Places
	Coverage string  // the coverage probability of U in words, "95 %"
	DOF      float64 // effective degrees of freedom; 0 or +Inf for a normal distribution
}

func (o Options) digits() int {
	if o.Digits == 1 {
		return 1
	}
	return 2
}

// Format sets a quantity for reading in the unit un. The value v, its standard
// uncertainty u and its expanded uncertainty U are in the coherent SI unit; u
// and U are 0 for an exact value.
//
// Value and uncertainty are rounded, half to even, to the same decimal place:
// that of the last significant digit of U for Interval and Statement, of u for
// Concise and Rounded. An exact value is set with its shortest digits, at most
// 15. So is one whose uncertainty is below the fifteenth figure, and Interval
// is Concise where U is not a positive number. The coverage probability stands
// in Coverage, that of a Statement in its Tail. A value or an uncertainty that
// is not finite gives [NoNumber].
func Format(v, u, U float64, un unit.Unit, form Form, opt Options) Display {
	if !finite(v) || !finite(u) {
		return Display{Number: NoNumber}
	}
	value := inUnit(v, un)
	name := unitText(un)
	switch form {
	case Figures:
		return formatFigures(value, name, opt.N)
	case Places:
		return formatPlaces(value, name, opt.N)
	}
	standard := inUnit(math.Abs(u), un.Difference())
	if negligible(value, standard) {
		return formatExact(value, name)
	}
	switch form {
	case Rounded:
		return formatRounded(value, standard, name, opt)
	case Concise:
		return formatConcise(value, standard, name, opt)
	}
	if !finite(U) || U <= 0 {
		return formatConcise(value, standard, name, opt)
	}
	d := formatInterval(value, inUnit(U, un.Difference()), name, opt)
	if form == Statement {
		d.Tail = statement(u, U, un, opt)
	} else {
		d.Coverage = opt.Coverage
	}
	return d
}

// RoundIn returns v, in the coherent SI unit, rounded half to even to so many
// decimal places in the unit un, from the same digits as [Format]: a number
// typed in a text agrees with v where it equals this.
func RoundIn(v float64, un unit.Unit, places int) string {
	if !finite(v) {
		return NoNumber
	}
	places = max(-maxPlaces, min(maxPlaces, places))
	return inUnit(v, un).round(places).fixed(places)
}

// inUnit returns the finite value v as a decimal number in the unit.
func inUnit(v float64, un unit.Unit) decimal {
	if n, ok := un.PowerOfTen(); ok {
		d := decimalOf(v, figuresHeld)
		if !d.zero() {
			d.point -= n
		}
		return d
	}
	if un.IsTemperature() {
		// The difference from the ice point has lost three figures.
		return decimalOf(un.FromSI(v), figuresHeld).round(figuresHeld - 3)
	}
	// Near the ends of the range the division could leave it.
	move := 0
	switch a := math.Abs(v); {
	case a > 1e250:
		v, move = v/1e100, 100
	case a < 1e-200:
		v, move = v*1e100, -100
	}
	d := decimalOf(un.FromSI(v), figuresHeld)
	if !d.zero() {
		d.point += move
	}
	return d
}

func unitText(un unit.Unit) string {
	if un.IsOne() {
		return ""
	}
	return un.String()
}

// negligible reports whether an uncertainty is too small to be seen among the
// digits that the value holds.
func negligible(value, uncertainty decimal) bool {
	return uncertainty.zero() || !value.zero() && uncertainty.point <= value.point-figuresHeld
}

// exponent returns the power of ten to set apart for a number whose first
// figure stands at 10^lead and whose last one stands at 10^-places.
func exponent(lead, places int) int {
	if lead < lowestLead || lead > highestLead || places < 0 {
		return lead
	}
	return 0
}

// set writes a rounded decimal with so many places, divided by 10^exp.
func (d decimal) set(places, exp int) string {
	if !d.zero() {
		d.point -= exp
	}
	return d.fixed(places + exp)
}

func formatExact(value decimal, name string) Display {
	places := len(value.digits) - value.point
	lead := value.point - 1
	exp := 0
	if !value.zero() && (places >= 0 || lead > highestRounded) {
		exp = exponent(lead, places)
	}
	return Display{Number: value.set(places, exp), Exponent: exp, Unit: name}
}

func formatFigures(value decimal, name string, n int) Display {
	value, places := value.figures(max(1, min(figuresHeld, n)))
	exp := 0
	if !value.zero() {
		exp = exponent(value.point-1, places)
	}
	return Display{Number: value.set(places, exp), Exponent: exp, Unit: name}
}

// formatPlaces leaves the decimal point where it was asked for, unless the
// number has more figures before it than a float64 holds.
func formatPlaces(value decimal, name string, n int) Display {
	n = max(0, min(maxPlaces, n))
	rounded := value.round(n)
	if lead := rounded.point - 1; lead >= figuresHeld {
		return Display{Number: value.round(n-lead).set(n-lead, lead), Exponent: lead, Unit: name}
	}
	return Display{Number: rounded.fixed(n), Unit: name}
}

func formatRounded(value, standard decimal, name string, opt Options) Display {
	_, places := standard.figures(opt.digits())
	value = value.round(places)
	exp := 0
	if !value.zero() {
		exp = exponent(value.point-1, places)
	} else if places < 0 {
		places = 0
	}
	return Display{Number: value.set(places, exp), Exponent: exp, Unit: name}
}

// pair rounds a value to the place of its uncertainty and chooses the power of
// ten for both.
func pair(value, uncertainty decimal, digits int) (v, w decimal, places, exp int) {
	w, places = uncertainty.figures(digits)
	v = value.round(places)
	lead := w.point
	if !v.zero() {
		lead = max(lead, v.point)
	}
	return v, w, places, exponent(lead-1, places)
}

func formatConcise(value, standard decimal, name string, opt Options) Display {
	v, w, places, exp := pair(value, standard, opt.digits())
	w.point += places // in units of the last digit
	return Display{Number: v.set(places, exp), Concise: w.fixed(0), Exponent: exp, Unit: name}
}

func formatInterval(value, expanded decimal, name string, opt Options) Display {
	v, w, places, exp := pair(value, expanded, opt.digits())
	return Display{Number: v.set(places, exp), PlusMinus: w.set(places, exp), Exponent: exp, Unit: name}
}

// statement says what the number after ± is, with all that GUM 7.2.4 asks for.
func statement(u, U float64, un unit.Unit, opt Options) Sentence {
	var s Sentence
	s.words("the number after ± is the expanded uncertainty U = k u, from the standard uncertainty u = ")
	s.number(Format(u, 0, 0, un.Difference(), Figures, Options{N: opt.digits()}))
	s.words(" and the coverage factor k = " + factorText(U/u))
	if nu, more := FormatDOF(WholeDOF(opt.DOF)); opt.DOF > 0 && !math.IsInf(opt.DOF, 0) {
		relation := " of the t-distribution for ν = "
		if more {
			relation = " of the t-distribution for ν > "
		}
		s.words(relation)
		s.number(nu)
		s.words(" degrees of freedom")
	} else {
		s.words(" of the normal distribution")
	}
	if opt.Coverage != "" {
		s.words("; the coverage probability of the interval is about " + opt.Coverage)
	}
	return s
}

// factorText writes a coverage factor: a whole one as such, others to three
// figures.
func factorText(k float64) string {
	if d := decimalOf(k, figuresHeld); len(d.digits) == 1 && d.point == 1 {
		return d.fixed(0)
	}
	return RoundFigures(k, 3)
}

// Typed sets a number as it was typed ("2.50", "1.97e11", "-0.5"), digit for
// digit, in the unit. A text that is no decimal number is set as it stands.
func Typed(text string, un unit.Unit) Display {
	d := Display{Number: text, Unit: unitText(un)}
	mantissa, exp := cutPower(text)
	if exp == "" && mantissa != text {
		return d
	}
	sign, digits := cutTypedSign(mantissa)
	if !isDecimal(digits) {
		return d
	}
	if exp != "" {
		expSign, expDigits := cutTypedSign(exp)
		n, err := strconv.Atoi(expSign + expDigits)
		if err != nil {
			return d
		}
		d.Exponent = n
	}
	if isZero(digits) {
		sign = ""
	}
	d.Number = sign + digits
	return d
}
