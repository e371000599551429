package tex

import "unicode/utf8"

// kind is the kind of a token.
type kind int

const (
	end     kind = iota
	char         // one character that stands for itself
	command      // \name, \, or \\ without the backslash
	opening      // {
	closing      // }
	sup          // ^
	sub          // _
	amp          // &
	prime        // '
)

// token is a piece of TeX between two byte offsets of the text.
type token struct {
	kind       kind
	text       string
	start, end int
}

// is reports whether t is the command of the given name.
func (t token) is(name string) bool { return t.kind == command && t.text == name }

var marks = map[byte]kind{'{': opening, '}': closing, '^': sup, '_': sub, '&': amp, '\'': prime}

// scan returns the token that begins at or after byte i of the text, spaces
// skipped.
func scan(src string, i int) token {
	i = skipSpace(src, i)
	if i >= len(src) {
		return token{kind: end, start: len(src), end: len(src)}
	}
	if k, ok := marks[src[i]]; ok {
		return token{k, src[i : i+1], i, i + 1}
	}
	if src[i] == '\\' && i+1 < len(src) {
		j := i + 1
		for j < len(src) && letter(src[j]) {
			j++
		}
		if j == i+1 {
			_, n := utf8.DecodeRuneInString(src[j:])
			j += n
		}
		return token{command, src[i+1 : j], i, j}
	}
	_, n := utf8.DecodeRuneInString(src[i:])
	return token{char, src[i : i+n], i, i + n}
}

// skipSpace returns the offset of the first byte at or after i that is no
// white space.
func skipSpace(src string, i int) int {
	for i < len(src) && blank(src[i]) {
		i++
	}
	return i
}

// closingBrace returns the offset of the brace that closes the one before
// byte i, or -1.
func closingBrace(src string, i int) int {
	depth := 0
	for ; i < len(src); i++ {
		switch src[i] {
		case '\\':
			i++
		case '{':
			depth++
		case '}':
			if depth == 0 {
				return i
			}
			depth--
		}
	}
	return -1
}

func letter(c byte) bool { return 'a' <= c|0x20 && c|0x20 <= 'z' }
func digit(c byte) bool  { return '0' <= c && c <= '9' }
func blank(c byte) bool  { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }
