package formula

import (
	"math"
	"strconv"
	"strings"
)

// digits returns the offset behind the digits at i.
func (s *scanner) digits(i int) int {
	for i < len(s.text) && isDigit(rune(s.text[i])) {
		i++
	}
	return i
}

// digitAt reports whether a digit stands at i.
func (s *scanner) digitAt(i int) bool { return i < len(s.text) && isDigit(rune(s.text[i])) }

// number reads a number.
//
//	number = digits["."digits]["("digits["."digits]")"][("e"|"×10^")int]
func (s *scanner) number(i int) token {
	j := s.digits(i)
	if j < len(s.text) && s.text[j] == '.' {
		if !s.digitAt(j + 1) {
			s.fail(numberPoint(s.at(i, j+1), s.text[i:j+1], s.text[i:j]))
		}
		j = s.digits(j + 1)
		if j < len(s.text) && s.text[j] == '.' {
			k := s.digits(j + 1)
			s.fail(numberPoint(s.at(i, k), s.text[i:k], ""))
		}
	}
	text := s.text[i:j]
	paren, j := s.concise(j)
	exp, k, spaced := s.exponent(j)
	if exp != "" {
		text += "e" + exp
		j = k
	}
	n := Number{At: s.at(i, j), Text: text, Paren: paren}
	s.checkRange(n)
	return token{kind: tNumber, start: i, end: j, num: n, spaced: spaced}
}

// concise reads the bracketed digits of 2.9140(6), which stand directly
// behind the number and hold nothing else.
func (s *scanner) concise(i int) (digits string, end int) {
	if i >= len(s.text) || s.text[i] != '(' || !s.digitAt(i+1) {
		return "", i
	}
	j := s.digits(i + 1)
	if j < len(s.text) && s.text[j] == '.' && s.digitAt(j+1) {
		j = s.digits(j + 1)
	}
	if j >= len(s.text) || s.text[j] != ')' {
		return "", i
	}
	return s.text[i+1 : j], j + 1
}

// exponent reads e11 or ×10^11 (spaces allowed before and behind the ×),
// also with superscripts. Where a further power or a decimal point follows,
// 3 × 10^4 is a product, which the scanner leaves to the parser.
func (s *scanner) exponent(i int) (exp string, end int, spaced bool) {
	r, n := s.rune(i)
	if r == 'e' || r == 'E' {
		if exp, end := s.whole(i + n); exp != "" {
			return exp, end, false
		}
		return "", i, false
	}
	j := s.blank(i)
	r, n = s.rune(j)
	if r != '×' {
		return "", i, false
	}
	k := s.blank(j + n)
	spaced = j > i || k > j+n
	if !strings.HasPrefix(s.text[k:], "10") {
		return "", i, false
	}
	k += 2
	if k < len(s.text) && s.text[k] == '^' {
		exp, end = s.whole(k + 1)
	} else {
		exp, end = s.superscript(k)
	}
	if exp == "" {
		return "", i, false
	}
	if p, _ := s.superscript(end); p != "" || s.pointAt(end) || strings.HasPrefix(s.text[s.blank(end):], "^") {
		return "", i, false
	}
	return exp, end, spaced
}

func (s *scanner) pointAt(i int) bool { return i < len(s.text) && s.text[i] == '.' && s.digitAt(i+1) }

// whole reads a whole number with an optional sign, without the plus.
func (s *scanner) whole(i int) (text string, end int) {
	sign := ""
	switch r, n := s.rune(i); r {
	case '-', '−':
		sign = "-"
		i += n
	case '+':
		i += n
	}
	j := s.digits(i)
	if j == i {
		return "", i
	}
	return sign + s.text[i:j], j
}

// smallestNormal is the least number that a float64 holds with all its digits.
const smallestNormal = 0x1p-1022

// checkRange refuses a number that a float64 cannot hold.
func (s *scanner) checkRange(n Number) {
	v, err := strconv.ParseFloat(n.Text, 64)
	mantissa, _, _ := strings.Cut(n.Text, "e")
	lost := math.Abs(v) < smallestNormal && strings.Trim(mantissa, "0.") != ""
	if err != nil || math.IsInf(v, 0) || lost {
		s.fail(numberRange(n.At, n.At.Text()))
	}
}
