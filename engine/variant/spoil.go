package variant

import (
	"fmt"
	"maps"
	"slices"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/results"
	"example.org/taut/engine/unit"
)

// candidate is a fault that a student's readings may be given.
type candidate struct {
	apparatus *method.Fault          // one of the method's own, or
	recording *method.RecordingFault // one of recording
	role      string                 // in which it is made
}

func (c candidate) id() string {
	if c.apparatus != nil {
		return "apparatus " + c.apparatus.Name
	}
	return "recording " + c.recording.Name
}

// candidates are the faults, each once: one of recording in one of the roles
// that are read off an instrument, in columns.
func (w *maker) candidates(s *method.Simulated) []candidate {
	var out []candidate
	if sim, _ := w.method.Simulation(); sim != nil {
		for i := range sim.Faults {
			out = append(out, candidate{apparatus: &sim.Faults[i]})
		}
	}
	for _, f := range method.RecordingFaults() {
		var roles []string
		for _, r := range w.method.Roles {
			if _, _, err := s.Misrecord(f.Name, r.Name, 0); err == nil && w.mistakable(s, &r, f.Name) {
				roles = append(roles, r.Name)
			}
		}
		if len(roles) > 0 {
			role := roles[w.hash("role of "+f.Name)%uint64(len(roles))]
			out = append(out, candidate{recording: &f, role: role})
		}
	}
	return out
}

// mistakable reports whether a mistake can be made where a role is read. Half
// a millimetre is overlooked on the main scale of a screw or a gauge, not on a
// tape that is read to the millimetre.
func (w *maker) mistakable(s *method.Simulated, r *method.Role, fault string) bool {
	reading, read := s.Readings[r.Name]
	if !read || r.With == "" {
		return false
	}
	const finest = 0.1e-3 // m
	return fault != "half_millimetre" || reading.Resolution <= finest
}

// spoil returns the readings with one fault, and notes it for the key. A fault
// that changes no reading is passed over, and so is one that the record meets
// with an error: there would be nothing left for the student to find. The
// readings stay as they are where no fault is left.
func (w *maker) spoil(s *method.Simulated, student *Student) *method.Simulated {
	all := w.candidates(s)
	w.byRank(all)
	before := w.method.Scaffold(w.as, s)
	for _, c := range all {
		spoilt, injected, slip := w.apply(c, s)
		if spoilt == nil || maps.Equal(before, w.method.Scaffold(w.as, spoilt)) || hasErrors(w.bench.Run(spoilt)) {
			continue
		}
		student.Faults = append(student.Faults, injected)
		if single(injected.Name) && injected.Kind == "recording" {
			if out := w.bench.Run(struck(spoilt, slip)); !hasErrors(out) {
				student.Struck = w.expect(out)
			}
		}
		return spoilt
	}
	return s
}

// single reports whether a fault of recording spoils one reading alone.
func single(fault string) bool {
	return fault == "turn" || fault == "half_millimetre" || fault == "swapped_digits"
}

// apply makes one fault; nil where it cannot be.
func (w *maker) apply(c candidate, s *method.Simulated) (*method.Simulated, Injected, method.Slip) {
	if f := c.apparatus; f != nil {
		least, most := f.Least.Q.Value(), f.Most.Q.Value()
		size := quantity.Exact(least+float64(w.chance("size of "+f.Name)*(most-least)), f.Least.Q.Dim())
		spoilt, _ := w.method.Simulate(w.seed, map[string]quantity.Q{f.Name: size}, false)
		return spoilt, sized(Injected{Name: f.Name, Kind: "apparatus", What: f.What}, size, eval.UnitOf(f.Least)), method.Slip{}
	}
	spoilt, slip, err := s.Misrecord(c.recording.Name, c.role, w.hash("reading"))
	if err != nil {
		return nil, Injected{}, slip
	}
	in := Injected{Name: slip.Fault, Kind: "recording", What: c.recording.What, Place: w.place(slip), Was: slip.Was, Is: slip.Is}
	if slip.Fault != "copied_column" {
		was, is := cellOf(s, slip), cellOf(spoilt, slip)
		size := quantity.Exact(is.Q.Value()-was.Q.Value(), was.Q.Dim())
		in = sized(in, size, unitOfRole(spoilt, slip.Role).Difference())
	}
	return spoilt, in, slip
}

func sized(in Injected, size quantity.Q, u unit.Unit) Injected {
	value := results.Float(size.Value())
	in.Size, in.Unit = &value, u.Coherent().String()
	in.Shown = quantity.Format(size.Value(), 0, 0, u, quantity.Figures, quantity.Options{N: 3}).String()
	return in
}

func unitOfRole(s *method.Simulated, role string) unit.Unit {
	if u, ok := s.Units[role]; ok {
		return u
	}
	if l, ok := s.Roles[role].(eval.List); ok {
		return eval.UnitOf(l.Members[0])
	}
	return eval.UnitOf(s.Roles[role])
}

// column is the column of a slip.
func column(s *method.Simulated, slip method.Slip) *eval.Column {
	v := s.Roles[slip.Role]
	if l, ok := v.(eval.List); ok {
		v = l.Members[slip.Member-1]
	}
	c, _ := v.(*eval.Column) // Misrecord makes slips in columns only
	return c
}

func cellOf(s *method.Simulated, slip method.Slip) eval.Cell {
	return column(s, slip).Cells[slip.Row-1]
}

// struck returns the readings with the one of the slip struck: a cell that
// takes no part, as one that was not read.
func struck(s *method.Simulated, slip method.Slip) *method.Simulated {
	out := *s
	out.Roles = maps.Clone(s.Roles)
	c := *column(s, slip)
	c.Cells = slices.Clone(c.Cells)
	c.Cells[slip.Row-1].Hole = true
	out.Roles[slip.Role] = &c
	if l, ok := s.Roles[slip.Role].(eval.List); ok {
		l.Members = slices.Clone(l.Members)
		l.Members[slip.Member-1] = &c
		out.Roles[slip.Role] = l
	}
	return &out
}

// place names the first wrong reading as the student's record does.
func (w *maker) place(slip method.Slip) string {
	name := slip.Role
	if r := w.method.Role(slip.Role); r != nil && slip.Member <= len(r.Columns) {
		c := r.Columns[slip.Member-1]
		name = c.Table + "." + c.Column
	}
	return fmt.Sprintf("%s, row %d", name, slip.Row)
}

// shown is a true value to four figures in the unit in which it was written.
func shown(v eval.Scalar) string {
	return quantity.Format(v.Q.Value(), 0, 0, eval.UnitOf(v), quantity.Figures, quantity.Options{N: 4}).String()
}
