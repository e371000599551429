// Package finding holds what the engine has to say about a record: errors,
// cautions and notes, each with every place concerned.
package finding

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"example.org/taut/engine/source"
)

// Severity says how much a finding matters.
type Severity int

// The severities, from the least to the gravest.
const (
	Note Severity = iota
	Caution
	Error
)

func (s Severity) String() string {
	switch s {
	case Error:
		return "error"
	case Caution:
		return "caution"
	}
	return "note"
}

// ParseSeverity returns the severity of that name.
func ParseSeverity(name string) (Severity, bool) {
	switch name {
	case "error":
		return Error, true
	case "caution":
		return Caution, true
	case "note":
		return Note, true
	}
	return Note, false
}

// Place is another place that a finding concerns, and what is there.
type Place struct {
	At   source.Span
	What string
}

// Finding is one complaint. Slug names its kind for good; Message says what is
// wrong with the very numbers and names, Hint what may be done about it.
type Finding struct {
	Severity Severity
	Slug     string
	Message  string
	Hint     string
	At       source.Span
	Also     []Place
	// OfData says that the finding is about the readings, not about what is
	// written: other readings may not have it.
	OfData bool
}

// Full is the message with its hint, in one line.
func (f *Finding) Full() string {
	if f.Hint == "" {
		return f.Message
	}
	return f.Message + "; " + f.Hint
}

// String is the one-line form: file:line:col: severity: slug: message.
func (f *Finding) String() string {
	return fmt.Sprintf("%s: %s: %s: %s", place(f.At), f.Severity, f.Slug, f.Full())
}

func place(s source.Span) string {
	if s.IsZero() {
		return "-"
	}
	line, col := s.Position()
	return fmt.Sprintf("%s:%d:%d", s.File.Name, line, col)
}

// Set gathers findings. The zero Set is empty and ready to use. A Set is not
// for use by several goroutines at once.
type Set struct {
	list   []*Finding
	seen   map[key]bool
	sorted []*Finding // of the whole list; shorter than it where it is stale
	to     func(*Finding)
}

// To returns a set that hands on what is added to it.
func To(add func(*Finding)) *Set { return &Set{to: add} }

type key struct {
	file       *source.File
	start, end int
	slug       string
	message    string
	also       source.Span // the first other place: that in the method, where At is in the record
}

// Add puts a finding into the set. The same complaint at the same place is
// kept once.
func (s *Set) Add(f *Finding) {
	if f == nil {
		return
	}
	k := key{file: f.At.File, start: f.At.Start, end: f.At.End, slug: f.Slug, message: f.Message}
	if len(f.Also) > 0 {
		k.also = f.Also[0].At
	}
	if s.seen[k] {
		return
	}
	if s.seen == nil {
		s.seen = map[key]bool{}
	}
	s.seen[k] = true
	s.list = append(s.list, f)
	if s.to != nil {
		s.to(f)
	}
}

// Keep leaves of the first n findings those for which keep holds, and of the
// others none.
func (s *Set) Keep(n int, keep func(*Finding) bool) {
	all := s.list[:min(n, len(s.list))]
	*s = Set{}
	for _, f := range all {
		if keep(f) {
			s.Add(f)
		}
	}
}

// Since returns the findings from the nth on, in the order in which they were
// added. The slice is not to be changed.
func (s *Set) Since(n int) []*Finding { return slices.Clip(s.list[min(n, len(s.list)):]) }

// Sorted returns the findings in the order of their places. The slice is not
// to be changed.
func (s *Set) Sorted() []*Finding {
	if len(s.sorted) != len(s.list) {
		s.sorted = slices.Clone(s.list)
		Sort(s.sorted)
	}
	return slices.Clip(s.sorted)
}

// Sort puts findings in the order of their places.
func Sort(out []*Finding) {
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		if a.At != b.At {
			return a.At.Before(b.At)
		}
		if a.Severity != b.Severity {
			return a.Severity > b.Severity
		}
		if a.Slug != b.Slug {
			return a.Slug < b.Slug
		}
		return a.Message < b.Message
	})
}

// Len returns the number of findings.
func (s *Set) Len() int { return len(s.list) }

