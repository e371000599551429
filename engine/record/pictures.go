package record

import (
	"bytes"
	"strings"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/source"
)

// Picture is a picture that a text shows.
type Picture struct {
	Address string // as the tree has it: escapes are resolved
	Words   string // what stands for the picture where it can't be seen
	At      source.Span
}

// Pictures lists the pictures of a document in the order of the text.
func (d *Document) Pictures() []Picture {
	var out []Picture
	from := 0 // where the search for the next address begins
	_ = ast.Walk(d.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		img, ok := n.(*ast.Image)
		if !ok || !entering {
			return ast.WalkContinue, nil
		}
		p := Picture{Address: string(img.Destination), Words: strings.TrimSpace(plainWords(img, d.File.Text))}
		p.At = d.blockOf(img)
		text := d.File.Text[p.At.Start:p.At.End]
		after := max(from-p.At.Start, 0)
		if i := bytes.Index(text[min(after, len(text)):], img.Destination); i >= 0 && len(img.Destination) > 0 {
			start := p.At.Start + after + i
			p.At = d.File.Span(start, start+len(img.Destination))
			from = p.At.End
		}
		out = append(out, p)
		return ast.WalkContinue, nil
	})
	return out
}

// blockOf is the text of the block in which an inline node stands.
func (d *Document) blockOf(n ast.Node) source.Span {
	for n != nil && n.Type() == ast.TypeInline {
		n = n.Parent()
	}
	if n == nil || n.Lines() == nil || n.Lines().Len() == 0 {
		return d.File.Span(0, 0)
	}
	lines := n.Lines()
	return d.File.Span(lines.At(0).Start, lines.At(lines.Len()-1).Stop)
}

// plainWords is the text within a node.
func plainWords(n ast.Node, text []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
		if t, ok := a.(*ast.Text); ok && entering {
			b.Write(t.Segment.Value(text))
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}
