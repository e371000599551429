// Package eval computes: values, functions and the evaluation of formulas. A
// value that cannot be had is *waiting*, and what depends on it waits too, so
// that one fault gives one message.
package eval

import (
	"slices"

	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Value is what a name can stand for. The set of values is closed.
type Value interface{ value() }

// Scalar is one quantity. Unit is the unit in which it is best shown; nil
// where none was chosen.
type Scalar struct {
	Q    quantity.Q
	Unit *unit.Unit
	// Difference marks a difference of two temperatures: it is in kelvins, and
	// degrees Celsius would make another number of it.
	Difference bool
	// From says where a constant comes from, such as a handbook.
	From string
	// Typed is the number as the author wrote it, where the value is nothing
	// but that number.
	Typed string
}

// Column is a vector of quantities of one dimension.
type Column struct {
	Cells []Cell
	Dim   unit.Dim
	Unit  *unit.Unit
	// Raw is the column as it was read, before the instrument's corrections.
	Raw *Column
	// Instrument is that of the readings; nil where there is none.
	Instrument *instrument.Instrument
	// Name is the column's name where it is one of a table.
	Name string
	// Of names the columns, or the roles, that a computed column goes back to
	// row by row, each once, in the order of the formula.
	Of []string
}

// Cell is one cell of a column: a quantity, or a hole where nothing was read.
type Cell struct {
	Q     quantity.Q
	Hole  bool
	Row   int // the row of the text, struck rows counted
	At    source.Span
	Typed string
	// Struck says why a hole is one: what was read there is not to be used.
	Struck bool
}

// Rowwise is a quantity that has a fresh value in every row. With a quantity
// it stays so, with a column it becomes a column.
type Rowwise struct {
	Dim  unit.Dim
	Unit *unit.Unit
	// At returns the value in row i, from 0; always the same for one row.
	At func(i int) quantity.Q
}

// List is what a role of several columns stands for. Name is that of the role;
// what is computed of a list has none.
type List struct {
	Members []Value
	Name    string
}

// Bool is a condition's outcome.
type Bool struct{ Truth quantity.Truth }

// Bools is a condition's outcome for each row.
type Bools struct{ Cells []BoolCell }

// BoolCell is one row of Bools.
type BoolCell struct {
	Truth quantity.Truth
	Hole  bool
	Row   int
	At    source.Span
}

// Labels is a column of text.
type Labels struct {
	Cells []string
	Name  string
}

// Word is a piece of text, such as the temper of a wire.
type Word struct{ Text string }

// Space is a thing with named values inside: a table, a fit, a material.
type Space struct {
	What  string // "table", "straight fit"
	Name  string
	Names []string // of what is inside, for messages, in order
	Get   func(name string) (Value, bool)
	// Call computes a function of the thing, such as line.at(x); nil where it
	// has none. Ok is false where there is no such function.
	Call func(c *Call, name string) (v Value, ok bool)
	// Data is what the kind that made it keeps with it.
	Data any
}

// Waiting stands for a value that cannot be had.
type Waiting struct {
	// On is the name that is waited for, as it is known where the wait began.
	On string
	// Unread says that nothing is wrong: the reading has not been taken yet.
	Unread bool
}

func (Scalar) value()  {}
func (*Column) value() {}
func (Rowwise) value() {}
func (List) value()    {}
func (Bool) value()    {}
func (Bools) value()   {}
func (Labels) value()  {}
func (Word) value()    {}
func (*Space) value()  {}
func (Waiting) value() {}

// Number returns a pure number as a value.
func Number(v float64) Scalar { return Scalar{Q: quantity.Number(v)} }

// Describe says in a word or two what a value is, for messages.
func Describe(v Value) string {
	switch v := v.(type) {
	case Scalar:
		if v.Q.Dim().IsOne() {
			return "a number"
		}
		return article(dimWords(v.Q.Dim()))
	case *Column:
		if v.Dim.IsOne() {
			return "a column of numbers"
		}
		return "a column of " + dimWords(v.Dim)
	case Rowwise:
		return "a value for each row"
	case List:
		return "several columns"
	case Bool, Bools:
		return "a condition"
	case Labels:
		return "a column of text"
	case Word:
		return "a word"
	case *Space:
		return article(v.What)
	case Waiting:
		return "a value that waits"
	}
	return "nothing"
}

// dimWords names a dimension: "length", else its base units.
func dimWords(d unit.Dim) string {
	if n := d.Name(); n != "" {
		return n
	}
	return "quantity in " + d.String()
}

func article(s string) string {
	if s == "" {
		return "a thing"
	}
	switch s[0] {
	case 'a', 'e', 'i', 'o':
		return "an " + s
	}
	return "a " + s
}

// DimOf returns the dimension of a numeric value.
func DimOf(v Value) (unit.Dim, bool) {
	switch v := v.(type) {
	case Scalar:
		return v.Q.Dim(), true
	case *Column:
		return v.Dim, true
	case Rowwise:
		return v.Dim, true
	case List:
		if len(v.Members) > 0 {
			return DimOf(v.Members[0])
		}
	}
	return unit.Dim{}, false
}

// UnitOf returns the unit in which a value is best shown.
func UnitOf(v Value) unit.Unit {
	switch v := v.(type) {
	case Scalar:
		return shown(v.Unit, v.Q.Dim())
	case *Column:
		return shown(v.Unit, v.Dim)
	case Rowwise:
		return shown(v.Unit, v.Dim)
	case List:
		if len(v.Members) > 0 {
			return UnitOf(v.Members[0])
		}
	}
	return unit.Of(unit.Dim{})
}

func shown(u *unit.Unit, d unit.Dim) unit.Unit {
	if u != nil && u.Dim() == d {
		return *u
	}
	return unit.Of(d)
}

// In returns the value with another unit to be shown in. What was typed stands
// for the value in the unit that it was typed in only.
func In(v Value, u unit.Unit) Value {
	another := UnitOf(v).String() != u.String()
	switch v := v.(type) {
	case Scalar:
		v.Unit = &u
		if another {
			v.Typed = ""
		}
		return v
	case *Column:
		c := *v
		c.Unit = &u
		if another {
			c.Cells = slices.Clone(c.Cells)
			for i := range c.Cells {
				c.Cells[i].Typed = ""
			}
		}
		return &c
	case Rowwise:
		v.Unit = &u
		return v
	case List:
		out := List{Name: v.Name}
		for _, m := range v.Members {
			out.Members = append(out.Members, In(m, u))
		}
		return out
	}
	return v
}
