package quantity

// Form says how a quantity is set for reading.
type Form int

// The forms of the record language.
const (
	// Auto is Interval where there is an uncertainty, else the value with all
	// the digits that it was given.
	Auto Form = iota
	// Interval is the value ± expanded uncertainty, with its coverage
	// probability: (197.3 ± 8.8) GPa.
	Interval
	// Concise is the standard uncertainty in the last digits:
	// 1.973(41)×10^11 Pa (GUM 7.2.2).
	Concise
	// Rounded is the value alone, rounded to its uncertainty.
	Rounded
	// Statement is the full sentence of GUM 7.2.4.
	Statement
	// Figures is a fixed number of significant figures.
	Figures
	// Places is a fixed number of decimal places.
	Places
)

// Display is a quantity set for reading, in pieces, so that each printer can
// group digits and raise exponents in its own way. Numbers are ASCII with a
// decimal point and a hyphen for the minus sign.
type Display struct {
	Number    string   // the value's digits, "197.3"
	Concise   string   // digits of the standard uncertainty, "41"; else ""
	PlusMinus string   // the half-width after ±, "8.8"; else ""
	Exponent  int      // power of ten; 0 for none
	Unit      string   // "GPa", "m s^-2"; "" for a pure number
	Coverage  string   // "95 %" beside an interval; else ""
	Tail      Sentence // the rest of a statement, without its stop
}
