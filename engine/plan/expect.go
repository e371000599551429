package plan

import (
	"math"
	"slices"
	"sort"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/variant"
)

// Line is what one source of uncertainty is expected to contribute to a
// result. Numbers are in coherent SI units.
type Line struct {
	Label   string
	Of      string  // the measurement that it belongs to
	Contrib float64 // |c|·u, root mean square over the simulated records
	DOF     float64
	Share   float64 // of the variance
	TypeA   bool
}

// Expected is what a result is expected to be.
type Expected struct {
	Name  string
	Value eval.Scalar // without noise and rounding
	U     float64     // expected standard uncertainty
	DOF   float64     // effective degrees of freedom, Welch–Satterthwaite
	K     float64     // coverage factor
	Lines []Line      // the greatest contribution first
	// Had says in how many of the simulated records the result could be had.
	Had int
}

// Rel is the expected relative standard uncertainty.
func (e *Expected) Rel() float64 { return e.U / math.Abs(e.Value.Q.Value()) }

// spoken is what checks say in several simulated records.
type spoken struct {
	n     int
	first *finding.Finding
}

// outcome is what several simulated records come to.
type outcome struct {
	results []*Expected // in the order of the method
	speaks  []*finding.Finding
	slugs   map[string]finding.Severity // of speaks
	truths  *method.Simulated           // without noise
	// typical is the seed of the record whose uncertainty of the first result
	// is the median.
	typical uint64
}

// expect runs a simulation without noise for the values of the results, and
// with noise and rounding on the seeds 1 to n for their uncertainties. The
// contribution of each source is the root mean square over the records, so
// that the expected variance is the mean of their variances: scatter, which a
// run without noise has not, is that of the simulation's own noise.
func (p *planner) expect(s *method.Simulation, n int, bench *variant.Bench) (*outcome, []*finding.Finding) {
	exact, findings := s.RunAs(method.Setup{Exact: true, Settled: true})
	if exact == nil {
		return nil, findings
	}
	out := &outcome{truths: exact, slugs: map[string]finding.Severity{}}
	values := bench.Run(exact).Results
	sums := map[string]*sum{}
	said := map[string]*spoken{}
	var us []seeded
	for seed := uint64(1); seed <= uint64(n); seed++ {
		readings, findings := s.RunAs(method.Setup{Seed: seed, Settled: true})
		if readings == nil {
			return nil, findings
		}
		o := bench.Run(readings)
		for name, r := range o.Results {
			if sums[name] == nil {
				sums[name] = &sum{lines: map[string]*Line{}}
			}
			sums[name].add(r.Q, p.measurement)
		}
		if r, ok := o.Results[p.first()]; ok {
			us = append(us, seeded{seed, r.U})
		}
		listen(said, o.Findings)
	}
	for _, name := range p.method.Results {
		v, known := values[name]
		if c := sums[name]; known && c != nil {
			out.results = append(out.results, c.expected(name, v.Scalar, p.coverage))
		}
	}
	sort.SliceStable(us, func(i, j int) bool { return us[i].u < us[j].u })
	out.typical = 1
	if len(us) > 0 {
		out.typical = us[(len(us)-1)/2].seed
	}
	out.judge(said, n)
	return out, nil
}

type seeded struct {
	seed uint64
	u    float64
}

// listen takes up what was found in one record, each slug once.
func listen(said map[string]*spoken, list []*finding.Finding) {
	seen := map[string]bool{}
	for _, f := range list {
		if f.Severity < finding.Caution || seen[f.Slug] {
			continue
		}
		seen[f.Slug] = true
		if said[f.Slug] == nil {
			said[f.Slug] = &spoken{first: f}
		}
		said[f.Slug].n++
	}
}

// judge keeps what speaks in more than half of the records.
func (o *outcome) judge(said map[string]*spoken, n int) {
	var slugs []string
	for slug := range said {
		slugs = append(slugs, slug)
	}
	slices.Sort(slugs)
	for _, slug := range slugs {
		if s := said[slug]; 2*s.n > n {
			o.speaks = append(o.speaks, s.first)
			o.slugs[slug] = s.first.Severity
		}
	}
	sort.SliceStable(o.speaks, func(i, j int) bool { return o.speaks[i].Severity > o.speaks[j].Severity })
}

