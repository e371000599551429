package variant

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"example.org/taut/engine/results"
)

// Key is the answer key of a set of variants: for the teacher only. Its form as
// JSON is stable: names are added and none is taken away or given another
// meaning. Numbers are in the coherent SI unit beside them, with all digits.
type Key struct {
	Taut      string        `json:"taut"`      // the version that wrote it
	Method    string        `json:"method"`    // name of the method
	Version   int           `json:"version"`   // of the method
	Practical string        `json:"practical"` // name of the practical in the students' records
	Seed      string        `json:"seed"`
	Rate      results.Float `json:"fault_rate"` // the probability of a fault
	Coverage  results.Float `json:"coverage"`   // probability of the expanded uncertainties
	Order     []string      `json:"order"`      // the results by importance
	Points    []Point       `json:"points"`     // what is marked, in the order in which one works it out
	Students  []Student     `json:"students"`
}

// Student is one variant.
type Student struct {
	ID     string     `json:"id"`
	Folder string     `json:"folder"`
	Faults []Injected `json:"faults"`
	// Truth holds what the readings came from, by the names of the simulation.
	Truth map[string]Truth `json:"truth"`
	// Results are what the engine computes from the readings as given.
	Results map[string]Expected `json:"results"`
	// Struck are what it computes once the one wrong reading is struck; only
	// where a fault of recording spoils one reading.
	Struck map[string]Expected `json:"results_struck,omitempty"`
	// Noticed are the slugs of the findings, cautions and errors, that the
	// engine itself makes on the readings as given.
	Noticed []string `json:"noticed"`
	// Files are those that the student was given, by name: whoever marks works
	// the results out from them.
	Files map[string]string `json:"files"`
}

// Point is one marking point: a number that the student works out, or a
// question, whose answer the teacher marks.
type Point struct {
	Name     string `json:"name"` // of the value, as the student's record has it; of the question
	Kind     string `json:"kind"` // "value" or "question"
	Marks    int    `json:"marks"`
	Question string `json:"question,omitempty"` // its text
	Answer   string `json:"answer,omitempty"`   // the model answer; "" where the record has none
}

// The kinds of marking points.
const (
	PointValue    = "value"
	PointQuestion = "question"
)

// Injected is one fault that was put into the readings.
type Injected struct {
	Name  string         `json:"name"`
	Kind  string         `json:"kind"` // "apparatus" or "recording"
	What  string         `json:"what"`
	Size  *results.Float `json:"size,omitempty"` // of a recording fault the change of the reading
	Unit  string         `json:"unit,omitempty"` // of Size
	Shown string         `json:"display,omitempty"`
	Place string         `json:"place,omitempty"` // of the first wrong reading: "pull.up, row 4"
	Was   string         `json:"was,omitempty"`   // that reading as it was
	Is    string         `json:"is,omitempty"`    // and as the student has it
}

// Truth is a true value, or a column of them.
type Truth struct {
	Value  *results.Float  `json:"value,omitempty"`
	Values []results.Float `json:"values,omitempty"`
	Unit   string          `json:"unit"`
	Shown  string          `json:"display,omitempty"`
}

// Expected is a result with its tolerance, which is that of the student's own
// readings: Low and High are the value less and plus its expanded uncertainty.
type Expected struct {
	Value    results.Float  `json:"value"`
	U        *results.Float `json:"u,omitempty"` // standard uncertainty; absent where the value is exact
	K        *results.Float `json:"k,omitempty"`
	Expanded *results.Float `json:"U,omitempty"`
	Unit     string         `json:"unit"`
	Low      results.Float  `json:"low"`
	High     results.Float  `json:"high"`
	Shown    string         `json:"display"`
}

func expected(v results.Value) Expected {
	e := Expected{Value: v.Value, U: v.U, K: v.K, Expanded: v.Expanded, Unit: v.Unit, Low: v.Value, High: v.Value, Shown: v.Display}
	if v.Expanded != nil {
		e.Low, e.High = v.Value-*v.Expanded, v.Value+*v.Expanded
	}
	return e
}

// WithFaults counts the students whose readings have a fault.
func (k *Key) WithFaults() int {
	n := 0
	for _, s := range k.Students {
		if len(s.Faults) > 0 {
			n++
		}
	}
	return n
}

// Bytes returns the key as JSON, indented, with a line end. Equal keys give
// equal bytes.
func (k *Key) Bytes() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(k); err != nil {
		return nil, fmt.Errorf("key: %w", err)
	}
	return b.Bytes(), nil
}

// ParseKey reads a key back.
func ParseKey(text []byte) (*Key, error) {
	k := &Key{}
	if err := json.Unmarshal(text, k); err != nil {
		return nil, fmt.Errorf("key: %w", err)
	}
	if k.Taut == "" || k.Method == "" || k.Students == nil {
		return nil, errors.New("key: this is no answer key: it has not `taut`, `method` and `students`")
	}
	seen := map[string]bool{}
	for _, s := range k.Students {
		if !plainName(s.ID) || !plainName(s.Folder) || seen[s.ID] {
			return nil, fmt.Errorf("key: the student `%s` in the folder `%s` stands twice, or is not named by letters, digits and hyphens", s.ID, s.Folder)
		}
		seen[s.ID] = true
	}
	if k.Points == nil {
		return nil, errors.New("key: this key has no marking points `points`: it was made before there were any; make the variants anew")
	}
	return k, nil
}

// plainName reports whether a text can name a file of its own.
func plainName(text string) bool {
	return text != "" && strings.Trim(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_") == ""
}

// studentID is the number of a student with the zeros that the count asks for,
// three digits at least.
func studentID(number, count int) string {
	return fmt.Sprintf("%0*d", max(3, len(strconv.Itoa(count))), number)
}

// Named returns the number of the student whom the name of a folder or of a
// file means; "" for nobody.
func (k *Key) Named(name string) string {
	for _, s := range k.Students {
		if name == s.ID || name == s.Folder {
			return s.ID
		}
	}
	return ""
}
