package block

import "example.org/taut/engine/source"

// Reading is one reading of a table as it is typed, struck or not.
type Reading struct {
	Table, Column string
	Row           int // of the text, struck rows counted, from 1
	Text          string
	At            source.Span
	First         bool    // it stands first in its row: striking it strikes the row
	Value         float64 // in the coherent SI unit; meaningless unless Number holds
	Number        bool
	Struck        bool
	Reason        string // why it is struck
}

// Taker is a block of readings.
type Taker interface{ Readings() []Reading }

// Readings lists the readings of the record's own tables, table by table and
// row by row. It can be asked before anything is computed.
func (p *Program) Readings() []Reading {
	var out []Reading
	for _, u := range p.Root.units {
		if t, ok := u.Inst.(Taker); ok {
			out = append(out, t.Readings()...)
		}
	}
	return out
}
