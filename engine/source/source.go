// Package source holds the text of files and positions in it.
//
// Inside the program a position is a byte offset; a line and a column, both
// counted from 1, are made only when something is printed.
package source

import (
	"sort"
	"unicode/utf8"
)

// File is the unchanging text of one file. Name is the path as it is shown:
// with forward slashes, relative to where the reader stands, never absolute
// unless the reader said so.
type File struct {
	Name string
	Text []byte

	lines []int // byte offset of the start of each line
}

// NewFile returns a file of the given name and text. The text is not copied
// and must not change afterwards.
func NewFile(name string, text []byte) *File {
	f := &File{Name: name, Text: text, lines: []int{0}}
	for i, c := range text {
		if c == '\n' {
			f.lines = append(f.lines, i+1)
		}
	}
	return f
}

// Span returns the span from start to end, both clamped to the text.
func (f *File) Span(start, end int) Span {
	start = min(max(start, 0), len(f.Text))
	end = min(max(end, start), len(f.Text))
	return Span{File: f, Start: start, End: end}
}

// Position returns the line and the column (in characters, not bytes) of a
// byte offset, both counted from 1.
func (f *File) Position(offset int) (line, col int) {
	offset = min(max(offset, 0), len(f.Text))
	i := sort.SearchInts(f.lines, offset+1) - 1
	return i + 1, utf8.RuneCount(f.Text[f.lines[i]:offset]) + 1
}

// Line returns the text of a line, counted from 1, without its line end.
func (f *File) Line(n int) string {
	if n < 1 || n > len(f.lines) {
		return ""
	}
	start, end := f.lines[n-1], len(f.Text)
	if n < len(f.lines) {
		end = f.lines[n] - 1
	}
	if end > start && f.Text[end-1] == '\r' {
		end--
	}
	return string(f.Text[start:end])
}

// LineStart returns the byte offset at which a line, counted from 1, begins.
func (f *File) LineStart(n int) int {
	if n < 1 {
		return 0
	}
	if n > len(f.lines) {
		return len(f.Text)
	}
	return f.lines[n-1]
}

// Span is a stretch of a file, from byte Start up to but without byte End.
// The zero Span stands for no place at all.
type Span struct {
	File       *File
	Start, End int
}

// IsZero reports whether the span points nowhere.
func (s Span) IsZero() bool { return s.File == nil }

// Text returns the text that the span covers.
func (s Span) Text() string {
	if s.File == nil {
		return ""
	}
	return string(s.File.Text[s.Start:s.End])
}

// Position returns the line and column of the span's start; 0, 0 for the
// zero Span.
func (s Span) Position() (line, col int) {
	if s.File == nil {
		return 0, 0
	}
	return s.File.Position(s.Start)
}

// Sub returns the part of the span from byte i up to byte j, both counted
// from the span's start and clamped to it.
func (s Span) Sub(i, j int) Span {
	if s.File == nil {
		return s
	}
	n := s.End - s.Start
	i = min(max(i, 0), n)
	j = min(max(j, i), n)
	return Span{s.File, s.Start + i, s.Start + j}
}

// Before orders spans by file name, then by offset.
func (s Span) Before(t Span) bool {
	switch {
	case s.File == nil || t.File == nil:
		return s.File == nil && t.File != nil
	case s.File != t.File && s.File.Name != t.File.Name:
		return s.File.Name < t.File.Name
	case s.Start != t.Start:
		return s.Start < t.Start
	}
	return s.End < t.End
}
