package page

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/taut/engine/view"
)

func (w *writer) nodes(list []view.Node) {
	for _, n := range list {
		w.node(n)
	}
}

func (w *writer) node(n view.Node) {
	switch n := n.(type) {
	case *view.Prose:
		w.prose(n)
	case *view.Group:
		w.group(n)
	case *view.Warning:
		w.warning(n)
	case *view.Source:
		w.source(n.Text)
	default:
		from := len(w.b)
		w.leaf(n)
		w.typeset(from)
	}
}

// leaf writes a node that holds no prose.
func (w *writer) leaf(n view.Node) {
	switch n := n.(type) {
	case *view.Paragraph:
		w.markup(`<p class="`, standing(n.Standing), `">`)
		w.runs(n.Text)
		w.markup("</p>\n")
	case *view.Table:
		w.table(n)
	case *view.Steps:
		w.steps(n)
	case *view.Facts:
		w.factsNode(n)
	case *view.Figure:
		w.figure(n)
	case *view.Bars:
		w.bars(n)
	case *view.Chart:
		w.chart(n)
	case *view.Heading:
		w.headingNode(n)
	case *view.Quantities:
		w.quantities(n)
	case *view.Notice:
		if n.Overview {
			w.overview(n.Findings)
		} else {
			w.findings(n.Findings)
		}
	case *view.Fold:
		w.fold(n)
	case *view.Ruled:
		if n.Title != "" {
			w.element("p", n.Title)
		}
		w.ruled(n.Label, n.Lines)
	case *view.Marks:
		w.markup(`<p class="marks">[`, counted(n.Of, "mark", "marks"), "]</p>\n")
	default:
		w.fail(fmt.Errorf("page: no way to show a %T", n))
	}
}

// group writes all that one block shows, under its label.
func (w *writer) group(g *view.Group) {
	if len(g.Nodes) == 0 {
		return
	}
	w.markup(`<section class="block"`)
	w.id(g)
	w.attr("data-kind", g.Kind)
	label := g.Kind
	if g.Name != "" {
		label += " " + g.Name
	}
	w.label(label)
	w.markup(">\n")
	if !w.page.Sheet { // who fills a sheet in need not know how it was made
		w.groupLabel(g)
	}
	w.nodes(g.Nodes)
	w.markup("</section>\n")
}

func (w *writer) groupLabel(g *view.Group) {
	w.markup(`<p class="label"><span class="kind">`)
	w.text(g.Kind)
	w.markup(`</span>`)
	if g.Name != "" {
		w.markup(` <span class="name">`)
		w.ref(view.Ref{Name: g.Name, ID: w.names.entries[legal(g.ID)]})
		w.markup(`</span>`)
	}
	w.markup("</p>\n")
}

// runs writes running text.
func (w *writer) runs(t view.Text) {
	for i, r := range t {
		switch r := r.(type) {
		case view.Plain:
			if w.page.Comma && r == ", " && isNumber(t, i-1) && isNumber(t, i+1) {
				r = "; " // 2,14, 2,43 would be hard to tell apart
			}
			w.text(string(r))
		case view.Code:
			w.markup("<code>")
			w.breakable(string(r))
			w.markup("</code>")
		case view.Emph:
			w.element("em", string(r))
		case view.Strong:
			w.element("strong", string(r))
		case view.Number:
			w.number(r)
		case view.Ref:
			w.ref(r)
		case view.Link:
			w.link(r)
		case view.Told:
			w.told(r)
		case view.Formula:
			w.math(r.Math)
		case view.Missing:
			w.markup(`<span class="missing"`)
			if r.Of != "" {
				w.attr("data-of", r.Of)
			}
			w.markup(`>`)
			if !strings.HasPrefix(r.Why, "not yet") {
				w.text("not yet: ")
			}
			w.text(r.Why)
			w.markup(`</span>`)
		case view.Blank:
			w.blank(r)
		default:
			w.fail(fmt.Errorf("page: no way to show a %T", r))
		}
	}
}

