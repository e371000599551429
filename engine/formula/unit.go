package formula

import (
	"strings"

	"example.org/taut/engine/internal/near"
)

// place says where a unit is read, which decides what ends it.
type place int

const (
	afterNumber place = iota
	afterLimit        // behind the number of a ±: qualifiers may follow
	afterIn           // behind in, or alone: nothing but a unit can stand there
)

// shapes are the qualifiers that are words; keyed are those that take a value.
var (
	shapes = map[string]bool{"triangular": true, "arcsine": true, "std": true}
	keyed  = map[string]bool{"k": true, "dof": true}
)

// spoken are words that people use for a qualifier, with ours.
var spoken = map[string]string{
	"sd": "std", "se": "std", "sem": "std", "normal": "std", "gaussian": "std", "standard": "std",
	"triangle": "triangular", "rectangular": "", "uniform": "", "limits": "", "expanded": "k=2",
}

// unit reads a unit from offset i on, if one stands there, and returns the
// offset behind it.
//
//	unit = factor {(" "|"·") factor} ["/" factor]    # no space around this "/"
func (s *scanner) unit(i int, where place) (Unit, int) {
	start := s.blank(i)
	text, end, ok := s.factor(start, where)
	if !ok {
		return Unit{}, i
	}
	slash := false
	for {
		sep, next := s.separator(end, where)
		if sep == "" {
			break
		}
		f, k, ok := s.factor(next, where)
		if !ok {
			break
		}
		switch {
		case slash && sep == "/":
			s.fail(unitSlashes(s.at(start, k), s.text[start:k]))
		case slash:
			s.fail(unitAfterSlash(s.at(start, k), s.text[start:k]))
		}
		slash = sep == "/"
		text += sep + f
		end = k
	}
	s.unitBrackets(start, end)
	return Unit{At: s.at(start, end), Text: text}, end
}

// separator finds what joins a factor that ends at offset end with the next:
// " " or "/", or "" for nothing; next is where a factor would begin.
func (s *scanner) separator(end int, where place) (sep string, next int) {
	k := s.blank(end)
	r, n := s.rune(k)
	next = s.blank(k + n)
	left, right := k > end, next > k+n
	switch r {
	case '·', '⋅':
		if f, j, ok := s.factor(next, where); ok {
			if left || right {
				s.set.Add(unitDotSpace(s.at(k, j), f))
			}
			return " ", next
		}
	case '/':
		if !left && !right {
			return "/", next
		}
		f, j, ok := s.factor(next, where)
		switch {
		case !ok:
		case where == afterIn:
			s.fail(unitOperator(s.at(k, k+n), "/", "write m/s without spaces"))
		case left != right:
			s.set.Add(unitSlashSpace(s.at(k, j), f))
		}
	default:
		if left {
			return " ", k
		}
	}
	return "", end
}

// factor reads one factor of a unit with its power. ok is false where none
// stands: at a reserved word, a qualifier, a dotted name or a call.
func (s *scanner) factor(i int, where place) (text string, end int, ok bool) {
	r, n := s.rune(i)
	j := i + n
	switch {
	case r == '°':
		for l, m := s.rune(j); isLetter(l); l, m = s.rune(j) {
			j += m
		}
	case r == '%' || r == '‰' || r == '′' || r == '″':
	case isLetter(r):
		j = s.wordEnd(i)
		if !s.unitWord(i, j, where) {
			return "", i, false
		}
	default:
		return "", i, false
	}
	text = s.canonical(i, j)
	power, end := s.unitPower(i, j)
	if power != "" {
		text += "^" + power
	}
	return text, end, true
}

// unitWord reports whether the word from i to j can be a factor.
func (s *scanner) unitWord(i, j int, where place) bool {
	w := s.canonical(i, j)
	if reserved[w] || w == "π" {
		return false
	}
	if where == afterIn {
		return true
	}
	if shapes[w] {
		return false
	}
	r, _ := s.rune(j)
	l, _ := s.rune(j + 1)
	if r == '(' || r == '.' && isLetter(l) || s.assignAt(j) {
		return false
	}
	if where == afterLimit {
		if keyed[w] {
			s.fail(qualifierValue(s.at(i, j), w, "takes a number, as in "+w+"=2"))
		}
		ours, known := spoken[strings.ToLower(w)]
		if !known && len(w) >= 4 {
			ours = near.Name(w, []string{"triangular", "arcsine", "standard", "rectangular"})
			if o, ok := spoken[ours]; ok {
				ours, known = o, true
			}
			known = known || ours != ""
		}
		if known {
			s.fail(qualifierUnknown(s.at(i, j), w, ours))
		}
	}
	return true
}

// assignAt reports whether a single = follows.
func (s *scanner) assignAt(i int) bool {
	i = s.blank(i)
	return strings.HasPrefix(s.text[i:], "=") && !strings.HasPrefix(s.text[i:], "==")
}

// unitPower reads the power of the factor from i to j.
func (s *scanner) unitPower(i, j int) (power string, end int) {
	if p, k := s.superscript(j); p != "" {
		return p, k
	}
	if j >= len(s.text) || s.text[j] != '^' {
		return "", j
	}
	p, k := s.whole(j + 1)
	if p == "" || s.pointAt(k) {
		s.fail(unitPower(s.at(i, max(k, j+1)), s.text[i:j]))
	}
	return p, k
}

// unitBrackets refuses 4 J/(kg K): behind a unit, /( directly before words
// separated by spaces can only have been meant as a unit.
func (s *scanner) unitBrackets(start, end int) {
	if !strings.HasPrefix(s.text[end:], "/(") {
		return
	}
	i, factors := end+2, 0
	for {
		_, j, ok := s.factor(s.blank(i), afterNumber)
		if !ok {
			break
		}
		if factors > 0 && s.blank(i) == i {
			return
		}
		factors++
		i = j
	}
	i = s.blank(i)
	if factors > 1 && strings.HasPrefix(s.text[i:], ")") {
		s.fail(unitBrackets(s.at(start, i+1), s.text[start:i+1]))
	}
}
