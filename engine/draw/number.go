package draw

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/view"
)

const (
	minus = "−"      // U+2212
	thin  = "\u2009" // between groups of three digits (SI Brochure 5.4.4)
)

// tickNumber prints n × 10^exp, exactly: exp ≤ 0 is the number of decimals.
// wide groups the whole digits though there be no more than four, as other
// numbers of the same axis need it.
func tickNumber(n int64, exp int, comma, wide bool) string {
	sign := ""
	if n < 0 {
		sign, n = minus, -n
	}
	digits := strconv.FormatInt(n, 10)
	if n != 0 && exp > 0 {
		digits += strings.Repeat("0", exp)
	}
	decimals := max(0, -exp)
	if short := decimals + 1 - len(digits); short > 0 {
		digits = strings.Repeat("0", short) + digits
	}
	whole, part := digits[:len(digits)-decimals], digits[len(digits)-decimals:]
	if wide || len(whole) > 4 {
		whole = groupWhole(whole)
	}
	if part == "" {
		return sign + whole
	}
	mark := "."
	if comma {
		mark = ","
	}
	if len(part) > 4 {
		part = groupPart(part)
	}
	return sign + whole + mark + part
}

func groupWhole(s string) string {
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + thin + s[i:]
	}
	return s
}

func groupPart(s string) string {
	var b strings.Builder
	for len(s) > 3 {
		b.WriteString(s[:3] + thin)
		s = s[3:]
	}
	return b.String() + s
}

// typeset gives the numbers in a printed text their minus signs and, if wanted,
// their decimal commas.
func typeset(s string, comma bool) string {
	if !strings.ContainsAny(s, "-.") {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		digit := i+1 < len(s) && s[i+1] >= '0' && s[i+1] <= '9'
		switch {
		case s[i] == '-' && digit && (i == 0 || strings.IndexByte(" (=^e/", s[i-1]) >= 0):
			b.WriteString(minus)
		case s[i] == '.' && comma && digit && i > 0 && s[i-1] >= '0' && s[i-1] <= '9':
			b.WriteByte(',')
		default:
			b.WriteByte(s[i])
		}
	}
	return b.String()
}

// scripts splits s at its powers, "m s^-2", into runs. A `_` after a single
// letter begins a subscript where subs is true.
func scripts(s string, subs bool) []run {
	var runs []run
	at := 0
	for i := 0; i < len(s); i++ {
		end, script := i, 0
		switch {
		case s[i] == '^' && i > 0:
			end, script = powerEnd(s, i+1), 1
		case s[i] == '_' && subs && symbolBefore(s, i):
			end, script = wordEnd(s, i+1), -1
		}
		if script == 0 || end == i+1 {
			continue
		}
		runs = append(runs, run{text: s[at:i]}, run{text: strings.Replace(s[i+1:end], "-", minus, 1), script: script})
		at, i = end, end-1
	}
	if at < len(s) {
		runs = append(runs, run{text: s[at:]})
	}
	return runs
}

// powerEnd returns where the whole number that begins at i ends; i if none does.
func powerEnd(s string, i int) int {
	end := i
	if end < len(s) && s[end] == '-' {
		end++
	}
	first := end
	for end < len(s) && s[end] >= '0' && s[end] <= '9' {
		end++
	}
	if end == first {
		return i
	}
	return end
}

func wordEnd(s string, i int) int {
	for i < len(s) {
		r, n := utf8.DecodeRuneInString(s[i:])
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			break
		}
		i += n
	}
	return i
}

// symbolBefore reports whether a single letter ends at i.
func symbolBefore(s string, i int) bool {
	last, n := utf8.DecodeLastRuneInString(s[:i])
	before, _ := utf8.DecodeLastRuneInString(s[:i-n])
	return unicode.IsLetter(last) && (i == n || !unicode.IsLetter(before) || before == 'Δ')
}

// quantityRuns sets the name of a quantity. A symbol of one letter is italic;
// words, and with them everything, are upright (SI Brochure 5.4.1, ISO 80000-1).
func quantityRuns(s string) []run {
	s = oneLine(s)
	runs := scripts(s, true)
	for _, r := range runs {
		if r.script >= 0 && hasWord(r.text) {
			return runs
		}
	}
	var out []run
	for _, r := range runs {
		if r.script != 0 {
			out = append(out, r)
			continue
		}
		out = append(out, letters(r.text)...)
	}
	return out
}

// hasWord reports whether s holds two letters in a row, but for a difference
// such as ΔL.
func hasWord(s string) bool {
	before := ' '
	for _, r := range s {
		if unicode.IsLetter(before) && unicode.IsLetter(r) && before != 'Δ' {
			return true
		}
		before = r
	}
	return false
}

