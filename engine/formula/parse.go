package formula

import (
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Limits of one expression: how deep it may nest, and how long it may be in
// bytes. Both are far beyond anything that a person writes.
const (
	maxDepth  = 200
	maxLength = 10000
)

// parser reads expressions by recursive descent. tok is the token in hand.
type parser struct {
	scanner
	tok   token
	last  token // the token before tok
	depth int
	bare  bool // a cell: the unit comes from the heading
}

func newParser(s source.Span, set *finding.Set) *parser {
	return &parser{scanner: scanner{span: s, text: s.Text(), set: set}}
}

// try runs f and reports whether it came to its end.
func (p *parser) try(f func()) (ok bool) {
	defer func() {
		if r := recover(); r != nil {
			if _, mine := r.(bail); !mine {
				panic(r)
			}
			ok = false
		}
	}()
	f()
	return true
}

func (p *parser) start(i int) {
	p.last = token{kind: tEnd, start: i, end: i}
	p.tok = p.scan(i)
}

func (p *parser) next() {
	p.last = p.tok
	p.tok = p.scan(p.tok.end)
}

// jump goes on behind offset end, which closes the token in hand.
func (p *parser) jump(end int) {
	p.tok.end = end
	p.next()
}

// take goes past an operator if it is in hand.
func (p *parser) take(op string) bool {
	if !p.tok.is(op) {
		return false
	}
	p.next()
	return true
}

func (p *parser) enter() {
	p.depth++
	if p.depth > maxDepth {
		p.fail(nesting(p.at(p.tok.start, p.tok.end)))
	}
}

func (p *parser) leave() { p.depth-- }

func (p *parser) from(i int) source.Span { return p.at(i, p.last.end) }

// expression reads an expression whole, or makes it Bad. stop says which
// token may follow; one that may not is a finding.
func (p *parser) expression(i int, stop func(token) bool) Expr {
	var e Expr
	ok := p.try(func() {
		if len(p.text)-i > maxLength {
			p.fail(length(p.at(i, len(p.text))))
		}
		p.start(i)
		if p.tok.kind == tEnd || stop(p.tok) {
			p.fail(expressionMissing(p.at(p.tok.start, p.tok.end)))
		}
		e = p.or()
		if p.tok.kind != tEnd && !stop(p.tok) {
			p.unexpected()
		}
	})
	if !ok {
		return &Bad{At: p.trimmed(i)}
	}
	return e
}

// trimmed is what there is from offset i on, without the space around it.
func (p *parser) trimmed(i int) source.Span { return trim(p.at(i, len(p.text))) }

func noStop(token) bool { return false }

// ParseExpr reads the expression that fills a stretch of a file.
func ParseExpr(s source.Span, set *finding.Set) Expr {
	return newParser(s, set).expression(0, noStop)
}

func (p *parser) binary(op token, x, y Expr) Expr {
	return &Binary{At: span(x, y), Op: op.text, OpAt: p.at(op.start, op.end), X: x, Y: y}
}

func span(x, y Expr) source.Span {
	a, b := x.Span(), y.Span()
	return source.Span{File: a.File, Start: a.Start, End: b.End}
}

// or reads an expression.
//
//	or  = and {"or" and}
//	and = not {"and" not}
func (p *parser) or() Expr {
	p.enter()
	defer p.leave()
	x := p.and()
	for p.tok.word("or") {
		op := p.tok
		p.next()
		x = p.binary(op, x, p.and())
	}
	return x
}

func (p *parser) and() Expr {
	x := p.not()
	for p.tok.word("and") {
		op := p.tok
		p.next()
		x = p.binary(op, x, p.not())
	}
	return x
}

// not reads a negation or a comparison.
//
//	not        = {"not"} comparison
//	comparison = sum [("=="|"!="|"<"|"<="|">"|">=") sum]
func (p *parser) not() Expr {
	if !p.tok.word("not") {
		return p.comparison()
	}
	p.enter()
	defer p.leave()
	start := p.tok.start
	p.next()
	x := p.not()
	return &Unary{At: p.from(start), Op: "not", X: x}
}

func comparing(t token) bool {
	if t.kind != tOp {
		return false
	}
	switch t.text {
	case "==", "!=", "<", "<=", ">", ">=":
		return true
	}
	return false
}

func (p *parser) comparison() Expr {
	x := p.sum()
	if !comparing(p.tok) {
		return x
	}
	op := p.tok
	p.next()
	y := p.sum()
	if comparing(p.tok) {
		p.fail(comparisonChain(p.at(p.tok.start, p.tok.end), y.Span().Text(), p.tok.text))
	}
	return p.binary(op, x, y)
}

// sum = term {("+"|"-") term}
func (p *parser) sum() Expr {
	x := p.term()
	for p.tok.is("+") || p.tok.is("-") {
		op := p.tok
		p.next()
		x = p.binary(op, x, p.term())
	}
	return x
}

// term = sign {("*"|"/") sign}
func (p *parser) term() Expr {
	x := p.sign()
	for {
		if p.startsAtom() {
			p.implied()
		}
		if !p.tok.is("*") && !p.tok.is("/") {
			return x
		}
		op := p.tok
		p.next()
		if op.text == "/" && p.tok.spaced {
			p.set.Add(exponentSpaced(p.tok.num.At, p.tok.num.Text, "divides by"))
		}
		x = p.binary(op, x, p.sign())
	}
}

// startsAtom reports whether the token in hand would begin an operand, where
// an operator is due.
func (p *parser) startsAtom() bool {
	switch p.tok.kind {
	case tNumber:
		return true
	case tName:
		w := p.tok.text
		return !p.reservedHead(p.tok) || w == "pi" || w == "if" && p.callAhead()
	case tOp:
		return p.tok.text == "(" || p.tok.text == "√"
	}
	return false
}

// callAhead reports whether a bracket stands directly behind the name in hand.
func (p *parser) callAhead() bool { return strings.HasPrefix(p.text[p.tok.end:], "(") }

// sign = {"-"} power
func (p *parser) sign() Expr {
	if p.tok.is("+") {
		p.fail(plusSign(p.at(p.tok.start, p.tok.end)))
	}
	if !p.tok.is("-") {
		return p.power()
	}
	p.enter()
	defer p.leave()
	start := p.tok.start
	p.next()
	x := p.sign()
	return &Unary{At: p.from(start), Op: "-", X: x}
}

// power = atom ["^" sign]
//
// Superscript digits stand for ^ and a whole number.
func (p *parser) power() Expr {
	x := p.atom()
	if !p.tok.is("^") && p.tok.kind != tPower {
		return x
	}
	op := p.tok
	if l, ok := x.(*Literal); ok && (l.Unit.Text != "" || len(l.Limits) > 0 || l.Instrument != "") {
		p.fail(powerAmbiguous(p.at(op.start, op.end), l.At.Text()))
	}
	var y Expr
	if op.kind == tPower {
		op.text = "^"
		y = p.raised()
		if p.tok.is("^") || p.tok.kind == tPower {
			p.fail(powerTwice(p.at(p.tok.start, p.tok.end)))
		}
	} else {
		p.enter()
		p.next()
		if p.tok.spaced {
			p.set.Add(exponentSpaced(p.tok.num.At, p.tok.num.Text, "raises to"))
		}
		y = p.sign()
		p.leave()
		p.checkExponent(x, y)
	}
	return p.binary(op, x, y)
}

// raised turns superscript digits into a number.
func (p *parser) raised() Expr {
	at := p.at(p.tok.start, p.tok.end)
	digits, minus := strings.CutPrefix(p.tok.text, "-")
	n := Number{At: at, Text: digits}
	p.checkRange(n)
	p.next()
	var e Expr = &Literal{At: at, Number: n}
	if minus {
		e = &Unary{At: at, Op: "-", X: e}
	}
	return e
}

// checkExponent refuses 10^11 Pa and 2^3 ± 1, where what stands behind the
// exponent would belong to it.
func (p *parser) checkExponent(x, y Expr) {
	l, minus := exponent(y)
	if l == nil || plain(l) {
		return
	}
	if l.Unit.Text == "" {
		tail := source.Span{File: l.At.File, Start: l.Number.At.End, End: l.At.End}
		p.fail(powerLimit(trim(tail)))
	}
	hint := "put the power in brackets: (" + x.Span().Text() + "^" + minus + l.Number.Text + ") * 1 " + l.Unit.Text
	if b, ok := x.(*Literal); ok && b.Number.Text == "10" && digitsOnly(l.Number.Text) {
		hint = "write 1e" + minus + l.Number.Text + " " + l.Unit.Text + " (and 2.5e" + minus + l.Number.Text + " for 2.5×10^" + minus + l.Number.Text + ")"
	}
	p.fail(powerUnit(l.Unit.At, l.Unit.Text, hint))
}

// exponent returns the literal behind signs, if that is what an expression
// is, and the signs.
func exponent(e Expr) (l *Literal, minus string) {
	for {
		u, ok := e.(*Unary)
		if !ok || u.Op != "-" {
			break
		}
		minus += "-"
		e = u.X
	}
	l, _ = e.(*Literal)
	return l, minus
}

func digitsOnly(s string) bool { return strings.Trim(s, "0123456789") == "" }

// atom = literal | name | name"("args")" | "("expr")" | "√" atom
func (p *parser) atom() Expr {
	switch t := p.tok; {
	case t.kind == tNumber:
		return p.literal()
	case t.kind == tName && p.callAhead() && (!reserved[t.text] || t.text == "if"):
		return p.call()
	case t.word("pi"):
		p.next()
		return &Pi{At: p.from(t.start)}
	case t.kind == tName && !p.reservedHead(t):
		p.next()
		return &Name{At: p.from(t.start), Name: t.text}
	case t.is("("):
		return p.paren()
	case t.is("√"):
		return p.root()
	}
	p.unexpected()
	panic("unreachable")
}

// reservedHead reports whether a name begins with a reserved word.
func (p *parser) reservedHead(t token) bool {
	head, _, _ := strings.Cut(t.text, ".")
	return reserved[head] || head == "π"
}

func (p *parser) root() Expr {
	p.enter()
	defer p.leave()
	t := p.tok
	p.next()
	if !p.startsAtom() {
		p.unexpected()
	}
	x := p.atom()
	if b, ok := x.(*Paren); ok {
		x = b.X
	}
	return &Call{At: p.from(t.start), Name: "sqrt", NmAt: p.at(t.start, t.end), Args: []Expr{x}}
}

func (p *parser) call() Expr {
	name := p.tok
	if p.reservedHead(name) && name.text != "if" {
		p.unexpected()
	}
	p.next()
	open := p.tok
	p.next()
	c := &Call{Name: name.text, NmAt: p.at(name.start, name.end)}
	for !p.tok.is(")") {
		c.Args = append(c.Args, p.or())
		if !p.take(",") {
			break
		}
		if p.tok.is(")") {
			p.fail(argumentMissing(p.at(p.last.start, p.last.end), name.text))
		}
	}
	p.close(open)
	c.At = p.from(name.start)
	return c
}

// close goes past the bracket that closes open.
func (p *parser) close(open token) {
	if p.tok.kind == tEnd {
		p.fail(bracketOpen(p.at(open.start, open.end)))
	}
	if !p.tok.is(")") {
		p.unexpected()
	}
	p.next()
}

// paren reads an expression in brackets; (number ± number) unit is a literal.
func (p *parser) paren() Expr {
	open := p.tok
	p.next()
	if p.tok.is(")") {
		p.fail(expressionMissing(p.at(open.start, p.tok.end)))
	}
	x := p.or()
	if p.tok.is(")") {
		if u, end := p.unit(p.tok.end, afterNumber); u.Text != "" {
			if e := p.bracketed(open, x, u, end); e != nil {
				return e
			}
		}
	}
	p.close(open)
	return &Paren{At: p.from(open.start), X: x}
}

// unexpected reports the token in hand, which cannot stand where it does, by
// what was most likely meant.
func (p *parser) unexpected() {
	t := p.tok
	at := p.at(t.start, t.end)
	switch {
	case t.kind == tEnd && p.last.kind == tEnd:
		p.fail(expressionMissing(at))
	case t.kind == tEnd:
		p.fail(operandMissing(p.at(p.last.start, p.last.end), p.text[p.last.start:p.last.end]))
	case t.is("="):
		p.fail(operatorSpelling(at, "=", "=="))
	case t.is("±"):
		p.fail(limitPlace(at))
	case t.is("@"):
		p.fail(instrumentPlace(at))
	case t.is(","):
		if p.last.kind == tNumber && p.last.end == t.start && digitsOnly(p.text[p.last.start:p.last.end]) && p.digitAt(t.end) {
			j := p.digits(t.end)
			p.fail(decimalComma(p.at(p.last.start, j), p.text[p.last.start:j]))
		}
	case t.is(")"):
		if p.operandDue() && !p.last.is("(") {
			p.fail(operandMissing(p.at(p.last.start, p.last.end), p.text[p.last.start:p.last.end]))
		}
		p.fail(bracketClose(at))
	case t.is("|") && p.text[t.end:] != "" && p.text[t.end] == '|':
		p.fail(operatorSpelling(p.at(t.start, t.end+1), "||", "or"))
	case t.is("+") && p.operandDue():
		p.fail(plusSign(at))
	case t.kind == tQuoted:
		p.fail(wordPlace(at))
	case t.kind == tName && p.assignAt(t.end) && (shapes[t.text] || keyed[t.text]), t.kind == tName && shapes[t.text]:
		p.fail(qualifierStray(at, t.text))
	case p.startsAtom():
		p.implied()
	case t.kind == tName:
		p.fail(wordReserved(at, t.text))
	}
	p.fail(unexpected(at, p.text[t.start:t.end]))
}

// operandDue reports whether the token before the one in hand asks for an
// operand.
func (p *parser) operandDue() bool {
	t := p.last
	return t.kind == tOp && t.text != ")" && t.text != "%" || t.kind == tName && reserved[t.text] && t.text != "pi"
}

// implied reports two operands side by side.
func (p *parser) implied() {
	a, b := p.last, p.tok
	at := p.at(b.start, b.end)
	left, right := p.text[a.start:a.end], p.text[b.start:b.end]
	p.grouped()
	switch {
	case p.operandDue():
		p.fail(unexpected(at, right))
	case b.kind == tName && (shapes[b.text] || keyed[b.text] && p.assignAt(b.end)):
		p.fail(qualifierStray(at, b.text))
	case a.kind == tName && b.is("(") && !reserved[a.text]:
		p.fail(callSpace(p.at(a.end, b.start), left))
	}
	switch {
	case b.is("("):
		right = "(…)"
	case b.is("√"):
		right += "…"
	case b.kind == tName && p.callAhead():
		right += "(…)"
	}
	if a.is(")") {
		left = "(…)"
	}
	p.fail(impliedProduct(at, left, right))
}

// grouped reports the digits of one number written in groups.
func (p *parser) grouped() {
	left, right := p.text[p.last.start:p.last.end], p.text[p.tok.start:p.tok.end]
	if p.last.kind == tNumber && p.tok.kind == tNumber && digitsOnly(left) && len(right) >= 3 && digitsOnly(right[:3]) {
		p.fail(digitGroups(p.at(p.last.start, p.tok.end), left+right))
	}
}
