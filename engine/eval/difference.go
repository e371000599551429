package eval

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

var kelvin = unit.MustParse("K")

// differenceOf returns the unit in which a difference of two quantities is
// shown: their own, but kelvins for temperatures, so that 30 °C − 20 °C is not
// taken for a temperature of 10 °C, nor 20 °C − 5 K for 288.15 °C.
func differenceOf(u unit.Unit) unit.Unit {
	if u.IsTemperature() {
		return kelvin
	}
	return u
}

// DifferenceInCelsius: `dT = 30 °C - 20 °C in °C`, which would be −263.15 °C.
func DifferenceInCelsius(at source.Span) *finding.Finding {
	return errorAt(at, "difference-in-celsius", "a difference of two temperatures cannot be shown in °C: that would make a temperature of it", "write `in K`")
}
