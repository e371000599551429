package formula

import (
	"strconv"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/source"
)

// forms are the ways of showing a value; sf and dp take a number before them.
var forms = []string{"interval", "concise", "value", "statement", "sf", "dp"}

// maxDigits is the greatest number of digits that may be asked for: a float64
// has 15 decimal digits that can be trusted.
const maxDigits = 15

// ParseInsert reads what stands between the brackets of =[…], or of ?[…] where
// claim is set. Where it cannot be read, X of the result is Bad.
//
//	value = expression ["in" unit] ["as" form]
//	form  = "interval" | "concise" | "value" | "statement" | int ("sf"|"dp")
//	claim = name "=" [["-"] number [unit]] ["marks=" int]
func ParseInsert(inside source.Span, claim bool, set *finding.Set) *Insert {
	p := newParser(inside, set)
	in := &Insert{}
	if claim {
		if !p.try(func() { p.claim(in) }) {
			in.X = &Bad{At: p.trimmed(0)}
		}
	} else {
		in.X = p.expression(0, func(t token) bool { return t.word("in") || t.word("as") || t.is("=") })
		if _, bad := in.X.(*Bad); !bad && !p.try(func() { p.display(in) }) {
			in.X = &Bad{At: p.trimmed(0)}
		}
	}
	in.At = p.trimmed(0)
	return in
}

// display reads the unit and the form of an inline value.
func (p *parser) display(in *Insert) {
	if p.tok.is("=") {
		p.fail(claimForm(p.at(p.tok.start, p.tok.end), "=[…] prints a value", "write ?[NAME = NUMBER UNIT] to check a number worked out by hand, == to compare"))
	}
	if p.tok.word("in") {
		in.In = p.unitDue(p.tok.end)
	}
	if p.tok.word("as") {
		p.next()
		p.form(in)
		return
	}
	p.finishUnit()
}

func (p *parser) form(in *Insert) {
	start := p.tok
	if start.kind == tNumber {
		n, err := strconv.Atoi(p.text[start.start:start.end])
		p.next()
		f := p.tok.text
		if p.tok.kind != tName || f != "sf" && f != "dp" {
			p.fail(formUnknown(p.at(start.start, p.tok.end), p.text[start.start:p.tok.end], ""))
		}
		if err != nil || n > maxDigits || f == "sf" && n < 1 {
			p.fail(formDigits(p.at(start.start, start.end), f))
		}
		in.Form, in.Digits = f, n
	} else {
		w := p.text[start.start:start.end]
		known := false
		for _, f := range forms[:4] {
			known = known || start.kind == tName && w == f
		}
		if !known {
			p.fail(formUnknown(p.at(start.start, start.end), w, near.Name(w, forms)))
		}
		in.Form = w
	}
	p.next()
	if p.tok.kind != tEnd {
		p.fail(unexpected(p.at(p.tok.start, p.tok.end), p.text[p.tok.start:p.tok.end]))
	}
}

// claim reads a number worked out by hand, or a place to fill in.
func (p *parser) claim(in *Insert) {
	p.start(0)
	t := p.tok
	if t.kind != tName || p.reservedHead(t) {
		p.fail(claimForm(p.at(t.start, t.end), "?[…] begins with the name of a value", "write ?[NAME = NUMBER UNIT]"))
	}
	in.X = &Name{At: p.at(t.start, t.end), Name: t.text}
	p.next()
	if !p.tok.is("=") {
		p.fail(claimForm(p.at(p.tok.start, p.tok.end), "after the name a = is due", "write ?["+strings.TrimSpace(t.text)+" = NUMBER UNIT], or =[…] to print a value"))
	}
	eq := p.tok.end
	end := p.marks(in, eq)
	if p.skip(eq) >= end {
		return
	}
	l, neg := ParseLiteral(p.at(eq, end), false, p.set)
	if l == nil {
		panic(bail{})
	}
	if l.Number.Paren != "" || len(l.Limits) > 0 || l.Instrument != "" {
		p.fail(claimForm(l.At, "a number worked out by hand is checked without its uncertainty", "write the number and its unit alone; =["+t.text+"] prints the value with its uncertainty"))
	}
	in.Claim, in.Sign = l, neg
}

// mostMarks is the most that one claim can be worth.
const mostMarks = 100

// marks reads what a claim is worth, at its end, and returns where that
// begins; the end of the text where nothing is said of marks.
func (p *parser) marks(in *Insert, from int) int {
	key, value, ok := CutMarks(p.text[from:])
	if !ok {
		return len(p.text)
	}
	n, err := strconv.Atoi(value)
	if err != nil || n < 1 || n > mostMarks {
		p.fail(badMarks(p.at(from+key, len(p.text)), value))
	}
	in.Marks = n
	return from + key
}

// CutMarks finds what is said of marks at the end of a claim: where it begins,
// and what stands behind its equals sign.
func CutMarks(text string) (start int, value string, ok bool) {
	start = strings.LastIndex(text, "marks")
	if start < 0 || start > 0 && !strings.ContainsAny(text[start-1:start], " \t\r\n") {
		return 0, "", false
	}
	value, ok = strings.CutPrefix(strings.TrimSpace(text[start+len("marks"):]), "=")
	return start, strings.TrimSpace(value), ok
}
