package unit

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// A typed number may have this many bytes and an exponent of this size. Both
// are far beyond any measurement; they bound the work of a conversion.
const (
	maxNumber = 200
	maxTen    = 9999
)

// ToSI returns a decimal number as typed ("3.12", "1.97e11", "-0.5"), in u, as
// the float64 nearest to its exact value in the coherent SI unit. A temperature
// in °C comes out in kelvin. The grammar is
//
//	[sign] digits ["." digits] [("e"|"E"|"×10^") [sign] digits]
//
// with -, + or − (U+2212) as signs. The error is an [*Error]: the text is not
// such a number, is longer than 200 bytes, or is beyond the range of a float64.
func (u Unit) ToSI(number string) (float64, error) {
	d, err := scanNumber(number)
	if err != nil {
		return 0, err
	}
	f := u.exact(d)
	switch {
	case math.IsInf(f, 0):
		return 0, numberError(number, 0, len(number), "the number is too large to be computed with")
	case f == 0 && !d.zero() && !u.affine:
		return 0, numberError(number, 0, len(number), "the number is too small to be computed with")
	case f == 0:
		return 0, nil // never −0
	}
	return f, nil
}

// exact returns d in u as the nearest float64 in the coherent unit.
func (u Unit) exact(d decimal) float64 {
	if u.affine {
		return celsius(d)
	}
	if d.zero() {
		return 0
	}
	if u.scale.powerOfTen() {
		var buf [64]byte
		b := buf[:0]
		if d.negative {
			b = append(b, '-')
		}
		b = append(b, d.digits...)
		b = append(b, 'e')
		b = strconv.AppendInt(b, int64(d.exp+u.scale.ten), 10)
		f, _ := strconv.ParseFloat(string(b), 64) // only the range can fail
		return f
	}
	// Beyond these sizes the result is beyond the range whatever the digits;
	// the exact product would only cost time.
	if lead := d.exp + len(d.digits); lead > maxTen/4 {
		return math.Inf(1)
	} else if lead < -maxTen/4 {
		return 0
	}
	return u.scale.times(d.integer(), d.exp)
}

// celsius returns the thermodynamic temperature of d degrees Celsius.
func celsius(d decimal) float64 {
	lead := d.exp + len(d.digits)
	if lead > maxTen/4 {
		return math.Inf(1)
	}
	if d.zero() || lead < -maxTen/4 {
		return IcePoint
	}
	r := new(big.Rat).SetInt(d.integer())
	power := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(abs(d.exp))), nil))
	if d.exp < 0 {
		r.Quo(r, power)
	} else {
		r.Mul(r, power)
	}
	f, _ := r.Add(r, big.NewRat(27315, 100)).Float64()
	return f
}

// SI returns a number in u in the coherent SI unit, with the offset of a
// temperature.
func (u Unit) SI(v float64) float64 {
	if u.affine {
		return v + IcePoint
	}
	if n, ok := u.PowerOfTen(); ok {
		return shift(v, n, u.Factor())
	}
	return v * u.Factor()
}

// FromSI returns a value in the coherent SI unit as a number in u, with the
// offset of a temperature. It is the inverse of SI to within rounding.
func (u Unit) FromSI(v float64) float64 {
	if u.affine {
		return v - IcePoint
	}
	if n, ok := u.PowerOfTen(); ok {
		return shift(v, -n, 1/u.Factor())
	}
	return v / u.Factor()
}

// shift returns v × 10^n with one rounding where 10^|n| is a float64 exactly,
// else v × factor.
func shift(v float64, n int, factor float64) float64 {
	const exact = 22 // 10^22 is the largest such power of ten
	switch {
	case n == 0:
		return v
	case n > 0 && n <= exact:
		return v * powersOfTen[n]
	case n < 0 && n >= -exact:
		return v / powersOfTen[-n]
	}
	return v * factor
}

var powersOfTen = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// decimal is a typed number: ± digits × 10^exp.
type decimal struct {
	negative bool
	digits   string
	exp      int
}

func (d decimal) zero() bool { return strings.Trim(d.digits, "0") == "" }

func (d decimal) integer() *big.Int {
	n, _ := new(big.Int).SetString(d.digits, 10) // digits only, by scanNumber
	if d.negative {
		n.Neg(n)
	}
	return n
}

// scanNumber reads a decimal number after the grammar at ToSI.
func scanNumber(text string) (decimal, error) {
	var d decimal
	if len(text) > maxNumber {
		return d, numberError(text, 0, len(text), "the number has more than 200 characters")
	}
	rest := text
	d.negative, rest = cutSign(rest)
	whole := countDigits(rest)
	if whole == 0 {
		return d, numberError(text, len(text)-len(rest), len(rest), "a number begins with a digit")
	}
	d.digits, rest = rest[:whole], rest[whole:]
	if strings.HasPrefix(rest, ".") {
		n := countDigits(rest[1:])
		if n == 0 {
			return d, numberError(text, len(text)-len(rest), 1, "a digit must follow the decimal point")
		}
		d.digits += rest[1 : 1+n]
		d.exp = -n
		rest = rest[1+n:]
	}
	if rest == "" {
		return d, nil
	}
	at := len(text) - len(rest)
	after, ok := cutExponent(rest)
	if !ok {
		return d, numberError(text, at, len(rest), "this is not part of a decimal number")
	}
	negative, digits := cutSign(after)
	if n := countDigits(digits); n == 0 || n != len(digits) {
		return d, numberError(text, at, len(rest), "the exponent must be a whole number")
	}
	exp, err := strconv.Atoi(digits)
	if err != nil || exp > maxTen {
		return d, numberError(text, at, len(rest), "the exponent is beyond ±9999")
	}
	if negative {
		exp = -exp
	}
	d.exp += exp
	return d, nil
}

func cutSign(s string) (negative bool, rest string) {
	for _, sign := range [...]string{"-", "−"} {
		if rest, ok := strings.CutPrefix(s, sign); ok {
			return true, rest
		}
	}
	return false, strings.TrimPrefix(s, "+")
}

func cutExponent(s string) (rest string, ok bool) {
	for _, mark := range [...]string{"e", "E", "×10^"} {
		if rest, ok := strings.CutPrefix(s, mark); ok {
			return rest, true
		}
	}
	return s, false
}

func countDigits(s string) int {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return i
		}
	}
	return len(s)
}

func numberError(text string, at, n int, message string) *Error {
	return &Error{Offset: at, Len: n, Text: text[at : at+n], Message: message}
}
