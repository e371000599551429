package formula

import "strings"

// Binding strengths, from the weakest.
const (
	byOr = iota
	byAnd
	byNot
	byComparison
	bySum
	byTerm
	bySign
	byPower
	byAtom
)

// Print returns the canonical text of an expression: one space around every
// operator but ^, ASCII operators, and brackets where the tree needs them.
// What was parsed, printed and parsed again is an equal tree. A Bad prints as
// "?".
func Print(e Expr) string {
	var b strings.Builder
	write(&b, e, byOr)
	return b.String()
}

// write writes an expression, in brackets where it binds more weakly than its
// place asks for.
func write(b *strings.Builder, e Expr, least int) {
	if strength(e) < least {
		b.WriteByte('(')
		write(b, e, byOr)
		b.WriteByte(')')
		return
	}
	switch e := e.(type) {
	case *Name:
		b.WriteString(e.Name)
	case *Pi:
		b.WriteString("pi")
	case *Literal:
		writeLiteral(b, e)
	case *Unary:
		if e.Op == "not" {
			b.WriteString("not ")
		} else {
			b.WriteString(e.Op)
		}
		write(b, e.X, strength(e))
	case *Binary:
		writeBinary(b, e)
	case *Call:
		b.WriteString(e.Name)
		b.WriteByte('(')
		for i, a := range e.Args {
			if i > 0 {
				b.WriteString(", ")
			}
			write(b, a, byOr)
		}
		b.WriteByte(')')
	case *Paren:
		b.WriteByte('(')
		write(b, e.X, byOr)
		b.WriteByte(')')
	case *Unread:
		b.WriteString("–")
	case *Word:
		b.WriteString(`"` + e.Text + `"`)
	default:
		b.WriteByte('?')
	}
}

func writeBinary(b *strings.Builder, e *Binary) {
	n := strength(e)
	switch e.Op {
	case "^":
		write(b, e.X, byAtom)
		b.WriteByte('^')
		if l, _ := exponent(e.Y); l != nil && !plain(l) {
			b.WriteString("(" + Print(e.Y) + ")")
			return
		}
		write(b, e.Y, bySign)
	case "==", "!=", "<", "<=", ">", ">=":
		write(b, e.X, n+1)
		b.WriteString(" " + e.Op + " ")
		write(b, e.Y, n+1)
	default:
		write(b, e.X, n)
		b.WriteString(" " + e.Op + " ")
		write(b, e.Y, n+1)
	}
}

// strength tells how strongly the outermost operation of an expression binds.
func strength(e Expr) int {
	switch e := e.(type) {
	case *Binary:
		switch e.Op {
		case "or":
			return byOr
		case "and":
			return byAnd
		case "+", "-":
			return bySum
		case "*", "/":
			return byTerm
		case "^":
			return byPower
		}
		return byComparison
	case *Unary:
		if e.Op == "not" {
			return byNot
		}
		return bySign
	case *Literal:
		if !plain(e) {
			return byPower // 2 m cannot be raised without brackets
		}
	}
	return byAtom
}

// plain reports whether a literal is a number alone.
func plain(l *Literal) bool { return l.Unit.Text == "" && len(l.Limits) == 0 && l.Instrument == "" }

func writeLiteral(b *strings.Builder, l *Literal) {
	limits := l.Limits
	if l.Bracket && len(limits) > 0 {
		m := limits[0]
		b.WriteString("(" + printNumber(l.Number) + " ± " + printNumber(m.Number) + ") " + l.Unit.Text)
		writeQualifiers(b, m.Qualifiers)
		limits = limits[1:]
	} else {
		b.WriteString(printNumber(l.Number) + behind(l.Unit.Text))
	}
	for _, m := range limits {
		b.WriteString(" ± " + printNumber(m.Number) + behind(m.Unit.Text))
		writeQualifiers(b, m.Qualifiers)
	}
	if l.Instrument != "" {
		b.WriteString(" @" + l.Instrument)
	}
}

func writeQualifiers(b *strings.Builder, list []Qualifier) {
	for _, q := range list {
		b.WriteString(" " + q.Key)
		if q.Value != "" {
			b.WriteString("=" + q.Value)
		}
	}
}

func behind(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

// printNumber puts the concise uncertainty back before the exponent.
func printNumber(n Number) string {
	if n.Paren == "" {
		return n.Text
	}
	mantissa, exp, found := strings.Cut(n.Text, "e")
	if found {
		exp = "e" + exp
	}
	return mantissa + "(" + n.Paren + ")" + exp
}
