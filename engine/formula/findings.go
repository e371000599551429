package formula

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func failure(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, Message: message, Hint: hint, At: at}
}

func caution(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: slug, Message: message, Hint: hint, At: at}
}

// excerpt is the longest piece of the source that a message repeats, in
// characters.
const excerpt = 40

// q quotes a piece of the source in a message.
func q(text string) string {
	text = strings.Join(strings.Fields(strings.ToValidUTF8(text, "\uFFFD")), " ")
	if r := []rune(text); len(r) > excerpt {
		text = string(r[:excerpt]) + "…"
	}
	return "`" + text + "`"
}

// expressionMissing: nothing stands where an expression is due.
//
//	A =
func expressionMissing(at source.Span) *finding.Finding {
	return failure(at, "expression-missing", "an expression is due here", "write a number with its unit, a name or a formula")
}

// operandMissing: an operator has nothing behind it.
//
//	A = pi *
func operandMissing(at source.Span, op string) *finding.Finding {
	return failure(at, "operand-missing", "nothing follows "+q(op), "complete the formula or delete "+q(op))
}

// argumentMissing: a comma in a call has nothing behind it.
//
//	m = mean(up, )
func argumentMissing(at source.Span, name string) *finding.Finding {
	return failure(at, "argument-missing", "an argument of "+q(name)+" is missing behind the comma", "delete the comma or write the argument")
}

// unexpected: a token that cannot stand where it does, and nothing better is
// known.
//
//	A = pi : 2
func unexpected(at source.Span, text string) *finding.Finding {
	if text == "" {
		return failure(at, "unexpected", "the text ends too early", "complete it")
	}
	return failure(at, "unexpected", q(text)+" cannot stand here", "look at what stands before it")
}

// wordReserved: a reserved word stands where a name or an operator is due.
//
//	A = 2 * in
func wordReserved(at source.Span, word string) *finding.Finding {
	hint := "in, as, and, or, not, if and pi are not names"
	switch word {
	case "in":
		hint = "it stands only behind a whole expression, as in E = F / A in GPa; the inch is written inch"
	case "as":
		hint = "it stands only in an inline value, as in =[E as 3 sf]"
	case "not":
		hint = "put it in brackets: (not …)"
	case "if":
		hint = "write if(condition, a, b)"
	}
	return failure(at, "word-reserved", "the reserved word "+q(word)+" cannot stand here", hint)
}

// impliedProduct: two operands stand side by side.
//
//	A = 2 pi r
func impliedProduct(at source.Span, left, right string) *finding.Finding {
	return failure(at, "implied-product", "an operator is missing before "+q(right), "multiplication is always written: "+q(left+" * "+right))
}

// callSpace: a space stands between a name and a bracket.
//
//	m = mean (up)
func callSpace(gap source.Span, name string) *finding.Finding {
	return failure(gap, "call-space", "a space stands between "+q(name)+" and its bracket", "write "+q(name+"(…)")+" for a function, "+q(name+" * (…)")+" for a product")
}

// bracketOpen: a bracket is never closed.
//
//	A = pi * (d / 2
func bracketOpen(at source.Span) *finding.Finding {
	return failure(at, "bracket-open", "this bracket is never closed", "write the missing )")
}

// bracketClose: a bracket closes nothing.
//
//	A = pi * d)
func bracketClose(at source.Span) *finding.Finding {
	return failure(at, "bracket-close", "this bracket closes nothing", "delete it or write the missing (")
}

// lookalikes are characters that are typed or pasted for one of ours.
var lookalikes = map[rune]string{
	'–': "-", '—': "-", '‐': "-", '‑': "-", '‒': "-", '―': "-", '﹣': "-", '“': `"`, '”': `"`, '„': `"`, '‟': `"`,
	'÷': "/", '∕': "/", '⁄': "/", '∗': "*", '∙': "·", '•': "·", '∓': "±", 'º': "°", 'ª': "°", '˚': "°", '[': "(", ']': ")",
	'{': "(", '}': ")", '!': "not", '&': "and", '∧': "and", '∨': "or", '¬': "not", '≈': "==", '∶': ":", '′': "a unit ′ behind a number",
}

// character: a character that has no meaning here, with the one that was
// probably meant.
//
//	L = 2,5 m – 1 mm
func character(at source.Span, r rune, text string) *finding.Finding {
	shown, hint := q(text), "delete it"
	switch ours := lookalikes[r]; {
	case r == '\uFFFD' && text != "\uFFFD":
		return failure(at, "character", "these bytes are not UTF-8", "save the file as UTF-8")
	case ours != "":
		hint = "write " + q(ours)
	case wide(r) && r >= 0xff01 && r <= 0xff5e:
		hint = "write " + q(string(r-0xff01+'!'))
	case r >= '₀' && r <= '₉':
		hint = "write " + q("_"+string(r-'₀'+'0'))
	case r == 0x200b, r == 0x200c, r == 0x200d, r == 0x2060, r == 0xfeff, r < ' ', r == 0xad:
		shown = fmt.Sprintf("the invisible character U+%04X", r)
	case r == '%', r == '°':
		hint = "a unit stands only behind a number or in"
	case r == '_':
		hint = "a name begins with a letter"
	case r == '\'' || r == '‘' || r == '’':
		hint = `a word is quoted with "`
	}
	return failure(at, "character", shown+" has no meaning here", hint)
}

