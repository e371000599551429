package variant

import (
	"strings"

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
// mathematics; nothing of the record language is worked out.
func paragraphs(text string) []view.Text {
	rec := record.Parse(source.NewFile("text", []byte(text)), nil, &finding.Set{})
	var out []view.Text
	for _, list := range rec.Doc.Paragraphs() {
		var t view.Text
		for _, p := range list {
			switch p.Kind {
			case record.CodePiece:
				t = append(t, view.Code(p.Text))
			case record.StressedPiece:
				t = append(t, view.Emph(p.Text))
			case record.MathPiece:
				tree, _ := tex.Parse(p.Span)
				t = append(t, view.Formula{Math: tree})
			default:
				t = append(t, view.Plain(p.Text))
			}
		}
		out = append(out, t)
	}
	return out
}
