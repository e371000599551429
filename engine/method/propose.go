package method

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Proposal is a value that is proposed for a name of a simulation: an
// expression in the simulation's own language, a word for a role that takes
// one, or – to leave an optional role unbound.
type Proposal struct {
	Name   string
	NameAt source.Span
	At     source.Span // of the value
}

// Constants are the materials that a proposal may name.
type Constants interface {
	Material(name string) (eval.Value, bool)
	MaterialNames() []string
}

// Propose returns the simulation with the statements of those names replaced.
// Beside the statements there are, a proposal may bind a further optional role
// and state a further setting of an instrument, INSTRUMENT_calibration. What is
// wrong is reported where it is proposed; the simulation is nil where that is
// an error.
func (s *Simulation) Propose(list []Proposal, c Constants) (*Simulation, []*finding.Finding) {
	p := &proposing{Simulation: s.copied(), constants: c}
	p.Simulation.constants = c
	for i := range list {
		p.take(&list[i])
	}
	if p.set.Count(finding.Error) == 0 {
		p.settle(&p.set)
		p.checkRoles(&p.set)
	}
	if p.set.Count(finding.Error) == 0 {
		p.compare(s, list)
	}
	if p.set.Count(finding.Error) > 0 {
		return nil, p.set.Sorted()
	}
	return p.Simulation, p.set.Sorted()
}

// Double returns the simulation with twice the value of a statement.
func (s *Simulation) Double(name string) (*Simulation, []*finding.Finding) {
	out := s.copied()
	var set finding.Set
	for i, st := range out.steps {
		if st.Name != name {
			continue
		}
		f := source.NewFile("twice "+name, []byte("2 * ("+formula.Print(st.X)+")"))
		twice := *st
		twice.X = formula.ParseExpr(f.Span(0, len(f.Text)), &set)
		out.steps[i] = &twice
	}
	out.settle(&set)
	if set.Count(finding.Error) > 0 {
		return nil, set.Sorted()
	}
	return out, set.Sorted()
}

// copied returns a copy whose statements can be replaced.
func (s *Simulation) copied() *Simulation {
	out := *s
	out.sorted = &sorted{}
	out.steps = slices.Clone(s.steps)
	out.proposed = map[string]source.Span{}
	for name, at := range s.proposed {
		out.proposed[name] = at
	}
	return &out
}

// proposing is a simulation with proposals being put into it.
type proposing struct {
	*Simulation
	constants Constants
	set       finding.Set
}

func (p *proposing) take(q *Proposal) {
	if before, twice := p.proposed[q.Name]; twice {
		f := errorAt(q.NameAt, "defined-twice", "`"+q.Name+"` is proposed twice", "keep one")
		f.Also = []finding.Place{{At: before, What: "the first is here"}}
		p.set.Add(f)
		return
	}
	i := slices.IndexFunc(p.steps, func(st *formula.Statement) bool { return st.Name == q.Name })
	role, _ := p.method.role(q.Name)
	if i < 0 && !p.further(q.Name, role) {
		p.set.Add(unknownProposal(q.NameAt, p.method.Name, q.Name, p.proposable()))
		return
	}
	p.proposed[q.Name] = q.NameAt
	text := strings.TrimSpace(q.At.Text())
	if text == "–" || text == "-" {
		p.leave(q, role, i)
		return
	}
	st := &formula.Statement{At: q.At, Name: q.Name, NameAt: q.NameAt, X: p.value(q, role, text)}
	if i < 0 {
		p.steps = append(p.steps, st)
		return
	}
	st.Label, st.In = p.steps[i].Label, p.steps[i].In
	p.steps[i] = st
}

// leave takes an optional role out.
func (p *proposing) leave(q *Proposal, role *Role, i int) {
	if role == nil || role.Needed() {
		p.set.Add(errorAt(q.At, "bad-proposal", "`"+q.Name+"` cannot be left out", "only an optional role can: propose a value"))
		return
	}
	if i >= 0 {
		p.steps = slices.Delete(p.steps, i, i+1)
	}
}

// value reads what is proposed.
func (p *proposing) value(q *Proposal, role *Role, text string) formula.Expr {
	if role == nil || !takesWord(role) {
		return formula.ParseExpr(q.At, &p.set)
	}
	word := strings.Trim(text, `"'`)
	switch _, known := p.constants.Material(word); {
	case role.Takes == "material" && !known:
		hint := finding.DidYouMean(word, p.constants.MaterialNames())
		if hint == "" {
			hint = "there is " + strings.Join(p.constants.MaterialNames(), ", ")
		}
		p.set.Add(errorAt(q.At, "unknown-material", "there is no material `"+word+"`", hint))
	case role.Takes == "yesno" && word != "yes" && word != "no":
		p.set.Add(errorAt(q.At, "bad-value", "`"+word+"` is no value for `"+q.Name+"`", "it should be yes or no"))
	}
	return &formula.Name{At: q.At, Name: word}
}

