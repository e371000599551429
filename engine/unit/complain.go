package unit

import (
	"strings"
	"unicode/utf8"

	"example.org/taut/engine/internal/near"
)

func (p *parser) fail(start, end int, message string) *Error {
	return &Error{Offset: start, Len: end - start, Text: p.text[start:end], Message: message}
}

// notFactor says why no factor can begin at the current place.
func (p *parser) notFactor() *Error {
	start := p.at
	r := p.peek()
	if r == 0 {
		return p.fail(start, start, "a unit must follow here")
	}
	if isDigit(r) {
		for isDigit(p.peek()) || p.peek() == '.' {
			p.next()
		}
		return p.fail(start, p.at, "a number cannot stand within a unit")
	}
	p.next()
	switch r {
	case '/':
		return p.fail(start, p.at, "a unit must stand before the solidus; one over a unit is written 1/s or s^-1")
	case '*', '×', '.':
		return p.fail(start, p.at, "units are multiplied with a space or ·")
	case '(', '[', '{', ')', ']', '}':
		return p.fail(start, p.at, "brackets do not stand in a unit: write negative powers, as in J kg^-1 K^-1")
	case '^':
		return p.fail(start, p.at, "a power must follow a unit")
	}
	return p.fail(start, p.at, "this is not part of a unit")
}

// afterSolidus says what is wrong with what follows the factor below the
// solidus.
func (p *parser) afterSolidus() *Error {
	start := p.at
	if p.peek() == '/' {
		p.next()
		return p.fail(start, p.at, "at most one solidus stands in a unit (SI Brochure, 5.4.6): write negative powers, as in m s^-1 kg^-1")
	}
	if r := p.peek(); !isSymbol(r) && r != '·' && r != '⋅' {
		return p.notFactor()
	}
	return p.fail(start, len(p.text), "only one factor stands after the solidus: write negative powers, as in J kg^-1 K^-1")
}

// unknown says that a symbol is no unit, and which may have been meant.
func (p *parser) unknown(start int, symbol string) *Error {
	e := p.fail(start, start+len(symbol), "unknown unit "+symbol)
	if p.hintless {
		return e
	}
	if symbol == "in" {
		e.Message = "in is a word of the language; the unit is written inch"
		e.Nearest = "inch"
		return e
	}
	if whole, prefix := unprefixable(fold(symbol)); whole != "" {
		e.Message = whole + " takes no further prefix"
		if prefix == "" {
			e.Message = whole + " takes no prefix"
		}
		e.Nearest = whole
		return e
	}
	e.Nearest = nearest(fold(symbol))
	return e
}

// unprefixable returns the unit that remains of a symbol when a prefix is taken
// off which the unit does not take, and the prefix that it has already.
func unprefixable(symbol string) (whole, prefix string) {
	for _, p := range prefixes {
		rest, ok := strings.CutPrefix(symbol, p.Symbol)
		if !ok {
			continue
		}
		if _, ok := lookUp(rest); !ok || utf8.RuneCountInString(rest) < 2 {
			continue
		}
		for _, r := range rows {
			if rest == r.symbol && !r.prefixes {
				return rest, ""
			}
			if inner, ok := strings.CutSuffix(rest, r.symbol); ok && r.prefixes && inner != "" {
				return rest, inner
			}
		}
	}
	return "", ""
}

// nearest returns the unit that an unknown symbol was most likely meant for.
func nearest(symbol string) string {
	if rest, ok := strings.CutPrefix(symbol, "u"); ok {
		if u, ok := lookUp("μ" + rest); ok {
			return u.text
		}
	}
	lower := strings.ToLower(symbol)
	if meant, ok := misnomers[lower]; ok {
		return meant
	}
	for _, c := range candidates {
		if strings.ToLower(c) == lower {
			return c
		}
	}
	for _, r := range rows {
		if lower == r.name || lower == r.name+"s" {
			return r.symbol
		}
	}
	if utf8.RuneCountInString(symbol) < 2 {
		return ""
	}
	return near.Name(symbol, candidates)
}

// misnomers are spellings common in the laboratory that are no symbols.
var misnomers = map[string]string{
	"sec": "s", "secs": "s", "hr": "h", "hrs": "h", "mins": "min", "day": "d", "days": "d",
	"kilo": "kg", "kilos": "kg", "kgs": "kg", "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g",
	"meter": "m", "meters": "m", "mtr": "m", "micron": "μm", "microns": "μm", "feet": "ft", "inches": "inch",
	"liter": "L", "liters": "L", "kelvins": "K", "celsius": "°C", "c°": "°C", "º": "°", "ºc": "°C",
	"degrees": "°", "degree": "°", "radians": "rad", "percent": "%", "kp": "kgf", "lbs": "lb", "gpa": "GPa", "mpa": "MPa",
}

// candidates are the units offered for a mistyped one: every unit of the table
// and the prefixed ones that are common in the laboratory.
var candidates = buildCandidates()

func buildCandidates() []string {
	list := []string{
		"kg", "mm", "GPa", "MPa", "kPa", "hPa", "μm", "cm", "nm", "km", "dm", "mg", "μg", "kN", "MN", "mN",
		"kJ", "mJ", "MJ", "kW", "mW", "ms", "μs", "ns", "kHz", "MHz", "GHz", "mV", "kV", "mA", "μA", "mrad", "μrad",
		"mK", "mL", "ml", "cL", "mbar", "kΩ", "MΩ", "mΩ", "μF", "nF", "mH", "mT", "keV", "MeV",
	}
	for _, r := range rows {
		list = append(list, r.symbol)
	}
	return list
}
