package formula

import (
	"slices"
	"strings"
)

// Walk calls f for an expression and everything in it, from left to right, a
// node before its parts. Where f returns false the parts are passed over.
func Walk(e Expr, f func(Expr) bool) {
	if e == nil || !f(e) {
		return
	}
	switch e := e.(type) {
	case *Unary:
		Walk(e.X, f)
	case *Binary:
		Walk(e.X, f)
		Walk(e.Y, f)
	case *Call:
		for _, a := range e.Args {
			Walk(a, f)
		}
	case *Paren:
		Walk(e.X, f)
	}
}

// Names returns every name that an expression uses, in order. A dotted call
// line.at(x) uses the name line; the function of an undotted call is none.
func Names(e Expr) []*Name {
	var out []*Name
	Walk(e, func(e Expr) bool {
		switch e := e.(type) {
		case *Name:
			out = append(out, e)
		case *Call:
			if head, _, dotted := strings.Cut(e.Name, "."); dotted {
				typed := strings.IndexByte(e.NmAt.Text(), '.')
				out = append(out, &Name{At: e.NmAt.Sub(0, typed), Name: head})
			}
		}
		return true
	})
	return out
}

// Equal reports whether two expressions are the same but for their places.
func Equal(a, b Expr) bool {
	switch a := a.(type) {
	case *Name:
		b, ok := b.(*Name)
		return ok && a.Name == b.Name
	case *Pi:
		_, ok := b.(*Pi)
		return ok
	case *Literal:
		b, ok := b.(*Literal)
		return ok && equalLiteral(a, b)
	case *Unary:
		b, ok := b.(*Unary)
		return ok && a.Op == b.Op && Equal(a.X, b.X)
	case *Binary:
		b, ok := b.(*Binary)
		return ok && a.Op == b.Op && Equal(a.X, b.X) && Equal(a.Y, b.Y)
	case *Call:
		b, ok := b.(*Call)
		return ok && a.Name == b.Name && slices.EqualFunc(a.Args, b.Args, Equal)
	case *Paren:
		b, ok := b.(*Paren)
		return ok && Equal(a.X, b.X)
	case *Word:
		b, ok := b.(*Word)
		return ok && a.Text == b.Text
	case *Unread:
		_, ok := b.(*Unread)
		return ok
	case *Bad:
		_, ok := b.(*Bad)
		return ok
	}
	return a == nil && b == nil
}

func equalLiteral(a, b *Literal) bool {
	return equalNumber(a.Number, b.Number) && a.Unit.Text == b.Unit.Text && a.Bracket == b.Bracket &&
		a.Instrument == b.Instrument && slices.EqualFunc(a.Limits, b.Limits, equalLimit)
}

func equalNumber(a, b Number) bool { return a.Text == b.Text && a.Paren == b.Paren }

func equalLimit(a, b Limit) bool {
	return equalNumber(a.Number, b.Number) && a.Unit.Text == b.Unit.Text &&
		slices.EqualFunc(a.Qualifiers, b.Qualifiers, func(p, q Qualifier) bool { return p.Key == q.Key && p.Value == q.Value })
}
