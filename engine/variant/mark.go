package variant

import (
	"cmp"
	"fmt"
	"slices"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

// Marking is what is asked of the marking of a class.
type Marking struct {
	Key         *Key
	KeyFile     *source.File // the key as it was read, for findings about it
	Submissions []Submission
	Kinds       []block.Kind
	Library     block.Library
	Version     string // of the engine
	// Lenient has submissions marked that hold the readings of another student,
	// on those readings.
	Lenient bool
}

// Submission is one thing that was handed in: a student's record, or a list of
// numbers.
type Submission struct {
	Name   string // the path, as it was typed
	ID     string // by its folder or its name; "" where these say nothing
	Record *source.File
	Files  block.Files // through which the record reads its files
	// Shown names the files of findings as they were typed; nil where they are
	// named so already.
	Shown func([]*finding.Finding) []*finding.Finding
	// List is a list of numbers in place of a record: JSON where its name ends
	// so, else CSV.
	List *source.File
}

// Marked is a class, marked.
type Marked struct {
	Key      *Key
	Version  string
	Sheets   []*Sheet // by the students' numbers
	Absent   []string // the students of whom nothing was handed in
	Findings []*finding.Finding
}

// Sheet is the marking of one student.
type Sheet struct {
	Student   *Student
	From      string // what was handed in
	Values    []*Judged
	Questions []Answered
	Struck    []Strike
	Faults    []FaultSeen
	// Refused is why nothing was marked; "" where it was.
	Refused  string
	Remarks  []string // on the whole
	Findings []*finding.Finding
}

// Answered is a question with what the student answered to it, for the
// teacher's pen.
type Answered struct {
	Point
	Given string // the student's answer; "" for none
}

// Marks sums what the values earned, and of how much.
func (s *Sheet) Marks() (got, of int) {
	for _, v := range s.Values {
		got += v.Got
		of += v.Point.Marks
	}
	return got, of
}

// Pending sums what the teacher has to give by hand.
func (s *Sheet) Pending() int {
	n := 0
	for _, q := range s.Questions {
		n += q.Marks
	}
	return n
}

// marker marks a class.
type marker struct {
	*Marking
	out      *Marked
	set      finding.Set
	students map[string]*Student
	handed   map[string][]block.Reading // the readings of each student, once asked for
}

// Mark marks a class. Its outcome does not depend on the order of the
// submissions.
func Mark(m Marking) *Marked {
	k := &marker{Marking: &m, out: &Marked{Key: m.Key, Version: m.Version}, students: map[string]*Student{}, handed: map[string][]block.Reading{}}
	for i := range m.Key.Students {
		k.students[m.Key.Students[i].ID] = &m.Key.Students[i]
	}
	k.versions()
	var entries []*entry
	for _, s := range slices.SortedStableFunc(slices.Values(m.Submissions), func(a, b Submission) int { return cmp.Compare(a.Name, b.Name) }) {
		if s.List != nil {
			entries = append(entries, k.readList(s.List)...)
		} else {
			entries = append(entries, k.readRecord(s))
		}
	}
	k.known(entries)
	k.out.Findings = k.set.Sorted()
	return k.out
}

// known marks the entries whose student is known, each student once.
func (k *marker) known(entries []*entry) {
	first := map[string]*entry{}
	for _, e := range entries {
		if e.id == "" {
			continue
		}
		s := k.students[e.id]
		switch before := first[e.id]; {
		case s == nil:
			k.report(nil, unknownStudent(e.at, e.id, k.ids()))
		case before != nil:
			k.report(nil, twiceStudent(e.at, e.id, before.at))
		default:
			first[e.id] = e
			k.out.Sheets = append(k.out.Sheets, k.mark(s, e))
		}
	}
	slices.SortStableFunc(k.out.Sheets, func(a, b *Sheet) int { return cmp.Compare(a.Student.ID, b.Student.ID) })
	for _, s := range k.Key.Students {
		if first[s.ID] == nil {
			k.out.Absent = append(k.out.Absent, s.ID)
		}
	}
}

func (k *marker) ids() []string {
	var out []string
	for _, s := range k.Key.Students {
		out = append(out, s.ID)
	}
	return out
}

// report adds a finding, to that of the sheet too where there is one.
func (k *marker) report(s *Sheet, f *finding.Finding) {
	k.set.Add(f)
	if s != nil {
		s.Findings = append(s.Findings, f)
	}
}

// versions reports a key that another engine or another version of the method
// made: what is expected is worked out anew with the present ones.
func (k *marker) versions() {
	at := source.Span{}
	if k.KeyFile != nil {
		at = k.KeyFile.Span(0, 0)
	}
	if k.Key.Taut != k.Version {
		k.set.Add(&finding.Finding{Severity: finding.Note, Slug: "other-version", At: at,
			Message: fmt.Sprintf("the key was made by version %s, this is %s: the expected values are worked out anew", k.Key.Taut, k.Version)})
	}
	f, ok := k.Library.Method(k.Key.Method)
	if !ok {
		return // one of the teacher's own: the students' folders hold it
	}
	if m := method.Read(f, block.KindNames(k.Kinds), &finding.Set{}); m.Version != k.Key.Version {
		k.set.Add(&finding.Finding{Severity: finding.Caution, Slug: "other-version", At: at,
			Message: fmt.Sprintf("the key was made with version %d of the method `%s`, this is version %d: the expected values are worked out anew", k.Key.Version, k.Key.Method, m.Version),
			Hint:    "make the variants anew if the class has not begun"})
	}
}
