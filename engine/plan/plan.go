// Package plan says what a practical can be expected to give before it is set
// up: its method's own simulation is run on proposed values.
package plan

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
	"example.org/taut/engine/view"
)

const (
	// Records is how many simulated records the expected uncertainties rest
	// on.
	Records = 32
	// firstLook is how many are enough to see whether a change matters.
	firstLook = 3
	// least is the change of an uncertainty that is worth a line.
	least = 0.01
)

// Report is what is expected of a practical.
type Report struct {
	Method  *method.Method
	Truths  []method.Truth
	Results []*Expected
	// Of is the result that the budget and the changes are of; nil where it
	// cannot be had.
	Of *Expected
	// Shares are the shares of the variance of Of by measurement, the greatest
	// first.
	Shares []Share
	// Changes are what changes would bring, each alone.
	Changes []Change
	// Little are the names whose doubling changes the uncertainty by less than
	// 1 %.
	Little []string
	// Speaks are the findings of error and caution that more than half of the
	// simulated records have.
	Speaks []*finding.Finding
	// Warnings are the method's safety cautions, Part is its part `plan`, both
	// by a typical simulated record.
	Warnings, Part []view.Node
	// Findings are what is wrong with the plan or the method, with Speaks.
	Findings []*finding.Finding
}

// Share is the share of one measurement.
type Share struct {
	Of    string
	Share float64
}

// ChangeKind says what a change is.
type ChangeKind int

// The kinds of changes.
const (
	Halved     ChangeKind = iota // the uncertainty of a line is halved
	TwiceRead                    // twice as many readings behind a line of scatter
	TwiceValue                   // a truth of the simulation is doubled
)

// Change is what a change would bring.
type Change struct {
	Kind  ChangeKind
	What  string  // the label of a line, or the name of a truth
	Rel   float64 // the relative standard uncertainty that is then expected
	Ratio float64 // to the present one
	// Speaks are the slugs that then speak and do not now, the gravest first.
	Speaks []string
	Grave  bool // one of them is an error
}

// Options are the choices of a plan.
type Options struct {
	Of       string // the result whose budget is asked for; "" for the method's first
	Coverage float64
}

// Make works a plan out.
func Make(m *method.Method, proposals []method.Proposal, lib block.Library, kinds []block.Kind, o Options) *Report {
	p := &planner{method: m, lib: lib, kinds: kinds, coverage: o.Coverage, of: o.Of, given: map[string]bool{}}
	r := &Report{Method: m}
	s := p.simulation(proposals)
	if s != nil {
		p.work(s, r)
	}
	for _, f := range r.Speaks {
		p.set.Add(f)
	}
	r.Findings = p.set.Sorted()
	return r
}

// planner is a plan in the making.
type planner struct {
	method   *method.Method
	lib      block.Library
	kinds    []block.Kind
	coverage float64
	of       string
	given    map[string]bool // the roles that the simulation gives
	set      finding.Set
}

func (p *planner) first() string {
	if p.of != "" || len(p.method.Results) == 0 {
		return p.of
	}
	return p.method.Results[0]
}

// simulation is that of the method with the proposals; nil where it cannot be
// had.
func (p *planner) simulation(proposals []method.Proposal) *method.Simulation {
	own, findings := p.method.Simulation()
	p.report(findings)
	if own == nil {
		if len(findings) == 0 {
			p.set.Add(notPlanned(p.method.File.Span(0, 0)))
		}
		return nil
	}
	s, findings := own.Propose(proposals, p.lib)
	p.report(findings)
	return s
}

func (p *planner) report(list []*finding.Finding) {
	for _, f := range list {
		p.set.Add(f)
	}
}

func (p *planner) bench() *variant.Bench { return variant.NewBench(p.method, p.lib, p.kinds) }

func (p *planner) work(s *method.Simulation, r *Report) {
	exact, findings := s.RunAs(method.Setup{Exact: true, Settled: true})
	if exact == nil {
		p.report(findings)
		return
	}
	for name := range exact.Roles {
		p.given[name] = true
	}
	base, findings := p.expect(s, Records, p.bench())
	if base == nil {
		p.report(findings)
		return
	}
	r.Truths, r.Results, r.Of = s.Truths(), base.results, base.result(p.first())
	for _, f := range base.speaks {
		r.Speaks = append(r.Speaks, p.placed(f))
	}
	p.show(s, base, r)
	if r.Of == nil {
		p.set.Add(notHad(p.method.File.Span(0, 0), p.first()))
		return
	}
	if r.Of.U == 0 {
		return // nothing to share, nothing to change
	}
	r.Shares = shares(r.Of.Lines)
	r.Changes = lineChanges(r.Of)
	p.doublings(s, base, r)
}

// show takes up what the method itself says for a plan, by the typical record.
func (p *planner) show(s *method.Simulation, base *outcome, r *Report) {
	readings, findings := s.RunAs(method.Setup{Seed: base.typical, Settled: true})
	if readings == nil {
		p.report(findings)
		return
	}
	program := p.bench().Run(readings).Program
	r.Warnings = program.Warnings()
	r.Part = program.ShowPart(p.method.PracticalName(), method.PlanPart, 2)
}