// Count returns how many findings have that severity.
func (s *Set) Count(sev Severity) int {
	n := 0
	for _, f := range s.list {
		if f.Severity == sev {
			n++
		}
	}
	return n
}

// WriteText writes findings as a terminal shows them: the one-line form, the
// source line with a caret under the place, and the other places concerned.
func WriteText(w io.Writer, list []*Finding) error {
	var b bytes.Buffer
	for _, f := range list {
		b.WriteString(f.String())
		b.WriteByte('\n')
		excerpt(&b, f.At)
		for _, p := range f.Also {
			fmt.Fprintf(&b, "  %s: %s\n", place(p.At), p.What)
			excerpt(&b, p.At)
		}
	}
	_, err := w.Write(b.Bytes())
	return err
}

// excerptWidth is the widest piece of a source line that is shown.
const excerptWidth = 120

func excerpt(b *bytes.Buffer, s source.Span) {
	if s.IsZero() {
		return
	}
	line, _ := s.Position()
	text := s.File.Line(line)
	start := s.Start - s.File.LineStart(line)
	if start > len(text) {
		start = len(text)
	}
	end := min(start+(s.End-s.Start), len(text))
	before, at := clean(text[:start]), clean(text[start:end])
	rest := clean(text[end:])
	if n := utf8.RuneCountInString(before); n > excerptWidth/2 {
		r := []rune(before)
		before = "…" + string(r[n-excerptWidth/2:])
	}
	if r := []rune(at); len(r) > excerptWidth/2 {
		at, rest = string(r[:excerptWidth/2])+"…", ""
	}
	if r := []rune(rest); len(r) > excerptWidth/2 {
		rest = string(r[:excerptWidth/2]) + "…"
	}
	fmt.Fprintf(b, "    %s\n", strings.TrimRight(before+at+rest, " "))
	fmt.Fprintf(b, "    %s%s\n", strings.Repeat(" ", width(before)), strings.Repeat("^", max(1, width(at))))
}

// clean makes a piece of a source line fit to print: tabs and control
// characters become spaces and what is not UTF-8 a replacement character.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

// width is the number of terminal cells that a text takes: none for combining
// marks, two for the wide scripts of East Asia.
func width(s string) int {
	n := 0
	for _, r := range s {
		switch {
		case r >= 0x300 && r <= 0x36f, r == 0x200b, r == 0x200d, r >= 0xfe00 && r <= 0xfe0f:
		case r >= 0x1100 && r <= 0x115f, r >= 0x2e80 && r <= 0xa4cf, r >= 0xac00 && r <= 0xd7a3,
			r >= 0xf900 && r <= 0xfaff, r >= 0xfe30 && r <= 0xfe6f, r >= 0xff00 && r <= 0xff60, r >= 0x1f300 && r <= 0x1faff:
			n += 2
		default:
			n++
		}
	}
	return n
}

// JSON is the form of a finding in results files and in `check --format json`.
type JSON struct {
	File     string      `json:"file"`
	Line     int         `json:"line"`
	Col      int         `json:"col"`
	Severity string      `json:"severity"`
	Slug     string      `json:"slug"`
	Message  string      `json:"message"`
	Also     []JSONPlace `json:"also,omitempty"`
}

// JSONPlace is a further place of a finding in its JSON form.
type JSONPlace struct {
	File    string `json:"file"`
	Line    int    `json:"line"`
	Col     int    `json:"col"`
	Message string `json:"message"`
}

// ToJSON returns the JSON form of each finding; never nil.
func ToJSON(list []*Finding) []JSON {
	out := make([]JSON, 0, len(list))
	for _, f := range list {
		line, col := f.At.Position()
		j := JSON{Line: line, Col: col, Severity: f.Severity.String(), Slug: f.Slug, Message: f.Full()}
		if f.At.File != nil {
			j.File = f.At.File.Name
		}
		for _, p := range f.Also {
			l, c := p.At.Position()
			q := JSONPlace{Line: l, Col: c, Message: p.What}
			if p.At.File != nil {
				q.File = p.At.File.Name
			}
			j.Also = append(j.Also, q)
		}
		out = append(out, j)
	}
	return out
}

// WriteJSON writes findings as one JSON array.
func WriteJSON(w io.Writer, list []*Finding) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(ToJSON(list))
}
