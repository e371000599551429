package block

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"
	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// CheckProse looks for typed numbers that have gone stale: `NAME = number
// unit` in the record's prose of which the number differs from the computed
// NAME, rounded to the number's own decimals. Comma reads a decimal comma.
func (p *Program) CheckProse(comma bool) {
	_ = ast.Walk(p.Record.Doc.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering && n.Type() == ast.TypeBlock && n.FirstChild() != nil && n.FirstChild().Type() == ast.TypeInline {
			line := &proseLine{}
			line.gather(n, p.Record.File)
			p.checkLine(line, comma)
		}
		return ast.WalkContinue, nil
	})
}

// proseLine is the text of a paragraph, a heading or a table cell as it is
// read, with the place of each byte in the file. Code, mathematics, pictures
// and inline values stand as one NUL byte: no assertion reaches across them.
type proseLine struct {
	file *source.File
	text []byte
	at   []int
}

func (l *proseLine) gather(n ast.Node, f *source.File) {
	l.file = f
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *ast.Text:
			for i := c.Segment.Start; i < c.Segment.Stop; i++ {
				if f.Text[i] == '\\' && i+1 < c.Segment.Stop && util.IsPunct(f.Text[i+1]) {
					i++ // the tree keeps escapes as they were typed
				}
				l.add(f.Text[i], i)
			}
			if c.SoftLineBreak() || c.HardLineBreak() {
				l.add(' ', c.Segment.Stop)
			}
		case *ast.Emphasis, *ast.Link:
			l.gather(c, f)
		default:
			l.add(0, 0)
		}
	}
}

func (l *proseLine) add(c byte, at int) {
	l.text = append(l.text, c)
	l.at = append(l.at, at)
}

// span is the place in the file of the bytes from i up to j, j > i.
func (l *proseLine) span(i, j int) source.Span { return l.file.Span(l.at[i], l.at[j-1]+1) }

// assertion finds `NAME = number`. What may not stand before and behind is
// looked at apart.
var assertion = sync.OnceValue(func() *regexp.Regexp {
	return regexp.MustCompile(`(\pL[\pL\p{Mn}\d_]*(?:\.\pL[\pL\p{Mn}\d_]*)*)\s*=\s*([-−]?\d+(?:[.,]\d+)?)(?:\(\d+(?:\.\d+)?\))?([eE][-−+]?\d+|\s?[×·]\s?10(?:\^[-−+]?\d+|[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+))?`)
})

func (p *Program) checkLine(l *proseLine, comma bool) {
	if bytes.IndexByte(l.text, '=') < 0 {
		return // most lines: the search is not cheap
	}
	for _, m := range assertion().FindAllSubmatchIndex(l.text, -1) {
		if before, _ := utf8.DecodeLastRune(l.text[:m[0]]); m[0] > 0 && (isWordRune(before) || strings.ContainsRune(`.\/^*·×@`, before)) {
			continue
		}
		typed, ok := typedNumber(string(l.text[m[4]:m[5]]), comma)
		if !ok {
			continue
		}
		if m[6] >= 0 {
			typed += "e" + plainExponent(string(l.text[m[6]:m[7]]))
		}
		rest := l.text[m[1]:]
		name := norm.NFC.String(string(l.text[m[2]:m[3]]))
		if v, ok := p.scalar(name); ok && endsNumber(rest) {
			p.checkTyped(l, name, typed, v, m[4], m[1], string(rest))
		}
	}
}

func isWordRune(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' || unicode.Is(unicode.Mn, r)
}

// typedNumber brings a number to a point and a hyphen. A comma in a number of
// a record that has decimal points is no number that can be judged.
func typedNumber(s string, comma bool) (string, bool) {
	s = strings.Replace(s, "−", "-", 1)
	switch {
	case strings.Contains(s, ",") && !comma:
		return "", false
	case strings.Contains(s, ".") && comma && len(s)-strings.IndexByte(s, '.') == 4:
		return "", false // 1.234 groups thousands there
	}
	return strings.Replace(s, ",", ".", 1), true
}

var exponentDigits = strings.NewReplacer("⁰", "0", "¹", "1", "²", "2", "³", "3", "⁴", "4", "⁵", "5", "⁶", "6", "⁷", "7", "⁸", "8", "⁹", "9", "⁻", "-", "⁺", "", "+", "", "−", "-")

