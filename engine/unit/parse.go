package unit

import (
	"math"
	"strings"
	"unicode/utf8"
)

// These bounds are far beyond any unit that is written; they keep the work of
// a parse small whatever the text.
const (
	maxText    = 200 // bytes
	maxFactors = 20
	maxPower   = 99
)

// Parse reads a unit:
//
//	unit   = factor {(" "|"·") factor} ["/" factor]
//	factor = symbol [power]
//	power  = "^" [sign] digits | superscripts | "^(" [sign] digits "/" digits ")"
//
// One solidus at most stands in a unit (SI Brochure, 5.4.6), and one factor
// after it. A fractional power is for units of scale one only, as in m^(1/3).
// The unit one is "1", alone or before the solidus. The micro sign, the ohm
// sign and the kelvin sign are read as the letters μ, Ω, K.
//
// The error is an [*Error] at the first piece that is wrong.
func Parse(text string) (Unit, error) {
	if u, ok := lookUp(text); ok {
		return u, nil
	}
	p := parser{text: text}
	u, err := p.unit()
	if err != nil {
		return Unit{}, err
	}
	return u, nil
}

// Known reports whether Parse can read a text. It looks for no hint.
func Known(text string) bool {
	if _, ok := lookUp(text); ok {
		return true
	}
	p := parser{text: text, hintless: true}
	_, err := p.unit()
	return err == nil
}

// MustParse is Parse for a unit that is known to be right, as in a table. It
// panics on an error.
func MustParse(text string) Unit {
	u, err := Parse(text)
	if err != nil {
		panic("unit: " + text + ": " + err.Error())
	}
	return u
}

type parser struct {
	text     string
	at       int  // bytes read
	hintless bool // nobody reads the hints of an error
}

// factor is a unit raised to a power, in multiples of 1/grain.
type factor struct {
	unit       Unit
	power      int32
	start, end int
	below      bool // after the solidus
}

func (p *parser) unit() (Unit, *Error) {
	if len(p.text) > maxText {
		return Unit{}, p.fail(0, len(p.text), "the unit has more than 200 bytes")
	}
	factors, err := p.factors()
	if err != nil {
		return Unit{}, err
	}
	return p.combine(factors)
}

// factors reads the whole text. The unit one has none.
func (p *parser) factors() ([]factor, *Error) {
	var list []factor
	p.spaces()
	if p.rest() == "" {
		return nil, p.fail(0, len(p.text), "a unit is missing; the unit one is written 1")
	}
	one := p.one()
	if one && p.rest() == "" {
		return nil, nil
	}
	for {
		below := false
		switch {
		case one && len(list) == 0:
			below = p.solidus() // the one stands for the first factor
		case len(list) > 0 && p.solidus():
			below = true
		case len(list) > 0:
			p.dot()
		}
		f, err := p.factor(below)
		if err != nil {
			return nil, err
		}
		if list = append(list, f); len(list) > maxFactors {
			return nil, p.fail(f.start, f.end, "the unit has more than 20 factors")
		}
		p.spaces()
		if p.rest() == "" {
			return list, nil
		}
		if below {
			return nil, p.afterSolidus()
		}
	}
}

func (p *parser) rest() string { return p.text[p.at:] }

// peek returns the next rune, 0 at the end.
func (p *parser) peek() rune {
	if p.at == len(p.text) {
		return 0
	}
	r, _ := utf8.DecodeRuneInString(p.rest())
	return r
}

func (p *parser) next() {
	_, n := utf8.DecodeRuneInString(p.rest())
	p.at += n
}

// spaces skips spaces, also those that do not break a line.
func (p *parser) spaces() {
	for isSpace(p.peek()) {
		p.next()
	}
}

func isSpace(r rune) bool {
	return r == ' ' || r == '\t' || r == '\u00a0' || r == '\u2009' || r == '\u202f'
}

// dot skips one multiplication dot.
func (p *parser) dot() {
	if r := p.peek(); r == '·' || r == '⋅' {
		p.next()
		p.spaces()
	}
}

func (p *parser) solidus() bool {
	if p.peek() != '/' {
		return false
	}
	p.next()
	p.spaces()
	return true
}

// one reads the unit one where a solidus follows it, or nothing more.
func (p *parser) one() bool {
	if p.peek() != '1' {
		return false
	}
	save := p.at
	p.next()
	p.spaces()
	if r := p.peek(); r == '/' || r == 0 {
		return true
	}
	p.at = save
	return false
}