// result returns what is expected of a result; nil where it cannot be had.
func (o *outcome) result(name string) *Expected {
	for _, e := range o.results {
		if e.Name == name {
			return e
		}
	}
	return nil
}

// sum adds the budgets of one result up.
type sum struct {
	n     int
	lines map[string]*Line
}

// add takes one record's budget up. The readings of each record are other
// readings, and so are their sources: what says the same is one line.
func (c *sum) add(q quantity.Q, of func(quantity.Contribution) string) {
	c.n++
	for _, x := range q.Contributions() {
		l := Line{DOF: x.DOF, Of: of(x)}
		switch {
		case x.Group != nil:
			l.Label, l.TypeA = x.Group.Label, true
		case x.Source.Group != nil:
			l.Label, l.TypeA = x.Source.Group.Label, true
		default:
			l.Label, l.TypeA = x.Source.Label, x.Source.TypeA
		}
		if c.lines[l.Label] == nil {
			c.lines[l.Label] = &l
		}
		known := c.lines[l.Label]
		known.Contrib += float64(x.U * x.U)
		known.DOF = min(known.DOF, x.DOF)
	}
}

func (c *sum) expected(name string, v eval.Scalar, coverage float64) *Expected {
	e := &Expected{Name: name, Value: v, Had: c.n}
	for _, l := range c.lines {
		if l.Contrib > 0 {
			l.Contrib = math.Sqrt(l.Contrib / float64(c.n))
			e.Lines = append(e.Lines, *l)
		}
	}
	sort.Slice(e.Lines, func(i, j int) bool {
		a, b := &e.Lines[i], &e.Lines[j]
		if a.Contrib != b.Contrib {
			return a.Contrib > b.Contrib
		}
		return a.Label < b.Label
	})
	e.U, e.DOF = combined(e.Lines)
	e.K = stat.CoverageFactor(coverage, e.DOF)
	for i := range e.Lines {
		r := e.Lines[i].Contrib / e.U
		e.Lines[i].Share = r * r
	}
	return e
}

// combined returns the combined standard uncertainty of independent lines and
// its effective degrees of freedom (GUM 5.1.2, G.4.1).
func combined(lines []Line) (u, dof float64) {
	sum, quart := 0.0, 0.0
	if len(lines) == 0 || lines[0].Contrib == 0 {
		return 0, math.Inf(1)
	}
	biggest := lines[0].Contrib
	for _, l := range lines {
		biggest = max(biggest, l.Contrib)
	}
	for _, l := range lines {
		r := l.Contrib / biggest
		sum += float64(r * r)
		if !math.IsInf(l.DOF, 1) {
			quart += float64(r*r*r*r) / l.DOF
		}
	}
	if quart == 0 {
		return biggest * math.Sqrt(sum), math.Inf(1)
	}
	return biggest * math.Sqrt(sum), sum * sum / quart
}

// measurement names what a contribution belongs to: the roles that its
// instruments read, else the source itself.
func (p *planner) measurement(c quantity.Contribution) string {
	names := map[string]bool{}
	add := func(s *quantity.Source) {
		if s != nil && s.Instrument != "" {
			names[s.Instrument] = true
		}
	}
	label := ""
	if c.Source != nil {
		add(c.Source)
		label = c.Source.Label
		for _, cell := range c.Source.Cells {
			add(cell)
		}
	}
	if c.Group != nil {
		label = c.Group.Label
		for _, cell := range c.Group.Cells {
			add(cell)
		}
	}
	var out []string
	for i := range p.method.Roles {
		r := &p.method.Roles[i]
		if r.With != "" && names[r.With] && p.given[r.Name] {
			out = append(out, r.Name)
		}
	}
	if len(out) == 0 {
		return strings.TrimPrefix(label, p.method.PracticalName()+".")
	}
	return strings.Join(out, ", ")
}

// placed returns a finding as it stands in the method: the record that it was
// made in stands nowhere.
func (p *planner) placed(f *finding.Finding) *finding.Finding {
	g := *f
	for len(g.Also) > 0 && g.At.File != p.method.File {
		g.At, g.Also = g.Also[0].At, g.Also[1:]
	}
	if g.At.File != p.method.File {
		g.At, g.Also = p.method.File.Span(0, 0), nil
	}
	return &g
}
