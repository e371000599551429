package unit

import (
	"strconv"
	"strings"
)

// Exponents of a dimension are kept as whole multiples of 1/grain, so that
// roots down to the tenth and every exponent of two decimals are exact and a
// dimension stays a small comparable value.
const (
	grain       = 25200 // 2⁴·3²·5²·7
	maxExponent = 9999
)

// baseCount is the number of SI base quantities.
const baseCount = 7

// baseSymbols are the base units in the order in which they are printed, that
// of the SI Brochure, tables 4 to 6.
var baseSymbols = [baseCount]string{"kg", "m", "s", "A", "K", "mol", "cd"}

// Dim is the dimension of a quantity: the exponents, which may be fractions,
// of the seven SI base quantities. Dims are compared with ==. The zero value is
// the dimension of a number.
type Dim struct {
	e [baseCount]int32 // in multiples of 1/grain, in the order of baseSymbols
}

// Mul returns the dimension of a product. Exponents are held within ±9999.
func (d Dim) Mul(b Dim) Dim {
	for i := range d.e {
		d.e[i] = clamp(d.e[i] + b.e[i])
	}
	return d
}

// Div returns the dimension of a quotient. Exponents are held within ±9999.
func (d Dim) Div(b Dim) Dim {
	for i := range d.e {
		d.e[i] = clamp(d.e[i] - b.e[i])
	}
	return d
}

func clamp(e int32) int32 {
	return max(-maxExponent*grain, min(maxExponent*grain, e))
}

// Pow returns the dimension of a quantity raised to the power num/den. It
// reports false where den is zero, where an exponent would leave ±9999, and
// where an exponent would not be a multiple of 1/25200.
func (d Dim) Pow(num, den int) (Dim, bool) {
	if den == 0 {
		return Dim{}, false
	}
	if d.IsOne() {
		return d, true
	}
	const limit = maxExponent * grain
	if num > limit || num < -limit || den > limit || den < -limit {
		return Dim{}, false
	}
	for i, e := range d.e {
		p := int64(e) * int64(num)
		if p%int64(den) != 0 {
			return Dim{}, false
		}
		if p /= int64(den); p > limit || p < -limit {
			return Dim{}, false
		}
		d.e[i] = int32(p)
	}
	return d, true
}

// IsOne reports whether d is the dimension of a number.
func (d Dim) IsOne() bool { return d == Dim{} }

// String returns d in SI base units with powers, "kg m^-1 s^-2"; a fractional
// power is bracketed, "m^(1/3)"; the dimension of a number is "1".
func (d Dim) String() string {
	if d.IsOne() {
		return "1"
	}
	var b strings.Builder
	for i, e := range d.e {
		if e == 0 {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(baseSymbols[i])
		b.WriteString(powerText(e))
	}
	return b.String()
}

// powerText returns the suffix of a power given in multiples of 1/grain: "",
// "^2", "^-1", "^(1/3)".
func powerText(e int32) string {
	if e == grain {
		return ""
	}
	if e%grain == 0 {
		return "^" + strconv.Itoa(int(e/grain))
	}
	g := gcd(e, grain)
	return "^(" + strconv.Itoa(int(e/g)) + "/" + strconv.Itoa(int(grain/g)) + ")"
}

func gcd(a, b int32) int32 {
	for b != 0 {
		a, b = b, a%b
	}
	if a < 0 {
		return -a
	}
	return a
}
