package formula

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

type kind int

const (
	tEnd    kind = iota
	tName        // dotted or not, or a reserved word; text is canonical
	tNumber      // num is set
	tOp          // text is the operator as we write it, whatever was typed
	tPower       // superscript digits; text is a whole number
	tQuoted      // text is what stands between the quotes
)

// token is a piece of the text; start and end are byte offsets in it.
type token struct {
	kind       kind
	start, end int
	text       string
	num        Number
	spaced     bool // of a number: its exponent was typed with spaces, 3 × 10^4
}

func (t token) is(op string) bool  { return t.kind == tOp && t.text == op }
func (t token) word(w string) bool { return t.kind == tName && t.text == w }

// reserved are the words that cannot be names.
var reserved = map[string]bool{"in": true, "as": true, "and": true, "or": true, "not": true, "if": true, "pi": true}

// scanner reads tokens from one stretch of a file. It keeps no place of its
// own, because what a word means depends on what stands before it: after a
// number the parser asks for a unit, elsewhere for a token.
type scanner struct {
	span     source.Span
	text     string
	set      *finding.Set
	comments bool // # begins a comment
}

// bail is what the parser panics with to leave an expression; it alone is
// recovered.
type bail struct{}

func (s *scanner) at(i, j int) source.Span { return s.span.Sub(i, j) }

// fail reports a finding and leaves the expression.
func (s *scanner) fail(f *finding.Finding) {
	s.set.Add(f)
	panic(bail{})
}

func (s *scanner) rune(i int) (rune, int) {
	if i >= len(s.text) {
		return -1, 0
	}
	if c := s.text[i]; c < utf8.RuneSelf {
		return rune(c), 1
	}
	return utf8.DecodeRuneInString(s.text[i:])
}

// blank returns the offset behind spaces, the end of the line excepted.
func (s *scanner) blank(i int) int {
	for {
		r, n := s.rune(i)
		if r == '\n' || r == -1 || !unicode.IsSpace(r) {
			return i
		}
		i += n
	}
}

// skip returns the offset behind spaces, line ends and comments.
func (s *scanner) skip(i int) int {
	for {
		r, n := s.rune(i)
		switch {
		case r == '#' && s.comments:
			j := strings.IndexByte(s.text[i:], '\n')
			if j < 0 {
				return len(s.text)
			}
			i += j
		case r == -1 || !unicode.IsSpace(r):
			return i
		default:
			i += n
		}
	}
}

// oneRune are the operators of one character and how we write them.
var oneRune = map[rune]string{
	'+': "+", '-': "-", '−': "-", '*': "*", '×': "*", '·': "*", '⋅': "*", '/': "/", '^': "^",
	'(': "(", ')': ")", ',': ",", '|': "|", ':': ":", '@': "@", '#': "#", '±': "±", '√': "√",
	'<': "<", '>': ">", '=': "=", '≤': "<=", '≥': ">=", '≠': "!=",
}

// foreign are operators of other places, with ours.
var foreign = []struct{ theirs, ours string }{
	{"**", "^"}, {"&&", "and"}, {"||", "or"}, {"<>", "!="}, {"=<", "<="}, {"=>", ">="}, {"//", "/"}, {":=", "="},
	{"+-", "± or +/- (or + - with a space, to add a negative number)"}, {"+−", "± or +/- (or + − with a space, to add a negative number)"},
}

