package quantity

import "strings"

// cutPower cuts a typed number at its exponent. Where there is none, the
// mantissa is the whole text.
func cutPower(text string) (mantissa, exp string) {
	for _, mark := range [...]string{"e", "E", "×10^"} {
		if m, e, ok := strings.Cut(text, mark); ok {
			return m, e
		}
	}
	return text, ""
}

// cutTypedSign returns a sign as "-" or "" and the rest.
func cutTypedSign(s string) (sign, rest string) {
	for _, minus := range [...]string{"-", "−"} {
		if rest, ok := strings.CutPrefix(s, minus); ok {
			return "-", rest
		}
	}
	return "", strings.TrimPrefix(s, "+")
}

// isDecimal reports whether s is digits ["." digits].
func isDecimal(s string) bool {
	whole, fraction, point := strings.Cut(s, ".")
	return isDigits(whole) && (!point || isDigits(fraction))
}

func isDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

func isZero(s string) bool { return strings.Trim(s, "0.") == "" }
