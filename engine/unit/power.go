package unit

import "unicode/utf8"

// power reads what follows a symbol and returns the exponent in multiples of
// 1/grain: 1 where there is none.
func (p *parser) power(symbol string) (int32, *Error) {
	start := p.at
	r := p.peek()
	if _, ok := superscripts(r); ok {
		return p.superscriptPower(start)
	}
	if r == '^' {
		p.next()
		if p.peek() == '(' {
			p.next()
			return p.fractionPower(start)
		}
		sign := p.sign()
		n, err := p.whole(start)
		return int32(sign*n) * grain, err
	}
	if isDigit(r) || r == '-' || r == '−' || r == '+' {
		return 0, p.missingCaret(start, symbol)
	}
	return grain, nil
}

// missingCaret complains of "m2" or "s-1".
func (p *parser) missingCaret(start int, symbol string) *Error {
	minus := ""
	if p.sign() < 0 {
		minus = "-"
	}
	digits := p.at
	for isDigit(p.peek()) {
		p.next()
	}
	e := p.fail(start, p.at, "a power is written with ^")
	if p.at > digits {
		e.Nearest = symbol + "^" + minus + p.text[digits:p.at]
	}
	return e
}

// sign reads a sign, if there is one.
func (p *parser) sign() int {
	switch p.peek() {
	case '-', '−':
		p.next()
		return -1
	case '+':
		p.next()
	}
	return 1
}

// whole reads a whole number from 1 to maxPower.
func (p *parser) whole(start int) (int, *Error) {
	n, digits := 0, 0
	for isDigit(p.peek()) {
		n = min(10*n+int(p.peek()-'0'), 10*maxPower)
		digits++
		p.next()
	}
	return n, p.checkPower(start, n, digits)
}

func (p *parser) checkPower(start, n, digits int) *Error {
	switch {
	case digits == 0 || p.peek() == '.':
		return p.fail(start, p.at, "a power is a whole number, as in m^2 or s^-1")
	case n == 0:
		return p.fail(start, p.at, "a unit to the power 0 is the unit one: leave it out")
	case n > maxPower:
		return p.fail(start, p.at, "a power of a unit is at most 99")
	}
	return nil
}

func (p *parser) superscriptPower(start int) (int32, *Error) {
	n, digits, sign := 0, 0, 1
	for {
		c, ok := superscripts(p.peek())
		if !ok {
			break
		}
		p.next()
		switch {
		case isDigit(c):
			n = min(10*n+int(c-'0'), 10*maxPower)
			digits++
		case digits > 0 || p.at-start > utf8.RuneLen('⁻'):
			return 0, p.fail(start, p.at, "a power is a whole number, as in m² or s⁻¹")
		case c == '-':
			sign = -1
		}
	}
	return int32(sign*n) * grain, p.checkPower(start, n, digits)
}

// fractionPower reads "n/d)" after the bracket.
func (p *parser) fractionPower(start int) (int32, *Error) {
	sign := p.sign()
	num, err := p.whole(start)
	if err != nil {
		return 0, err
	}
	den := 1
	if p.peek() == '/' {
		p.next()
		if den, err = p.whole(start); err != nil {
			return 0, err
		}
	}
	if p.peek() != ')' {
		return 0, p.fail(start, p.at, "a fractional power is written ^(1/2), with a closing bracket")
	}
	p.next()
	if num*grain%den != 0 {
		return 0, p.fail(start, p.at, "this fractional power cannot be represented")
	}
	return int32(sign * num * grain / den), nil
}
