package formula

import (
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// unitMissing: no unit stands where one is due.
//
//	E = F / A in | modulus
func unitMissing(at source.Span, text string) *finding.Finding {
	if t := strings.TrimSpace(text); t != "" && isDigit(rune(t[0])) {
		return failure(at, "unit-missing", "a unit is due here", "write the unit without a number")
	}
	return failure(at, "unit-missing", "a unit is due here", "write a unit, as in "+q("in GPa")+"; the inch is written inch")
}

// unitPower: a power of a unit that is not a whole number.
//
//	A = 2 m^n
func unitPower(at source.Span, unit string) *finding.Finding {
	return failure(at, "unit-power", "the power of the unit "+q(unit)+" is not a whole number", "write "+q(unit+"^2")+"; to raise a quantity put it in brackets")
}

// unitSlashes: a unit has two slashes.
//
//	c = 390 J/kg/K
func unitSlashes(at source.Span, unit string) *finding.Finding {
	return failure(at, "unit-slashes", q(unit)+" has more than one /", "write negative powers instead (SI Brochure 5.2): "+q(negativePowers(unit)))
}

// unitAfterSlash: more than one factor stands below the slash.
//
//	c = 390 J/kg K
func unitAfterSlash(at source.Span, unit string) *finding.Finding {
	return failure(at, "unit-slashes", q(unit)+" does not say what is below the /", "write negative powers instead (SI Brochure 5.2): "+q(negativePowers(unit)))
}

// unitBrackets: a unit has brackets.
//
//	c = 390 J/(kg K)
func unitBrackets(at source.Span, unit string) *finding.Finding {
	return failure(at, "unit-brackets", q(unit)+" has brackets", "write negative powers instead (SI Brochure 5.2): "+q(negativePowers(unit)))
}

// negativePowers rewrites J/kg/K, J/kg K and J/(kg K) as J kg^-1 K^-1. A
// factor that has a power already is left for the author.
func negativePowers(unit string) string {
	above, below, _ := strings.Cut(unit, "/")
	out := above
	for _, f := range strings.FieldsFunc(below, func(r rune) bool { return strings.ContainsRune("/ ·⋅()", r) }) {
		if base, power, ok := strings.Cut(f, "^"); ok {
			if p, neg := strings.CutPrefix(power, "-"); neg {
				out += " " + base + "^" + p
				continue
			}
			out += " " + base + "^-" + power
			continue
		}
		out += " " + f + "^-1"
	}
	return out
}

// unitSlashSpace: a / behind a unit has a space on one side only; it divides.
//
//	v = 2 m /s
func unitSlashSpace(at source.Span, word string) *finding.Finding {
	return caution(at, "unit-slash-space", "this / divides by the name "+q(word), "write a unit without spaces, "+q("m/s")+", and a division with both")
}

// unitDotSpace: a · with spaces joins two units.
//
//	F = 3.5 kg · g
func unitDotSpace(at source.Span, word string) *finding.Finding {
	return caution(at, "unit-dot-space", "behind a unit this · makes "+q(word)+" a unit", "write * to multiply by the name "+q(word)+", or · without spaces for the unit")
}

// unitOperator: an operator stands in a unit.
//
//	M = F * L in N*m
func unitOperator(at source.Span, op, hint string) *finding.Finding {
	return failure(at, "unit-operator", q(op)+" cannot stand in a unit", hint)
}

// cellUnit: a cell has a unit of its own.
//
//	3.12 mm
func cellUnit(at source.Span, unit string) *finding.Finding {
	return failure(at, "cell-unit", "the unit "+q(unit)+" stands in a cell", "the heading gives the unit: delete it here")
}

// limitPlace: a ± does not stand behind a number.
//
//	L = a ± 1 mm
func limitPlace(at source.Span) *finding.Finding {
	return failure(at, "limit-place", "± stands only behind a number with its unit", "write the number and its ± as a value of its own; a computed value has its uncertainty already")
}

// limitDue: a setting is to begin with ±.
//
//	calibration: 0.004 mm
func limitDue(at source.Span) *finding.Finding {
	return failure(at, "limit-due", "a ± is due here", "write it as in ± 0.004 mm k=2")
}

// limitNumber: something else than a number stands behind ±.
//
//	L = 2.914 m ± d
func limitNumber(at source.Span, text string) *finding.Finding {
	switch text {
	case "":
		return failure(at, "limit-number", "a number is due behind ±", "write it with its unit: ± 1 mm")
	case "-", "−", "+":
		return failure(at, "limit-number", "the number behind ± has a sign", "delete the sign")
	}
	return failure(at, "limit-number", "a number is due behind ±, not "+q(text), "write it with its unit: ± 1 mm")
}

// limitConcise: the number behind ± has an uncertainty of its own.
//
//	L = 2.914 m ± 1.0(2) mm
func limitConcise(at source.Span) *finding.Finding {
	return failure(at, "limit-concise", "the number behind ± has bracketed digits", "write a plain number; dof= says how well an uncertainty is known")
}

// limitUnit: the ± has a unit and the value has none.
//
//	L = 2.91 ± 0.01 m
func limitUnit(at source.Span, value, limit, unit string) *finding.Finding {
	return failure(at, "limit-unit", "the unit "+q(unit)+" belongs to the ± only", "write "+q("("+value+" ± "+limit+") "+unit)+" or "+q(value+" "+unit+" ± "+limit+" "+unit))
}

// limitUnitMissing: the value has a unit and the ± has none.
//
//	L = 2.91 m ± 0.01
func limitUnitMissing(at source.Span, limit, unit string) *finding.Finding {
	return failure(at, "limit-unit-missing", "the ± has no unit", "write "+q("± "+limit+" "+unit)+", or % for a relative one")
}

// bracketUnit: units inside the brackets of a quantity and behind them, or
// several ± inside.
//
//	L = (2.91 m ± 0.01 m) m
func bracketUnit(at source.Span, unit string) *finding.Finding {
	return failure(at, "bracket-unit", "the unit "+q(unit)+" behind the brackets is one too many", "write (number ± number) unit, or a unit behind each number without brackets")
}

// qualifierUnknown: a word behind ± that says nothing known.
//
//	L = 2.914 m ± 1 mm triangle
func qualifierUnknown(at source.Span, word, nearest string) *finding.Finding {
	hint := "write triangular, arcsine, std, k=2 or dof=9"
	_, known := spoken[strings.ToLower(word)]
	switch {
	case nearest != "":
		hint = "did you mean " + q(nearest) + "?"
	case known:
		hint = "a ± alone means limits of a rectangular distribution; else write triangular, arcsine, std, k=2 or dof=9"
	}
	return failure(at, "qualifier-unknown", q(word)+" does not say what a ± means", hint)
}

// qualifierStray: a qualifier without a ±.
//
//	L = 2.914 m std
func qualifierStray(at source.Span, word string) *finding.Finding {
	return failure(at, "qualifier-stray", q(word)+" stands only behind a ±", "write the uncertainty before it: ± 1 mm "+word)
}

// qualifierValue: the value of a qualifier is missing or makes no sense.
//
//	L = 2.914 m ± 1 mm k=-2
func qualifierValue(at source.Span, key, what string) *finding.Finding {
	return failure(at, "qualifier-value", q(key)+" "+what, "write triangular, arcsine, std, k=2 or dof=9")
}

// qualifierTwice: two qualifiers say the same thing of one ±.
//
//	L = 2.914 m ± 1 mm std k=2
func qualifierTwice(at source.Span, key string, other Qualifier) *finding.Finding {
	f := failure(at, "qualifier-twice", q(key)+" and "+q(other.Key)+" cannot both hold", "keep one of them")
	f.Also = []finding.Place{{At: other.At, What: "the other"}}
	return f
}

// instrumentName: no name stands behind @.
//
//	L = 2.846 m @
func instrumentName(at source.Span) *finding.Finding {
	return failure(at, "instrument-name", "the name of an instrument is due behind @", "write it as in 2.846 m @tape")
}

// instrumentPlace: @ does not stand behind a quantity.
//
//	L = a @tape
func instrumentPlace(at source.Span) *finding.Finding {
	return failure(at, "instrument-place", "@ stands only behind a number with its unit, or in a heading", "write the reading itself: 2.846 m @tape")
}

// literalDue: something else than a quantity stands where only one can.
//
//	resolution: 1 mm / 100
func literalDue(at source.Span, text string) *finding.Finding {
	return failure(at, "literal-due", q(text)+" cannot stand here: only a number with its unit can", "write it as in 0.01 mm or 0.02 mm ± 0.01 mm")
}
