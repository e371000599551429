package variant

import (
	"fmt"
	"math"
	"strings"
)

// ownWords names a student's own results.
func ownWords(k *Key, names []string) string {
	if len(names) == 0 {
		return "the own rounded results"
	}
	var out []string
	for _, n := range names {
		out = append(out, "`"+k.short(n)+"`")
	}
	return "the own " + listed(out)
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
}

// slips are the usual ones; powers of ten come apart.
var slips = []slip{
	{-1, "its sign is wrong"},
	{4, "4 times what is right: was a radius taken for a diameter?"},
	{1.0 / 4, "a quarter of what is right: was a diameter taken for a radius?"},
	{2, "twice what is right"},
	{1.0 / 2, "half of what is right"},
	{16, "16 times what is right: was a radius taken for a diameter, to the fourth power?"},
	{1.0 / 16, "a sixteenth of what is right: was a diameter taken for a radius, to the fourth power?"},
	{standardGravity, "9.8 times what is right: was g put in where it does not belong, or twice?"},
	{1 / standardGravity, "what is right, divided by 9.8: was g left out?"},
}

// standardGravity is g_n as a number in m/s² (3rd CGPM, 1901), used to know a
// slip by.
const standardGravity = 9.80665

// surest is the widest share of what is right within which a slip is still
// certain.
const surest = 0.03

// slipWords says by which slip a wrong value came about, where that is certain:
// one and only one of them leads to what is right.
func slipWords(v float64, all ...*expectation) string {
	for _, e := range all {
		if e == nil || e.value() == 0 || v == 0 {
			continue
		}
		near := math.Max(0.001, math.Min(surest, math.Abs(e.large/e.value())))
		if e.large > surest*math.Abs(e.value()) {
			continue
		}
		ratio := v / e.value()
		var found []string
		for _, s := range slips {
			if math.Abs(ratio/s.factor-1) <= near {
				found = append(found, s.words)
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