// shares adds the lines of each measurement up.
func shares(lines []Line) []Share {
	var out []Share
	for _, l := range lines {
		i := slices.IndexFunc(out, func(s Share) bool { return s.Of == l.Of })
		if i < 0 {
			i = len(out)
			out = append(out, Share{Of: l.Of})
		}
		out[i].Share += l.Share
	}
	slices.SortStableFunc(out, func(a, b Share) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return out
}

// lineChanges are the changes of single lines: the sum in quadrature with one
// of them made smaller, by 2 or, for twice the readings, by √2.
func lineChanges(e *Expected) []Change {
	var out []Change
	for _, kind := range []ChangeKind{Halved, TwiceRead} {
		for _, l := range e.Lines {
			if kind == TwiceRead && !l.TypeA {
				continue
			}
			keep := 0.25
			if kind == TwiceRead {
				keep = 0.5
			}
			ratio := math.Sqrt(max(0, 1-float64((1-keep)*l.Share)))
			if 1-ratio >= least {
				out = append(out, Change{Kind: kind, What: l.Label, Rel: ratio * e.Rel(), Ratio: ratio})
			}
		}
	}
	return out
}

// doublings are the changes of truths that can be chosen, but for that of the
// result itself and for roles that need not be bound: each is simulated anew.
func (p *planner) doublings(s *method.Simulation, base *outcome, r *Report) {
	var names []string
	for _, t := range r.Truths {
		v, single := t.Value.(eval.Scalar)
		role := p.method.Role(t.Name)
		given := role != nil && !role.Needed() // of the place or the rig, such as gravity
		if t.Kind == method.Chosen && single && v.Q.Value() > 0 && !given && t.Name != p.first()+variant.TrueSuffix {
			names = append(names, t.Name)
		}
	}
	small, _ := p.expect(s, firstLook, p.bench())
	if small == nil {
		return
	}
	found := make([]*doubling, len(names))
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), len(names)) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			bench := p.bench()
			for i := range next {
				found[i] = p.double(s, base, small, names[i], bench)
			}
		}()
	}
	for i := range names {
		next <- i
	}
	close(next)
	wait.Wait()
	for i, d := range found {
		switch {
		case d == nil:
		case d.little:
			r.Little = append(r.Little, names[i])
		default:
			r.Changes = append(r.Changes, d.Change)
		}
	}
}

type doubling struct {
	Change
	little bool
}

// double works out what twice the value of a truth would bring; nil where the
// simulation does not hold for it. What changes little on a first look at few
// records, the same as those of small, is not looked at longer.
func (p *planner) double(s *method.Simulation, base, small *outcome, name string, bench *variant.Bench) *doubling {
	twice, _ := s.Double(name)
	if twice == nil {
		return nil
	}
	look, _ := p.expect(twice, firstLook, bench)
	if look == nil || !p.holds(look, base) {
		return nil
	}
	before, after := small.result(p.first()), look.result(p.first())
	if before == nil || after == nil {
		return nil
	}
	if math.Abs(after.Rel()/before.Rel()-1) < least && len(news(base, look)) == 0 {
		return &doubling{little: true}
	}
	out, _ := p.expect(twice, Records, bench)
	if out == nil || out.result(p.first()) == nil {
		return nil
	}
	d := &doubling{Change: Change{Kind: TwiceValue, What: name, Rel: out.result(p.first()).Rel(), Speaks: news(base, out)}}
	d.Ratio = d.Rel / base.result(p.first()).Rel()
	for _, slug := range d.Speaks {
		d.Grave = d.Grave || out.slugs[slug] == finding.Error
	}
	d.little = math.Abs(d.Ratio-1) < least && len(d.Speaks) == 0
	return d
}

// news are the slugs that speak in one outcome and not in another.
func news(before, after *outcome) []string {
	var out []string
	for _, f := range after.speaks {
		if _, spoke := before.slugs[f.Slug]; !spoke {
			out = append(out, f.Slug)
		}
	}
	return out
}

// holds reports whether the result meets its truth as it did before: a
// simulation written with fixed numbers may not carry every change.
func (p *planner) holds(o, before *outcome) bool {
	const slack = 0.02
	miss, known := p.miss(o)
	was, _ := p.miss(before)
	return !known || miss < was+slack
}

// miss is by how much, relatively, the result without noise misses its truth.
func (p *planner) miss(o *outcome) (miss float64, known bool) {
	e := o.result(p.first())
	t, ok := o.truths.Truths[p.first()+variant.TrueSuffix].(eval.Scalar)
	if e == nil || !ok {
		return 0, false
	}
	return math.Abs(e.Value.Q.Value()/t.Q.Value() - 1), true
}

// notPlanned: a method without a simulation.
func notPlanned(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "no-simulation", At: at, Message: "this method has no `simulate` block, so nothing can be planned with it",
		Hint: "it builds the readings from chosen truths"}
}

// notHad: a result that the simulated records do not give.
func notHad(at source.Span, name string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "no-result", At: at, Message: "`" + name + "` could not be had in the simulated records",
		Hint: "look at the values that are proposed: one of them may be zero, or too great"}
}
