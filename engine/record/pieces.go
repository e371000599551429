package record

import (
	"strings"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/source"
)

// PieceKind says what a piece of running text is.
type PieceKind int

// The kinds of pieces.
const (
	PlainPiece    PieceKind = iota
	CodePiece               // typed text, raw HTML, an address, what stands for a value
	StressedPiece           // emphasis
	MathPiece               // TeX: Span holds it
)

// Piece is a piece of running text.
type Piece struct {
	Kind PieceKind
	Text string
	Span source.Span
}

// Paragraphs are the paragraphs of a document as running text, for places
// where no more than that can stand, such as the cells of a table. A heading,
// an item of a list and a block of code are paragraphs of their own; inline
// values stand as they are typed.
func (d *Document) Paragraphs() [][]Piece {
	var out [][]Piece
	_ = ast.Walk(d.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering || n.Type() == ast.TypeInline {
			return ast.WalkContinue, nil
		}
		var list []Piece
		switch c := n.FirstChild(); {
		case c != nil && c.Type() == ast.TypeInline:
			list = d.pieces(n)
		case c == nil && n.Type() == ast.TypeBlock:
			for i := range n.Lines().Len() { // a block of code, or of HTML
				line := n.Lines().At(i)
				text := strings.TrimRight(string(line.Value(d.File.Text)), "\r\n")
				list = append(list, Piece{Kind: CodePiece, Text: text}, Piece{Text: " "})
			}
		}
		if len(list) > 0 {
			out = append(out, list)
		}
		return ast.WalkContinue, nil
	})
	return out
}

// pieces is what stands in a paragraph.
func (d *Document) pieces(parent ast.Node) []Piece {
	text := d.File.Text
	var out []Piece
	for n := parent.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Text:
			out = append(out, Piece{Text: string(n.Segment.Value(text))})
			if n.SoftLineBreak() || n.HardLineBreak() {
				out = append(out, Piece{Text: " "})
			}
		case *ast.String:
			out = append(out, Piece{Text: string(n.Value)})
		case *ast.CodeSpan:
			out = append(out, Piece{Kind: CodePiece, Text: d.plain(n)})
		case *ast.Emphasis:
			out = append(out, Piece{Kind: StressedPiece, Text: d.plain(n)})
		case *ast.RawHTML:
			out = append(out, Piece{Kind: CodePiece, Text: string(n.Segments.Value(text))})
		case *ast.AutoLink:
			out = append(out, Piece{Kind: CodePiece, Text: string(n.URL(text))})
		case *MathNode:
			out = append(out, Piece{Kind: MathPiece, Text: n.Span.Text(), Span: n.Span})
		case *InlineNode:
			out = append(out, Piece{Kind: CodePiece, Text: n.Inline.Span.Text(), Span: n.Inline.Span})
		default:
			out = append(out, d.pieces(n)...)
		}
	}
	return out
}

// plain is the text below a node.
func (d *Document) plain(parent ast.Node) string {
	var b strings.Builder
	for _, p := range d.pieces(parent) {
		b.WriteString(p.Text)
	}
	return b.String()
}
