package instrument_test

import (
	"math"
	"testing"

	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

var mm = unit.MustParse("mm")

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-12*math.Max(math.Abs(want), 1e-9)) {
		t.Errorf("%s = %.17g, want %.17g", what, got, want)
	}
}

func source(id string, u float64) quantity.Term {
	return quantity.Term{Source: quantity.Source{ID: id, U: u}.New(), C: 1}
}

func screw() *instrument.Instrument {
	zero := quantity.Uncertain(0.02e-3, mm.Dim(), source("zero", 2e-6))
	err := quantity.Uncertain(0.003e-3, mm.Dim(), source("calibration", 1e-6))
	scale := quantity.Uncertain(1, unit.Dim{}, source("scale", 5e-4))
	return &instrument.Instrument{Name: "screw", Dim: mm.Dim(), Unit: mm, Resolution: 1e-5, Pitch: 1e-3, Divisions: 100,
		Zero: &zero, Error: &err, Scale: &scale}
}

// TestRead reckons a reading by hand: corrected = (reading − zero − error)·scale;
// u² = δ²/12 + u²(zero) + u²(error) + (corrected · u(scale))².
func TestRead(t *testing.T) {
	r := screw().Read("pull.up[1]", 3.12e-3, mm.Dim(), mm)
	near(t, "raw", r.Raw.Value(), 3.12e-3)
	near(t, "u(raw)", r.Raw.U(), 1e-5/math.Sqrt(12))
	near(t, "corrected", r.Corrected.Value(), 3.12e-3-0.02e-3-0.003e-3)
	want := math.Sqrt(1e-10/12 + 4e-12 + 1e-12 + math.Pow(3.097e-3*5e-4, 2))
	near(t, "u(corrected)", r.Corrected.U(), want)
}

// TestDifference: what two readings have in common cancels; what is their own
// does not; the scale acts on the difference.
func TestDifference(t *testing.T) {
	in := screw()
	a := in.Read("pull.up[1]", 3.12e-3, mm.Dim(), mm).Corrected
	b := in.Read("pull.up[2]", 3.41e-3, mm.Dim(), mm).Corrected
	want := math.Sqrt(2*1e-10/12 + math.Pow(0.29e-3*5e-4, 2))
	near(t, "u(b − a)", b.Sub(a).U(), want)
}

func TestNoInstrument(t *testing.T) {
	var in *instrument.Instrument
	r := in.Read("x[1]", 2, unit.Dim{}, unit.Of(unit.Dim{}))
	if r.Raw.IsUncertain() || len(r.Raw.Terms()) != 1 {
		t.Error("a reading by no instrument has its identity and no uncertainty")
	}
	own := instrument.Own{Label: "stated", Dist: quantity.Normal, U: 0.01, Relative: true}
	near(t, "relative", in.Read("x[2]", -2, unit.Dim{}, unit.Of(unit.Dim{}), own).Raw.U(), 0.02)
}

func TestMainAndDivisions(t *testing.T) {
	in := screw()
	for _, c := range []struct {
		main, div, want float64
		ok              bool
	}{
		{3e-3, 12, 3.12e-3, true}, {0, 0, 0, true}, {-1e-3, 99, -0.01e-3, true},
		{3e-3, 100, 0, false}, {3e-3, -1, 0, false}, {3.5e-3, 12, 0, false},
	} {
		v, err := in.MainAndDivisions(c.main, c.div)
		if (err == nil) != c.ok {
			t.Errorf("%g + %g: %v", c.main, c.div, err)
		} else if c.ok {
			near(t, "reading", v, c.want)
		}
	}
	if _, err := (&instrument.Instrument{Name: "tape", Resolution: 1e-3}).MainAndDivisions(1, 2); err == nil {
		t.Error("a tape has no drum")
	}
}
