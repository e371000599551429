package tex

import (
	"unicode/utf8"

	"example.org/taut/engine/view"
)

// row joins pieces into one tree and settles what depends on neighbours: signs
// (The TeXbook, appendix G, rules 5 and 6) and the space beside functions
// (chapter 18).
func row(items []item) view.Math {
	out := make([]view.Math, 0, len(items))
	before := relation
	for i, it := range items {
		if it.class == gap {
			out = append(out, it.math)
			continue
		}
		if it.class == binary && !after(before) {
			it = sign(it)
		}
		if it.class == function && (before == ordinary || before == closes) {
			out = append(out, view.Space{Em: thin})
		}
		out = append(out, it.math)
		if it.class == function && i+1 < len(items) {
			out = apply(out, items[i+1].class)
		}
		before = it.class
	}
	if len(out) == 1 {
		return out[0]
	}
	return view.Seq{Items: out}
}

const thin = 3. / 18

// after reports whether a binary operator can follow a piece of class c.
func after(c class) bool {
	return c == ordinary || c == closes
}

// sign turns a binary operator into a sign.
func sign(it item) item {
	if op, ok := it.math.(view.Op); ok {
		switch op.Symbol {
		case "+", "−", "±", "∓":
			op.Form = "prefix"
			return item{math: op}
		}
	}
	it.class = ordinary
	return it
}

// apply writes the application of a function to what follows it.
func apply(out []view.Math, next class) []view.Math {
	switch next {
	case opens:
		return append(out, view.Op{Symbol: "\u2061"})
	case ordinary, function, large, integral:
		return append(out, view.Op{Symbol: "\u2061"}, view.Space{Em: thin})
	}
	return out
}

// styled sets a body in an alphabet. Letters that follow each other make one
// word, as they do in TeX's text fonts.
func styled(style string, body view.Math) view.Math {
	switch style {
	case "":
		return body
	case "normal":
		return letters(body)
	case "bold", "italic", "sans-serif", "monospace":
		body = letters(body)
	}
	return view.Styled{Style: style, Body: body}
}

// letters sets a body upright and joins its neighbouring letters to words.
func letters(m view.Math) view.Math {
	switch m := m.(type) {
	case view.Ident:
		return view.Upright(m)
	case view.Script:
		m.Base, m.Sub, m.Sup = letters(m.Base), letters(m.Sub), letters(m.Sup)
		return m
	case view.Limits:
		m.Base = letters(m.Base)
		return m
	case view.Frac:
		m.Num, m.Den = letters(m.Num), letters(m.Den)
		return m
	case view.Seq:
		return joined(m)
	}
	return m
}

func joined(s view.Seq) view.Math {
	var out []view.Math
	for _, it := range s.Items {
		it = letters(it)
		w, ok := it.(view.Upright)
		if last := len(out) - 1; ok && last >= 0 && single(w.Name) {
			if v, ok := out[last].(view.Upright); ok {
				out[last] = view.Upright{Name: v.Name + w.Name}
				continue
			}
		}
		out = append(out, it)
	}
	if len(out) == 1 {
		return out[0]
	}
	return view.Seq{Items: out}
}

func single(s string) bool { return utf8.RuneCountInString(s) == 1 }
