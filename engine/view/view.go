// Package view is what a reader is shown, as data: prose, tables, worked
// steps, figures and notices. It knows nothing of HTML and computes nothing.
package view

import (
	"fmt"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
)

// Standing says what a piece of the page is, so that a blank sheet is the same
// view with some standings left out.
type Standing int

const (
	// Given is what every reader is told: prose, headings, what the author
	// set beforehand.
	Given Standing = iota
	// Read is a reading taken at the apparatus.
	Read
	// Computed is a number or figure that the engine worked out.
	Computed
	// Answer is the author's answer to a question.
	Answer
)

// Node is one block of the page. The set of nodes is closed.
type Node interface{ node() }

// Text is a line of running text.
type Text []Run

// Run is a piece of running text. The set of runs is closed.
type Run interface{ run() }

// Plain is text as it stands.
type Plain string

// Code is text in the typeface of what is typed.
type Code string

// Emph is text that is stressed.
type Emph string

// Number is a quantity within text or a table cell.
type Number struct {
	Value    float64 // in the coherent SI unit
	Display  quantity.Display
	Link     string // ID of the node that it comes from; "" for none
	Name     string // the name of the value, where it has one
	ID       string // of this place, for what leads back to it; "" for none
	Standing Standing
}

// Formula is mathematics within text.
type Formula struct{ Math Math }

// Missing is a place where a value should stand but cannot: Why says, in a few
// words, what it waits for; Of is the full name of the value, "" where it has
// none.
type Missing struct{ Why, Of string }

// Blank is a place to fill in.
type Blank struct {
	Label string // what is wanted, "T"
	Unit  string
	Below bool // it stands on a line of its own, below what precedes it
}

func (Plain) run()   {}
func (Code) run()    {}
func (Emph) run()    {}
func (Number) run()  {}
func (Formula) run() {}
func (Missing) run() {}
func (Blank) run()   {}

// Prose is a document or a part of one: goldmark's tree, in which the blocks
// and inline values of the record language stand as nodes of package record.
type Prose struct {
	Doc      *record.Document
	Standing Standing
	Shift    int // how many levels deeper its headings are set
	Blocks   map[*record.Block][]Node
	Inlines  map[*record.Inline]Text
	Without  map[ast.Node]bool // top-level nodes that are left out
}

// Group is all that one block shows.
type Group struct {
	ID    string // unique on the page
	Kind  string
	Name  string
	Nodes []Node
}

// Paragraph is one paragraph of running text.
type Paragraph struct {
	Text     Text
	Standing Standing
}

// Table is a table with a caption.
type Table struct {
	ID       string
	Caption  Text
	Columns  []Column
	Rows     []Row
	Notes    []Text // below the table
	Standing Standing
	Fill     bool // its empty cells are to be written in
	// Ledger marks a table that is read across, such as a budget: its first
	// column names the row.
	Ledger bool
}

// Column is the heading of a table's column: quantity divided by unit.
type Column struct {
	ID       string // where what uses the column leads; "" for none
	Quantity Text
	Unit     string // "" for none
	Note     string // a short second line, such as the instrument
	NoteLink string // ID of the node that the note leads to; "" for none
	Numeric  bool   // numbers, aligned at the decimal point
}

// Row is one row of a table. A struck row is printed struck through with its
// reason.
type Row struct {
	ID     string // "" for none
	Cells  []Cell
	Struck bool
	Reason string
	Sum    bool // a row of totals, set apart by a rule
}

// Cell is one cell of a table.
type Cell struct {
	Text     Text
	Hole     bool // it was not read
	Struck   bool // this cell alone is struck
	Reason   string
	Standing Standing
	Found    *finding.Finding // what was found in this cell; nil for nothing
}

// Steps is a worked calculation.
type Steps struct {
	ID       string
	Title    string
	Steps    []Step
	Standing Standing
}

// Step is one step: symbols, then numbers with units, then the result. Stages
// are the right-hand sides in order, each set after an equals sign of its own;
// the first is the formula in symbols.
type Step struct {
	ID       string
	Symbol   Math
	Stages   []Math
	Result   Text   // set after the last equals sign; empty where it waits
	Label    string // in the author's Markdown, to be read by Inline
	Uses     []Ref  // where its parts come from
	Room     int    // lines of room to work it out, on a blank sheet; 0: none is needed
	Findings []*finding.Finding
	Standing Standing
}

// Ref is a name that leads to the node of that ID. Where that is not on the
// page it is the name alone. Places marks a place in the text, of which there
// may be several.
type Ref struct {
	Name, ID string
	Places   bool
}

// Facts is a short list of named values, such as the coefficients of a fit.
type Facts struct {
	ID       string
	Title    Text
	Items    []Fact
	Standing Standing
}

// Fact is one named value.
type Fact struct {
	Term Text
	Text Text
}

// Notice shows findings in place. An Overview names those that are shown
// elsewhere on the page, and leads there.
type Notice struct {
	Findings []*finding.Finding
	Overview bool
}

// Warning is a safety caution.
type Warning struct {
	ID   string
	Name string
	Body *Prose
	// Deferred marks a caution that lacks what its readings would say: it
	// defers to the limits that are posted.
	Deferred bool
}

// Deferral is what a caution says in the place of limits that rest on readings
// yet to be taken.
const Deferral = "The limits that the readings themselves give cannot stand on an empty sheet: the posted ones hold. Where none are posted, ask competent staff before you begin."

// Source is the author's own text of a block that could not be read, so that
// nothing is lost.
type Source struct{ Text string }

// Marks says how many marks a question carries.
type Marks struct{ Of int }

// MarksOf says in running text what a place to fill in is worth; nothing for
// no marks.
func MarksOf(n int) Text {
	switch n {
	case 0:
		return nil
	case 1:
		return Text{Plain(" [1 mark]")}
	}
	return Text{Plain(fmt.Sprintf(" [%d marks]", n))}
}

// Ruled is space to write on, such as for the answer to a question. Label says
// what belongs there, for a reader who hears the page; Title, where there is
// one, says it to all.
type Ruled struct {
	Title string
	Label string
	Lines int
}

func (*Ruled) node()     {}
func (*Marks) node()     {}
func (*Prose) node()     {}
func (*Group) node()     {}
func (*Paragraph) node() {}
func (*Table) node()     {}
func (*Steps) node()     {}
func (*Facts) node()     {}
func (*Notice) node()    {}
func (*Warning) node()   {}
func (*Source) node()    {}
func (*Figure) node()    {}
func (*Bars) node()      {}

// Page is a whole page.
type Page struct {
	Title   string
	Name    string // what the page is called where it has no Title of its own
	Author  string
	Date    string
	Lang    string
	Facts   []Fact // further lines of the head: apparatus, …
	Comma   bool   // decimal comma, for display only
	Front   []Node // before the body: cautions, findings of the whole file
	Body    *Prose
	Back    []Node // after the body: inputs, findings
	Version string
	// Sheet marks a sheet to be filled in: it has lines for name and date, and
	// for the Marks out of the sum of those that its questions and claims carry.
	Sheet bool
	Marks int
	// Images holds the pictures that the page carries within itself, as
	// data:image/… addresses by the address that the prose names.
	Images map[string]string
}
