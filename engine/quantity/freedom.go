package quantity

import "math"

// Degrees of freedom above manyDOF are not told apart: t for 95 % is there
// within 0.02 % of the normal distribution's 1.960.
const manyDOF = 10000

// dofGuard takes degrees of freedom that are whole but for rounding as whole.
const dofGuard = 0.01

// WholeDOF returns effective degrees of freedom truncated to the next lower
// whole number, at least 1, as a coverage factor takes them (GUM G.4.1); +Inf
// stays.
func WholeDOF(nu float64) float64 { return math.Max(1, math.Floor(nu+dofGuard)) }

// FormatDOF sets effective degrees of freedom for reading: to the tenth below
// 100, as a whole number from there. They are truncated, so that no number on
// a page is above the one that a coverage factor rests on. Above 10 000 it
// gives that bound, and reports that there are more.
func FormatDOF(nu float64) (d Display, more bool) {
	switch tenths := math.Floor((nu + dofGuard) * 10); {
	case !finite(nu):
		return Display{Number: NoNumber}, false
	case nu+dofGuard >= manyDOF+1:
		return Display{Number: RoundPlaces(manyDOF, 0)}, true
	case nu >= 100 || math.Mod(tenths, 10) == 0:
		return Display{Number: RoundPlaces(math.Floor(nu+dofGuard), 0)}, false
	default:
		return Display{Number: RoundPlaces(tenths/10, 1)}, false
	}
}
