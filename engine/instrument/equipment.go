package instrument

import (
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// Apparatus is what instruments belong to, as its file says.
type Apparatus struct {
	Identity string // what it is booked under; "" where not given
	Name     string
	Place    string
	Path     string // of the apparatus file, relative to the record's root
}

// Specimen is what is fitted to the apparatus to be measured, such as a wire.
// Dates are those of ISO 8601; "" where not given.
type Specimen struct {
	Name     string
	What     string
	Material string
	Temper   string
	Fitted   string
	Removed  string
	Reason   string // why it was removed
	// Certified are the values that a certificate gives for it, in the order of
	// the file.
	Certified []Certified
}

// Certified is a value that a certificate gives, by the name of the result
// that it can be compared with.
type Certified struct {
	Name  string
	Value quantity.Q
	Unit  unit.Unit
	Text  string // as it stands in the file
	Line  int    // in the file
}

// Equipment is what a record was made with: the apparatus with its specimen,
// or instruments alone.
type Equipment struct {
	Apparatus   *Apparatus  // nil where there is no apparatus file
	Specimen    *Specimen   // nil where none is known for the record's date
	Specimens   []*Specimen // all that the file tells of, by the day of fitting
	Instruments []*Instrument
}
