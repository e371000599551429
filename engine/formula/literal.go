package formula

import (
	"strconv"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/source"
)

// literal reads a quantity; its number is in hand.
//
//	literal = core {"±" number (unit|"%") {qualifier}} ["@" name]
//	core    = number [unit] | "(" number "±" number ")" unit
//
// A ± without a unit is allowed where the value has none.
func (p *parser) literal() *Literal {
	t := p.tok
	l := &Literal{Number: t.num}
	u, end := p.unit(t.end, afterNumber)
	if u.Text != "" {
		if p.bare {
			p.fail(cellUnit(u.At, u.Text))
		}
		l.Unit = u
	}
	p.jump(end)
	p.limits(l, t.start)
	return l
}

// limits reads what may follow a core: ±, qualifiers, an instrument.
func (p *parser) limits(l *Literal, start int) {
	for p.tok.is("±") {
		m := p.limit()
		p.checkLimit(l, m, start)
		l.Limits = append(l.Limits, *m)
	}
	if p.tok.is("@") {
		p.instrument(l)
	}
	l.At = p.from(start)
}

func (p *parser) instrument(l *Literal) {
	sign := p.tok
	if p.bare {
		p.fail(instrumentPlace(p.at(sign.start, sign.end)))
	}
	p.next()
	if p.tok.kind != tName || p.reservedHead(p.tok) {
		p.fail(instrumentName(p.at(sign.start, sign.end)))
	}
	l.Instrument, l.InstrAt = p.tok.text, p.at(p.tok.start, p.tok.end)
	p.next()
}

// limit reads one ± with its number, unit and qualifiers.
func (p *parser) limit() *Limit {
	sign := p.tok
	p.next()
	if p.tok.kind != tNumber {
		p.fail(limitNumber(p.at(sign.start, sign.end), p.text[p.tok.start:p.tok.end]))
	}
	m := &Limit{Number: p.tok.num}
	if m.Number.Paren != "" {
		p.fail(limitConcise(m.Number.At))
	}
	u, end := p.unit(p.tok.end, afterLimit)
	m.Unit = u
	p.jump(end)
	p.qualifiers(m)
	m.At = p.from(sign.start)
	return m
}

// checkLimit refuses a ± whose unit does not go with that of the value.
func (p *parser) checkLimit(l *Literal, m *Limit, start int) {
	value := p.text[start:p.offset(l.Number.At.End)]
	u := m.Unit.Text
	switch {
	case u == "%":
	case p.bare && u != "":
		p.fail(cellUnit(m.Unit.At, u))
	case l.Unit.Text == "" && u != "":
		p.fail(limitUnit(m.Unit.At, value, m.Number.Text, u))
	case l.Unit.Text != "" && u == "":
		p.fail(limitUnitMissing(m.Number.At, m.Number.Text, l.Unit.Text))
	}
}

func (p *parser) offset(inFile int) int { return inFile - p.span.Start }

// qualifiers reads the words that say what a ± means.
func (p *parser) qualifiers(m *Limit) {
	for p.tok.kind == tName {
		t := p.tok
		assigned := p.assignAt(t.end)
		if !assigned && !shapes[t.text] {
			return
		}
		if !shapes[t.text] && !keyed[t.text] {
			p.fail(qualifierUnknown(p.at(t.start, t.end), t.text, near.Name(t.text, []string{"k", "dof", "std", "triangular", "arcsine"})))
		}
		q := Qualifier{Key: t.text}
		p.next()
		if assigned {
			p.next()
			q.Value = p.qualifierValue(t)
		}
		q.At = p.from(t.start)
		p.checkTwice(m, q)
		m.Qualifiers = append(m.Qualifiers, q)
	}
}

func (p *parser) qualifierValue(key token) string {
	at := p.at(key.start, p.tok.end)
	if shapes[key.text] {
		p.fail(qualifierValue(at, key.text, "takes no value"))
	}
	if p.tok.kind != tNumber || p.tok.num.Paren != "" {
		p.fail(qualifierValue(at, key.text, "takes a number, as in "+key.text+"=2"))
	}
	v := p.tok.num.Text
	if f, err := strconv.ParseFloat(v, 64); err != nil || f <= 0 {
		p.fail(qualifierValue(at, key.text, "takes a number above zero"))
	}
	p.next()
	return v
}

// checkTwice refuses a second qualifier of a kind: a ± has one distribution
// and one number of degrees of freedom.
func (p *parser) checkTwice(m *Limit, q Qualifier) {
	for _, o := range m.Qualifiers {
		if (o.Key == "dof") == (q.Key == "dof") {
			p.fail(qualifierTwice(q.At, q.Key, o))
		}
	}
}