func isNumber(t view.Text, i int) bool {
	if i < 0 || i >= len(t) {
		return false
	}
	_, ok := t[i].(view.Number)
	return ok
}

func (w *writer) element(tag, text string) {
	w.markup("<", tag, ">")
	w.text(text)
	w.markup("</", tag, ">")
}

// blank writes a ruled place for a number.
func (w *writer) blank(b view.Blank) {
	if b.Below {
		w.markup("<br />")
	}
	w.markup(`<span class="blank">`)
	if b.Label != "" {
		w.text(b.Label)
		w.markup(" = ")
	}
	w.markup(`<span class="rule"><span class="unseen">to fill in</span></span>`)
	if b.Unit != "" {
		w.markup(" ")
		w.unit(b.Unit)
	}
	w.markup(`</span>`)
}

// mostLines is the most ruled lines that are drawn: a page of A4 and a half.
const mostLines = 40

// ruled writes lines to write on, for what the label says.
func (w *writer) ruled(label string, lines int) {
	w.markup(`<div class="ruled">`, "\n")
	if label != "" {
		w.markup(`<p class="unseen">`)
		w.text(label)
		w.markup("</p>\n")
	}
	for range min(max(lines, 1), mostLines) {
		w.markup(`<div class="line"></div>`, "\n")
	}
	w.markup("</div>\n")
}

// sheetHead writes the lines for who filled the sheet in and when, and for the
// marks.
func (w *writer) sheetHead(p *view.Page) {
	w.markup(`<div class="sheet">`, "\n")
	for _, what := range []string{"Name", "Class", "Date"} {
		w.markup(`<p>`, what, ` <span class="rule"><span class="unseen">to fill in</span></span></p>`, "\n")
	}
	if p.Marks > 0 {
		w.markup(`<p>Marks <span class="rule"><span class="unseen">to fill in</span></span> / `, strconv.Itoa(p.Marks), "</p>\n")
	}
	w.markup("</div>\n")
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

func (w *writer) factsNode(f *view.Facts) {
	w.markup(`<div class="facts `, standing(f.Standing), `"`)
	w.id(f)
	w.markup(">\n")
	if len(f.Title) > 0 {
		w.markup(`<p class="title">`)
		w.runs(f.Title)
		w.markup("</p>\n")
	}
	w.facts(f.Items)
	w.markup("</div>\n")
}

func (w *writer) facts(items []view.Fact) {
	if len(items) == 0 {
		return
	}
	w.markup("<dl>\n")
	for _, f := range items {
		w.markup("<div><dt>")
		w.runs(f.Term)
		w.markup("</dt><dd>")
		w.runs(f.Text)
		w.markup("</dd></div>\n")
	}
	w.markup("</dl>\n")
}

// warning writes a safety caution.
func (w *writer) warning(c *view.Warning) {
	w.markup(`<aside class="safety"`)
	w.id(c)
	w.label("Safety")
	w.markup(">\n", `<p class="label">Safety</p>`, "\n")
	w.prose(c.Body)
	if c.Deferred {
		w.markup("<p>")
		w.text(view.Deferral)
		w.markup("</p>\n")
	}
	w.markup("</aside>\n")
}

func (w *writer) source(text string) {
	w.markup(`<pre class="source"><code>`)
	w.text(text)
	w.markup("</code></pre>\n")
}

// region makes a section that may scroll sideways reachable by keyboard, and
// names it for those who hear the page.
func (w *writer) region(label string) {
	w.markup(` tabindex="0"`)
	w.label(label)
}

// label names a region of the page, each by a name of its own.
func (w *writer) label(label string) {
	w.names.regions[label]++
	if n := w.names.regions[label]; n > 1 {
		label += " (" + strconv.Itoa(n) + ")"
	}
	w.attr("aria-label", label)
}
