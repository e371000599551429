// Package page makes a view into one HTML file that needs nothing else: no
// script, no font, no picture from anywhere. What others wrote is escaped, and
// a content security policy in the page itself holds a browser to it.
package page

import (
	"bytes"
	"fmt"
	"html/template"
	"time"

	"github.com/yuin/goldmark/renderer"

	"example.org/taut/engine/view"
)

// Render returns the page as HTML under a theme. The same view and theme give
// the same bytes. An error means a view that cannot be shown in full: a node
// or run that this package does not know, or a drawing that failed.
func Render(p *view.Page, t *Theme) ([]byte, error) {
	w := &writer{page: p, names: collect(p)}
	if w.names.err != nil {
		return nil, w.names.err
	}
	w.b = make([]byte, 0, 160<<10)
	d := shell{
		Lang:    orElse(p.Lang, "en"),
		Title:   p.Title,
		Author:  p.Author,
		Date:    p.Date,
		Version: p.Version,
		Day:     day(p.Date),
	}
	for _, f := range p.Facts {
		d.Facts = append(d.Facts, fact{
			Term: w.part(func() { w.line(f.Term) }),
			Text: w.part(func() { w.line(f.Text) }),
		})
	}
	d.Front = w.part(func() {
		if p.Sheet {
			w.sheetHead(p)
		}
		w.nodes(safetyFirst(p.Front))
	})
	d.Body = w.part(func() { w.prose(p.Body) })
	d.Back = w.part(func() { w.nodes(p.Back) })
	sheet := t.plain
	if bytes.Contains(w.b, []byte("<math")) {
		sheet = t.mathematical
	}
	d.Head = w.part(func() { w.head(p, sheet) })
	if w.err != nil {
		return nil, w.err
	}
	return t.execute(&d)
}

// line writes running text on its own.
func (w *writer) line(t view.Text) {
	from := len(w.b)
	w.runs(t)
	w.typeset(from)
}

// shell is what a theme's page.html is given. The parts of type template.HTML
// are finished; all else is text, escaped by html/template.
type shell struct {
	Lang, Title, Author, Date, Version string
	Day                                string // Date where it is a date of ISO 8601, else ""
	Facts                              []fact
	Head, Front, Body, Back            template.HTML
}

// fact is a line of the head: what it is and what it says.
type fact struct{ Term, Text template.HTML }

// writer writes the parts of one page.
type writer struct {
	buffer
	page     *view.Page
	names    *names
	markdown renderer.Renderer
	doc      *view.Prose // the document being written
	inLink   int         // greater than 0 within a link of the author's
	mark     string      // the ID of the next number
	shown    int         // how many figures were written
	err      error
}

func (w *writer) fail(err error) {
	if w.err == nil {
		w.err = err
	}
}

// part returns what write writes.
func (w *writer) part(write func()) template.HTML {
	from := len(w.b)
	write()
	return template.HTML(kept(string(w.b[from:])))
}

// head writes the content of <head>. It is ours and not the theme's, so that
// no theme can loosen the policy.
func (w *writer) head(p *view.Page, t sheet) {
	w.markup(`<meta charset="utf-8" />`, "\n",
		`<meta http-equiv="Content-Security-Policy" content="`, t.policy, `" />`, "\n",
		`<meta name="viewport" content="width=device-width, initial-scale=1" />`, "\n",
		`<meta name="color-scheme" content="light dark" />`, "\n",
		`<meta name="generator"`)
	w.attr("content", generator(p.Version))
	w.markup(" />\n<title>")
	w.text(orElse(p.Title, orElse(p.Name, "Record")))
	w.markup("</title>\n<style>", t.style, "</style>\n")
}

func generator(version string) string {
	if version == "" {
		return "Taut"
	}
	return "Taut " + version
}

// safetyFirst puts what keeps people unhurt before all else.
func safetyFirst(list []view.Node) []view.Node {
	out := make([]view.Node, 0, len(list))
	for _, safety := range []bool{true, false} {
		for _, n := range list {
			if isSafety(n) == safety {
				out = append(out, n)
			}
		}
	}
	return out
}

// isSafety reports whether a node is a safety caution or a block that holds
// one.
func isSafety(n view.Node) bool {
	switch n := n.(type) {
	case *view.Warning:
		return true
	case *view.Group:
		for _, m := range n.Nodes {
			if isSafety(m) {
				return true
			}
		}
	}
	return false
}

func day(date string) string {
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return ""
	}
	return date
}

func (t *Theme) execute(d *shell) ([]byte, error) {
	var b bytes.Buffer
	b.Grow(len(d.Head) + len(d.Front) + len(d.Body) + len(d.Back) + 4<<10)
	if err := t.page.ExecuteTemplate(&b, "page.html", d); err != nil {
		return nil, fmt.Errorf("theme: %w", err)
	}
	return clean(b.Bytes()), nil
}
