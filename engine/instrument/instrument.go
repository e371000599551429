// Package instrument holds what is known of a measuring instrument and turns
// what was read on it into a quantity: corrected for the zero and for the
// error of indication, with the Type B sources that act on every reading.
package instrument

import (
	"fmt"
	"math"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// Instrument is one measuring instrument, as of the date of the record. All
// numbers are in coherent SI units.
type Instrument struct {
	Name string
	What string
	Unit unit.Unit // of its resolution
	Dim  unit.Dim

	// Unread says that the resolution is still to be filled in.
	Unread     bool
	Resolution float64 // the smallest change that it shows; 0 where unknown
	Pitch      float64 // of a screw: travel for one turn; 0 for none
	Divisions  float64 // of a screw: divisions in one turn

	Zero  *quantity.Q // the reading when the true value is 0; nil where not read
	Zeros []float64   // the readings of which Zero was made
	Error *quantity.Q // error of indication, of which the uncertainty is common to all readings
	Scale *quantity.Q // relative, about 1, common to all readings
	Each  []Own       // independent at every reading

	Serial string
	// Calibrated and Due are the dates of the calibration in force, of ISO
	// 8601, and Certificate names its certificate; "" where not given.
	Calibrated, Due, Certificate string
}

// Own is the pattern of a source that every reading has for itself.
type Own struct {
	Label    string
	Dist     quantity.Dist
	U, Half  float64
	Relative bool // U and Half are relative to the reading
	DOF      float64
}

// Reading is one value as read and as corrected.
type Reading struct{ Raw, Corrected quantity.Q }

// Read returns the reading raw of the instrument. ID names the reading for
// good; extra are further sources of its own. A nil instrument reads what is
// there: the reading has its identity and nothing else.
func (in *Instrument) Read(id string, raw float64, dim unit.Dim, un unit.Unit, extra ...Own) Reading {
	own := quantity.Source{ID: id, Label: "reading " + id, Value: raw, Unit: un, Own: quantity.Resolution}
	if in != nil {
		own.Instrument = in.Name
		own.Label = fmt.Sprintf("resolution of %s at %s", in.Name, id)
		own.Dist, own.Half = quantity.Rectangular, in.Resolution/2
		own.U = own.Half / math.Sqrt(3)
	}
	terms := []quantity.Term{{Source: own.New(), C: 1}}
	if in != nil {
		extra = append(append([]Own(nil), in.Each...), extra...)
	}
	for i, e := range extra {
		s := quantity.Source{ID: fmt.Sprintf("%s ±%d", id, i+1), Label: e.Label + " at " + id, Value: raw, Unit: un,
			Dist: e.Dist, U: e.U, Half: e.Half, DOF: e.DOF, Own: quantity.Independent, Instrument: own.Instrument}
		if e.Relative {
			s.U *= math.Abs(raw)
			s.Half *= math.Abs(raw)
		}
		terms = append(terms, quantity.Term{Source: s.New(), C: 1})
	}
	r := Reading{Raw: quantity.Uncertain(raw, dim, terms...)}
	r.Corrected = in.correct(r.Raw)
	return r
}

// correct returns (reading − zero − error)·scale.
func (in *Instrument) correct(q quantity.Q) quantity.Q {
	if in == nil {
		return q
	}
	if in.Zero != nil {
		q = q.Sub(*in.Zero)
	}
	if in.Error != nil {
		q = q.Sub(*in.Error)
	}
	if in.Scale != nil {
		q = q.Mul(*in.Scale)
	}
	return q
}

// MainAndDivisions returns the reading of a screw from its main scale, in
// coherent SI units, and the number of divisions on the drum. It fails where
// the divisions are more than one turn has or the main scale does not stand on
// a whole turn.
func (in *Instrument) MainAndDivisions(main, divisions float64) (float64, error) {
	switch {
	case in == nil || in.Pitch == 0 || in.Divisions == 0:
		return 0, fmt.Errorf("main scale + divisions needs an instrument with `pitch` and `divisions`")
	case divisions < 0 || divisions >= in.Divisions:
		return 0, fmt.Errorf("%g divisions are not on a drum of %g (0 to %g)", divisions, in.Divisions, in.Divisions-1)
	}
	turns := main / in.Pitch
	if math.Abs(turns-math.RoundToEven(turns)) > 1e-6 {
		return 0, fmt.Errorf("the main scale does not stand on a whole turn of the screw")
	}
	return main + float64(divisions*in.Pitch)/in.Divisions, nil
}
