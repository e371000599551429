package tex

import "strings"

// alphabet gives the code points of A, a, the digit zero and Α, α of a
// mathematical alphabet (The Unicode Standard, block 1D400–1D7FF); 0 where it
// has none.
type alphabet struct{ upper, lower, zero, greekUpper, greekLower rune }

var alphabetOf = map[string]alphabet{
	"bold":          {0x1D400, 0x1D41A, 0x1D7CE, 0x1D6A8, 0x1D6C2},
	"italic":        {0x1D434, 0x1D44E, 0, 0x1D6E2, 0x1D6FC},
	"bold-italic":   {0x1D468, 0x1D482, 0x1D7CE, 0x1D71C, 0x1D736},
	"script":        {0x1D49C, 0x1D4B6, 0, 0, 0},
	"fraktur":       {0x1D504, 0x1D51E, 0, 0, 0},
	"double-struck": {0x1D538, 0x1D552, 0x1D7D8, 0, 0},
	"sans-serif":    {0x1D5A0, 0x1D5BA, 0x1D7E2, 0, 0},
	"monospace":     {0x1D670, 0x1D68A, 0x1D7F6, 0, 0},
}

// letterlike holds the letters that were encoded before the block and are left
// out of it.
var letterlike = map[rune]rune{
	0x1D455: 'ℎ', 0x1D49D: 'ℬ', 0x1D4A0: 'ℰ', 0x1D4A1: 'ℱ', 0x1D4A3: 'ℋ', 0x1D4A4: 'ℐ', 0x1D4A7: 'ℒ',
	0x1D4A8: 'ℳ', 0x1D4AD: 'ℛ', 0x1D4BA: 'ℯ', 0x1D4BC: 'ℊ', 0x1D4C4: 'ℴ', 0x1D506: 'ℭ', 0x1D50B: 'ℌ',
	0x1D50C: 'ℑ', 0x1D515: 'ℜ', 0x1D51D: 'ℨ', 0x1D53A: 'ℂ', 0x1D53F: 'ℍ', 0x1D545: 'ℕ', 0x1D547: 'ℙ',
	0x1D548: 'ℚ', 0x1D549: 'ℝ', 0x1D551: 'ℤ',
}

// greekVariants follow ω in each Greek alphabet.
const greekVariants = "∂ϵϑϰϕϱϖ"

// letterforms sets letters and digits in an alphabet; the rest stays. MathML
// Core knows no other way.
func letterforms(style, s string) string {
	a, ok := alphabetOf[style]
	if !ok {
		return s
	}
	return strings.Map(a.form, s)
}

func (a alphabet) form(r rune) rune {
	to := r
	switch {
	case 'A' <= r && r <= 'Z':
		to = a.upper + r - 'A'
	case 'a' <= r && r <= 'z':
		to = a.lower + r - 'a'
	case '0' <= r && r <= '9' && a.zero != 0:
		to = a.zero + r - '0'
	case 'Α' <= r && r <= 'Ω' && a.greekUpper != 0:
		to = a.greekUpper + r - 'Α'
	case 'α' <= r && r <= 'ω' && a.greekLower != 0:
		to = a.greekLower + r - 'α'
	case a.greekLower != 0:
		if i := strings.IndexRune(greekVariants, r); i >= 0 {
			to = a.greekLower + 'ω' - 'α' + 1 + rune(len([]rune(greekVariants[:i])))
		}
	}
	if l, ok := letterlike[to]; ok {
		return l
	}
	return to
}
