package tex

import (
	"slices"
	"strings"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// number writes digits with a true minus sign, the decimal marker asked for
// and groups of three digits where five or more stand on one side of the
// marker (SI Brochure, 9th edition, 5.4.4): each group is an mn, so that no
// character stands between digits that are copied. What follows the digits,
// such as an uncertainty in parentheses, is written as it is.
func (p *printer) number(s string) {
	digits, minus := strings.CutPrefix(s, "-")
	whole := leading(digits)
	part, rest, marker := "", digits[len(whole):], ""
	if strings.HasPrefix(rest, ".") {
		part, marker = leading(rest[1:]), "."
		rest = rest[1+len(part):]
		if p.comma {
			marker = ","
		}
	}
	groups := grouped(whole, (len(whole)+2)%3+1)
	groups[len(groups)-1] += marker
	after := grouped(part, 3)
	groups[len(groups)-1] += after[0]
	groups = append(groups, after[1:]...)
	groups[len(groups)-1] += rest
	if minus || len(groups) > 1 {
		p.raw("<mrow>")
	}
	if minus {
		p.raw("<mo>−</mo>")
	}
	for i, g := range groups {
		if i > 0 {
			p.raw(`<mspace width="` + ems(thin) + `"/>`)
		}
		p.leaf("mn", "", g)
	}
	if minus || len(groups) > 1 {
		p.raw("</mrow>")
	}
}

// grouped parts digits, at least one group, the first of them of the given
// length.
func grouped(digits string, first int) []string {
	if len(digits) < 5 {
		return []string{digits}
	}
	out := []string{digits[:first]}
	for i := first; i < len(digits); i += 3 {
		out = append(out, digits[i:min(i+3, len(digits))])
	}
	return out
}

// leading returns the ASCII digits that s begins with.
func leading(s string) string {
	i := 0
	for i < len(s) && digit(s[i]) {
		i++
	}
	return s[:i]
}

// Quantity sets a number before its unit, in canonical text, with the thin gap
// of SI Brochure 5.4.3: none before the symbols of plane angle.
func Quantity(number view.Math, unit string) view.Math {
	switch unit {
	case "":
		return number
	case "°", "′", "″":
		symbol := view.Upright{Name: unit}
		if tall(number) { // at its foot it would look like a comma, above it like an exponent
			number = view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, number, view.Op{Symbol: ")", Fence: true}}}
		}
		return view.Seq{Items: []view.Math{number, symbol}}
	}
	return view.Seq{Items: []view.Math{number, view.Space{Em: thin}, UnitMath(quantity.UnitSymbol(unit))}}
}

// tall reports whether mathematics rises above a line.
func tall(m view.Math) bool {
	switch m := m.(type) {
	case view.Frac, view.Root, view.Grid:
		return true
	case view.Valued:
		return tall(m.Body)
	case view.Seq:
		return slices.ContainsFunc(m.Items, tall)
	}
	return false
}

// UnitMath sets a unit, such as "kg m^2 s^-2", "m/s^2" or "J/(kg K)", as the
// SI Brochure (5.4.1 and 5.4.2) has it: upright, factors parted by a thin gap,
// powers raised. What is no unit is set upright as it is.
func UnitMath(text string) view.Math {
	var items []view.Math
	gap := false
	for i := 0; i < len(text); {
		switch c := text[i]; c {
		case ' ', '*':
			gap = len(items) > 0
			i++
			continue
		case '/', '(', ')':
			items = append(items, view.Op{Symbol: string(c)})
			i, gap = i+1, false
			continue
		}
		n := strings.IndexAny(text[i:], " */()")
		if n < 0 || strings.HasPrefix(text[i+n:], "(") && text[i+n-1] == '^' {
			n = len(text) - i
			if j := strings.IndexByte(text[i:], ')'); j >= 0 {
				n = min(n, j+1)
			}
		}
		if last := len(items) - 1; gap && items[last] != (view.Op{Symbol: "/"}) {
			items = append(items, view.Space{Em: thin})
		}
		items = append(items, unitPower(text[i:i+n]))
		i, gap = i+n, false
	}
	if len(items) == 1 {
		return items[0]
	}
	return view.Seq{Items: items}
}

// unitPower sets one unit with its power: "s^-2", "m^(1/2)".
func unitPower(text string) view.Math {
	name, power, ok := strings.Cut(text, "^")
	if !ok || name == "" || power == "" {
		return view.Upright{Name: text}
	}
	power = strings.TrimSuffix(strings.TrimPrefix(power, "("), ")")
	var exponent view.Math = view.Num{Digits: power}
	if num, den, ok := strings.Cut(power, "/"); ok {
		exponent = view.Seq{Items: []view.Math{view.Num{Digits: num}, view.Op{Symbol: "/"}, view.Num{Digits: den}}}
	}
	return view.Script{Base: view.Upright{Name: name}, Sup: exponent}
}
