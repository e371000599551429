package blocks

import (
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// Given implements block.Keeper.
func (t *dataTable) Given() bool { return t.given }

// expected says, in the heading of an empty column, with what it is read and
// how finely.
func (t *dataTable) expected(s *block.Shower, c *dataColumn) string {
	if c.instr == "" {
		return ""
	}
	in, _, ok := s.Eval("").Env.Instrument(c.instr)
	if !ok || in.Unread || in.Resolution <= 0 {
		return c.instr
	}
	un := c.unit
	if !c.hasUnit {
		un = unit.Of(unit.Dim{})
	}
	if un.Dim() != in.Dim {
		return c.instr // a finding has been made
	}
	d := quantity.Format(in.Resolution, 0, 0, un.Difference(), quantity.Auto, quantity.Options{})
	return c.instr + ", to the nearest " + strings.ReplaceAll(d.String(), " ", "\u00a0")
}

// readAgain reports whether row i is struck and another row begins like it:
// the reading was taken again, and one row on a blank sheet is enough for it.
func (t *dataTable) readAgain(i int) bool {
	if !t.rows[i].Struck || len(t.rows[i].Cells) == 0 {
		return false
	}
	first := strings.TrimSpace(t.rows[i].Cells[0].Text)
	for _, row := range t.rows {
		if !row.Struck && len(row.Cells) > 0 && strings.TrimSpace(row.Cells[0].Text) == first {
			return true
		}
	}
	return false
}
