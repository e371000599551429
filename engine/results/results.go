// Package results makes the results file of a record: every value with its
// uncertainty in coherent SI units, the columns, the fits, the Monte Carlo
// outcomes, the findings and the files that were read. Numbers are printed
// with all the digits of a float64; nothing is rounded but the displays.
package results

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"example.org/taut/engine/finding"
)

// File is a results file.
type File struct {
	Taut       string            `json:"taut"` // the version that wrote it
	Record     Record            `json:"record"`
	Values     map[string]Value  `json:"values"`
	Columns    map[string]Column `json:"columns"`
	Fits       map[string]Fit    `json:"fits"`
	MonteCarlo map[string]Trial  `json:"monte_carlo"`
	Findings   []finding.JSON    `json:"findings"`
	Inputs     []Input           `json:"inputs"`

	// What the record was made with; absent where it does not say.
	Apparatus   *Apparatus            `json:"apparatus,omitempty"`
	Instruments map[string]Instrument `json:"instruments,omitempty"`
	Practicals  map[string]Practical  `json:"practicals,omitempty"`
	Specimen    *Specimen             `json:"specimen,omitempty"`  // on the record's date
	Specimens   []*Specimen           `json:"specimens,omitempty"` // all that the apparatus has had, by the day of fitting
}

// Record is what the front matter says.
type Record struct {
	Title    string `json:"title"`
	Author   string `json:"author,omitempty"`
	Date     string `json:"date,omitempty"`
	Coverage Float  `json:"coverage"` // probability of the expanded uncertainties
}

// Value is one scalar value. Value, U and Expanded are in Unit.
type Value struct {
	Value    Float  `json:"value"`
	U        *Float `json:"u,omitempty"` // standard uncertainty; nil where the value is exact
	Unit     string `json:"unit"`        // coherent SI unit; "1" for a pure number
	DOF      *Float `json:"dof,omitempty"`
	K        *Float `json:"k,omitempty"` // coverage factor
	Expanded *Float `json:"U,omitempty"` // expanded uncertainty
	Line     int    `json:"line"`        // of the definition, in its file; 0 where it stands in none
	Display  string `json:"display"`     // as the page shows it
}

// Column is a column of a table, or one that was computed. Values are those
// corrected for the instrument, in Unit; a hole is null and struck rows are
// absent.
type Column struct {
	Unit   string  `json:"unit"`
	Values []Float `json:"values"`
	Raw    []Float `json:"raw,omitempty"` // as read, where an instrument corrects the readings
}

// Fit is a fit. Covariance is in the order of Coefficients and holds all that
// is uncertain about them, the instruments' common sources included.
type Fit struct {
	Model        string        `json:"model"`
	Coefficients []Coefficient `json:"coefficients"`
	Covariance   [][]Float     `json:"covariance"`
	N            int           `json:"n"`             // cells read
	DOF          *Float        `json:"dof,omitempty"` // absent where infinite
	S            Float         `json:"s"`             // residual standard deviation, in Unit; null where n is the number of coefficients
	Unit         string        `json:"unit"`          // of s and of the residuals
	Residuals    Residuals     `json:"residuals"`
}

// Coefficient is a coefficient of a fit.
type Coefficient struct {
	Name  string `json:"name"`
	Value Float  `json:"value"`
	U     Float  `json:"u"`
	Unit  string `json:"unit"`
}

// Residuals holds the residuals by the rows of each fitted column; those of
// one column alone are written as one flat list.
type Residuals [][]Float

// Trial is the outcome of a Monte Carlo evaluation, in the unit of the value
// of the same name. Low and High are the ends of the shortest coverage
// interval.
type Trial struct {
	Mean   Float  `json:"mean"`
	U      Float  `json:"u"`
	Low    Float  `json:"low"`
	High   Float  `json:"high"`
	Trials int    `json:"trials"`
	Seed   uint64 `json:"seed"`
}

// Input is a file that was read. Path is relative to the record's root, with
// forward slashes; SHA256 is in hexadecimal.
type Input struct {
	Path   string `json:"path"`
	SHA256 string `json:"sha256"`
}

// Bytes returns the file as JSON, indented, keys sorted, with a line end.
// Equal files give equal bytes.
func (f *File) Bytes() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(f); err != nil {
		return nil, fmt.Errorf("results: %w", err)
	}
	return b.Bytes(), nil
}

// Parse reads a results file back.
func Parse(text []byte) (*File, error) {
	f := &File{}
	if err := json.Unmarshal(text, f); err != nil {
		return nil, fmt.Errorf("results: %w", err)
	}
	if f.Taut == "" {
		return nil, errors.New("results: this is no results file: it has no version `taut`")
	}
	return f, nil
}