// operatorSpelling: an operator is written as it is elsewhere.
//
//	A = d ** 2
func operatorSpelling(at source.Span, theirs, ours string) *finding.Finding {
	return failure(at, "operator-spelling", q(theirs)+" is not an operator here", "write "+ours)
}

// plusSign: a plus stands where only a minus may be a sign.
//
//	x = +2
func plusSign(at source.Span) *finding.Finding {
	return failure(at, "plus-sign", "a + needs something on its left", "delete the sign")
}

// comparisonChain: a comparison of a comparison.
//
//	ok: 0 < x < 1
func comparisonChain(at source.Span, middle, op string) *finding.Finding {
	return failure(at, "comparison-chain", "comparisons cannot be chained", "write "+q("… and "+middle+" "+op+" …"))
}

// numberPoint: a decimal point lacks a digit before or behind it, or there
// are two.
//
//	x = .5
func numberPoint(at source.Span, text, better string) *finding.Finding {
	hint := "write one point"
	if better != "" {
		hint = "write " + q(better)
	}
	return failure(at, "number-point", q(text)+" is not a number", hint)
}

// numberRange: a number is beyond what a float64 holds.
//
//	x = 1e400
func numberRange(at source.Span, text string) *finding.Finding {
	return failure(at, "number-range", q(text)+" is beyond the numbers that can be computed with", "look at the exponent: 2.2e-308 to 1.8e308 are possible")
}

// decimalComma: a comma was typed for the decimal point.
//
//	x = 2,5
func decimalComma(at source.Span, text string) *finding.Finding {
	return failure(at, "decimal-comma", q(text)+" has a decimal comma", "numbers are written with a point: "+q(strings.Replace(text, ",", ".", 1)))
}

// digitGroups: the digits of a number are grouped.
//
//	n = 10 000
func digitGroups(at source.Span, joined string) *finding.Finding {
	return failure(at, "digit-groups", "two numbers stand side by side", "write the digits of one number together: "+q(joined))
}

// powerAmbiguous: a power of a quantity could be meant for its unit.
//
//	A = 2 m ^ 2
func powerAmbiguous(at source.Span, quantity string) *finding.Finding {
	return failure(at, "power-ambiguous", "it is not clear what is raised, the quantity or its unit", "write "+q("("+quantity+")^…")+", or put ^ directly behind the unit")
}

// powerTwice: a power behind superscript digits.
//
//	x = d²^3
func powerTwice(at source.Span) *finding.Finding {
	return failure(at, "power-twice", "a power of a superscript power is not clear", "use brackets: (d^2)^3 or d^(2^3)")
}

// powerUnit: an exponent has a unit.
//
//	E = 10^11 Pa
func powerUnit(at source.Span, unit, hint string) *finding.Finding {
	return failure(at, "power-unit", "the unit "+q(unit)+" would belong to the exponent", hint)
}

// powerLimit: a ± or an instrument stands behind an exponent.
//
//	x = 2^3 ± 1
func powerLimit(at source.Span) *finding.Finding {
	return failure(at, "power-limit", q(at.Text())+" would belong to the exponent", "put the exponent with it in brackets, or give the value a name of its own")
}

// exponentSpaced: a number written 2 × 10^3, with spaces, stands behind / or ^,
// where it could be taken for a product.
//
//	x = 1/2 × 10^3
func exponentSpaced(at source.Span, number, verb string) *finding.Finding {
	return caution(at, "exponent-spaced", "this "+verb+" the one number "+number, "write "+q(number)+" if that is meant, else use brackets and *")
}

// nesting: an expression nests too deeply.
//
//	x = ((((… 200 of them
func nesting(at source.Span) *finding.Finding {
	return failure(at, "nesting", fmt.Sprintf("the expression nests more than %d deep", maxDepth), "split it over several statements")
}

// length: an expression is too long.
//
//	x = 1 + 1 + 1 + … 10000 characters of it
func length(at source.Span) *finding.Finding {
	return failure(at.Sub(0, 1), "length", fmt.Sprintf("the expression is longer than %d bytes", maxLength), "split it over several statements, or keep the numbers in a data block")
}

// nameDot: a dot without a name behind it.
//
//	x = line.
func nameDot(at source.Span, name string) *finding.Finding {
	return failure(at, "name-dot", "after the dot of "+q(name+".")+" a letter is due", "write the name of what is inside, or delete the dot")
}

