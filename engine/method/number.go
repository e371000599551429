package method

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/unit"
)

// numberText writes a value in a unit as an instrument of that resolution
// shows it: with the decimals of the resolution. A resolution of 0 writes all
// digits but those that the conversion adds.
func numberText(v float64, u unit.Unit, resolution float64) string {
	x := u.FromSI(v)
	if resolution > 0 {
		return fixed(x, decimals(u.Difference().FromSI(resolution)))
	}
	text := strconv.FormatFloat(x, 'g', 12, 64)
	short, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return text
	}
	text = strconv.FormatFloat(short, 'f', -1, 64)
	if len(text) > 20 {
		text = strconv.FormatFloat(short, 'g', -1, 64)
	}
	return text
}

// fixed writes a number with a fixed count of decimals; a zero has no sign.
func fixed(x float64, places int) string {
	text := strconv.FormatFloat(x, 'f', places, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// decimals counts the decimals of a resolution: 2 for 0.01, 1 for 0.5.
func decimals(resolution float64) int {
	const most = 9
	for n := range most {
		x := resolution * math.Pow(10, float64(n))
		if math.Abs(x-math.RoundToEven(x)) < 1e-6*x {
			return n
		}
	}
	return most
}
