package plaintext

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/view"
)

// formula is mathematics in one line: a fraction with a slash, a power with a
// caret, an index with a low line.
func formula(m view.Math) string {
	switch m := m.(type) {
	case nil:
		return ""
	case view.Ident:
		return m.Name
	case view.Upright:
		return m.Name
	case view.Num:
		return m.Digits
	case view.Words:
		return m.Text
	case view.Op:
		return operator(m)
	case view.Sized:
		return m.Symbol
	case view.Space:
		if m.Em > 0.1 {
			return " "
		}
	case view.Seq:
		return sequence(m.Items)
	case view.Frac:
		return operand(m.Num) + "/" + operand(m.Den)
	case view.Root:
		if m.Index != nil {
			return operand(m.Body) + "^(1/" + formula(m.Index) + ")"
		}
		return "√" + operand(m.Body)
	case view.Script:
		return operand(m.Base) + script("_", m.Sub) + script("^", m.Sup)
	case view.Limits:
		if m.Accent {
			return formula(m.Base)
		}
		return formula(m.Base) + script("_", m.Under) + script("^", m.Over)
	case view.Grid:
		return grid(m)
	case view.Styled:
		return formula(m.Body)
	case view.Linked:
		return formula(m.Body)
	case view.Valued:
		return formula(m.Body)
	case view.Measure:
		if m.Unit == "" {
			return formula(m.Number)
		}
		return formula(m.Number) + " " + m.Unit
	}
	return ""
}

// operator is an operator with the space that belongs about it.
func operator(o view.Op) string {
	switch {
	case o.Symbol == "\u2062" || o.Symbol == "\u2061": // invisible times, function application
		return " "
	case o.Fence || o.Form == "prefix" || o.Form == "postfix":
		return o.Symbol
	case strings.ContainsAny(o.Symbol, "()[]|,!"):
		return o.Symbol
	}
	return " " + o.Symbol + " "
}

// sequence sets pieces side by side; between two that would run into one word
// stands a space.
func sequence(items []view.Math) string {
	var b strings.Builder
	for _, m := range items {
		s := formula(m)
		if joins(b.String(), s) {
			b.WriteByte(' ')
		}
		b.WriteString(s)
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// joins reports whether one text ends and another begins with what could be
// part of a word, or a bracket that makes it a product.
func joins(a, b string) bool {
	last, _ := utf8.DecodeLastRuneInString(a)
	first, _ := utf8.DecodeRuneInString(b)
	word := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	return (word(last) || last == ')') && (word(first) || first == '√')
}

// operand is a part in brackets, where it is more than one piece.
func operand(m view.Math) string {
	s := formula(m)
	if compound(m) && !(strings.HasPrefix(s, "(") && strings.HasSuffix(s, ")") && strings.Count(s, "(") == 1) {
		return "(" + s + ")"
	}
	return s
}

// compound reports whether a piece falls apart beside a slash or a caret.
func compound(m view.Math) bool {
	switch m := m.(type) {
	case view.Seq:
		n := 0
		for _, item := range m.Items {
			if _, space := item.(view.Space); !space {
				n++
			}
		}
		return n > 1 || n == 1 && len(m.Items) == 1 && compound(m.Items[0])
	case view.Frac, view.Grid:
		return true
	case view.Measure:
		return m.Unit != ""
	case view.Styled:
		return compound(m.Body)
	case view.Linked:
		return compound(m.Body)
	case view.Valued:
		return compound(m.Body)
	}
	return false
}

func script(mark string, m view.Math) string {
	if m == nil {
		return ""
	}
	return mark + operand(m)
}

func grid(g view.Grid) string {
	var rows []string
	for _, r := range g.Rows {
		var cells []string
		for _, c := range r {
			cells = append(cells, formula(c))
		}
		rows = append(rows, strings.TrimSpace(strings.Join(cells, " ")))
	}
	return strings.Join(rows, "; ")
}
