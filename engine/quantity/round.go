package quantity

import (
	"math"
	"strconv"
	"strings"
)

// NoNumber stands where a value is not a finite number.
const NoNumber = "—"

// maxPlaces bounds decimal places: a float64 has digits neither above 10^308
// nor, in its shortest form, below 10^-343.
const maxPlaces = 400

// decimal is a decimal number ± 0.d₁d₂d₃… × 10^point. Zero has no digits; other
// numbers have neither leading nor trailing zeros.
type decimal struct {
	negative bool
	digits   string
	point    int
}

// shortest returns the decimal with the fewest digits that is read back as the
// finite number v.
func shortest(v float64) decimal { return decimalOf(v, -1) }

// decimalOf returns the finite number v rounded to so many significant figures,
// −1 for as many as identify it.
func decimalOf(v float64, figures int) decimal {
	var buf [32]byte
	b := strconv.AppendFloat(buf[:0], v, 'e', max(figures-1, -1), 64)
	d := decimal{negative: b[0] == '-'}
	if d.negative {
		b = b[1:]
	}
	mantissa, exp, _ := strings.Cut(string(b), "e")
	d.point, _ = strconv.Atoi(exp) // AppendFloat writes a whole number
	d.point++
	if len(mantissa) > 1 {
		mantissa = mantissa[:1] + mantissa[2:]
	}
	d.digits = mantissa
	return d.trimmed()
}

func (d decimal) zero() bool { return d.digits == "" }

// trimmed removes leading and trailing zeros, and the sign of zero.
func (d decimal) trimmed() decimal {
	n := len(d.digits)
	d.digits = strings.TrimLeft(d.digits, "0")
	d.point -= n - len(d.digits)
	d.digits = strings.TrimRight(d.digits, "0")
	if d.zero() {
		return decimal{}
	}
	return d
}

// round returns d rounded to so many decimal places, half to even. Places may
// be negative.
func (d decimal) round(places int) decimal {
	keep := d.point + places // digits that stay
	switch {
	case d.zero() || keep >= len(d.digits):
		return d
	case keep < 0:
		return decimal{}
	}
	kept, rest := []byte(d.digits[:keep]), d.digits[keep:]
	if !roundsUp(kept, rest) {
		d.digits = string(kept)
		return d.trimmed()
	}
	i := keep - 1
	for ; i >= 0 && kept[i] == '9'; i-- {
		kept[i] = '0'
	}
	if i < 0 {
		kept = append([]byte{'1'}, kept...)
		d.point++
	} else {
		kept[i]++
	}
	d.digits = string(kept)
	return d.trimmed()
}

// roundsUp reports whether the digits kept are to be raised by one, given
// those that are dropped, which do not end in zero.
func roundsUp(kept []byte, rest string) bool {
	if rest[0] != '5' || len(rest) > 1 {
		return rest[0] >= '5'
	}
	return len(kept) > 0 && (kept[len(kept)-1]-'0')%2 == 1
}

// figures returns d rounded to so many significant figures, and the decimal
// place of the last of them, also where rounding has carried into a new digit.
func (d decimal) figures(n int) (decimal, int) {
	if d.zero() {
		return d, n - 1
	}
	places := n - d.point
	r := d.round(places)
	if r.point > d.point {
		places--
	}
	return r, places
}

// fixed writes d with so many decimal places; d must have been rounded to them.
// With negative places the digits below the place are zeros.
func (d decimal) fixed(places int) string {
	b := make([]byte, 0, 32)
	if d.negative {
		b = append(b, '-')
	}
	for power := max(d.point, 1) - 1; power >= -places || power >= 0; power-- {
		if power == -1 {
			b = append(b, '.')
		}
		b = append(b, d.digit(power))
	}
	return string(b)
}

// digit returns the digit at 10^power.
func (d decimal) digit(power int) byte {
	if i := d.point - 1 - power; i >= 0 && i < len(d.digits) {
		return d.digits[i]
	}
	return '0'
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// RoundPlaces returns v rounded to so many decimal places, half to even (GUM
// 4.4.3; ISO 80000-1, B.3, rule A). The decimal that is rounded is the shortest
// one that identifies v, so that 12.35, which no float64 holds exactly, goes to
// 12.4. Places may be negative: 1225 at −1 is "1220". Zero has no sign. Places
// are held within ±400; what is not finite gives [NoNumber].
func RoundPlaces(v float64, places int) string {
	if !finite(v) {
		return NoNumber
	}
	places = max(-maxPlaces, min(maxPlaces, places))
	return shortest(v).round(places).fixed(places)
}

// RoundFigures is RoundPlaces to so many significant figures, at least 1 and at
// most 17, which is all that a float64 holds. The number is written without an
// exponent, with zeros where need be: 1225 to three figures is "1220".
func RoundFigures(v float64, figures int) string {
	if !finite(v) {
		return NoNumber
	}
	const most = 17
	d, places := shortest(v).figures(max(1, min(most, figures)))
	return d.fixed(places)
}

// UncertaintyPlaces returns the decimal place of the last digit of u when it is
// rounded to so many significant digits, negative above the decimal point:
// 2 for 0.0996 with two digits, which rounds to 0.10. It is 0 where u is zero or
// not finite.
func UncertaintyPlaces(u float64, digits int) int {
	if u == 0 || !finite(u) {
		return 0
	}
	_, places := shortest(u).figures(max(1, digits))
	return places
}
