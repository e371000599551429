package eval

import "example.org/taut/engine/unit"

var kelvin = mustUnit("K")

// differenceOf returns the unit in which a difference of two quantities is
// shown: their own, but kelvins for temperatures, so that 30 °C − 20 °C is not
// taken for a temperature of 10 °C, nor 20 °C − 5 K for 288.15 °C.
func differenceOf(u unit.Unit) unit.Unit {
	if u.IsTemperature() {
		return kelvin
	}
	return u
}
