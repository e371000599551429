package variant

import (
	"strings"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/tex"
	"example.org/taut/engine/view"
)

// coded is a text in which what stands between backticks is set as what is
// typed.
func coded(text string) view.Text {
	var out view.Text
	for i, piece := range strings.Split(text, "`") {
		switch {
		case piece == "":
		case i%2 == 1:
			out = append(out, view.Code(piece))
		default:
			out = append(out, view.Plain(piece))
		}
	}
	return out
}

// superscripts writes the powers of a unit as one reads them.
var superscripts = strings.NewReplacer("^-1", "⁻¹", "^-2", "⁻²", "^-3", "⁻³", "^-4", "⁻⁴", "^2", "²", "^3", "³", "^4", "⁴")

// paragraphs are the paragraphs of a Markdown text as running text, with its
// mathematics. Lists and headings give a paragraph for each of their lines;
// nothing of the record language is worked out.
func paragraphs(text string) []view.Text {
	f := source.NewFile("text", []byte(text))
	rec := record.Parse(f, nil, &finding.Set{})
	var out []view.Text
	_ = ast.Walk(rec.Doc.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering || n.Type() == ast.TypeInline {
			return ast.WalkContinue, nil
		}
		var t view.Text
		switch c := n.FirstChild(); {
		case c != nil && c.Type() == ast.TypeInline:
			t = inlineRuns(f, n)
		case c == nil && n.Type() == ast.TypeBlock:
			for i := range n.Lines().Len() { // a block of code, or of HTML
				line := n.Lines().At(i)
				t = append(t, view.Code(strings.TrimRight(string(line.Value(f.Text)), "\r\n")), view.Plain(" "))
			}
		}
		if len(t) > 0 {
			out = append(out, t)
		}
		return ast.WalkContinue, nil
	})
	return out
}

// inlineRuns is what stands in a paragraph.
func inlineRuns(f *source.File, parent ast.Node) view.Text {
	var out view.Text
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Text:
			out = append(out, view.Plain(n.Segment.Value(f.Text)))
			if n.SoftLineBreak() || n.HardLineBreak() {
				out = append(out, view.Plain(" "))
			}
		case *ast.String:
			out = append(out, view.Plain(n.Value))
		case *ast.CodeSpan:
			out = append(out, view.Code(plainIn(f, n)))
		case *ast.Emphasis:
			out = append(out, view.Emph(plainIn(f, n)))
		case *ast.RawHTML:
			out = append(out, view.Code(n.Segments.Value(f.Text)))
		case *ast.AutoLink:
			out = append(out, view.Code(n.URL(f.Text)))
		case *record.MathNode:
			tree, _ := tex.Parse(n.Span)
			out = append(out, view.Formula{Math: tree})
		case *record.InlineNode:
			out = append(out, view.Code(n.Inline.Span.Text()))
		default:
			out = append(out, inlineRuns(f, n)...)
		}
	}
	return out
}

// plainIn is the text below a node.
func plainIn(f *source.File, parent ast.Node) string {
	var b strings.Builder
	_ = ast.Walk(parent, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			switch n := n.(type) {
			case *ast.Text:
				b.Write(n.Segment.Value(f.Text))
				if n.SoftLineBreak() {
					b.WriteByte(' ')
				}
			case *record.MathNode:
				b.WriteString(n.Span.Text())
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}
