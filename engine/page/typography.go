package page

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/unit"
)

// What the engine says itself is set by the rules of the SI Brochure, 5.4: a
// number keeps together with its unit, a minus is no hyphen, and the decimal
// sign is that of the page. The prose of a record is left as its author wrote
// it, and so is whatever is code.

// verbatim are the elements of which nothing is changed, and bound those in
// which no line is broken anyway.
var (
	verbatim = map[string]bool{"code": true, "pre": true, "annotation": true, "style": true, "script": true}
	unbroken = map[string]bool{"data": true, "math": true, "svg": true}
)

// typeset goes over what was written from a place on.
func (w *writer) typeset(from int) {
	src := string(w.b[from:])
	out, done := w.b[:from], 0 // how much of src is in out
	put := func(i, end int, with string) {
		out = append(append(out, src[done:i]...), with...)
		done = end
	}
	keep, whole := 0, 0 // how deep within verbatim and unbroken elements
	for i := 0; i < len(src); {
		end := i + until(src[i:], '<')
		if text := src[i:end]; keep == 0 && text != "" {
			set := text
			if w.page.Comma {
				set = commas(set)
			}
			if whole == 0 {
				set = bind(set)
			}
			if set != text {
				put(i, end, set)
			}
		}
		if i = end; i == len(src) {
			break
		}
		end = i + until(src[i:], '>') + 1
		tag := src[i:end]
		name, step := nameOf(tag), 1
		if tag[1] == '/' {
			step = -1
		} else if strings.HasSuffix(tag, "/>") {
			step = 0
		}
		switch {
		case verbatim[name]:
			keep += step
		case unbroken[name]:
			whole += step
		}
		if w.page.Comma && step == 1 && keep == 0 {
			if set := spokenCommas(tag); set != tag {
				put(i, end, set)
			}
		}
		i = end
		if !w.page.Comma && step == 1 && (name == "math" || name == "svg") {
			i += max(strings.Index(src[i:], "</"+name), 0) // nothing is changed inside
		}
	}
	w.b = append(out, src[done:]...)
}

// until is how far it is to a byte, or to the end.
func until(s string, c byte) int {
	if i := strings.IndexByte(s, c); i >= 0 {
		return i
	}
	return len(s)
}

// nameOf is the name of a tag's element.
func nameOf(tag string) string {
	start := 1
	if tag[1] == '/' {
		start = 2
	}
	for end := start; ; end++ {
		switch tag[end] {
		case ' ', '\n', '/', '>':
			return tag[start:end]
		}
	}
}

// spokenCommas sets the decimal commas of the attributes that are read out.
func spokenCommas(tag string) string {
	for _, name := range []string{` aria-label="`, ` title="`, ` alt="`} {
		i := strings.Index(tag, name)
		if i < 0 {
			continue
		}
		i += len(name)
		end := i + strings.IndexByte(tag[i:], '"')
		tag = tag[:i] + commas(tag[i:end]) + tag[end:]
	}
	return tag
}

// numbered are the words after which a number with a point is no decimal
// fraction but the number of a part.
var numbered = map[string]bool{"clause": true, "section": true, "chapter": true, "table": true, "figure": true, "version": true, "edition": true}

// commas makes the decimal points of a text commas. A number that goes on with
// further points, or stands within a word, is none.
func commas(s string) string {
	var out []byte
	from := 0
	for i := 1; i+1 < len(s); i++ {
		if s[i] != '.' || !digit(s[i-1]) || !digit(s[i+1]) {
			continue
		}
		start, end := i, i+1
		for start > 0 && digit(s[start-1]) {
			start--
		}
		for end < len(s) && digit(s[end]) {
			end++
		}
		before, _ := utf8.DecodeLastRuneInString(s[:start])
		after := end+1 < len(s) && s[end] == '.' && digit(s[end+1])
		if start > 0 && (before == '.' || before == '_' || unicode.IsLetter(before)) || after || partNumber(s[:start]) {
			continue
		}
		out = append(append(out, s[from:i]...), ',')
		from = i + 1
	}
	if from == 0 {
		return s
	}
	return string(append(out, s[from:]...))
}

// partNumber reports whether a number after this text counts parts.
func partNumber(before string) bool {
	before = strings.TrimRight(before, " \u00a0")
	word := before[strings.LastIndexAny(before, " \u00a0(")+1:]
	return numbered[strings.ToLower(word)]
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

const noBreak = "\u00a0"

// bind puts no-break spaces where a line must not end: between a number and
// its unit, about ±, behind ≤ and ≥, and in “k = 2”; and a minus sign before a number for a
// hyphen.
func bind(s string) string {
	if !numeric(s) {
		return s
	}
	var out []byte
	from := 0
	put := func(i, n int, with string) {
		out = append(append(out, s[from:i]...), with...)
		from = i + n
	}
	equals, product := -1, -1 // the ends of the last bound “x =”, and of “x = k”
	for i := 0; i < len(s); i++ {
		switch s[i] {
		case '-':
			if i+1 < len(s) && digit(s[i+1]) && (i == 0 || s[i-1] == ' ' || s[i-1] == '(') {
				put(i, 1, "−")
			}
		case ' ':
			left, right := s[:i], s[i+1:]
			switch {
			case strings.HasPrefix(right, "= ") && endsInSymbol(left):
				equals = i + 2
				put(i, 1, noBreak)
			case i == equals && endsInSymbol(right[:min(1, len(right))]) && strings.HasPrefix(right[min(1, len(right)):], " "):
				put(i, 1, noBreak)
				product = i + 2 // “U = k u”: the factors keep together
			case i == equals, i == product,
				endsInSign(left) && right != "" && digit(right[0]),
				strings.HasPrefix(right, "±") && endsInNumber(left),
				endsInNumber(left) && unitWord(right):
				put(i, 1, noBreak)
			}
		}
	}
	if from == 0 {
		return s
	}
	return string(append(out, s[from:]...))
}

// numeric reports whether a text holds a digit or an equals sign.
func numeric(s string) bool {
	for i := range len(s) {
		if digit(s[i]) || s[i] == '=' {
			return true
		}
	}
	return false
}

// endsInNumber reports whether a text ends in a digit, or in the bracket after
// one.
func endsInNumber(s string) bool {
	s = strings.TrimSuffix(s, ")")
	return s != "" && digit(s[len(s)-1])
}

// endsInSign reports whether a text ends in a sign that a number follows.
func endsInSign(s string) bool {
	return strings.HasSuffix(s, "±") || strings.HasSuffix(s, "≤") || strings.HasSuffix(s, "≥")
}

// endsInSymbol reports whether a text ends in a word of one letter.
func endsInSymbol(s string) bool {
	r, n := utf8.DecodeLastRuneInString(s)
	if !unicode.IsLetter(r) {
		return false
	}
	before, _ := utf8.DecodeLastRuneInString(s[:len(s)-n])
	return len(s) == n || before == ' ' || before == '(' || before == '\u00a0'
}

// longestUnit is longer than any symbol of a unit.
const longestUnit = 12

// unitWord reports whether a text begins with the symbol of a unit.
func unitWord(s string) bool {
	end := strings.IndexAny(s, " ,;:()&\n\u00a0")
	if end < 0 {
		end = len(s)
	}
	word := strings.TrimRight(s[:end], ".")
	if word == "" || len(word) > longestUnit || word == "in" {
		return false
	}
	if word == "%" {
		return true
	}
	return unit.Known(word)
}
