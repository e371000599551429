package variant

import (
	"fmt"
	"math"
	"strings"
)

// ownWords names a student's own results.
func ownWords(k *Key, names []string) string {
	if len(names) == 0 {
		return "the student's own rounded results"
	}
	var out []string
	for _, n := range names {
		out = append(out, "`"+k.short(n)+"`")
	}
	return "the student's own " + listed(out)
}

func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// unitWords says what is wrong with the unit of a claim.
func unitWords(c *claim, want *expectation, right bool) string {
	asked := unitName(want.unit)
	var text string
	switch {
	case !c.hasUnit:
		text = "the unit is missing"
	case c.badUnit:
		text = "`" + c.literal.Unit.Text + "` is no unit"
	case asked == "":
		text = "this is a number without a unit"
	case c.unit.Dim() != want.unit.Dim():
		text = "the unit `" + c.unit.String() + "` is that of another quantity"
	default:
		text = "the unit `" + c.unit.String() + "` makes another size of it"
	}
	if asked != "" {
		text += ", `" + asked + "` was expected"
	}
	if right {
		text += "; the number itself is right"
	}
	return text
}

// slip is a factor by which a result is off, and what gives it.
type slip struct {
	factor float64
	words  string
	length bool // a radius for a diameter, or the other way round, can give it
}

// slips are the usual ones; powers of ten come apart.
var slips = []slip{
	{factor: -1, words: "its sign is wrong"},
	{factor: 2, words: "twice what is right", length: true},
	{factor: 1.0 / 2, words: "half of what is right", length: true},
	{factor: 4, words: "4 times what is right", length: true},
	{factor: 1.0 / 4, words: "a quarter of what is right", length: true},
	{factor: 8, words: "8 times what is right", length: true},
	{factor: 1.0 / 8, words: "an eighth of what is right", length: true},
	{factor: 16, words: "16 times what is right", length: true},
	{factor: 1.0 / 16, words: "a sixteenth of what is right", length: true},
	{factor: standardGravity, words: "9.8 times what is right: was g put in where it does not belong, or twice?"},
	{factor: 1 / standardGravity, words: "what is right, divided by 9.8: was g left out?"},
}

// standardGravity is g_n as a number in m/s² (3rd CGPM, 1901), used to know a
// slip by.
const standardGravity = 9.80665

// A slip is told by its factor where the data are known to within roughest;
// within surest of the factor it is certain.
const (
	surest   = 0.06
	roughest = 0.1
)

// slipWords says by which slip a wrong value came about, where that is certain:
// one and only one of them leads to what is right. Length says which length,
// taken twice or half, changes the result by a factor; "" for none.
func slipWords(v float64, length func(factor float64) string, all ...*expectation) string {
	for _, e := range all {
		if e == nil || e.value() == 0 || v == 0 {
			continue
		}
		near := math.Max(0.001, math.Min(surest, math.Abs(e.large/e.value())))
		if e.large > roughest*math.Abs(e.value()) {
			continue
		}
		ratio := v / e.value()
		var found []string
		for _, s := range slips {
			if math.Abs(ratio/s.factor-1) <= near {
				words := s.words
				if s.length {
					words += length(s.factor)
				}
				found = append(found, words)
			}
		}
		if ratio > 0 {
			n := math.Round(math.Log10(ratio))
			if n != 0 && math.Abs(ratio/math.Pow(10, n)-1) <= near {
				found = append(found, tenWords(int(n)))
			}
		}
		if len(found) == 1 {
			return found[0]
		}
	}
	return ""
}

func tenWords(n int) string {
	power := fmt.Sprintf("10^%d", n)
	switch n {
	case 3:
		power = "1000"
	case -3:
		power = "1/1000"
	case 1:
		power = "10"
	case -1:
		power = "1/10"
	}
	return power + " times what is right: a prefix or a power of ten"
}
