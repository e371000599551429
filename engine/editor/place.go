package editor

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// region is the part of a record in which an offset lies.
type region int

const (
	inProse  region = iota
	inFront         // within the front matter
	inHead          // on the line that opens a fence
	inBody          // within a block
	inInsert        // within =[…] or ?[…]
)

// place is what an offset points at.
type place struct {
	region region
	block  *record.Block // of inHead and inBody
	before string        // the line, or what stands in the brackets, up to the word
	word   source.Span   // the name around the offset, dots and a leading @ included; may be empty
	typed  string        // the word up to the offset
}

// placeOf finds what an offset of a record points at.
func placeOf(rec *record.Record, f *source.File, offset int) place {
	line, _ := f.Position(offset)
	start := f.LineStart(line)
	p := place{word: wordAt(f, offset, "")}
	if isFence(f.Line(line)) {
		p.word = wordAt(f, offset, "-") // stretched-wire
	}
	p.typed = string(f.Text[p.word.Start:offset])
	p.before = string(f.Text[start:max(start, p.word.Start)])
	text := f.Line(line)
	if end, ok := frontEnd(f); ok && offset <= end {
		p.region = inFront
		return p
	}
	for _, b := range rec.Blocks {
		if offset < b.Span.Start || offset > b.Span.End {
			continue
		}
		if first, _ := f.Position(b.Head.Start); first == line {
			p.region, p.block = inHead, b
		} else if !isFence(text) {
			p.region, p.block = inBody, b
		}
		return p
	}
	if isFence(text) {
		p.region = inHead // a fence without a kind is no block yet
		return p
	}
	for _, in := range rec.Inlines {
		if offset > in.Span.Start+1 && offset < in.Span.End {
			p.region = inInsert
			p.before = string(f.Text[in.Span.Start+2 : max(in.Span.Start+2, p.word.Start)])
			return p
		}
	}
	if i := max(strings.LastIndex(p.before, "=["), strings.LastIndex(p.before, "?[")); i >= 0 && !strings.Contains(p.before[i:], "]") {
		p.region, p.before = inInsert, p.before[i+2:] // not closed yet
	}
	return p
}

// frontEnd is where the front matter ends; ok is false where there is none.
func frontEnd(f *source.File) (end int, ok bool) {
	if strings.TrimRight(f.Line(1), " \t") != "---" {
		return 0, false
	}
	for n := 2; ; n++ {
		at := f.LineStart(n)
		if strings.TrimRight(f.Line(n), " \t") == "---" {
			return at, true
		}
		if at >= len(f.Text) {
			return len(f.Text), true
		}
	}
}

func isFence(line string) bool {
	t := strings.TrimLeft(line, " ")
	return strings.HasPrefix(t, "```") || strings.HasPrefix(t, "~~~")
}

// wordAt is the dotted name around an offset, with a leading @; empty where
// there is none. The characters in more are taken for those of a name.
func wordAt(f *source.File, offset int, more string) source.Span {
	inWord := func(r rune) bool { return inName(r) || strings.ContainsRune(more, r) }
	start, end := offset, offset
	for start > 0 {
		r, size := utf8.DecodeLastRune(f.Text[:start])
		if !inWord(r) {
			break
		}
		start -= size
	}
	for end < len(f.Text) {
		r, size := utf8.DecodeRune(f.Text[end:])
		if !inWord(r) {
			break
		}
		end += size
	}
	if start > 0 && f.Text[start-1] == '@' {
		start--
	}
	// The full stop of a sentence belongs to no name.
	for end > offset && f.Text[end-1] == '.' {
		end--
	}
	return f.Span(start, end)
}

func inName(r rune) bool {
	return r == '_' || r == '.' || unicode.IsLetter(r) || unicode.IsDigit(r)
}