// bracketed makes a literal of (number ± number) unit, whose unit u ends at
// end; the closing bracket is in hand. It returns nil where the brackets hold
// anything else, which leaves the unit to be read as names.
func (p *parser) bracketed(open token, x Expr, u Unit, end int) Expr {
	minus, neg := x.(*Unary)
	inner := x
	if neg && minus.Op == "-" {
		inner = minus.X
	}
	l, ok := inner.(*Literal)
	if !ok || len(l.Limits) == 0 || l.Instrument != "" {
		return nil
	}
	if len(l.Limits) > 1 || l.Unit.Text != "" || l.Limits[0].Unit.Text != "" {
		p.fail(bracketUnit(u.At, u.Text))
	}
	if p.bare {
		p.fail(cellUnit(u.At, u.Text))
	}
	l.Unit, l.Limits[0].Unit, l.Bracket = u, u, true
	p.jump(end)
	p.qualifiers(&l.Limits[0])
	p.limits(l, open.start)
	if !neg {
		return l
	}
	return &Paren{At: l.At, X: &Unary{At: l.At, Op: "-", X: l}}
}

// ParseLiteral reads a quantity with an optional sign, as a setting or a cell
// holds it, and tells whether the sign was a minus. In a cell, bareUnits, the
// unit comes from the heading: the number and its ± have none (the ± may be in
// %). It returns nil where no quantity can be read; a finding has been made.
func ParseLiteral(s source.Span, bareUnits bool, set *finding.Set) (l *Literal, negative bool) {
	p := newParser(s, set)
	p.bare = bareUnits
	ok := p.try(func() {
		p.start(0)
		if p.tok.is("-") || p.tok.is("+") {
			negative = p.tok.is("-")
			p.next()
		}
		switch {
		case p.tok.kind == tNumber:
			l = p.literal()
		case p.tok.is("("):
			l = p.onlyLiteral()
		case p.tok.kind == tEnd:
			p.fail(expressionMissing(p.at(p.tok.start, p.tok.end)))
		default:
			p.fail(literalDue(p.at(p.tok.start, p.tok.end), p.text[p.tok.start:p.tok.end]))
		}
		p.finish()
	})
	if !ok {
		return nil, false
	}
	return l, negative
}

// onlyLiteral reads a literal in brackets and nothing else.
func (p *parser) onlyLiteral() *Literal {
	open := p.tok
	x := p.paren()
	if b, ok := x.(*Paren); ok {
		x = b.X
	}
	l, ok := x.(*Literal)
	if !ok {
		p.fail(literalDue(p.at(open.start, p.last.end), p.text[open.start:p.last.end]))
	}
	return l
}

// finish reports anything that is left.
func (p *parser) finish() {
	if p.tok.kind == tEnd {
		return
	}
	p.grouped()
	switch {
	case p.startsAtom() && !shapes[p.tok.text] && !keyed[p.tok.text],
		p.tok.is("+"), p.tok.is("-"), p.tok.is("*"), p.tok.is("/"), p.tok.is("^"):
		p.fail(literalDue(p.at(p.tok.start, p.tok.end), p.text[p.tok.start:p.tok.end]))
	}
	p.unexpected()
}

// ParseLimit reads a ± without a value, as the calibration of an instrument is
// given: ± 0.004 mm k=2. It returns nil where none can be read; a finding has
// been made.
func ParseLimit(s source.Span, set *finding.Set) (m *Limit) {
	p := newParser(s, set)
	ok := p.try(func() {
		p.start(0)
		if !p.tok.is("±") {
			p.fail(limitDue(p.at(p.tok.start, p.tok.end)))
		}
		m = p.limit()
		p.finish()
	})
	if !ok {
		return nil
	}
	return m
}

// unitDue reads a unit where nothing else can stand and goes on behind it.
func (p *parser) unitDue(i int) Unit {
	u, end := p.unit(i, afterIn)
	if u.Text == "" {
		p.fail(unitMissing(p.at(i, p.blank(i)), p.text[p.blank(i):]))
	}
	p.start(end)
	p.last = token{kind: tName, start: p.offset(u.At.Start), end: end}
	return u
}

// finishUnit reports what is wrong with what follows a unit.
func (p *parser) finishUnit() {
	t := p.tok
	at := p.at(t.start, t.end)
	switch {
	case t.kind == tEnd:
	case t.is("*"):
		p.fail(unitOperator(at, p.text[t.start:t.end], "join units by a space or ·"))
	case t.is("/"), t.is("("), t.is("^"):
		p.fail(unitOperator(at, p.text[t.start:t.end], "write one / and no brackets; several units below it as m^-1"))
	default:
		p.fail(unexpected(at, p.text[t.start:t.end]))
	}
}
