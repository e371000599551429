package method

import (
	"fmt"
	"math"
	"slices"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// Simulated is one set of readings with the truths that they came from. All
// values are exact.
type Simulated struct {
	Seed   uint64
	Faults map[string]quantity.Q // those that were chosen
	// Roles holds what the simulation gives for each role: a quantity, a
	// column, a list of two columns, a word, yes or no.
	Roles map[string]eval.Value
	// Truths holds every other name of the simulation.
	Truths map[string]eval.Value
	// Names are those of Truths in the order of the method file.
	Names []string
	// Instruments is the simulated apparatus, by the instrument's name: those
	// that the roles given suggest.
	Instruments map[string]*Instrument
	// Units is the unit in which each role is read.
	Units map[string]unit.Unit
	// Readings tells of each role that is read off an instrument how that is done.
	Readings map[string]Reading
	// Plan says that noise and rounding were off.
	Plan bool
	// Planning says that the readings are those of a plan.
	Planning bool

	method *Method
	typed  map[string]string // what is proposed for roles, as typed
}

// Reading is how a role is read off an instrument, in coherent SI units.
type Reading struct {
	Resolution float64
	Zero       float64 // the reading where the true value is 0, as the instrument shows it
	Unit       unit.Unit
}

// Instrument is one instrument of the simulated apparatus. Numbers are in
// coherent SI units.
type Instrument struct {
	Name       string
	Unit       unit.Unit // of its resolution
	Resolution float64   // 0 where the simulation reads none
	Zero       float64   // as the instrument shows it
	HasZero    bool
	Pitch      float64 // of a screw; 0 for none
	// Extra holds the further settings of the apparatus file, as typed there:
	// pitch, divisions, calibration, scale, each.
	Extra []InstrumentSetting
}

// InstrumentSetting is one line of an apparatus file: `pitch: 0.5 mm`.
type InstrumentSetting struct{ Key, Text string }

// Simulate runs the method's simulation once. Faults gives the sizes of the
// faults that are chosen; all others are zero. Plan leaves noise and rounding
// off. The same arguments give the same readings on every machine, and a fault
// changes no draw. Simulated is nil where there is an error.
func (m *Method) Simulate(seed uint64, faults map[string]quantity.Q, plan bool) (*Simulated, []*finding.Finding) {
	s, findings := m.Simulation()
	if s == nil {
		if len(findings) == 0 {
			findings = []*finding.Finding{noSimulation(m.File.Span(0, 0))}
		}
		return nil, findings
	}
	return s.Run(seed, faults, plan)
}

// Run is Simulate of the simulation itself.
func (s *Simulation) Run(seed uint64, faults map[string]quantity.Q, plan bool) (*Simulated, []*finding.Finding) {
	return s.RunAs(Setup{Seed: seed, Faults: faults, Exact: plan})
}

// Setup is how a simulation is run.
type Setup struct {
	Seed   uint64
	Faults map[string]quantity.Q // sizes of the faults chosen
	Exact  bool                  // without noise and rounding
	// Settled is for plans: truths that can be chosen take the middle of their
	// draws (all draws do where Exact is set too), and optional roles that are
	// told of the specimen are bound only where they are proposed.
	Settled bool
}

// RunAs runs the simulation once.
func (s *Simulation) RunAs(o Setup) (*Simulated, []*finding.Finding) {
	r := s.newRun(o)
	if o.Settled {
		r.settleTruths()
	}
	r.all()
	r.gatherRoles()
	r.gatherInstruments()
	if r.set.Count(finding.Error) > 0 {
		return nil, r.set.Sorted()
	}
	return r.out, r.set.Sorted()
}

// settleTruths sorts the statements for a plan.
func (r *run) settleTruths() {
	r.out.Planning, r.out.typed = true, map[string]string{}
	for name, kind := range r.kinds() {
		switch kind {
		case Stated:
			r.untold[name] = true
		case Chosen:
			r.middle[name] = true
		}
	}
	for name := range r.proposed {
		if text, ok := r.asTyped(name); ok {
			r.out.typed[name] = text
		}
	}
}

// newRun returns a run that has computed nothing yet.
func (s *Simulation) newRun(o Setup) *run {
	r := &run{Simulation: s, plan: o.Exact, reads: map[string]Reading{}, values: map[string]eval.Value{}, untold: map[string]bool{}, middle: map[string]bool{},
		out: &Simulated{Seed: o.Seed, Faults: o.Faults, Roles: map[string]eval.Value{}, Truths: map[string]eval.Value{},
			Instruments: map[string]*Instrument{}, Units: map[string]unit.Unit{}, Readings: map[string]Reading{}, Plan: o.Exact, method: s.method}}
	if o.Exact && o.Settled {
		for _, st := range s.steps {
			r.middle[st.Name] = true
		}
	}
	r.extra = map[string]eval.Extra{
		"draw":  {Usage: simulating[0].Usage, Least: 2, Most: 2, F: r.draw},
		"noise": {Usage: simulating[1].Usage, Least: 1, Most: 1, F: r.noise},
		"seq":   {Usage: simulating[2].Usage, Least: 3, Most: 3, F: seq},
		"read":  {Usage: simulating[3].Usage, Least: 3, Most: 3, F: r.read},
	}
	return r
}

// all computes the statements.
func (r *run) all() {
	r.choose(r.out.Faults)
	for _, i := range r.order {
		r.step(r.steps[i])
	}
}

// simulating is what the manual says of the functions that a simulation has
// beside those of the language.
var simulating = []eval.Function{
	{Name: "draw", Usage: "draw(a, b)", What: "one value between two quantities, all equally likely"},
	{Name: "noise", Usage: "noise(s)", What: "a normal value of standard deviation s about zero; with a column a fresh one in every row"},
	{Name: "seq", Usage: "seq(a, step, n)", What: "the column a, a + step, … of n rows"},
	{Name: "read", Usage: "read(x, resolution, zero)", What: "x + zero, as an instrument of that resolution shows it"},
}

// SimulationFunctions lists the functions that are known in a simulation only.
func SimulationFunctions() []eval.Function { return slices.Clone(simulating) }

// run is one run of a simulation. It is the names that its statements see.
type run struct {
	*Simulation
	plan   bool
	out    *Simulated
	set    finding.Set
	values map[string]eval.Value
	reads  map[string]Reading // by statement
	extra  map[string]eval.Extra
	middle map[string]bool // statements whose draws take their middle
	untold map[string]bool // roles that are not bound

	name  string // of the statement in hand
	draws int    // in it so far
}

var _ eval.Env = (*run)(nil)

// choose sets the faults.
func (r *run) choose(chosen map[string]quantity.Q) {
	for _, f := range r.Faults {
		u := eval.UnitOf(f.Least)
		q, ok := chosen[f.Name]
		switch {
		case !ok:
			q = quantity.Exact(0, f.Least.Q.Dim())
		case q.Dim() != f.Least.Q.Dim():
			r.set.Add(errorAt(f.At, "unit-clash", fmt.Sprintf("the fault `%s` is in %s, the size chosen in %s", f.Name, u, q.Dim()), "choose a size in the unit of the table"))
			q = quantity.Exact(0, f.Least.Q.Dim())
		}
		r.values[f.Name] = eval.Scalar{Q: q.ValueOnly(), Unit: &u}
	}
	var unknown []string
	for name := range chosen {
		if _, ok := r.Fault(name); !ok {
			unknown = append(unknown, name)
		}
	}
	slices.Sort(unknown)
	for _, name := range unknown {
		r.set.Add(errorAt(r.at, "unknown-fault", "the method `"+r.method.Name+"` has no fault `"+name+"`", finding.DidYouMean(name, r.faultNames())))
	}
}

func (s *Simulation) faultNames() []string {
	out := make([]string, len(s.Faults))
	for i, f := range s.Faults {
		out[i] = f.Name
	}
	return out
}

// step computes one statement.
func (r *run) step(st *formula.Statement) {
	if _, twice := r.values[st.Name]; twice {
		return // reported when the simulation was read
	}
	if r.isWord(st) {
		r.values[st.Name] = r.word(st)
		return
	}
	r.name, r.draws = st.Name, 0
	e := &eval.Eval{Env: r, Owner: st.Name, Report: r.report, Extra: r.extra}
	v := plainValue(eval.Single(e.Expr(st.X)))
	if st.In.Text != "" {
		v = r.in(e, st, v)
	}
	r.values[st.Name] = v
}

// report takes up what is wrong. Remarks are for readings, of which these are
// none.
func (r *run) report(f *finding.Finding) {
	if f.Severity > finding.Note {
		r.set.Add(f)
	}
}

func (r *run) in(e *eval.Eval, st *formula.Statement, v eval.Value) eval.Value {
	un, ok := eval.ParseUnit(st.In.Text, st.In.At, e)
	if !ok {
		return eval.Waiting{}
	}
	if d, ok := eval.DimOf(v); ok && d != un.Dim() {
		r.set.Add(eval.InClash(e, st.In.At, un, st.X, v))
		return eval.Waiting{}
	}
	return eval.In(v, un)
}

// word gives a role that takes a word what the statement names.
func (r *run) word(st *formula.Statement) eval.Value {
	role, _ := r.method.role(st.Name)
	n, ok := st.X.(*formula.Name)
	switch {
	case !ok, role.Takes == "yesno" && n.Name != "yes" && n.Name != "no":
		r.set.Add(errorAt(st.X.Span(), "bad-simulation", fmt.Sprintf("the role `%s` takes %s", role.Name, article(role.Takes)), "write the word alone, without quotation marks"))
		return eval.Waiting{}
	case role.Takes == "yesno":
		return eval.Bool{Truth: quantity.Known(n.Name == "yes")}
	}
	return eval.Word{Text: n.Name}
}

func article(takes string) string {
	if takes == "yesno" {
		return "yes or no"
	}
	return "a " + takes
}

// plainValue leaves the uncertainties away: a truth has none.
func plainValue(v eval.Value) eval.Value {
	switch v := v.(type) {
	case eval.Scalar:
		return eval.Scalar{Q: v.Q.ValueOnly(), Unit: v.Unit}
	case *eval.Column:
		out := &eval.Column{Dim: v.Dim, Unit: v.Unit, Cells: make([]eval.Cell, len(v.Cells))}
		for i, c := range v.Cells {
			out.Cells[i] = eval.Cell{Q: c.Q.ValueOnly(), Hole: c.Hole, Row: i + 1}
		}
		return out
	}
	return v
}

// Lookup implements eval.Env.
func (r *run) Lookup(name string) (eval.Value, []string) {
	if v, ok := r.values[name]; ok {
		return v, nil
	}
	if v, rest, ok := r.material(name); ok {
		return v, rest
	}
	return eval.Waiting{On: name}, nil // reported when the simulation was read
}

// Instrument implements eval.Env: a simulation has none.
func (r *run) Instrument(name string) (*instrument.Instrument, eval.Waiting, bool) {
	return nil, eval.Waiting{On: "@" + name}, false
}

// Given implements eval.Env.
func (r *run) Given(string) (bound, known bool) { return false, false }

// Defined implements eval.Env.
func (r *run) Defined(name string) source.Span {
	for _, st := range r.steps {
		if st.Name == name {
			return st.NameAt
		}
	}
	if f, ok := r.Fault(name); ok {
		return f.At
	}
	return source.Span{}
}

// stream is that of the next draw of the statement in hand. It is named by the
// statement and by how many draws stand before it there, so that nothing else
// can change it.
func (r *run) stream() *stat.Stream {
	r.draws++
	return stat.NewStream(r.out.Seed, fmt.Sprintf("%s #%d", r.name, r.draws), 0)
}

// draw is draw(a, b): one rectangular value between two quantities.
func (r *run) draw(c *eval.Call) eval.Value {
	s := r.stream()
	a, bad := c.Scalar(0)
	if bad != nil {
		return bad
	}
	b, bad := c.Scalar(1)
	if bad != nil {
		return bad
	}
	if a.Q.Dim() != b.Q.Dim() {
		return c.Fail(c.X.Args[1].Span(), "unit-clash", "`draw` goes from "+eval.Describe(a)+" to "+eval.Describe(b), "give both in units of one kind")
	}
	var x [1]float64
	if !r.middle[r.name] {
		stat.Rectangular().Fill(x[:], s)
	}
	middle, half := (a.Q.Value()+b.Q.Value())/2, (b.Q.Value()-a.Q.Value())/2
	u := eval.UnitOf(a)
	return eval.Scalar{Q: quantity.Exact(middle+float64(half*x[0]), a.Q.Dim()), Unit: &u}
}

// noise is noise(s): a normal value of standard deviation s about zero, a
// fresh one in every row.
func (r *run) noise(c *eval.Call) eval.Value {
	z := &normals{stream: r.stream(), off: r.plan}
	u := eval.UnitOf(c.Args[0]).Difference()
	switch s := c.Args[0].(type) {
	case eval.Scalar:
		return eval.Rowwise{Dim: s.Q.Dim(), Unit: &u, At: func(i int) quantity.Q {
			return quantity.Exact(z.at(i)*s.Q.Value(), s.Q.Dim())
		}}
	case eval.Rowwise:
		return eval.Rowwise{Dim: s.Dim, Unit: &u, At: func(i int) quantity.Q {
			return quantity.Exact(z.at(i)*s.At(i).Value(), s.Dim)
		}}
	case *eval.Column:
		out := &eval.Column{Dim: s.Dim, Unit: &u, Cells: slices.Clone(s.Cells)}
		for i := range out.Cells {
			out.Cells[i].Q = quantity.Exact(z.at(i)*s.Cells[i].Q.Value(), s.Dim)
		}
		return out
	}
	return c.Wrong(0, "a quantity or a column")
}

// normals are the standard normal values of one stream, by row.
type normals struct {
	stream *stat.Stream
	drawn  []float64
	off    bool
}

func (n *normals) at(i int) float64 {
	if n.off {
		return 0
	}
	for i >= len(n.drawn) {
		var more [16]float64
		stat.Normal().Fill(more[:], n.stream)
		n.drawn = append(n.drawn, more[:]...)
	}
	return n.drawn[i]
}

// maxSeq bounds the rows of a simulated column.
const maxSeq = 10000

// seq is seq(a, step, n): the column a, a + step, … of n rows.
func seq(c *eval.Call) eval.Value {
	a, bad := c.Scalar(0)
	if bad != nil {
		return bad
	}
	step, bad := c.Scalar(1)
	if bad != nil {
		return bad
	}
	n, bad := c.Whole(2, 1)
	if bad != nil {
		return bad
	}
	switch {
	case a.Q.Dim() != step.Q.Dim():
		return c.Fail(c.X.Args[1].Span(), "unit-clash", "`seq` begins with "+eval.Describe(a)+" and goes on by "+eval.Describe(step), "give both in units of one kind")
	case n > maxSeq:
		return c.Fail(c.X.Args[2].Span(), "wrong-size", fmt.Sprintf("%d rows are more than the %d that are simulated", n, maxSeq), "")
	}
	u := eval.UnitOf(a)
	out := &eval.Column{Dim: a.Q.Dim(), Unit: &u, Cells: make([]eval.Cell, n)}
	for i := range out.Cells {
		out.Cells[i] = eval.Cell{Q: quantity.Exact(a.Q.Value()+float64(float64(i)*step.Q.Value()), a.Q.Dim()), Row: i + 1}
	}
	return out
}

// read is read(x, resolution, zero): x + zero as an instrument of that
// resolution shows it. Zero is the reading where the true value is 0.
func (r *run) read(c *eval.Call) eval.Value {
	d, ok := eval.DimOf(c.Args[0])
	if !ok {
		return c.Wrong(0, "a quantity or a column")
	}
	res, bad := c.Scalar(1)
	if bad != nil {
		return bad
	}
	zero, bad := c.Scalar(2)
	if bad != nil {
		return bad
	}
	for i, x := range []eval.Scalar{res, zero} {
		if x.Q.Dim() != d {
			return c.Fail(c.X.Args[i+1].Span(), "unit-clash", "`read` is of "+eval.Describe(c.Args[0])+", this is "+eval.Describe(x), "give all three in units of one kind")
		}
	}
	res = r.resolution(res)
	if !(res.Q.Value() > 0) {
		return c.Fail(c.X.Args[1].Span(), "wrong-size", "a resolution is above 0", "")
	}
	u := eval.UnitOf(res)
	r.reads[r.name] = Reading{res.Q.Value(), r.shown(zero.Q.Value(), res.Q.Value()), u}
	return c.Each(0, u, func(q quantity.Q) quantity.Q {
		return quantity.Exact(r.shown(q.Value()+zero.Q.Value(), res.Q.Value()), d)
	})
}

// resolution is that of the instrument that the statement in hand is read by:
// the one proposed for it, INSTRUMENT_resolution, else the statement's own.
func (r *run) resolution(own eval.Scalar) eval.Scalar {
	name, proposed := r.resolutionOf(r.name)
	if v, ok := r.values[name].(eval.Scalar); proposed && ok && v.Q.Dim() == own.Q.Dim() {
		return v
	}
	return own
}

// shown is a value as an instrument of that resolution shows it.
func (r *run) shown(v, resolution float64) float64 {
	if r.plan {
		return v
	}
	return math.RoundToEven(v/resolution) * resolution
}
