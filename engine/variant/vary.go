package variant

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"sync"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
)

// Class is what is asked of a set of variants.
type Class struct {
	Method *source.File
	Own    string // the name of the method's own file beside each record; "" where it is built in
	// Record, where given, lends its own questions to the students' records:
	// those that print no value, since they speak of nothing that may not be
	// there.
	Record *record.Record
	// Bound is the name of the practical in Record, whose claims there say what
	// is marked.
	Bound   string
	Count   int     // of students
	Seed    string  // any text; who knows it can make the key
	Rate    float64 // the probability that a student's readings have a fault
	Kinds   []block.Kind
	Library block.Library
	Version string // of the engine
	Workers int    // goroutines; changes no byte
	// Progress is told of every variant made, from one goroutine at a time.
	Progress func(done int)
}

// Variants are the students' files and the key to them.
type Variants struct {
	Title string // of the method
	Key   *Key
	Files []map[string]string // by the names in the student's folder; in the order of Key.Students
}

// Vary makes the variants. The same class gives the same bytes on every
// machine and for every number of workers. Variants is nil where the method
// cannot be simulated; the findings tell why.
func Vary(c Class) (*Variants, []*finding.Finding) {
	var set finding.Set
	m := method.Read(c.Method, block.KindNames(c.Kinds), &set)
	if set.Count(finding.Error) > 0 {
		return nil, set.Sorted()
	}
	s, findings := m.Simulation()
	if s == nil {
		if len(findings) == 0 {
			findings = []*finding.Finding{cannotVary(m.File.Span(0, 0))}
		}
		return nil, findings
	}
	out := &Variants{Title: m.Title, Files: make([]map[string]string, c.Count), Key: &Key{Taut: c.Version, Method: m.Name, Version: m.Version,
		Practical: m.PracticalName(), Seed: c.Seed, Rate: results.Float(c.Rate), Coverage: results.Float(defaults.Coverage),
		Order: m.Results, Students: make([]Student, c.Count)}}
	var bad []*finding.Finding
	if out.Key.Points, bad = newMaker(&c).points(); bad != nil {
		return nil, bad
	}
	failed := make([][]*finding.Finding, c.Count)
	var lock sync.Mutex
	var group sync.WaitGroup
	next, done := 0, 0
	take := func() (i int, ok bool) {
		lock.Lock()
		defer lock.Unlock()
		i, next = next, next+1
		return i, i < c.Count
	}
	for range max(1, min(c.Workers, c.Count)) {
		group.Go(func() {
			w := newMaker(&c)
			w.marked = out.Key.Points
			for i, ok := take(); ok; i, ok = take() {
				out.Files[i], failed[i] = w.make(i+1, &out.Key.Students[i])
				lock.Lock()
				if done++; c.Progress != nil {
					c.Progress(done)
				}
				lock.Unlock()
			}
		})
	}
	group.Wait()
	for _, f := range failed {
		if f != nil {
			return nil, f // the first in order, whoever met one first
		}
	}
	return out, nil
}

// cannotVary: a method without a simulation.
func cannotVary(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "no-simulation", At: at,
		Message: "this method has no `simulate` block, so no variants can be made of it", Hint: "a simulation builds the roles from chosen truths"}
}

// maker makes variants, one after the other.
type maker struct {
	*Class
	method *method.Method
	bench  *Bench
	as     string
	added  string // to each record
	own    string // the method's file as the students get it
	marked []Point

	number int
	seed   uint64 // of the readings in hand
}

// newMaker reads the method anew: nothing of it is shared between goroutines.
func newMaker(c *Class) *maker {
	m := method.Read(c.Method, block.KindNames(c.Kinds), &finding.Set{})
	w := &maker{Class: c, method: m, bench: NewBench(m, c.Library, c.Kinds), as: m.Name, added: sheetQuestions(c.Record)}
	if c.Own != "" {
		w.as, w.own = "./"+c.Own, withoutSimulation(m)
	}
	return w
}

// withoutSimulation is the text of a method without its blocks `simulate` and
// `faults`: they tell from what the truths were drawn.
func withoutSimulation(m *method.Method) string {
	var left []source.Span
	for _, b := range m.Record.Blocks {
		if b.Kind == "simulate" || b.Kind == "faults" {
			left = append(left, fenced(b))
		}
	}
	slices.SortFunc(left, func(a, b source.Span) int { return cmp.Compare(a.Start, b.Start) })
	text, at := "", 0
	for _, s := range left {
		text += string(m.File.Text[at:s.Start])
		at = s.End
	}
	return text + string(m.File.Text[at:])
}

// fenced is a block with the line that closes it, if one does.
func fenced(b *record.Block) source.Span {
	s := b.Span
	line, rest, _ := strings.Cut(string(s.File.Text[s.End:]), "\n")
	if t := strings.TrimSpace(line); len(t) >= 3 && strings.Trim(t, t[:1]) == "" && strings.Contains("`~", t[:1]) {
		s.End = len(s.File.Text) - len(rest)
	}
	return s
}

