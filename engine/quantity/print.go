package quantity

import (
	"strconv"
	"strings"
)

// String returns the quantity in plain text, without its coverage and tail:
// "(197.3 ± 8.8) GPa", "1.973(41)×10^11 Pa". The minus sign is U+2212.
func (d Display) String() string { return d.Text(false) }

// Text is String with a decimal point or a decimal comma.
func (d Display) Text(comma bool) string {
	var b strings.Builder
	bracket := d.PlusMinus != "" && (d.Exponent != 0 || d.Unit != "")
	if bracket {
		b.WriteByte('(')
	}
	b.WriteString(typeset(d.Number, comma))
	if d.PlusMinus != "" {
		b.WriteString(" ± ")
		b.WriteString(typeset(d.PlusMinus, comma))
	}
	if d.Concise != "" {
		b.WriteString("(" + typeset(d.Concise, comma) + ")")
	}
	if bracket {
		b.WriteByte(')')
	}
	if d.Exponent != 0 {
		b.WriteString("×10^" + typeset(strconv.Itoa(d.Exponent), false))
	}
	if d.Unit != "" {
		if d.SpaceBeforeUnit() {
			b.WriteByte(' ')
		}
		b.WriteString(UnitSymbol(d.Unit))
	}
	return b.String()
}

// UnitSymbol returns a unit as it stands behind a number: mm^-1 for 1/mm, since
// 5 1/mm would read as a number with a fraction.
func UnitSymbol(un string) string {
	below, ok := strings.CutPrefix(un, "1/")
	if !ok || strings.ContainsAny(below, " /(") {
		return un
	}
	symbol, power, raised := strings.Cut(below, "^")
	if !raised {
		power = "1"
	}
	return symbol + "^-" + power
}

// SpaceBeforeUnit reports whether a space stands between the number and its
// unit: always, but for the symbols of plane angle °, ′, ″ (SI Brochure,
// 5.4.3).
func (d Display) SpaceBeforeUnit() bool {
	switch d.Unit {
	case "", "°", "′", "″":
		return false
	}
	return true
}

func typeset(number string, comma bool) string {
	if rest, ok := strings.CutPrefix(number, "-"); ok {
		number = "−" + rest
	}
	if comma {
		number = strings.Replace(number, ".", ",", 1)
	}
	return number
}
