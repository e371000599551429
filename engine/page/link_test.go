package page

import (
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestLinks: links lead to files beside the page, as addresses that a browser
// reads so; headings can be led to, and charts are drawn.
func TestLinks(t *testing.T) {
	nan := math.NaN()
	p := &view.Page{Title: "t", Body: prose(t, "", nil, nil), Back: []view.Node{
		&view.Heading{ID: "top", Level: 2, Text: view.Text{view.Plain("A & B")}},
		&view.Heading{Level: 9, Text: view.Text{view.Plain("deep")}},
		&view.Paragraph{Text: view.Text{view.Link{Text: "<one>", To: "../a b/50%.html#p q"}, view.Link{Text: "two", To: "a:b.html"}}},
		&view.Chart{ID: "c", Title: "a chart", Y: view.Axis{Quantity: "E"}, Points: []view.ChartPoint{{Value: 1, Range: nan}, {Value: 2, Range: 1}},
			Segments: []view.ChartSegment{{To: 2, Mean: 1.5, Lower: nan, Upper: nan, Reference: nan, ReferenceU: nan}}},
		&view.Chart{ID: "e", Title: "an empty chart"},
	}}
	out := render(t, p)
	check(t, out)
	for _, want := range []string{`<h2 id="top">A &amp; B</h2>`, `<h6>deep</h6>`, `<a href="../a%20b/50%25.html#p%20q">&lt;one&gt;</a>`, `<a href="./a:b.html">two</a>`,
		`<figcaption>a chart</figcaption>`, "there is nothing to draw"} {
		if !strings.Contains(out, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	for _, bad := range []string{"", "#here", "/etc/x", "//host/x", `a\b`} {
		p := &view.Page{Body: prose(t, "", nil, nil), Back: []view.Node{&view.Paragraph{Text: view.Text{view.Link{Text: "x", To: bad}}}}}
		if _, err := Render(p, theme(t)); err == nil {
			t.Errorf("a link to %q was written", bad)
		}
	}
}