// hash is a number that depends on the class, the student and a purpose, and
// from which none of them can be told.
func (w *maker) hash(purpose string) uint64 {
	sum := sha256.Sum256([]byte(strings.Join([]string{"variant", w.method.Name, w.Seed, fmt.Sprint(w.number), purpose}, "\x00")))
	return binary.BigEndian.Uint64(sum[:])
}

// chance is a hash as a number from 0 to below 1.
func (w *maker) chance(purpose string) float64 { return float64(w.hash(purpose)>>11) / (1 << 53) }

// mostAttempts is how often readings are drawn anew where the record of those
// in hand has an error, such as a check that stops it.
const mostAttempts = 20

// make makes the variant of one student.
func (w *maker) make(number int, s *Student) (map[string]string, []*finding.Finding) {
	w.number = number
	s.ID = studentID(number, w.Count)
	s.Folder = "student-" + s.ID
	s.Faults = []Injected{}
	readings, bad := w.clean()
	if readings == nil {
		return nil, bad
	}
	if w.chance("whether") < w.Rate {
		readings = w.spoil(readings, s)
	}
	out := w.bench.Run(readings)
	s.Results, s.Truth = w.expect(out), truths(readings)
	s.Noticed = noticed(out)
	files := w.method.Scaffold(w.as, readings)
	files[method.RecordName] = withRoom(files[method.RecordName], w.added) + w.toFill(out) + w.added
	files[method.ApparatusName] = "apparatus: your bench\n" + files[method.ApparatusName]
	if w.own != "" {
		files[w.Own] = w.own
	}
	s.Files = files
	return files, nil
}

// clean draws readings without faults.
func (w *maker) clean() (*method.Simulated, []*finding.Finding) {
	var bad []*finding.Finding
	for n := range mostAttempts {
		w.seed = w.hash(fmt.Sprintf("readings %d", n))
		readings, findings := w.method.Simulate(w.seed, nil, false)
		if readings == nil {
			return nil, findings
		}
		out := w.bench.Run(readings)
		if !hasErrors(out) {
			return readings, nil
		}
		bad = out.Findings
	}
	var own []*finding.Finding
	for _, f := range bad {
		if g := ownPlace(f, w.method.File); f.Severity == finding.Error {
			own = append(own, g)
		}
	}
	return nil, own
}

func ownPlace(f *finding.Finding, file *source.File) *finding.Finding {
	if g := own(f, file); g != nil {
		return g
	}
	g := *f
	g.At, g.Also = file.Span(0, 0), nil
	return &g
}

func hasErrors(o *Outcome) bool {
	return slices.ContainsFunc(o.Findings, func(f *finding.Finding) bool { return f.Severity == finding.Error })
}

// noticed are the slugs of the cautions and errors.
func noticed(o *Outcome) []string {
	out := []string{}
	for slug, severity := range o.Slugs {
		if severity >= finding.Caution {
			out = append(out, slug)
		}
	}
	slices.Sort(out)
	return out
}

// expect are the results of the method with their tolerances.
func (w *maker) expect(o *Outcome) map[string]Expected {
	out := map[string]Expected{}
	all := results.Gather(o.Program).Values
	for _, name := range w.method.Results {
		if v, ok := all[w.method.PracticalName()+"."+name]; ok {
			out[name] = expected(v)
		}
	}
	return out
}

// toFill is the place for the student's own numbers: the values that are
// marked, as far as these readings give them.
func (w *maker) toFill(o *Outcome) string {
	var b strings.Builder
	for _, p := range w.marked {
		if v, ok := o.Program.Lookup(p.Name); ok && p.Kind == PointValue && isScalar(v) {
			fmt.Fprintf(&b, "- `%s`: ?[%s = marks=%d]\n", strings.TrimPrefix(p.Name, w.method.PracticalName()+"."), p.Name, p.Marks)
		}
	}
	if b.Len() == 0 {
		return ""
	}
	return "\n# Your own results\n\nWork these out by hand and write each behind its equals sign, with its unit. A reading that you do not trust is struck with\nthe reason, and stays in sight.\n\n" + b.String()
}

func isScalar(v eval.Value) bool {
	_, ok := v.(eval.Scalar)
	return ok
}

// truths are the numbers that the readings came from.
func truths(s *method.Simulated) map[string]Truth {
	out := map[string]Truth{}
	for name, v := range s.Truths {
		switch v := v.(type) {
		case eval.Scalar:
			value := results.Float(v.Q.Value())
			out[name] = Truth{Value: &value, Unit: eval.UnitOf(v).Coherent().String(), Shown: shown(v)}
		case *eval.Column:
			t := Truth{Unit: eval.UnitOf(v).Coherent().String()}
			for _, c := range v.Cells {
				t.Values = append(t.Values, results.Float(c.Q.Value()))
			}
			out[name] = t
		}
	}
	return out
}

// byRank sorts candidates in an order that is the student's own, and in which
// a further candidate moves none of the others.
func (w *maker) byRank(all []candidate) {
	slices.SortFunc(all, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(w.hash("which "+a.id()), w.hash("which "+b.id())), cmp.Compare(a.id(), b.id()))
	})
}