// nameMark: a name holds a mark that does not join its letter.
//
//	x̄ = 2
func nameMark(at source.Span, name string) *finding.Finding {
	return failure(at, "name-mark", q(name)+" has a combining mark that is no letter", "names are of letters, digits and _: x_mean")
}

// nameReserved: a reserved word is defined.
//
//	in = 2 m
func nameReserved(at source.Span, name string) *finding.Finding {
	return failure(at, "name-reserved", q(name)+" is a reserved word and cannot be defined", "choose another name: "+q(strings.ReplaceAll(name, ".", "_")+"_1"))
}

// nameDotted: a dotted name is defined.
//
//	line.slope = 2
func nameDotted(at source.Span, name string) *finding.Finding {
	return failure(at, "name-dotted", q(name)+" cannot be defined: a dot reaches inside something else", "write "+q(strings.ReplaceAll(name, ".", "_")))
}

// nameSpaced: a name has a space in it.
//
//	wire length = 2 m
func nameSpaced(at source.Span, joined string) *finding.Finding {
	return failure(at, "name-spaced", "a name has no space in it", "write "+q(joined))
}

// statementForm: a line is not a statement.
//
//	2 m = L
func statementForm(at source.Span, text string) *finding.Finding {
	return failure(at, "statement-form", "this line does not read name = expression", "write a name, = and an expression; # begins a comment")
}

// wordPlace: a quoted word outside a binding.
//
//	x = "steel"
func wordPlace(at source.Span) *finding.Finding {
	return failure(at, "word-place", "a quoted word can stand only alone, in a practical", "write a name without quotes")
}

// quoteOpen: a quoted word is not closed on its line.
//
//	temper = "annealed
func quoteOpen(at source.Span) *finding.Finding {
	return failure(at, "quote-open", "this quote is never closed", `write the missing "`)
}

// conditionForm: a line of checks has no slug.
//
//	x > 2 | note | much
func conditionForm(at source.Span) *finding.Finding {
	return failure(at, "condition-form", "this line does not read slug: condition | severity | message", "begin with a word of letters, digits, _ and -, and a colon")
}

// severityMissing: a condition is not followed by a severity.
//
//	much: x > 2
func severityMissing(at source.Span) *finding.Finding {
	return failure(at, "severity-missing", "the severity and the message are missing", "write "+q("| caution | message")+" behind the condition")
}

// severityUnknown: a severity that there is not.
//
//	much: x > 2 | warn | much
func severityUnknown(at source.Span, word, nearest string) *finding.Finding {
	hint := "write note, caution or error"
	if nearest != "" {
		hint = "did you mean " + q(nearest) + "?"
	}
	if word == "" {
		return failure(at, "severity-unknown", "the severity is missing", hint)
	}
	return failure(at, "severity-unknown", q(word)+" is not a severity", hint)
}

// messageMissing: a condition says nothing.
//
//	much: x > 2 | note |
func messageMissing(at source.Span, slug string) *finding.Finding {
	return failure(at, "message-missing", "the check "+q(slug)+" has no message", "write behind a further | what the reader is to know")
}

// formUnknown: a form of display that there is not.
//
//	=[E as interwal]
func formUnknown(at source.Span, word, nearest string) *finding.Finding {
	hint := "write interval, concise, value, statement, 3 sf or 2 dp"
	switch {
	case nearest == "sf" || nearest == "dp" || word == "sf" || word == "dp":
		hint = "put the number before it: 3 sf, 2 dp"
	case nearest != "":
		hint = "did you mean " + q(nearest) + "?"
	}
	if word == "" {
		return failure(at, "form-unknown", "the form is missing", hint)
	}
	return failure(at, "form-unknown", q(word)+" is not a form of showing a value", hint)
}

// formDigits: a number of digits that cannot be shown.
//
//	=[E as 0 sf]
func formDigits(at source.Span, form string) *finding.Finding {
	least := 0
	if form == "sf" {
		least = 1
	}
	return failure(at, "form-digits", "this many digits cannot be shown", fmt.Sprintf("write a whole number from %d to %d before %s", least, maxDigits, form))
}

// claimForm: what stands in =[…] or ?[…] is of the other kind, or of none.
//
//	=[E = 197 GPa]
func claimForm(at source.Span, message, hint string) *finding.Finding {
	return failure(at, "claim-form", message, hint)
}

// badMarks: what a claim is worth is no number of marks.
//
//	?[E = 197 GPa marks=many]
func badMarks(at source.Span, value string) *finding.Finding {
	if value == "" {
		value = "nothing"
	} else {
		value = q(value)
	}
	return failure(at, "bad-value", fmt.Sprintf("`marks` can't be %s", value), fmt.Sprintf("a whole number from 1 to %d, at the end of the claim: ?[E = 197 GPa marks=3]", mostMarks))
}
