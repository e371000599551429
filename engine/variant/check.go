package variant

import (
	"fmt"
	"math"
	"sort"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
)

// How a method is tried by its own simulation.
const (
	CleanSeeds = 20 // simulations without faults, seeds 1, 2, …
	FaultSeeds = 5  // simulations of each fault
	// MostMiss is by how many of its standard uncertainties a result may miss
	// its truth.
	MostMiss = 3
)

// Report is what a method's trial by its own simulation gave.
type Report struct {
	Findings []*finding.Finding // at the method's own lines, in order
	Clean    int                // simulations without faults
	Faults   int                // faults tried
}

// Check holds a method to its rules and tries it on its own simulation:
// results that miss their truths, checks that cry on clean readings, faults
// that no check finds.
func Check(m *method.Method, lib block.Library, kinds []block.Kind) *Report {
	t := &trial{method: m, bench: NewBench(m, lib, kinds), misses: map[string]*tally{}, cries: map[source.Span]*tally{}, waits: map[string]*tally{}}
	t.rules()
	s, findings := m.Simulation()
	for _, f := range findings {
		t.set.Add(f)
	}
	switch {
	case t.set.Count(finding.Error) > 0:
	case s == nil:
		t.set.Add(notTried(m.File.Span(0, 0)))
	default:
		t.try(s)
	}
	t.report.Findings = t.set.Sorted()
	return &t.report
}

// trial is a check in the making.
type trial struct {
	method *method.Method
	bench  *Bench
	set    finding.Set
	report Report
	misses map[string]*tally // by result
	waits  map[string]*tally // by result
	cries  map[source.Span]*tally
	clean  []map[string]bool // the slugs of each clean run
}

// tally counts in how many simulations something happened, and keeps the worst
// or the first of them.
type tally struct {
	n     int
	seed  uint64
	worst float64
	first *finding.Finding
}

// rules takes up what is wrong however the roles are bound: what a record
// finds in which nothing is read yet.
func (t *trial) rules() {
	for _, f := range t.bench.Run(nil).Findings {
		if g := own(f, t.method.File); g != nil && !f.OfData {
			t.set.Add(g)
		}
	}
}

// own returns a finding as it stands in a file, without the places outside;
// nil where it does not stand there.
func own(f *finding.Finding, file *source.File) *finding.Finding {
	g := *f
	for len(g.Also) > 0 && g.At.File != file {
		g.At, g.Also = g.Also[0].At, g.Also[1:]
	}
	if g.At.File != file {
		return nil
	}
	return &g
}

// try runs the simulations.
func (t *trial) try(s *method.Simulation) {
	for seed := uint64(1); seed <= CleanSeeds; seed++ {
		if !t.runClean(s, seed) {
			return
		}
	}
	for i := range s.Faults {
		t.runFault(s, &s.Faults[i])
	}
	t.say()
}

func (t *trial) runClean(s *method.Simulation, seed uint64) bool {
	readings, findings := s.Run(seed, nil, false)
	for _, f := range findings {
		t.set.Add(f)
	}
	if readings == nil {
		return false
	}
	out := t.bench.Run(readings)
	t.report.Clean++
	for _, name := range t.method.Results {
		if _, wrong := readings.Truths[name+TrueSuffix]; !wrong {
			continue
		}
		if miss, ok := out.Miss(readings, name); ok && miss > MostMiss {
			count(t.misses, name, seed, miss, nil)
		} else if !ok && out.Waits[name] {
			count(t.waits, name, seed, 0, nil)
		}
	}
	slugs := map[string]bool{}
	cried := map[source.Span]bool{}
	for _, f := range out.Findings {
		if f.Severity < finding.Caution {
			continue
		}
		slugs[f.Slug] = true
		g := own(f, t.method.File)
		if g == nil {
			h := *f
			h.At = t.method.File.Span(0, 0)
			g = &h
		}
		if !cried[g.At] {
			cried[g.At] = true
			count(t.cries, g.At, seed, 0, g)
		}
	}
	t.clean = append(t.clean, slugs)
	return true
}

