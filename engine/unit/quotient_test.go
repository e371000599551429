package unit_test

import (
	"math"
	"testing"

	"example.org/taut/engine/unit"
)

// TestQuotient: a unit per another has the size of the one over that of the
// other, and keeps their words.
func TestQuotient(t *testing.T) {
	for _, c := range []struct{ a, b, want string }{
		{"GPa", "mm/kg", "GPa kg/mm"}, {"GPa", "mm", "GPa/mm"}, {"mm", "mm", "mm/mm"}, {"s^2", "g m^2", "s^2 g^-1 m^-2"}, {"s^2", "kg", "s^2/kg"},
		{"1", "s^2/kg", "kg/s^2"}, {"1", "N m", "N^-1 m^-1"}, {"1", "s^2 kg^-1 m^-2", "kg m^2/s^2"}, {"mm", "N/m", "mm m/N"},
		{"m/s^2", "mm", "m s^-2 mm^-1"}, {"m/s^2", "m", "s^-2"}, {"°", "kg", "°/kg"}, {"GPa", "1", "GPa"}, {"1", "1", "1"}, {"m^(1/3)", "m s", "m^(-2/3) s^-1"},
	} {
		a, b := unit.MustParse(c.a), unit.MustParse(c.b)
		got := unit.Quotient(a, b)
		if got.String() != c.want || math.Abs(got.Factor()*b.Factor()/a.Factor()-1) > 1e-12 {
			t.Errorf("%s per %s is %s (%g), not %s", c.a, c.b, got, got.Factor(), c.want)
		}
	}
}
