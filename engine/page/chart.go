package page

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"example.org/taut/engine/draw"
	"example.org/taut/engine/view"
)

func (w *writer) chart(c *view.Chart) {
	w.markup(`<figure class="graph `, standing(c.Standing), `"`)
	own := *c
	own.ID = w.figureID(c)
	svg, err := draw.Control(&own, w.drawn())
	w.drawing(orElse(c.Title, "chart"), svg, err)
	w.figcaption(c.Title)
	w.markup("</figure>\n")
}

func (w *writer) headingNode(h *view.Heading) {
	tag := "h" + strconv.Itoa(min(max(h.Level, 2), 6))
	w.markup("<", tag)
	w.id(h)
	w.markup(">")
	w.runs(h.Text)
	w.markup("</", tag, ">\n")
}

// link writes a link to another page. It leads to files beside this one and
// never to another machine.
func (w *writer) link(l view.Link) {
	path, place, _ := strings.Cut(l.To, "#")
	if path == "" || strings.HasPrefix(path, "/") || strings.Contains(path, "\\") {
		w.fail(fmt.Errorf("page: %q is no relative address of a page", l.To))
		return
	}
	to := url.URL{Path: path, Fragment: place}
	w.markup("<a")
	w.attr("href", to.String())
	w.markup(">")
	w.text(l.Text)
	w.markup("</a>")
}