// further reports whether a name that the simulation has not may be proposed.
func (p *proposing) further(name string, role *Role) bool {
	if role != nil {
		return role.Name == name && !role.Needed()
	}
	return slices.Contains(p.instrumentSettings(), name)
}

// instrumentSettings are the names by which settings of the suggested
// instruments can be proposed.
func (s *Simulation) instrumentSettings() []string {
	var out []string
	for i := range s.method.Roles {
		if with := s.method.Roles[i].With; with != "" {
			for _, key := range furnished {
				out = append(out, with+"_"+key)
			}
		}
	}
	return out
}

func (p *proposing) proposable() []string {
	out := p.instrumentSettings()
	for _, st := range p.steps {
		out = append(out, st.Name)
	}
	for i := range p.method.Roles {
		if r := &p.method.Roles[i]; !r.Needed() {
			out = append(out, r.Name)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// compare holds what is proposed to the dimension and the sign of what the
// method itself has there.
func (p *proposing) compare(own *Simulation, list []Proposal) {
	before, after := own.values(), p.values()
	for _, q := range list {
		b, was := before[q.Name].(eval.Scalar)
		a, is := after[q.Name].(eval.Scalar)
		switch {
		case !is:
			if _, column := after[q.Name].(*eval.Column); was && column {
				p.set.Add(errorAt(q.At, "bad-proposal", "`"+q.Name+"` is one quantity, this is "+eval.Describe(after[q.Name]), "propose one quantity"))
			}
		case !was:
			p.checkDim(q, a)
		case a.Q.Dim() != b.Q.Dim():
			p.set.Add(errorAt(q.At, "unit-clash", fmt.Sprintf("`%s` is %s, this is %s", q.Name, eval.Describe(b), eval.Describe(a)), "propose a value in a unit of that kind, as "+proposalText(b)))
		case a.Q.Value() < 0 && b.Q.Value() > 0:
			p.set.Add(errorAt(q.At, "bad-proposal", "`"+q.Name+"` cannot be below 0", "the method itself takes "+proposalText(b)))
		}
	}
}

// checkDim holds a role that the simulation does not give to its unit.
func (p *proposing) checkDim(q Proposal, a eval.Scalar) {
	role, _ := p.method.role(q.Name)
	if role == nil {
		p.checkSetting(q, a)
		return
	}
	if u, err := role.ParseUnit(); err == nil && u.Dim() != a.Q.Dim() {
		f := errorAt(q.At, "unit-clash", fmt.Sprintf("the role `%s` is in %s, this is %s", role.Name, u, eval.Describe(a)), "propose a value in a unit of that kind")
		f.Also = []finding.Place{{At: role.UnitAt, What: "the method says so, here"}}
		p.set.Add(f)
	}
}

// checkSetting holds a setting of an instrument to the unit of what is read by
// it; scale and divisions are numbers.
func (p *proposing) checkSetting(q Proposal, a eval.Scalar) {
	for i := range p.method.Roles {
		r := &p.method.Roles[i]
		key, ok := strings.CutPrefix(q.Name, r.With+"_")
		if r.With == "" || !ok {
			continue
		}
		u, err := r.ParseUnit()
		if key == "scale" || key == "divisions" {
			u = unit.Unit{}
		}
		switch {
		case err == nil && u.Dim() != a.Q.Dim():
			f := errorAt(q.At, "unit-clash", fmt.Sprintf("`%s` is in %s, this is %s", q.Name, u, eval.Describe(a)), "propose a value in a unit of that kind")
			f.Also = []finding.Place{{At: r.WithAt, What: "the instrument is here"}}
			p.set.Add(f)
		case key == "resolution" && !(a.Q.Value() > 0):
			p.set.Add(errorAt(q.At, "bad-proposal", "a resolution is above 0", ""))
		}
		return
	}
}

// values are those of all statements in a run without noise.
func (s *Simulation) values() map[string]eval.Value {
	r := s.newRun(Setup{Exact: true, Settled: true})
	r.all()
	return r.values
}

func proposalText(v eval.Scalar) string { return "`" + quantityText(v.Q.Value(), eval.UnitOf(v)) + "`" }

// unknownProposal: `d_treu: 0.3 mm` in a plan.
func unknownProposal(at source.Span, method, name string, known []string) *finding.Finding {
	hint := finding.DidYouMean(name, known)
	if hint == "" {
		hint = "`taut plan " + method + " --new` lists the names"
	}
	return errorAt(at, "unknown-proposal", fmt.Sprintf("nothing in the method `%s` is named `%s`", method, name), hint)
}

// Truth is one name of a simulation, as a plan sees it.
type Truth struct {
	Name    string
	Value   eval.Value
	Typed   string // the expression
	Comment string
	Kind    TruthKind
	// Proposed says that a proposal gives it.
	Proposed bool
}

// TruthKind says what a plan does with a name.
type TruthKind int

const (
	// Chosen is a truth that rests on no other: it can be decided on. A plan
	// takes the middle of its draws.
	Chosen TruthKind = iota
	// Chance is one that is zero in the middle, such as an instrument's error:
	// a plan leaves it to chance, as noise is.
	Chance
	// Stated is what an optional role is told of the specimen, such as its
	// strength: a plan binds it only where it is proposed.
	Stated
	// Following is computed from others.
	Following
)

// sorted keeps what a plan does with each name.
type sorted struct {
	once sync.Once
	by   map[string]TruthKind
}

// kinds says of each statement what a plan does with it.
func (s *Simulation) kinds() map[string]TruthKind {
	s.sorted.once.Do(func() {
		values := s.values()
		s.sorted.by = make(map[string]TruthKind, len(s.steps))
		for _, st := range s.steps {
			s.sorted.by[st.Name] = s.kindOf(st, values)
		}
	})
	return s.sorted.by
}

// Truths lists the names of the simulation in the order of the method file,
// with their values in a run without noise, each draw at its middle.
func (s *Simulation) Truths() []Truth {
	values, kinds := s.values(), s.kinds()
	var out []Truth
	for _, st := range s.steps {
		at, proposed := s.proposed[st.Name]
		t := Truth{Name: st.Name, Value: values[st.Name], Kind: kinds[st.Name], Proposed: proposed, Comment: s.commentOf(st)}
		if proposed && at.File == st.NameAt.File {
			t.Typed = strings.TrimSpace(st.At.Text())
		} else {
			t.Typed = formula.Print(st.X)
		}
		out = append(out, t)
	}
	return out
}

// Text is the value as a plan states it.
func (t *Truth) Text() string {
	switch v := t.Value.(type) {
	case eval.Scalar:
		if strings.Contains(t.Typed, "±") {
			return t.Typed
		}
		return quantityText(v.Q.Value(), eval.UnitOf(v))
	case eval.Word:
		return v.Text
	case eval.Bool:
		if v.Truth.Is {
			return "yes"
		}
		return "no"
	}
	return t.Typed
}

func (s *Simulation) kindOf(st *formula.Statement, values map[string]eval.Value) TruthKind {
	role, _ := s.method.role(st.Name)
	_, proposed := s.proposed[st.Name]
	if role != nil && role.Optional() && !proposed && role.Takes != "column" && role.Takes != "columns" && role.Takes != "readings" && !calls(st.X, "read") {
		return Stated
	}
	if s.isWord(st) {
		return Chosen
	}
	if s.rests(st.X) || calls(st.X, "noise") {
		return Following
	}
	v, single := values[st.Name].(eval.Scalar)
	switch {
	case single && v.Q.Value() == 0 && calls(st.X, "draw"):
		return Chance
	case single, proposed:
		return Chosen
	}
	return Following
}

// rests reports whether an expression uses another statement.
func (s *Simulation) rests(x formula.Expr) bool {
	return slices.ContainsFunc(formula.Names(x), func(n *formula.Name) bool {
		return slices.ContainsFunc(s.steps, func(st *formula.Statement) bool { return st.Name == n.Name })
	})
}

// calls reports whether an expression calls a function.
func calls(x formula.Expr, name string) bool {
	found := false
	formula.Walk(x, func(e formula.Expr) bool {
		c, ok := e.(*formula.Call)
		found = found || ok && c.Name == name
		return !found
	})
	return found
}

// commentOf is the label of a statement, else the comment behind it, else what
// the role says.
func (s *Simulation) commentOf(st *formula.Statement) string {
	if st.Label != "" {
		return st.Label
	}
	if st.At.File == s.method.File {
		line, _ := st.At.Position()
		if _, after, ok := strings.Cut(s.method.File.Line(line), "#"); ok {
			return strings.TrimSpace(after)
		}
	}
	if r, _ := s.method.role(st.Name); r != nil {
		return proseOf(r.What)
	}
	return ""
}

// material returns the constants of the material that a dotted name begins
// with.
func (s *Simulation) material(name string) (eval.Value, []string, bool) {
	if s.constants == nil {
		return nil, nil, false
	}
	head, rest, dotted := strings.Cut(name, ".")
	v, ok := s.constants.Material(head)
	if !ok || !dotted {
		return v, nil, ok
	}
	return v, strings.Split(rest, "."), true
}

// asTyped is how a proposed quantity of a role stands in a record: as it was
// typed, with its ±, where that means the same there.
func (s *Simulation) asTyped(role string) (string, bool) {
	if _, proposed := s.proposed[role]; !proposed {
		return "", false
	}
	for _, st := range s.steps {
		if st.Name != role || s.rests(st.X) || calls(st.X, "draw") || calls(st.X, "noise") || calls(st.X, "read") || calls(st.X, "seq") {
			continue
		}
		return strings.TrimSpace(st.At.Text()), true
	}
	return "", false
}

// quoted is a word as a binding writes it.
func quoted(word string) string {
	if record.IsName(word) {
		return word
	}
	return `"` + word + `"`
}
