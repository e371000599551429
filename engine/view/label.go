package view

import (
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// Strong is text that stands out.
type Strong string

func (Strong) run() {}

// lines is the Markdown of a single line: a label that begins with "1." is no
// list.
var lines = parser.NewParser(
	parser.WithBlockParsers(util.Prioritized(parser.NewParagraphParser(), 1000)),
	parser.WithInlineParsers(parser.DefaultInlineParsers()...),
)

// Inline reads a label that an author wrote, such as that of a step or what a
// role is, as the Markdown of one line: code and emphasis become runs, of a link
// its text is left.
func Inline(label string) Text {
	if label == "" {
		return nil
	}
	if !strings.ContainsAny(label, "`*_[]\\<&") {
		return Text{Plain(label)}
	}
	src := []byte(label)
	r := &lineReader{src: src}
	r.spans(lines.Parse(text.NewReader(src)), func(s string) Run { return Plain(s) })
	return r.out
}

type lineReader struct {
	src []byte
	out Text
}

func (r *lineReader) spans(n ast.Node, as func(string) Run) {
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		r.span(c, as)
	}
}

func (r *lineReader) span(n ast.Node, as func(string) Run) {
	switch n := n.(type) {
	case *ast.Text:
		s := util.ResolveEntityNames(util.ResolveNumericReferences(util.UnescapePunctuations(n.Segment.Value(r.src))))
		r.add(as(string(s)))
		if n.SoftLineBreak() || n.HardLineBreak() {
			r.add(as(" "))
		}
	case *ast.String:
		r.add(as(string(n.Value)))
	case *ast.CodeSpan:
		r.spansOf(n)
	case *ast.AutoLink:
		r.add(as(string(n.Label(r.src))))
	case *ast.RawHTML:
		r.add(as(string(n.Segments.Value(r.src)))) // no markup here, nor in a page's prose
	case *ast.Emphasis:
		if n.Level > 1 {
			as = func(s string) Run { return Strong(s) }
		} else {
			as = func(s string) Run { return Emph(s) }
		}
		r.spans(n, as)
	default:
		r.spans(n, as)
	}
}

// spansOf is the text of code, as it stands.
func (r *lineReader) spansOf(code ast.Node) {
	var b strings.Builder
	for c := code.FirstChild(); c != nil; c = c.NextSibling() {
		if t, ok := c.(*ast.Text); ok {
			b.Write(t.Segment.Value(r.src))
		}
	}
	r.add(Code(strings.ReplaceAll(b.String(), "\n", " ")))
}

// add appends a run; plain text is joined to plain text before it.
func (r *lineReader) add(run Run) {
	if k := len(r.out) - 1; k >= 0 {
		if s, ok := run.(Plain); ok {
			if before, ok := r.out[k].(Plain); ok {
				r.out[k] = before + s
				return
			}
		}
	}
	r.out = append(r.out, run)
}