func count[K comparable](m map[K]*tally, key K, seed uint64, size float64, f *finding.Finding) {
	c := m[key]
	if c == nil {
		c = &tally{seed: seed, worst: size, first: f}
		m[key] = c
	}
	c.n++
	if size > c.worst {
		c.worst, c.seed = size, seed
	}
}

// runFault tries one fault at its middle size.
func (t *trial) runFault(s *method.Simulation, f *method.Fault) {
	t.report.Faults++
	size := f.Middle()
	found := 0
	for seed := uint64(1); seed <= FaultSeeds; seed++ {
		readings, findings := s.Run(seed, map[string]quantity.Q{f.Name: size}, false)
		for _, g := range findings {
			t.set.Add(g)
		}
		if readings == nil {
			return
		}
		for slug, severity := range t.bench.Run(readings).Slugs {
			if severity >= finding.Caution && !t.clean[seed-1][slug] {
				found++
				break
			}
		}
	}
	if found == 0 {
		u := eval.UnitOf(f.Least)
		text := quantity.Format(size.Value(), 0, 0, u, quantity.Figures, quantity.Options{N: 3}).String()
		t.set.Add(notFound(f.At, f.Name, text))
	}
}

// say makes findings of what was counted.
func (t *trial) say() {
	for i, name := range t.method.Results {
		if c := t.misses[name]; c != nil {
			t.set.Add(misses(t.method.ResultsAt[i], name, c))
		}
		if c := t.waits[name]; c != nil {
			t.set.Add(waits(t.method.ResultsAt[i], name, c))
		}
	}
	var at []source.Span
	for s := range t.cries {
		at = append(at, s)
	}
	sort.Slice(at, func(i, j int) bool { return at[i].Before(at[j]) })
	for _, s := range at {
		t.set.Add(cries(t.cries[s]))
	}
}

// often is the severity of what happened in so many of the clean simulations:
// once in a while chance alone does it.
func often(n int) finding.Severity {
	if n == 1 {
		return finding.Note
	}
	return finding.Caution
}

// misses: E lies more than 3 u from E_true.
func misses(at source.Span, name string, c *tally) *finding.Finding {
	by := "by any measure, having no uncertainty,"
	if !math.IsInf(c.worst, 1) {
		by = fmt.Sprintf("by %s u", quantity.RoundFigures(c.worst, 2))
	}
	return &finding.Finding{Severity: often(c.n), Slug: "misses-truth", At: at,
		Message: fmt.Sprintf("`%s` misses `%s%s` by more than %d u in %d of %d simulations, %s with seed %d", name, name, TrueSuffix, MostMiss, c.n, CleanSeeds, by, c.seed),
		Hint:    "a formula, an uncertainty or the simulation is wrong; once in a while chance does it"}
}

// waits: a result with a truth that cannot be had.
func waits(at source.Span, name string, c *tally) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: "no-result", At: at,
		Message: fmt.Sprintf("`%s` could not be had in %d of %d simulations, first with seed %d", name, c.n, CleanSeeds, c.seed),
		Hint:    "see what its formula waits for"}
}

// cries: a check that finds something where nothing is wrong.
func cries(c *tally) *finding.Finding {
	f := c.first
	return &finding.Finding{Severity: often(c.n), Slug: "cries-on-clean", At: f.At,
		Message: fmt.Sprintf("the %s `%s` is made in %d of %d simulations without faults, first with seed %d: %s", f.Severity, f.Slug, c.n, CleanSeeds, c.seed, f.Message),
		Hint:    "make the condition stricter; once in a while chance does it"}
}

// notFound: a fault that no check finds.
func notFound(at source.Span, name, size string) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: "fault-not-found", At: at,
		Message: fmt.Sprintf("no check finds the fault `%s` of %s in any of %d simulations", name, size, FaultSeeds),
		Hint:    "add a check, or sizes that can be found"}
}

// notTried: a method without a simulation.
func notTried(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "no-simulation", At: at,
		Message: "this method has no `simulate` block: its results and checks were not tried", Hint: "a simulation builds the roles from chosen truths"}
}
