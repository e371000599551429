package plaintext

import (
	"strconv"
	"strings"

	"github.com/yuin/goldmark/ast"
	east "github.com/yuin/goldmark/extension/ast"

	"example.org/taut/engine/record"
	"example.org/taut/engine/tex"
	"example.org/taut/engine/view"
)

func itoa(n int) string { return strconv.Itoa(n) }

// text is the text of a node without any markup.
func text(n ast.Node, src []byte) string {
	w := &writer{doc: &view.Prose{Doc: &record.Document{}}}
	var b strings.Builder
	w.spans(&b, n, src, false)
	return b.String()
}

// codes lists what a node sets as code.
func codes(n ast.Node, src []byte) []string {
	var out []string
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		if c.Kind() == ast.KindCodeSpan {
			out = append(out, text(c, src))
		}
	}
	return out
}

// inline is the running text of a node.
func (w *writer) inline(n ast.Node) string {
	var b strings.Builder
	w.spans(&b, n, w.src(), true)
	return b.String()
}

// nbsp is a space at which no line breaks; a space is printed.
const nbsp = "\u00a0"

// together is a formula that no line breaks, unless it is a long one; its stop or
// comma follows at once.
func together(formula string) string {
	if n := len(formula) - 2; n > 0 && strings.ContainsAny(formula[n+1:], ".,;") && formula[n] == ' ' {
		formula = formula[:n] + formula[n+1:]
	}
	if columns(formula) <= 40 {
		formula = strings.ReplaceAll(formula, " ", nbsp)
	}
	return formula
}

// markCode is a piece of code between backticks, as it would be typed; a short
// one is not broken.
func markCode(code string) string {
	if columns(code) <= 24 {
		code = strings.ReplaceAll(code, " ", nbsp)
	}
	if strings.Contains(code, "`") {
		return "`` " + code + " ``"
	}
	return "`" + code + "`"
}

// spans writes what stands within a line; code is marked where marked says so.
func (w *writer) spans(b *strings.Builder, n ast.Node, src []byte, marked bool) {
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		w.span(b, c, src, marked)
	}
}

func (w *writer) span(b *strings.Builder, n ast.Node, src []byte, marked bool) {
	switch n := n.(type) {
	case *ast.Text:
		b.Write(n.Segment.Value(src))
		switch {
		case n.HardLineBreak():
			b.WriteByte('\n')
		case n.SoftLineBreak():
			b.WriteByte(' ')
		}
	case *ast.String:
		b.Write(n.Value)
	case *ast.CodeSpan:
		code := strings.ReplaceAll(text(n, src), "\n", " ")
		if marked {
			code = markCode(code)
		}
		b.WriteString(code)
	case *ast.AutoLink:
		b.Write(n.Label(src))
	case *ast.RawHTML: // a comment, in a page too
	case *record.InlineNode:
		if t, ok := w.doc.Inlines[n.Inline]; ok {
			b.WriteString(runs(t))
			return
		}
		b.WriteString(n.Inline.Span.Text())
	case *record.MathNode:
		tree, _ := tex.Parse(n.Span)
		b.WriteString(together(formula(tree)))
	case *east.FootnoteLink:
		b.WriteString("[" + itoa(n.Index) + "]")
	case *east.FootnoteBacklink:
	default:
		w.spans(b, n, src, marked)
	}
}

// runs is running text of the view.
func runs(t view.Text) string {
	var b strings.Builder
	for _, r := range t {
		switch r := r.(type) {
		case view.Plain:
			b.WriteString(string(r))
		case view.Code:
			b.WriteString("`" + string(r) + "`")
		case view.Emph:
			b.WriteString(string(r))
		case view.Strong:
			b.WriteString(string(r))
		case view.Ref:
			b.WriteString(r.Name)
		case view.Link:
			b.WriteString(r.Text)
		case view.Told:
			b.WriteString(r.Name)
		case view.Number:
			b.WriteString(number(r))
		case view.Formula:
			b.WriteString(together(formula(r.Math)))
		case view.Missing:
			b.WriteString("(not yet: " + strings.TrimPrefix(r.Why, "not yet: ") + ")")
		case view.Blank:
			b.WriteString("________ " + r.Unit)
		}
	}
	return b.String()
}

func number(n view.Number) string {
	d := n.Display
	s := strings.ReplaceAll(d.String(), " ", nbsp)
	if d.Coverage != "" {
		s += " (" + strings.ReplaceAll(d.Coverage, " ", nbsp) + ")"
	}
	if len(d.Tail) > 0 {
		s += ", where " + d.Tail.Text(false)
	}
	return s
}