// letters splits s into its letters, italic, and the rest.
func letters(s string) []run {
	var out []run
	for _, r := range s {
		italic := unicode.IsLetter(r) && r != 'Δ'
		if n := len(out); n > 0 && out[n-1].italic == italic {
			out[n-1].text += string(r)
			continue
		}
		out = append(out, run{text: string(r), italic: italic})
	}
	return out
}

// axisLabel sets quantity divided by unit, the unit multiplied by 10^exp.
func axisLabel(a view.Axis, exp int) label {
	l, _ := fitAxis(a, exp, math.Inf(1))
	return l
}

// fitAxis sets the label of an axis in the given room. If it is too long the
// name is cut short, never the unit; cut reports that.
func fitAxis(a view.Axis, exp int, room float64) (l label, cut bool) {
	tail := label{runs: divisor(oneLine(a.Unit), exp), size: labelSize}
	name := label{runs: quantityRuns(a.Quantity), size: labelSize}
	if len(name.runs) == 0 && len(tail.runs) > 0 {
		name.runs = []run{{text: "value"}}
	}
	tail, cutTail := tail.fit(math.Max(room/2, room-name.px()))
	if name.px()+tail.px() > room || runes(name.runs) > longest {
		name, cut = name.fit(room - tail.px())
	}
	runs := append(isolated(name.runs), tail.runs...)
	return label{runs: joined(runs), size: labelSize}, cut || cutTail
}

// divisor sets " / " and the unit multiplied by 10^exp: nothing for a pure number.
func divisor(unit string, exp int) []run {
	if unit == "1" {
		unit = ""
	}
	var runs []run
	if exp != 0 {
		runs = scripts("10^"+strconv.Itoa(exp), false)
	}
	brackets := len(runs) > 0 && unit != "" || strings.Contains(unit, "/")
	if len(runs) > 0 && unit != "" {
		runs = append(runs, run{text: " "})
	}
	runs = append(runs, scripts(unit, false)...)
	if brackets {
		runs = append(append([]run{{text: "("}}, runs...), run{text: ")"})
	}
	if len(runs) == 0 {
		return nil
	}
	return joined(append([]run{{text: " / "}}, runs...))
}

func runes(runs []run) int {
	n := 0
	for _, r := range runs {
		n += utf8.RuneCountInString(r.text)
	}
	return n
}

// isolated keeps a name that is written from right to left from turning round
// the unit behind it.
func isolated(runs []run) []run {
	for _, r := range runs {
		if strings.ContainsFunc(r.text, func(c rune) bool {
			return unicode.In(c, unicode.Hebrew, unicode.Arabic, unicode.Syriac, unicode.Thaana, unicode.Nko)
		}) {
			return append(append([]run{{text: "\u2068"}}, runs...), run{text: "\u2069"})
		}
	}
	return runs
}

// joined returns runs with neighbours of the same look made one.
func joined(runs []run) []run {
	var out []run
	for _, r := range runs {
		if n := len(out); n > 0 && out[n-1].italic == r.italic && out[n-1].script == r.script {
			out[n-1].text += r.text
			continue
		}
		if r.text != "" {
			out = append(out, r)
		}
	}
	return out
}

// dimension sets the label of a leg of the slope triangle of length v, "1.50 kg m^2"
// or "3.55 × 10^-3 kg m^2": in the unit of its axis and the power of ten that
// stands there. Nothing is set where it has no figures.
func (g *graph) dimension(v float64, unit string, s scale) label {
	if g.fig.Triangle.Figures < 1 {
		return label{}
	}
	mantissa, power, _ := strings.Cut(strconv.FormatFloat(v, 'e', min(g.fig.Triangle.Figures, 15)-1, 64), "e")
	whole, part, _ := strings.Cut(mantissa, ".")
	n, _ := strconv.ParseInt(whole+part, 10, 64)
	exp, _ := strconv.Atoi(power)
	f := s.factor()
	text := tickNumber(n, exp-len(part)-f, g.comma, false)
	if f != 0 {
		text += " × 10^" + strconv.Itoa(f)
	}
	return label{runs: joined(scripts(text+unitAfter(unit), false)), size: labelSize}
}

var superscripts = strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴",
	"5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")

// inline prints powers in a text that has no markup.
func inline(s string) string {
	var b strings.Builder
	for _, r := range scripts(s, false) {
		if r.script > 0 {
			r.text = superscripts.Replace(strings.Replace(r.text, minus, "-", 1))
		}
		b.WriteString(r.text)
	}
	return b.String()
}

// reading prints one coordinate of a point that has no note of its own.
func reading(a view.Axis, name string, v float64, comma bool) string {
	s := named(a, name) + " = " + typeset(strconv.FormatFloat(v, 'g', 6, 64), comma)
	if a.Unit != "" && a.Unit != "1" {
		s += " " + inline(oneLine(a.Unit))
	}
	return s
}