// plainExponent returns the exponent of e11, ×10^11, ×10¹¹.
func plainExponent(s string) string {
	if rest, ok := strings.CutPrefix(strings.TrimLeft(s, " ×·"), "10"); ok && !strings.HasPrefix(s, "e") && !strings.HasPrefix(s, "E") {
		s = strings.TrimPrefix(rest, "^")
	} else {
		s = s[1:]
	}
	return exponentDigits.Replace(s)
}

// endsNumber reports whether the number is over where its text ends: not one
// of a range, a date, a group of digits or a sum.
func endsNumber(rest []byte) bool {
	t := strings.TrimLeft(string(rest), " \u00a0\u2009\u202f")
	if t == "" {
		return true
	}
	r, n := utf8.DecodeRuneInString(t)
	next, _ := utf8.DecodeRuneInString(strings.TrimLeft(t[n:], " "))
	switch {
	case unicode.IsDigit(r):
		return false
	case strings.ContainsRune("-–—−+*/·×^,.:", r):
		return !(unicode.IsDigit(next) || next == '(')
	}
	return true
}

// scalar returns the value of a name of the record.
func (p *Program) scalar(name string) (eval.Scalar, bool) {
	d, rest := p.find(name, p.Root)
	if d == nil {
		return eval.Scalar{}, false
	}
	v := d.value
	for _, field := range rest {
		in, ok := eval.Field(v, field)
		if !ok {
			return eval.Scalar{}, false
		}
		v = in
	}
	s, ok := v.(eval.Scalar)
	return s, ok
}

// checkTyped compares a typed number, from byte i up to j of the line, with
// the value. Without a unit of the value's dimension behind it the text may
// well speak of something else.
func (p *Program) checkTyped(l *proseLine, name, typed string, v eval.Scalar, i, j int, rest string) {
	un, length, ok := unitAhead(rest, v.Q.Dim())
	if !ok || operation().MatchString(rest[length:]) || Agrees(typed, v.Q.Value(), un) {
		return
	}
	at := l.span(i, j+length)
	shown := p.Settings.Display(eval.Scalar{Q: v.Q, Unit: &un}, quantity.Auto, 0).String()
	p.Set.Add(staleNumber(at, name, strings.Join(strings.Fields(string(l.text[i:j+length])), " "), shown, quantity.RoundIn(v.Q.Value(), un, Places(typed)), un))
}

// operation is what makes a quantity the first operand of something.
var operation = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^\s*[+*/·×]\s*[\d(]`) })

// maxUnitWords bounds the words that are tried as a unit.
const maxUnitWords = 5

// unitAhead returns the longest unit of a dimension that stands at the
// beginning of a text, and its length with the space before it. A pure number
// may have none.
func unitAhead(text string, d unit.Dim) (unit.Unit, int, bool) {
	start := len(text) - len(strings.TrimLeft(text, " \u00a0\u2009\u202f"))
	var ends []int
	for i := start; i < len(text) && len(ends) < maxUnitWords; {
		k := strings.IndexAny(text[i:], " \u00a0\u2009\u202f\x00")
		if k < 0 {
			k = len(text) - i
		}
		word := text[i : i+k]
		trimmed := strings.TrimRight(word, ".,;:!?)]}»”’\"'…")
		if trimmed == "" {
			break
		}
		ends = append(ends, i+len(trimmed))
		if len(trimmed) < len(word) || i+k >= len(text) || text[i+k] == 0 {
			break
		}
		_, size := utf8.DecodeRuneInString(text[i+k:])
		i += k + size
	}
	for k := len(ends) - 1; k >= 0; k-- {
		if u, err := unit.Parse(text[start:ends[k]]); err == nil && u.Dim() == d {
			return u, ends[k], true
		}
	}
	first, _ := utf8.DecodeRuneInString(text)
	return unit.Unit{}, 0, d.IsOne() && !isWordRune(first) && first != '%'
}

// staleNumber: “E = 197 GPa” in prose where 187 GPa is computed.
func staleNumber(at source.Span, name, typed, computed, rounded string, un unit.Unit) *finding.Finding {
	write := name
	if !un.IsOne() {
		write += " in " + un.String()
	}
	return &finding.Finding{Severity: finding.Caution, Slug: "stale-number", At: at,
		Message: fmt.Sprintf("the text says `%s` = %s, the data give %s (rounded alike: %s)", name, typed, computed, rounded),
		Hint:    fmt.Sprintf("write `=[%s]` in its place, which can't go stale", write)}
}
