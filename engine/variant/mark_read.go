package variant

import (
	"regexp"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// entry is what one student handed in, read.
type entry struct {
	id       string
	at       source.Span
	from     string
	claims   map[string]*claim // by the names of the points
	answers  map[string]string // by the names of the questions
	readings []block.Reading   // nil in a list of numbers
	program  *block.Program    // of the record; nil in a list of numbers
	files    block.Files       // through which it was read
	findings []*finding.Finding
	shown    func([]*finding.Finding) []*finding.Finding // names files as they were typed
}

// claim is one number that was handed in.
type claim struct {
	text    string // as typed
	at      source.Span
	literal *formula.Literal // nil where there is nothing, or nothing that can be read
	sign    bool             // it is negative
	unit    unit.Unit
	hasUnit bool // a unit is written
	badUnit bool // and it is none that is known
}

// empty reports whether a place was left empty.
func (c *claim) empty() bool {
	return c == nil || c.text == "" || strings.Trim(c.text, "–-—−") == ""
}

var decimalComma = regexp.MustCompile(`[0-9],[0-9]`)

// readClaim reads a number with its unit, as the record language reads a
// quantity. Outside is the unit that a heading states, "" for none.
func readClaim(at source.Span, outside string, set *finding.Set) *claim {
	c := &claim{text: strings.TrimSpace(at.Text()), at: at}
	if c.empty() {
		return c
	}
	if decimalComma.MatchString(c.text) {
		set.Add(commaNumber(at, c.text))
		return c
	}
	var own finding.Set
	l, negative := formula.ParseLiteral(at, false, &own)
	for _, f := range own.Sorted() {
		set.Add(f)
	}
	if l == nil || own.Count(finding.Error) > 0 {
		return c
	}
	if outside != "" && l.Unit.Text == "" {
		l.Unit.Text = outside
		c.text += " " + outside
	}
	c.literal, c.sign = l, negative
	if c.hasUnit = l.Unit.Text != ""; c.hasUnit {
		u, ok := eval.ParseUnit(l.Unit.Text, at, &eval.Eval{Report: set.Add})
		c.unit, c.badUnit = u, !ok
	}
	return c
}

// point returns the point that a name means: as the student's record has it,
// or as the method does; nil for none.
func (k *marker) point(name string) *Point {
	for _, full := range []string{name, k.Key.Practical + "." + name} {
		for i := range k.Key.Points {
			if p := &k.Key.Points[i]; p.Kind == PointValue && p.Name == full {
				return p
			}
		}
	}
	return nil
}

// pointNames are the names of the points that are values, as the method has
// them.
func (k *marker) pointNames() []string {
	var out []string
	for _, p := range k.Key.Points {
		if p.Kind == PointValue {
			out = append(out, k.Key.short(p.Name))
		}
	}
	return out
}

// short is the name of a point without that of the practical.
func (k *Key) short(name string) string { return strings.TrimPrefix(name, k.Practical+".") }

// claimed takes a claim up.
func (k *marker) claimed(e *entry, name string, nameAt source.Span, c *claim, set *finding.Set) {
	p := k.point(name)
	if p == nil {
		if !c.empty() {
			set.Add(notAsked(nameAt, name, k.pointNames()))
		}
		return
	}
	before := e.claims[p.Name]
	switch {
	case before.empty():
		e.claims[p.Name] = c
	case c.empty() || c.text == before.text:
	default:
		set.Add(claimedTwice(c.at, k.Key.short(p.Name), before))
	}
}

// mostErrors is how many errors of one record are told.
const mostErrors = 5

// readRecord reads a student's record.
func (k *marker) readRecord(s Submission) *entry {
	var set finding.Set
	rec := record.Parse(s.Record, block.KindNames(k.Kinds), &set)
	e := &entry{id: s.ID, from: s.Name, files: s.Files, at: s.Record.Span(0, 0), claims: map[string]*claim{}, answers: map[string]string{}}
	e.program = block.New(rec, k.Kinds, s.Files, k.Library, defaults, &set)
	e.readings = e.program.Readings()
	var own finding.Set
	for _, in := range rec.Inlines {
		if in.Claim {
			k.readInline(e, in, &own)
		}
	}
	e.program.Evaluate()
	for _, q := range k.Key.Points {
		if q.Kind == PointQuestion {
			e.answers[q.Name] = answerIn(rec, q.Name)
		}
	}
	told := 0
	for _, f := range set.Sorted() {
		inClaim := slices.ContainsFunc(rec.Inlines, func(in *record.Inline) bool {
			return in.Claim && f.At.File == in.Span.File && f.At.Start >= in.Span.Start && f.At.Start < in.Span.End
		})
		if f.Severity == finding.Error && !inClaim && told < mostErrors {
			told++
			own.Add(f)
		}
	}
	if e.shown = s.Shown; e.shown == nil {
		e.shown = func(list []*finding.Finding) []*finding.Finding { return list }
	}
	e.at = e.shown([]*finding.Finding{{At: e.at}})[0].At
	e.findings = e.shown(own.Sorted())
	if e.id == "" {
		e.id = k.whose(e.readings)
	}
	if e.id == "" {
		k.keep(e.findings)
		k.set.Add(nobodys(e.at))
	}
	return e
}

func (k *marker) keep(list []*finding.Finding) {
	for _, f := range list {
		k.set.Add(f)
	}
}

// readInline reads a claim of a record from its text, so that one with a fault
// is known by its name, and one with its uncertainty is read too.
func (k *marker) readInline(e *entry, in *record.Inline, set *finding.Set) {
	inside := in.Span.Sub(len("?["), len(in.Span.Text())-len("]"))
	name, value, ok := strings.Cut(inside.Text(), "=")
	if !ok {
		return // the record says so
	}
	end := len(inside.Text())
	from := end - len(value)
	if start, _, has := formula.CutMarks(value); has {
		end = from + start
	}
	c := readClaim(inside.Sub(from, end), "", set)
	k.claimed(e, strings.TrimSpace(name), in.Span, c, set)
}
