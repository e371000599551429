// Package variant works simulated readings of a method out, as a record with
// those readings would be.
package variant

import (
	"fmt"
	"math"
	"path"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Outcome is what comes of one set of readings.
type Outcome struct {
	Program  *block.Program
	Findings []*finding.Finding // in order
	// Slugs holds the gravest severity of the findings of each slug.
	Slugs map[string]finding.Severity
	// Results holds the method's results that could be had.
	Results map[string]Result
	// Waits holds the results that are defined and could not be had.
	Waits map[string]bool
}

// Result is one result, in coherent SI units.
type Result struct {
	Value float64
	U     float64 // standard uncertainty
	DOF   float64 // effective degrees of freedom; +Inf where not limited
	eval.Scalar
}

// ownMethod is the path by which a simulated record names its method.
const ownMethod = "./method.md"

// memory is files that stand nowhere but here.
type memory map[string]*source.File

var _ block.Files = memory(nil)

// Open implements block.Files.
func (m memory) Open(_ *source.File, name string) (*source.File, error) {
	if f := m[path.Clean(name)]; f != nil {
		return f, nil
	}
	return nil, &block.OpenError{Message: fmt.Sprintf("there is no file `%s`", name)}
}

// Memory returns files that stand nowhere but here, by their paths.
func Memory(files map[string]*source.File) block.Files {
	out := memory{}
	for name, f := range files {
		out[path.Clean(name)] = f
	}
	return out
}

// defaults are the settings of a record that makes none.
var defaults = block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}

// Bench works out sets of readings of one method, one after the other. What
// the sets have in common is read once. A Bench is not for use by several
// goroutines at once.
type Bench struct {
	method  *method.Method
	lib     block.Library
	kinds   []block.Kind
	program *block.Program
	set     *finding.Set
	layout  string // the text of the record that program is of
}

// NewBench returns a bench for a method.
func NewBench(m *method.Method, lib block.Library, kinds []block.Kind) *Bench {
	return &Bench{method: m, lib: lib, kinds: kinds}
}

// Run works out a record of the method with simulated readings; nil readings
// are those still to be taken. No page is made and no Monte Carlo trial. The
// Program of an Outcome holds until the next Run.
func Run(m *method.Method, readings *method.Simulated, lib block.Library, kinds []block.Kind) *Outcome {
	return NewBench(m, lib, kinds).Run(readings)
}

// Run is Run for the method of the bench.
func (b *Bench) Run(readings *method.Simulated) *Outcome {
	texts := b.method.Scaffold(ownMethod, readings)
	files := memory{path.Clean(ownMethod): b.method.File}
	for name, text := range texts {
		files[name] = source.NewFile(name, []byte(text))
	}
	if text := texts[method.RecordName]; b.program != nil && text == b.layout {
		b.program.Renew(files)
	} else {
		b.layout, b.set = text, &finding.Set{}
		rec := record.Parse(files[method.RecordName], block.KindNames(b.kinds), b.set)
		b.program = block.New(rec, b.kinds, files, b.lib, defaults, b.set)
	}
	b.program.Evaluate()
	out := &Outcome{Program: b.program, Findings: b.set.Sorted(), Slugs: map[string]finding.Severity{}, Results: map[string]Result{}, Waits: map[string]bool{}}
	for _, f := range out.Findings {
		if s, seen := out.Slugs[f.Slug]; !seen || f.Severity > s {
			out.Slugs[f.Slug] = f.Severity
		}
	}
	out.gather(b.method)
	return out
}

// gather takes up the results of the practical.
func (o *Outcome) gather(m *method.Method) {
	prefix := m.PracticalName() + "."
	wanted := map[string]string{}
	for _, name := range m.Results {
		wanted[prefix+name] = name
	}
	for _, d := range o.Program.Values() {
		name, ok := wanted[d.Full()]
		s, single := d.Value().(eval.Scalar)
		if _, w := d.Value().(eval.Waiting); ok && w {
			o.Waits[name] = true
		}
		if !ok || !single {
			continue
		}
		u, dof := s.Q.UDOF()
		o.Results[name] = Result{Value: s.Q.Value(), U: u, DOF: dof, Scalar: s}
	}
}

// Miss is by how many of its standard uncertainties a result misses the truth
// E_true of the simulation, E being the result's name; ok is false where there
// is no such truth or no such result.
func (o *Outcome) Miss(s *method.Simulated, name string) (miss float64, ok bool) {
	truth, known := s.Truths[name+TrueSuffix].(eval.Scalar)
	r, had := o.Results[name]
	if !known || !had || truth.Q.Dim() != r.Q.Dim() {
		return 0, false
	}
	d := math.Abs(r.Value - truth.Q.Value())
	switch {
	case d == 0:
		return 0, true
	case r.U == 0:
		return math.Inf(1), true
	}
	return d / r.U, true
}

// TrueSuffix makes the name of a result that of its truth: E_true.
const TrueSuffix = "_true"