// scan reads the token at or after an offset.
func (s *scanner) scan(i int) token {
	i = s.skip(i)
	r, n := s.rune(i)
	switch {
	case r == -1:
		return token{kind: tEnd, start: i, end: i}
	case isDigit(r):
		return s.number(i)
	case isLetter(r):
		return s.name(i)
	case r == '"':
		return s.quoted(i)
	}
	if p, j := s.superscript(i); p != "" {
		return token{kind: tPower, start: i, end: j, text: p}
	}
	rest := s.text[i:]
	for _, two := range []string{"==", "!=", "<=", ">="} {
		if strings.HasPrefix(rest, two) {
			return token{kind: tOp, start: i, end: i + 2, text: two}
		}
	}
	if strings.HasPrefix(rest, "+/-") {
		return token{kind: tOp, start: i, end: i + 3, text: "±"}
	}
	for _, f := range foreign {
		if strings.HasPrefix(rest, f.theirs) {
			s.fail(operatorSpelling(s.at(i, i+len(f.theirs)), f.theirs, f.ours))
		}
	}
	if op := oneRune[r]; op != "" {
		return token{kind: tOp, start: i, end: i + n, text: op}
	}
	if d, _ := s.rune(i + 1); r == '.' && isDigit(d) {
		j := s.digits(i + 1)
		s.fail(numberPoint(s.at(i, j), s.text[i:j], "0"+s.text[i:j]))
	}
	s.fail(character(s.at(i, i+n), r, s.text[i:i+n]))
	panic("unreachable")
}

// name reads a dotted name: each part a letter followed by letters, digits
// and _.
func (s *scanner) name(i int) token {
	j := s.wordEnd(i)
	for {
		r, _ := s.rune(j)
		if r != '.' {
			break
		}
		if l, _ := s.rune(j + 1); !isLetter(l) {
			s.fail(nameDot(s.at(i, j+1), s.text[i:j]))
		}
		j = s.wordEnd(j + 1)
	}
	text := s.canonical(i, j)
	if text == "π" {
		text = "pi"
	}
	return token{kind: tName, start: i, end: j, text: text}
}

// wordEnd returns the offset behind the word that begins at i.
func (s *scanner) wordEnd(i int) int {
	for {
		r, n := s.rune(i)
		if !isLetter(r) && !unicode.IsMark(r) && r != '_' && !(unicode.IsDigit(r) && !wide(r)) {
			return i
		}
		i += n
	}
}

// canonical returns a name or unit in NFC with μ for µ.
func (s *scanner) canonical(i, j int) string {
	text := s.text[i:j]
	ascii := true
	for k := 0; k < len(text) && ascii; k++ {
		ascii = text[k] < utf8.RuneSelf
	}
	if ascii {
		return text
	}
	text = strings.ReplaceAll(norm.NFC.String(text), "µ", "μ")
	for _, r := range text {
		if unicode.IsMark(r) {
			s.fail(nameMark(s.at(i, j), text))
		}
	}
	return text
}

func (s *scanner) quoted(i int) token {
	j := strings.IndexAny(s.text[i+1:], "\"\n")
	if j < 0 || s.text[i+1+j] == '\n' {
		s.fail(quoteOpen(s.at(i, i+1)))
	}
	return token{kind: tQuoted, start: i, end: i + j + 2, text: s.text[i+1 : i+1+j]}
}

// superscript reads a whole number in superscripts.
func (s *scanner) superscript(i int) (text string, end int) {
	var b strings.Builder
	for j := i; ; {
		r, n := s.rune(j)
		d := strings.IndexRune("⁰¹²³⁴⁵⁶⁷⁸⁹", r)
		switch {
		case r == '⁻' && j == i:
			b.WriteByte('-')
		case r == '⁺' && j == i:
		case r >= 0 && r != utf8.RuneError && d >= 0:
			b.WriteByte(byte('0' + utf8.RuneCountInString("⁰¹²³⁴⁵⁶⁷⁸⁹"[:d])))
		default:
			if t := b.String(); t != "" && t != "-" {
				return t, j
			}
			return "", i
		}
		j += n
	}
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// wide reports whether a character is of the full-width forms, which look
// like the usual ones and are refused with a hint.
func wide(r rune) bool { return 0xff00 <= r && r <= 0xffef }

// isLetter reports whether a name may begin with the character. The ordinal
// signs are letters to Unicode, but are typed for a degree sign.
func isLetter(r rune) bool {
	if r < utf8.RuneSelf {
		return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z'
	}
	return r != 'º' && r != 'ª' && !wide(r) && unicode.IsLetter(r)
}
