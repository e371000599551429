package page

import (
	"bytes"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/util"

	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

// prose writes a document. Its bytes were written by the author: goldmark's
// renderer escapes them, and what it would pass on as it stands is ours.
func (w *writer) prose(p *view.Prose) {
	if p == nil || p.Doc == nil || p.Doc.Root == nil {
		return
	}
	if w.markdown == nil {
		w.markdown = newMarkdown(w)
	}
	outer, link := w.doc, w.inLink
	w.doc, w.inLink = p, 0
	from := len(w.b)
	if len(p.Without) == 0 {
		w.markdownNode(p, p.Doc.Root)
	} else {
		for n := p.Doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
			if !p.Without[n] {
				w.markdownNode(p, n)
			}
		}
	}
	if w.page.Body != nil && p.Doc.File != w.page.Body.Doc.File { // a method's
		w.typeset(from)
	}
	w.doc, w.inLink = outer, link
}

func (w *writer) markdownNode(p *view.Prose, n ast.Node) {
	if err := w.markdown.Render(&w.buffer, p.Doc.File.Text, n); err != nil {
		w.fail(err)
	}
}

// newMarkdown returns a renderer of goldmark's tree that writes into w. More
// holds renderers of single kinds of nodes that stand in for these.
func newMarkdown(w *writer, more ...util.PrioritizedValue) renderer.Renderer {
	notes := extension.NewFootnoteHTMLRenderer(
		extension.WithFootnoteIDPrefixFunction(func(ast.Node) []byte {
			return []byte(w.names.notes[w.doc])
		}),
		// Without the variation selector some systems draw the arrow as a picture.
		extension.WithFootnoteBacklinkHTML("↩\ufe0e"),
	).(*extension.FootnoteHTMLRenderer)
	notes.XHTML = true
	return renderer.NewRenderer(renderer.WithNodeRenderers(append(more,
		util.Prioritized(w, 100),
		util.Prioritized(extension.NewTableHTMLRenderer(), 500),
		util.Prioritized(notes, 500),
		util.Prioritized(html.NewRenderer(html.WithXHTML()), 1000),
	)...))
}

// RegisterFuncs implements renderer.NodeRenderer.
func (w *writer) RegisterFuncs(r renderer.NodeRendererFuncRegisterer) {
	r.Register(ast.KindHeading, w.heading)
	r.Register(ast.KindHTMLBlock, w.htmlBlock)
	r.Register(ast.KindRawHTML, w.rawHTML)
	r.Register(ast.KindImage, w.image)
	r.Register(ast.KindParagraph, w.paragraph)
	r.Register(east.KindTable, w.pipeTable)
	r.Register(east.KindTableCell, w.pipeCell)
	r.Register(record.KindBlock, w.block)
	r.Register(record.KindInline, w.inline)
	r.Register(record.KindMath, w.mathematics)
}

func (w *writer) heading(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	level := n.(*ast.Heading).Level + w.doc.Shift
	if body := w.page.Body; body != nil && w.doc != body {
		level += body.Shift // it stands within the body, under its headings
	}
	level = min(level, 6)
	if !entering {
		w.markup("</h", string('0'+rune(level)), ">\n")
		return ast.WalkContinue, nil
	}
	w.markup("<h", string('0'+rune(level)))
	w.id(n)
	w.markup(">")
	return ast.WalkContinue, nil
}

// htmlBlock shows HTML as the text that it is. A comment is nothing to show.
func (w *writer) htmlBlock(_ util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	var b bytes.Buffer
	for i := 0; i < n.Lines().Len(); i++ {
		line := n.Lines().At(i)
		b.Write(line.Value(src))
	}
	if h := n.(*ast.HTMLBlock); h.HasClosure() {
		b.Write(h.ClosureLine.Value(src))
	}
	if text := strings.TrimSpace(b.String()); !isComment(text) {
		w.markup(`<pre class="raw"><code>`)
		w.text(text)
		w.markup("</code></pre>\n")
	}
	return ast.WalkSkipChildren, nil
}

func (w *writer) rawHTML(_ util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	if text := string(n.(*ast.RawHTML).Segments.Value(src)); !isComment(text) {
		w.text(text)
	}
	return ast.WalkSkipChildren, nil
}

