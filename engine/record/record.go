// Package record reads a record or a method file: its front matter, its
// Markdown and the blocks and inline values in it, each with its place. It
// interprets no kind of block.
package record

import (
	"bytes"
	"sort"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Record is one file, read.
type Record struct {
	File    *source.File
	Front   *Setting // a map; never nil
	Doc     *Document
	Blocks  []*Block
	Inlines []*Inline
}

// Parse reads a file. Fences of the given kinds are blocks. It never fails:
// what cannot be read is a finding.
func Parse(f *source.File, kinds []string, set *finding.Set) *Record {
	is := make(map[string]bool, len(kinds))
	for _, k := range kinds {
		is[k] = true
	}
	rec := &Record{File: f, Front: &Setting{Kind: MapSetting, At: f.Span(0, 0)}}
	start := 0
	if body, end, ok := frontMatter(f, set); ok {
		start = end
		if s := parseYAML(body, lineSpans(body), set); s != nil {
			if s.Kind == MapSetting {
				rec.Front = s
			} else {
				set.Add(frontNotMap(s.At))
			}
		}
	} else if bytes.HasPrefix(f.Text, []byte("\uFEFF")) {
		start = len("\uFEFF")
	}
	r := &reading{kinds: func(k string) bool { return is[k] }, known: kinds, set: set}
	parseMarkdown(f, start, len(f.Text), r)
	rec.Doc, rec.Blocks, rec.Inlines = r.doc, r.blocks, r.inline
	return rec
}

// frontMatter finds the YAML between two lines of three hyphens at the start
// of the file, and the end of the second line.
func frontMatter(f *source.File, set *finding.Set) (body source.Span, end int, ok bool) {
	first := 0
	if bytes.HasPrefix(f.Text, []byte("\uFEFF")) {
		first = len("\uFEFF")
	}
	if !isRule(f.Text[first:]) {
		return source.Span{}, 0, false
	}
	for line := 2; ; line++ {
		start := f.LineStart(line)
		if start >= len(f.Text) {
			break
		}
		if isRule(f.Text[start:]) {
			return f.Span(f.LineStart(2), start), f.LineStart(line + 1), true
		}
	}
	// A rule at the top of a file without front matter is a thematic break,
	// unless what follows looks like settings.
	if looksLikeSettings(f.Line(2)) {
		set.Add(unclosedFront(f.Span(first, first+3)))
	}
	return source.Span{}, 0, false
}

func isRule(t []byte) bool {
	if !bytes.HasPrefix(t, []byte("---")) {
		return false
	}
	rest := t[3:]
	if i := bytes.IndexByte(rest, '\n'); i >= 0 {
		rest = rest[:i]
	}
	return len(bytes.TrimSpace(rest)) == 0
}

func looksLikeSettings(line string) bool {
	for i, r := range line {
		if r == ':' {
			return i > 0
		}
		if !unicode.IsLetter(r) {
			return false
		}
	}
	return false
}

// lineSpans splits a span into its lines, without their ends.
func lineSpans(s source.Span) []source.Span {
	var out []source.Span
	for start := s.Start; start < s.End; {
		end := start
		for end < s.End && s.File.Text[end] != '\n' {
			end++
		}
		out = append(out, trimLineEnd(source.Span{File: s.File, Start: start, End: end}))
		start = end + 1
	}
	return out
}

// IsName reports whether the text is an undotted name: a Unicode letter
// followed by letters, digits and underscores.
func IsName(t string) bool {
	if t == "" || !utf8.ValidString(t) {
		return false
	}
	for i, r := range norm.NFC.String(t) {
		if i == 0 && !unicode.IsLetter(r) {
			return false
		}
		if r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return false
		}
	}
	return true
}

func sortInlines(list []*Inline) {
	sort.SliceStable(list, func(i, j int) bool { return list[i].Span.Start < list[j].Span.Start })
}

// ReadMarkdown reads the body of a block as Markdown with inline values. It
// holds no blocks.
func (b *Block) ReadMarkdown(set *finding.Set) (*Document, []*Inline) {
	r := &reading{kinds: func(string) bool { return false }, set: set}
	parseMarkdown(b.Body.Span.File, b.Body.Span.Start, b.Body.Span.End, r)
	return r.doc, r.inline
}
