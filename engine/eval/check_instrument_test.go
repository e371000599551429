package eval_test

import (
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// TestInstrumentOfAnotherKind: a load in newtons that weights in kilograms gave,
// and the other way round, is told with the way out of it.
func TestInstrumentOfAnotherKind(t *testing.T) {
	at := source.NewFile("pull.csv", []byte("load / N @weights")).Span(9, 17)
	for _, c := range []struct{ reads, in, hint string }{
		{"kg", "N", "if these are masses, head them kg; if they are forces, divide them by g"},
		{"g", "mN", "if these are masses, head them kg; if they are forces, divide them by g"},
		{"N", "g", "if these are forces, head them N; if they are masses, multiply them by g"},
		{"mm", "N", "check the unit or the instrument"},
		{"kg", "mm", "check the unit or the instrument"},
	} {
		in := &instrument.Instrument{Name: "weights", Dim: unit.MustParse(c.reads).Dim()}
		f := eval.CheckInstrument(in, unit.MustParse(c.in), at)
		if f == nil || f.Slug != "unit-clash" || f.Hint != c.hint || f.At != at {
			t.Errorf("%s in %s: %v", c.reads, c.in, f)
		}
	}
	if f := eval.CheckInstrument(&instrument.Instrument{Dim: unit.MustParse("kg").Dim()}, unit.MustParse("g"), at); f != nil {
		t.Errorf("g of weights in kg: %v", f)
	}
}
