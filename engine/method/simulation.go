package method

import (
	"slices"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/graph"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Simulation is how the readings of a practical come about from chosen
// truths: the blocks `simulate` and `faults` of a method.
type Simulation struct {
	Faults []Fault

	method *Method
	at     source.Span
	steps  []*formula.Statement
	order  []int // of the steps that can be computed

	proposed  map[string]source.Span // the names that a plan gives
	constants Constants              // the materials that a plan may name; nil for none
	sorted    *sorted
}

const (
	simulateKind = "simulate"
	faultsKind   = "faults"
)

// Simulation reads the simulation of the method once; nil where it has none or
// where it cannot be used. What is wrong is reported at the method's lines.
func (m *Method) Simulation() (*Simulation, []*finding.Finding) {
	m.simulateOnce.Do(func() {
		var set finding.Set
		m.simulation = m.readSimulation(&set)
		if m.simulationFindings = set.Sorted(); set.Count(finding.Error) > 0 {
			m.simulation = nil
		}
	})
	return m.simulation, m.simulationFindings
}

func (m *Method) readSimulation(set *finding.Set) *Simulation {
	s := &Simulation{method: m, sorted: &sorted{}}
	b := m.only(simulateKind, set)
	if f := m.only(faultsKind, set); f != nil {
		s.Faults = m.readFaults(f, set)
		if b == nil {
			set.Add(noSimulation(f.KindAt))
		}
	}
	if b == nil {
		return nil
	}
	s.at = b.KindAt
	s.steps = formula.ParseStatements(b.Body.Span, set)
	s.checkNames(set)
	s.settle(set)
	s.checkRoles(set)
	return s
}

// only returns the one block of a kind; nil where there is none.
func (m *Method) only(kind string, set *finding.Set) *record.Block {
	var out *record.Block
	for _, b := range m.Record.Blocks {
		if b.Kind != kind {
			continue
		}
		if out != nil {
			set.Add(twoBlocks(b.KindAt, kind, out.KindAt))
			continue
		}
		out = b
	}
	return out
}

// Fault returns the fault of that name.
func (s *Simulation) Fault(name string) (*Fault, bool) {
	for i := range s.Faults {
		if s.Faults[i].Name == name {
			return &s.Faults[i], true
		}
	}
	return nil, false
}

// checkNames holds the names of statements and faults to one definition each.
func (s *Simulation) checkNames(set *finding.Set) {
	seen := map[string]source.Span{}
	for _, f := range s.Faults {
		seen[f.Name] = f.At
	}
	for _, st := range s.steps {
		if before, twice := seen[st.Name]; twice {
			f := errorAt(st.NameAt, "defined-twice", "`"+st.Name+"` is defined a second time", "give one of them another name")
			f.Also = []finding.Place{{At: before, What: "the first is here"}}
			set.Add(f)
			continue
		}
		seen[st.Name] = st.NameAt
	}
}

// settle finds the order of the statements and reports what they use in vain.
func (s *Simulation) settle(set *finding.Set) {
	index := map[string]int{}
	var known []string
	for i, st := range s.steps {
		if _, twice := index[st.Name]; !twice {
			index[st.Name] = i
			known = append(known, st.Name)
		}
	}
	used := map[string]bool{}
	for _, f := range s.Faults {
		known = append(known, f.Name)
	}
	slices.Sort(known)
	defs := make([]graph.Def, len(s.steps))
	for i, st := range s.steps {
		defs[i] = graph.Def{Name: st.Name, At: st.NameAt}
		if s.isWord(st) {
			continue
		}
		if _, proposed := s.proposed[st.Name]; !proposed {
			refuseReadings(st.X, set)
		}
		for _, n := range formula.Names(st.X) {
			to, ok := index[n.Name]
			_, fault := s.Fault(n.Name)
			used[n.Name] = true
			switch {
			case ok:
				defs[i].Uses = append(defs[i].Uses, graph.Use{Name: n.Name, At: n.At, Target: to})
			case s.isConstant(n.Name):
			case !fault:
				set.Add(unknownTruth(n.At, n.Name, known))
			}
		}
	}
	s.afterResolutions(defs, index)
	order, cycles := graph.Order(defs)
	for _, c := range cycles {
		set.Add(graph.Circle(defs, c))
	}
	s.order = order
	for _, f := range s.Faults {
		if !used[f.Name] && len(s.proposed) == 0 { // a plan may put a value in the place of what uses it
			set.Add(idleFault(f.At, f.Name))
		}
	}
}

// afterResolutions has what is read off an instrument computed after the
// resolution that is proposed for it.
func (s *Simulation) afterResolutions(defs []graph.Def, index map[string]int) {
	for i, st := range s.steps {
		name, ok := s.resolutionOf(st.Name)
		if to, there := index[name]; ok && there {
			defs[i].Uses = append(defs[i].Uses, graph.Use{Name: name, At: st.NameAt, Target: to})
		}
	}
}

// resolutionOf names the resolution that is proposed for the instrument by
// which a statement's role is read.
func (s *Simulation) resolutionOf(statement string) (string, bool) {
	role, _ := s.method.role(statement)
	if role == nil || role.With == "" {
		return "", false
	}
	name := role.With + "_resolution"
	_, proposed := s.proposed[name]
	return name, proposed
}

func (s *Simulation) isConstant(name string) bool {
	_, _, ok := s.material(name)
	return ok
}

// refuseReadings reports readings by an instrument, which a simulation makes
// with read(…).
func refuseReadings(x formula.Expr, set *finding.Set) {
	formula.Walk(x, func(e formula.Expr) bool {
		if l, ok := e.(*formula.Literal); ok && l.Instrument != "" {
			set.Add(errorAt(l.InstrAt, "bad-simulation", "a simulation reads no instrument", "write `read(x, resolution, zero)`"))
		}
		return true
	})
}

// isWord reports whether a statement gives a role that takes a word.
func (s *Simulation) isWord(st *formula.Statement) bool {
	r, _ := s.method.role(st.Name)
	return r != nil && takesWord(r)
}

func takesWord(r *Role) bool { return r.Takes == "word" || r.Takes == "yesno" || r.Takes == "material" }

// role returns the role that a name stands for and which member of it: 0 for
// the role itself, 1 or 2 for `reading_1` and `reading_2`.
func (m *Method) role(name string) (*Role, int) {
	if r := m.Role(name); r != nil {
		return r, 0
	}
	for i, tail := range []string{"_1", "_2"} {
		if head, ok := strings.CutSuffix(name, tail); ok {
			if r := m.Role(head); r != nil && r.Most() == 2 {
				return r, i + 1
			}
		}
	}
	return nil, 0
}

// checkRoles reports needed roles that the simulation does not give, and those
// that it gives twice.
func (s *Simulation) checkRoles(set *finding.Set) {
	at := map[string]*formula.Statement{}
	for _, st := range s.steps {
		at[st.Name] = st
	}
	for i := range s.method.Roles {
		r := &s.method.Roles[i]
		whole, first, second := at[r.Name], at[r.Name+"_1"], at[r.Name+"_2"]
		if r.Most() < 2 {
			first, second = nil, nil
		}
		switch {
		case whole != nil && (first != nil || second != nil):
			set.Add(errorAt(whole.NameAt, "bad-simulation", "the role `"+r.Name+"` is given whole and by its columns", "keep one of the two"))
		case second != nil && first == nil:
			set.Add(errorAt(second.NameAt, "bad-simulation", "the role `"+r.Name+"` is given a second column and no first", "name the only column `"+r.Name+"`"))
		case whole == nil && first == nil && r.Needed():
			f := errorAt(s.at, "bad-simulation", "the simulation does not give the role `"+r.Name+"`, which is needed", "add a statement `"+r.Name+" = …`")
			f.Also = []finding.Place{{At: r.At, What: "the role is here"}}
			set.Add(f)
		}
	}
}

// Fault is one row of the block `faults`: a name that is zero in the
// simulation unless it is chosen.
type Fault struct {
	Name        string
	Least, Most eval.Scalar
	What        string
	At          source.Span
}

// Middle is the size halfway between the least and the most.
func (f *Fault) Middle() quantity.Q {
	return quantity.Exact((f.Least.Q.Value()+f.Most.Q.Value())/2, f.Least.Q.Dim())
}

var faultColumns = []string{"fault", "least", "most", "what"}

// readFaults reads the table of faults. The unit of a size stands in the
// heading, `least / mm`, or in the cell.
func (m *Method) readFaults(b *record.Block, set *finding.Set) []Fault {
	t := record.ReadTable(b.Body.Span, b.Body.Lines, '.', set)
	if len(t.Head) != len(faultColumns) {
		at := b.KindAt
		if len(t.Head) > 0 {
			at = t.Head[0].At
		}
		set.Add(badFaultHead(at))
		return nil
	}
	units := make([]string, len(t.Head))
	for i, h := range t.Head {
		name, un, _ := strings.Cut(h.Text, " / ")
		if strings.TrimSpace(name) != faultColumns[i] {
			set.Add(badFaultHead(h.At))
			return nil
		}
		units[i] = strings.TrimSpace(un)
	}
	var out []Fault
	for _, row := range t.Rows {
		if f, ok := m.readFault(row, units, set); ok {
			for _, before := range out {
				if before.Name == f.Name {
					g := badFault(f.At, "there are two faults `"+f.Name+"`", "give one of them another name")
					g.Also = []finding.Place{{At: before.At, What: "the first is here"}}
					set.Add(g)
				}
			}
			out = append(out, f)
		}
	}
	return out
}

func (m *Method) readFault(row record.TableRow, units []string, set *finding.Set) (Fault, bool) {
	if len(row.Cells) != len(faultColumns) {
		set.Add(badFault(row.At, "this row has not four cells", "fault, least, most, what; put a cell that holds commas between quotation marks"))
		return Fault{}, false
	}
	name := row.Cells[0]
	if role, _ := m.role(name.Text); role != nil || !record.IsName(name.Text) || row.Struck {
		set.Add(badFault(name.At, "`"+name.Text+"` cannot be the name of a fault", "a letter followed by letters, digits and `_`; not the name of a role"))
		return Fault{}, false
	}
	f := Fault{Name: name.Text, At: name.At, What: row.Cells[3].Text}
	least, ok1 := faultSize(row.Cells[1], units[1], set)
	most, ok2 := faultSize(row.Cells[2], units[2], set)
	if !ok1 || !ok2 {
		return Fault{}, false
	}
	f.Least, f.Most = least, most
	if least.Q.Dim() != most.Q.Dim() {
		set.Add(badFault(row.Cells[2].At, "`"+f.Name+"` goes from "+eval.Describe(least)+" to "+eval.Describe(most), "give both in units of one kind"))
		return Fault{}, false
	}
	if least.Q.Value() > most.Q.Value() {
		set.Add(badFault(row.Cells[1].At, "the least of `"+f.Name+"` is not below its most", "give the smaller first"))
		return Fault{}, false
	}
	return f, true
}

// faultSize reads one size, in the unit of its cell or else of the heading.
func faultSize(cell record.TableCell, heading string, set *finding.Set) (eval.Scalar, bool) {
	lit, negative := formula.ParseLiteral(cell.At, false, set)
	if lit == nil {
		return eval.Scalar{}, false
	}
	if lit.Unit.Text == "" {
		lit.Unit = formula.Unit{Text: heading, At: cell.At}
	}
	e := &eval.Eval{Report: set.Add}
	v, ok := e.Literal(lit, negative).(eval.Scalar)
	v.Q = v.Q.ValueOnly()
	return v, ok
}
