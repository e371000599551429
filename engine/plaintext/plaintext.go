// Package plaintext shows a view as plain text, for a terminal: lines of at most
// 80 columns, tables aligned, no escape codes. A figure is shown by its
// description.
package plaintext

import (
	"strings"
	"unicode"

	"github.com/yuin/goldmark/ast"
	east "github.com/yuin/goldmark/extension/ast"

	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

// Width is the number of columns that running text and tables keep to; code
// is never broken.
const Width = 80

// Section is a heading of a document with what stands below it.
type Section struct {
	Level int
	Title string
	Codes []string // what the heading sets as code
	Nodes []ast.Node
}

// Sections lists the sections of a document in order. A section holds what
// stands before the next heading of its level or a higher one, with the
// headings of lower levels; the first, of level 0, holds the whole document.
func Sections(doc *record.Document) []Section {
	all := []Section{{}}
	for n := doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		h, isHeading := n.(*ast.Heading)
		if isHeading {
			all = append(all, Section{Level: h.Level, Title: text(h, doc.File.Text), Codes: codes(h, doc.File.Text)})
		}
		open := 7
		for i := len(all) - 1; i >= 0; i-- {
			if s := &all[i]; s.Level < open {
				open = s.Level
				s.Nodes = append(s.Nodes, n)
			}
		}
	}
	return all
}

// IsHeading reports whether a node is a heading.
func IsHeading(n ast.Node) bool { return n.Kind() == ast.KindHeading }

// Row is a row of a pipe table whose first cell begins with code.
type Row struct {
	Codes []string // of its first cell
	table *east.Table
	row   ast.Node
}

// Rows lists the rows of the pipe tables of a section that begin with code.
func (s *Section) Rows(doc *record.Document) []Row {
	var out []Row
	for _, n := range s.Nodes {
		t, ok := n.(*east.Table)
		if !ok {
			continue
		}
		for r := t.FirstChild(); r != nil; r = r.NextSibling() {
			if c := codes(r.FirstChild(), doc.File.Text); r.Kind() == east.KindTableRow && len(c) > 0 {
				out = append(out, Row{c, t, r})
			}
		}
	}
	return out
}

// Print shows the nodes of a document.
func Print(p *view.Prose, nodes []ast.Node) string {
	w := &writer{doc: p, width: Width}
	w.blocks(nodes)
	return spaced(w.done())
}

// PrintNodes shows nodes of a view that stand in no document.
func PrintNodes(nodes []view.Node) string {
	w := &writer{width: Width}
	w.nodes(nodes)
	return spaced(w.done())
}

// PrintRow shows one row of a table below the table's headings.
func PrintRow(p *view.Prose, r Row) string {
	w := &writer{doc: p, width: Width}
	w.pipeTable(r.table, r.row)
	return spaced(w.done())
}

// writer gathers blocks of lines, which blank lines part.
type writer struct {
	doc   *view.Prose
	width int
	out   strings.Builder
}

// add appends a block.
func (w *writer) add(block string) {
	block = strings.TrimRight(block, " \n")
	if block == "" {
		return
	}
	if w.out.Len() > 0 {
		w.out.WriteString("\n")
	}
	w.out.WriteString(block + "\n")
}

func (w *writer) done() string { return w.out.String() }

// spaced is a finished text: the spaces that hold lines together are spaces.
func spaced(s string) string { return strings.NewReplacer(nbsp, " ", "\u202f", " ").Replace(s) }

func (w *writer) src() []byte { return w.doc.Doc.File.Text }

// inner is what a writer of fewer columns makes of nodes.
func (w *writer) inner(less int, show func(*writer)) string {
	in := &writer{doc: w.doc, width: max(w.width-less, 20)}
	show(in)
	return in.done()
}

func children(n ast.Node) []ast.Node {
	var out []ast.Node
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		out = append(out, c)
	}
	return out
}

func (w *writer) blocks(nodes []ast.Node) {
	for _, n := range nodes {
		w.block(n)
	}
}

func (w *writer) block(n ast.Node) {
	switch n := n.(type) {
	case *ast.Heading:
		w.heading(n)
	case *ast.Paragraph, *ast.TextBlock:
		w.add(wrap(w.inline(n), w.width))
	case *ast.FencedCodeBlock, *ast.CodeBlock:
		w.add(indent(lines(n, w.src()), "    ", "    "))
	case *ast.Blockquote:
		w.add(indent(w.inner(2, func(in *writer) { in.blocks(children(n)) }), "> ", "> "))
	case *ast.List:
		w.list(n)
	case *ast.ThematicBreak:
		w.add(strings.Repeat("-", 20))
	case *ast.HTMLBlock: // a comment, in a page too
	case *east.Table:
		w.pipeTable(n, nil)
	case *record.BlockNode:
		w.nodes(w.doc.Blocks[n.Block])
	default:
		w.blocks(children(n))
	}
}

func (w *writer) heading(h *ast.Heading) { w.title(w.inline(h), h.Level) }

// title sets a heading; those of the first two levels are underlined.
func (w *writer) title(text string, level int) {
	text = wrap(text, w.width)
	rule := "="
	if level == 2 {
		rule = "-"
	}
	if level <= 2 {
		longest := 0
		for _, l := range strings.Split(text, "\n") {
			longest = max(longest, columns(l))
		}
		text += "\n" + strings.Repeat(rule, longest)
	}
	w.add(text)
}

func (w *writer) list(l *ast.List) {
	var items []string
	number := l.Start
	for _, item := range children(l) {
		mark := "- "
		if l.IsOrdered() {
			mark = itoa(number) + ". "
			number++
		}
		body := w.inner(len(mark), func(in *writer) { in.blocks(children(item)) })
		items = append(items, indent(body, mark, strings.Repeat(" ", len(mark))))
	}
	sep := "\n"
	if !l.IsTight {
		sep = "\n\n"
	}
	w.add(strings.Join(items, sep))
}

// lines is the text of a code block.
func lines(n ast.Node, src []byte) string {
	var b strings.Builder
	for i := range n.Lines().Len() {
		l := n.Lines().At(i)
		b.Write(l.Value(src))
	}
	return strings.TrimRight(b.String(), "\n")
}

// indent sets a mark before the first line of a block and another before the
// others.
func indent(block, first, rest string) string {
	out := strings.Split(strings.TrimRight(block, "\n"), "\n")
	for i, l := range out {
		mark := rest
		if i == 0 {
			mark = first
		}
		out[i] = strings.TrimRight(mark+l, " ")
	}
	return strings.Join(out, "\n")
}

// wordsOf parts a text where a line may break: not at a space that holds.
func wordsOf(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' })
}

// wrap breaks a text at its spaces into lines of at most so many columns; a
// line break in it stays. A word that is wider than that is broken behind its
// slashes.
func wrap(s string, width int) string {
	var out []string
	for _, para := range strings.Split(s, "\n") {
		line := ""
		for _, word := range wordsOf(para) {
			gap := " "
			for _, piece := range breakable(word, width) {
				switch {
				case line == "":
					line = piece
				case columns(line)+len(gap)+columns(piece) <= width:
					line += gap + piece
				default:
					out, line = append(out, line), piece
				}
				gap = ""
			}
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}

func breakable(word string, width int) []string {
	if columns(word) <= width {
		return []string{word}
	}
	return strings.SplitAfter(word, "/")
}

// columns counts the columns that a text takes.
func columns(s string) int {
	n := 0
	for _, r := range s {
		if !unicode.Is(unicode.Mn, r) {
			n++
		}
	}
	return n
}