// isComment reports whether HTML is one comment and nothing else.
func isComment(s string) bool {
	return strings.HasPrefix(s, "<!--") && strings.Index(s, "-->") == len(s)-len("-->")
}

// paragraph writes a paragraph; one that is nothing but a picture is a figure.
func (w *writer) paragraph(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	img, ok := n.FirstChild().(*ast.Image)
	alone := ok && n.ChildCount() == 1 && w.held(img) != ""
	switch {
	case alone && entering:
		w.markup(`<figure class="photo">`)
	case alone:
		w.figcaption(string(img.Title))
		w.markup("</figure>\n")
	case entering:
		w.markup("<p>")
	default:
		w.markup("</p>\n")
	}
	return ast.WalkContinue, nil
}

// held is the picture itself, where the page holds it.
func (w *writer) held(img *ast.Image) string {
	if data := w.page.Images[string(img.Destination)]; strings.HasPrefix(data, "data:image/") {
		return data
	}
	return ""
}

// image shows a picture that the page holds. Any other picture is named, never
// fetched: a page that is read years later, or by a student at home, must not
// call anywhere.
func (w *writer) image(_ util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	img := n.(*ast.Image)
	alt, dest := plain(n, src), string(img.Destination)
	if data := w.held(img); data != "" {
		w.markup("<img")
		w.attr("src", data)
		w.attr("alt", alt)
		p := n.Parent()
		if captioned := p.Kind() == ast.KindParagraph && p.ChildCount() == 1; len(img.Title) > 0 && !captioned {
			w.attr("title", string(img.Title))
		}
		w.markup(" />")
		return ast.WalkSkipChildren, nil
	}
	w.markup(`<span class="picture">`)
	w.text(alt)
	if alt != "" {
		w.markup(" ")
	}
	w.markup(`<span class="address">(`)
	w.text(short(dest, 120))
	w.markup(`)</span></span>`)
	return ast.WalkSkipChildren, nil
}

// short cuts a text after n characters.
func short(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n]) + "…"
	}
	return s
}

func (w *writer) pipeTable(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		w.markup("</table>\n</section>\n")
		return ast.WalkContinue, nil
	}
	w.markup(`<section class="scroll"`)
	w.region("table")
	w.markup(">\n<table>\n")
	return ast.WalkContinue, nil
}

func (w *writer) pipeCell(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	tag := "td"
	if n.Parent().Kind() == east.KindTableHeader {
		tag = "th"
	}
	if !entering {
		w.markup("</", tag, ">\n")
		return ast.WalkContinue, nil
	}
	w.markup("<", tag)
	if tag == "th" {
		w.markup(` scope="col"`)
	}
	switch n.(*east.TableCell).Alignment {
	case east.AlignLeft:
		w.markup(` class="left"`)
	case east.AlignCenter:
		w.markup(` class="center"`)
	case east.AlignRight:
		w.markup(` class="right"`)
	}
	w.markup(">")
	return ast.WalkContinue, nil
}

func (w *writer) block(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	b := n.(*record.BlockNode).Block
	nodes, ok := w.doc.Blocks[b]
	if !ok {
		w.source(b.Span.Text())
		return ast.WalkSkipChildren, nil
	}
	w.nodes(nodes)
	return ast.WalkSkipChildren, nil
}

func (w *writer) inline(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	i := n.(*record.InlineNode).Inline
	text, ok := w.doc.Inlines[i]
	if !ok {
		w.markup(`<code class="unread">`)
		w.text(i.Span.Text())
		w.markup(`</code>`)
		return ast.WalkSkipChildren, nil
	}
	linked := 0
	if inLink(n) {
		linked = 1
	}
	w.inLink += linked
	if id := w.names.of[spot{w.doc, i}]; id != "" && !w.names.written[id] {
		w.names.written[id] = true
		w.mark = id
	}
	w.line(text)
	w.inLink -= linked
	return ast.WalkSkipChildren, nil
}

// inLink reports whether a node stands in a link: a link may hold no other.
func inLink(n ast.Node) bool {
	for p := n.Parent(); p != nil && p.Type() == ast.TypeInline; p = p.Parent() {
		if p.Kind() == ast.KindLink {
			return true
		}
	}
	return false
}
