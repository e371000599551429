package method

import (
	"fmt"
	"maps"
	"slices"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// RecordingFault is a mistake in writing readings down. Every method can be
// given one, after its readings were made.
type RecordingFault struct{ Name, What string }

// recordingFaults are the mistakes, in a fixed order.
var recordingFaults = []RecordingFault{
	{"turn", "one reading of a screw is wrong by a whole turn"},
	{"turn_kept", "a turn of the screw is lost, and the count goes on from there"},
	{"half_millimetre", "half a millimetre of the main scale is overlooked in one reading"},
	{"swapped_digits", "two neighbouring digits of one reading are exchanged"},
	{"copied_column", "the second column is a copy of the first"},
}

// RecordingFaults lists the mistakes in writing readings down.
func RecordingFaults() []RecordingFault { return slices.Clone(recordingFaults) }

// Slip says what a recording fault changed.
type Slip struct {
	Fault, Role string
	Member, Row int    // the first cell that changed, both counted from 1
	Was, Is     string // that cell, in the unit of the role
}

// Misrecord returns the readings with one recording fault in a role. Which
// reading it is depends on the seed alone, and no other reading changes. The
// error says why the fault cannot be there.
func (s *Simulated) Misrecord(fault, role string, seed uint64) (*Simulated, Slip, error) {
	r := s.method.Role(role)
	if r == nil || s.Roles[role] == nil {
		return nil, Slip{}, fmt.Errorf("the simulation gives no role `%s`", role)
	}
	m := &misrecord{Simulated: s, role: r, unit: s.unitOf(r), slip: Slip{Fault: fault, Role: role}}
	for _, v := range members(s.Roles[role]) {
		c, ok := v.(*eval.Column)
		if !ok || len(c.Cells) == 0 {
			return nil, Slip{}, fmt.Errorf("the role `%s` is no column", role)
		}
		copied := *c
		copied.Cells = slices.Clone(c.Cells)
		m.columns = append(m.columns, &copied)
	}
	m.stream = stat.NewStream(seed, "misrecord "+fault+" "+role, 0)
	if err := m.apply(fault); err != nil {
		return nil, Slip{}, err
	}
	out := *s
	out.Roles = maps.Clone(s.Roles)
	out.Roles[role] = m.value()
	return &out, m.slip, nil
}

// misrecord is a recording fault in the making.
type misrecord struct {
	*Simulated
	role    *Role
	unit    unit.Unit
	columns []*eval.Column
	stream  *stat.Stream
	slip    Slip
}

func (m *misrecord) value() eval.Value {
	if len(m.columns) == 1 {
		return m.columns[0]
	}
	l := eval.List{}
	for _, c := range m.columns {
		l.Members = append(l.Members, c)
	}
	return l
}

func (m *misrecord) apply(fault string) error {
	switch fault {
	case "turn", "turn_kept":
		pitch := m.pitch()
		if pitch == 0 {
			return fmt.Errorf("the screw of `%s` has no pitch: the simulation gives one as the truth `%s_pitch`", m.role.Name, m.role.With)
		}
		if fault == "turn" {
			m.shift(m.upTo(len(m.columns)), -1, m.signed(pitch))
			return nil
		}
		return m.keep(m.signed(pitch))
	case "half_millimetre":
		half, err := unit.Parse("mm")
		if err != nil || m.columns[0].Dim != half.Dim() {
			return fmt.Errorf("the role `%s` is no length", m.role.Name)
		}
		m.shift(m.upTo(len(m.columns)), -1, m.signed(half.SI(0.5)))
		return nil
	case "swapped_digits":
		return m.swap()
	case "copied_column":
		if len(m.columns) < 2 {
			return fmt.Errorf("the role `%s` has one column only", m.role.Name)
		}
		m.mark(1, 0, m.columns[0].Cells[0])
		m.columns[1].Cells = slices.Clone(m.columns[0].Cells)
		return nil
	}
	var known []string
	for _, f := range recordingFaults {
		known = append(known, f.Name)
	}
	return fmt.Errorf("there is no recording fault `%s`; there are %v", fault, known)
}

// pitch is the travel for one turn of the screw that the role is read by.
func (m *misrecord) pitch() float64 {
	if in := m.Instruments[m.role.With]; in != nil {
		return in.Pitch
	}
	return 0
}

// upTo returns a number from 0 to n − 1.
func (m *misrecord) upTo(n int) int { return int(m.stream.Uint64() >> 11 % uint64(n)) }

// signed returns a size with a sign of either kind.
func (m *misrecord) signed(size float64) float64 {
	if m.stream.Uint64()>>63 == 0 {
		return -size
	}
	return size
}

// shift moves one cell; a row below 0 leaves the choice to the stream.
func (m *misrecord) shift(member, row int, by float64) {
	cells := m.columns[member].Cells
	if row < 0 {
		row = m.upTo(len(cells))
	}
	c := cells[row]
	c.Typed, c.Q = "", quantity.Exact(c.Q.Value()+by, c.Q.Dim())
	m.mark(member, row, c)
	cells[row] = c
}

// keep moves the first column from a row within it on, and all columns that
// come after.
func (m *misrecord) keep(by float64) error {
	n := len(m.columns[0].Cells)
	if n < 3 {
		return fmt.Errorf("%d rows are too few to lose a turn and go on", n)
	}
	from := 1 + m.upTo(n-2)
	for k, col := range m.columns {
		for row := range col.Cells {
			if k > 0 || row >= from {
				m.shift(k, row, by)
			}
		}
	}
	return nil
}

// swap exchanges two neighbouring digits of one reading.
func (m *misrecord) swap() error {
	type place struct{ member, row, at int }
	var all []place
	for k, col := range m.columns {
		for row, c := range col.Cells {
			t := m.text(m.role, c)
			for i := 0; i+1 < len(t); i++ {
				if isDigit(t[i]) && isDigit(t[i+1]) && t[i] != t[i+1] {
					all = append(all, place{k, row, i})
				}
			}
		}
	}
	if len(all) == 0 {
		return fmt.Errorf("no reading of `%s` has two different digits side by side", m.role.Name)
	}
	p := all[m.upTo(len(all))]
	c := m.columns[p.member].Cells[p.row]
	t := []byte(m.text(m.role, c))
	t[p.at], t[p.at+1] = t[p.at+1], t[p.at]
	v, err := m.unit.ToSI(string(t))
	if err != nil {
		return err
	}
	c.Typed, c.Q = string(t), quantity.Exact(v, c.Q.Dim())
	m.mark(p.member, p.row, c)
	m.columns[p.member].Cells[p.row] = c
	return nil
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// mark notes the first cell that changes.
func (m *misrecord) mark(member, row int, is eval.Cell) {
	if m.slip.Row == 0 {
		m.slip.Member, m.slip.Row = member+1, row+1
		m.slip.Was, m.slip.Is = m.text(m.role, m.columns[member].Cells[row]), m.text(m.role, is)
	}
}
