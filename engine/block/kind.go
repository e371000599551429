// Package block is the socket into which kinds of blocks are put. A kind reads
// a block, tells which names it defines and uses, computes them, checks and
// shows; this package brings the blocks of a record together, whatever their
// kinds, and names none of them.
package block

import (
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/view"
)

// Naming says whether a block of a kind has a name.
type Naming int

// The ways of naming.
const (
	// Named blocks need a name, which is defined in the record.
	Named Naming = iota
	// Labelled blocks may have a name, which is a label only.
	Labelled
	// Referring blocks need a name that refers to something else.
	Referring
	// Nameless blocks have none.
	Nameless
)

// Info describes a kind.
type Info struct {
	Name    string
	Naming  Naming
	Options []string // keys of the head, beside print, needs and lacks
	Keys    []Keys   // keys of the body, where that is settings
	// MethodOnly kinds stand in method files only.
	MethodOnly bool
	What       string // one line for the manual
}

// Keys are the keys that one map of settings may have.
type Keys struct {
	Of    string // whose they are: "a fit", "an instrument"
	Names []string
}

// HeadKeys are the keys that the head of every block may have; needs and lacks
// in methods only.
var HeadKeys = []string{"print", "needs", "lacks"}

// Kind is one kind of block. A kind holds no state of a record.
type Kind interface {
	Info() Info
	// Read reads a block. It must not fail: what cannot be read is a finding,
	// and the instance then shows what there is.
	Read(r *Reader, b *record.Block) Instance
}

// Instance is one block, read.
type Instance interface {
	// Show returns what the page shows of the block, in any view. It is called
	// after everything has been computed.
	Show(s *Shower) []view.Node
}

// The further abilities that an instance may have.
type (
	// Definer defines names.
	Definer interface{ Defs() []*Def }
	// Expander stands for further blocks.
	Expander interface{ Expand(x *Expansion) }
	// Checker makes findings when all values are known.
	Checker interface{ Check(c *Computing) }
	// Trialist has Monte Carlo evaluations made, when all values are known.
	Trialist interface{ Jobs(c *Computing) []*Job }
	// Warner has a safety caution, which is printed once a record for each
	// name, before everything else.
	Warner interface {
		Warn(s *Shower) *view.Warning
	}
	// Parted is made of parts that can be printed apart.
	Parted interface {
		PartNames() []string
		ShowPart(s *Shower, name string, level int) []view.Node
	}
	// PartOf prints a part of another block.
	PartOf interface {
		Part() (of, name string)
	}
	// Keeper stands filled in a blank sheet where Given says so.
	Keeper interface{ Given() bool }
	// User uses names without defining any.
	User interface{ Uses() []Use }
	// Equipped says, after everything has been computed, what the record was
	// made with.
	Equipped interface{ Equipment() instrument.Equipment }
	// Practised says, after everything has been computed, which method was
	// followed; nil where it is not known.
	Practised interface{ Practice() *Practice }
)

// Practice is a method as a record followed it.
type Practice struct {
	Name     string // of the practical, in full
	Method   string
	Version  int
	Title    string
	Path     string   // of the method's file, relative to the record's root; "" where it is built in
	Material string   // what the readings are of; "" where the method does not ask for it
	Results  []string // names within the practical
}

// FrontReader is a kind that reads keys of the front matter, as if they were
// blocks of it.
type FrontReader interface {
	FrontKeys() []string
	ReadFront(r *Reader, key string, value *record.Setting) Instance
}

// Def is the definition of one name.
type Def struct {
	Name string // within its scope
	At   source.Span
	Uses []Use
	// Compute returns the value. It is called once, after everything in Uses.
	Compute func(c *Computing) eval.Value
	// Quiet definitions are left out of the results file's values.
	Quiet bool
	// Anchor, where set, is the ID on the page of what defines the name.
	Anchor string

	// Alias is the name that the definition repeats, where it does nothing else;
	// it is looked up as Uses are.
	Alias string

	// From is the scope in which Uses are looked up and Compute works; nil for
	// that of the definition itself.
	From *Scope

	scope *Scope
	unit  *Unit
	full  string
	value eval.Value
}

func (d *Def) from() *Scope {
	if d.From != nil {
		return d.From
	}
	return d.scope
}

// Full returns the name as the record knows it: young.E.
func (d *Def) Full() string { return d.full }

// Value returns the computed value.
func (d *Def) Value() eval.Value { return d.value }

// Use is the use of a name at a place. An instrument has a name space of its
// own.
type Use struct {
	Name       string
	At         source.Span
	Instrument bool
}

// Job is one Monte Carlo evaluation.
type Job struct {
	Of       string // the full name of the value
	At       source.Span
	Q        quantity.Q
	Expanded float64
	Options  trial.Options
	Result   *trial.Result // filled in by whoever runs the job
	Err      error
}

// Files is the one door through which every file is opened.
type Files interface {
	// Open reads the file of that path, relative to the file that asks.
	Open(from *source.File, path string) (*source.File, error)
}

// Library is what is built in: methods and materials.
type Library interface {
	Method(name string) (*source.File, bool)
	MethodNames() []string
	// Material returns the constants of a material.
	Material(name string) (eval.Value, bool)
	MaterialNames() []string
}

// Settings are the choices of a record that all kinds share.
type Settings struct {
	Coverage     float64 // probability, 0.95
	CoverageText string  // "95 %"
	Digits       int     // significant digits of an uncertainty
	Date         string  // ISO 8601; "" where not given
}

// Reader is what a kind may use while it reads a block.
type Reader struct {
	Set      *finding.Set
	Scope    *Scope
	Settings Settings
	Files    Files
	program  *Program
	unit     *Unit
}

// Unit is one block with its kind, its scope and its place on the page.
type Unit struct {
	Block *record.Block
	Info  Info
	Inst  Instance
	Scope *Scope
	ID    string
	// Files are further files in which findings of this block may stand.
	Files []*source.File
	hide  bool
	set   *finding.Set // for findings of its text
	front string       // the key of the front matter that stands for the block
	defs  []*Def
}

// Scope is a set of names: those of the record, or those inside a practical.
type Scope struct {
	Prefix string // "young."; "" for the record
	Parent *Scope
	// Via is the place in the record that stands for everything in the scope.
	Via source.Span
	// Roles are the roles of the method and whether they are bound.
	Roles map[string]bool
	// Bindings are the places where roles are bound.
	Bindings map[string]source.Span
	units    []*Unit
}

// Depth counts the scopes around this one.
func (s *Scope) Depth() int {
	n := 0
	for p := s.Parent; p != nil; p = p.Parent {
		n++
	}
	return n
}
