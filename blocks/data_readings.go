package blocks

import (
	"strings"

	"example.org/taut/engine/block"
)

var _ block.Taker = (*dataTable)(nil)

// Readings implements block.Taker.
func (t *dataTable) Readings() []block.Reading {
	var out []block.Reading
	for _, row := range t.rows {
		for i, cell := range row.cells {
			if i >= len(t.columns) {
				break
			}
			c := t.columns[i]
			r := block.Reading{Table: t.name, Column: c.name, Row: row.Number, Text: cell.text, At: cell.at, First: i == 0, Struck: row.Struck || cell.struck}
			if r.Struck {
				r.Reason = row.Reason
			}
			if v, err := c.unit.ToSI(strings.TrimSpace(cell.text)); err == nil {
				r.Value, r.Number = v, true
			}
			out = append(out, r)
		}
	}
	return out
}