// factor reads one factor at the current place.
func (p *parser) factor(below bool) (factor, *Error) {
	f := factor{start: p.at, below: below, power: grain}
	for isSymbol(p.peek()) {
		p.next()
	}
	symbol := p.text[f.start:p.at]
	if symbol == "" {
		return f, p.notFactor()
	}
	u, ok := lookUp(fold(symbol))
	if !ok {
		return f, p.unknown(f.start, symbol)
	}
	f.unit = u
	power, err := p.power(symbol)
	if err != nil {
		return f, err
	}
	f.power, f.end = power, p.at
	if below && power < 0 {
		return f, p.fail(f.start, f.end, "a negative power after the solidus: leave out the solidus, or the minus sign")
	}
	return f, nil
}

// isSymbol reports whether r may be part of a unit's symbol.
func isSymbol(r rune) bool {
	switch {
	case r == 0, r == utf8.RuneError, isSpace(r), isDigit(r):
		return false
	case strings.ContainsRune("·⋅*×./^()[]{}-+−–,;:=|\n\r", r):
		return false
	}
	_, superscript := superscripts(r)
	return !superscript
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// fold replaces signs by the letters that they are canonically or commonly
// equivalent to.
func fold(symbol string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '\u00b5': // micro sign
			return 'μ'
		case '\u2126': // ohm sign
			return 'Ω'
		case '\u212a': // kelvin sign
			return 'K'
		}
		return r
	}, strings.ReplaceAll(symbol, "\u2103", "°C"))
}

// superscripts returns the ordinary character that a superscript stands for.
func superscripts(r rune) (rune, bool) {
	switch r {
	case '⁰':
		return '0', true
	case '¹':
		return '1', true
	case '²':
		return '2', true
	case '³':
		return '3', true
	case '⁻':
		return '-', true
	case '⁺':
		return '+', true
	}
	if r >= '⁴' && r <= '⁹' {
		return '4' + (r - '⁴'), true
	}
	return 0, false
}

// combine multiplies the factors.
func (p *parser) combine(factors []factor) (Unit, *Error) {
	if len(factors) == 0 {
		return Unit{}, nil
	}
	if len(factors) == 1 && !factors[0].below && factors[0].power == grain {
		return factors[0].unit, nil
	}
	var u Unit
	for _, f := range factors {
		power := f.power
		if f.below {
			power = -power
		}
		d, ok := f.unit.dim.Pow(int(power), grain)
		if _, c := f.coherent(); c > maxPower*grain || c < -maxPower*grain {
			return Unit{}, p.fail(f.start, f.end, "a power of a unit is at most 99")
		}
		if !ok {
			return Unit{}, p.fail(f.start, f.end, "this power of a unit cannot be represented")
		}
		u.dim = u.dim.Mul(d)
		switch {
		case f.unit.scale == scale{}:
		case power%grain != 0:
			return Unit{}, p.fail(f.start, f.end, "a fractional power is only for units without prefix or factor, such as m or kg")
		default:
			u.scale = u.scale.mulPow(f.unit.scale, int(power/grain))
		}
	}
	u.factor = u.scale.float()
	if u.factor == 0 || math.IsInf(u.factor, 0) || u.factor < smallestNormal {
		return Unit{}, p.fail(0, len(p.text), "the size of this unit is beyond the range of computed numbers")
	}
	u.text = canonical(factors)
	u.coherent = coherentText(factors)
	return u, nil
}

// smallestNormal is the smallest float64 with all its digits.
const smallestNormal = 0x1p-1022

// canonical writes the factors as they were given, one space between them.
func canonical(factors []factor) string {
	var b strings.Builder
	for i, f := range factors {
		join(&b, i == 0, f.below)
		b.WriteString(f.unit.text)
		b.WriteString(powerText(f.power))
	}
	return b.String()
}

func join(b *strings.Builder, first, below bool) {
	switch {
	case below && first:
		b.WriteString("1/")
	case below:
		b.WriteByte('/')
	case !first:
		b.WriteByte(' ')
	}
}

// coherentText writes the factors without prefixes and factors of size. Where
// two come out as the same unit on the same side of the solidus they are
// joined: ft^2 inch is m^3.
func coherentText(factors []factor) string {
	var merged []factor
	for _, f := range factors {
		if f.unit.coherent == "" {
			continue // the percent
		}
		f.unit.text, f.power = f.coherent()
		merged = merge(merged, f)
	}
	return canonical(merged)
}

// coherent returns the coherent symbol of the factor with its power: m and 6
// for L^2.
func (f factor) coherent() (symbol string, power int32) {
	symbol, own, ok := strings.Cut(f.unit.coherent, "^")
	if ok {
		f.power *= int32(own[0] - '0') // a power in the table is one digit
	}
	return symbol, f.power
}

func merge(list []factor, f factor) []factor {
	for i, g := range list {
		if g.unit.text != f.unit.text || g.below != f.below {
			continue
		}
		sum := g.power + f.power
		if sum == 0 {
			return append(list[:i], list[i+1:]...)
		}
		if sum <= maxPower*grain && sum >= -maxPower*grain {
			list[i].power = sum
			return list
		}
	}
	return append(list, f)
}
