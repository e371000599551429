package page

import (
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// TestSentence: a message begins with a capital letter where it begins with a
// word, and stays as it is where it begins with a symbol or a name.
func TestSentence(t *testing.T) {
	for message, want := range map[string]string{
		"all diameters are equal": "All diameters are equal",
		"a swing too short":       "A swing too short",
		"a = 3 mm is small":       "a = 3 mm is small",
		"u(d) is large":           "u(d) is large",
		"k is small":              "k is small",
		"`x` is not defined":      "`x` is not defined",
		"E is large":              "E is large",
		"ähnlich":                 "Ähnlich",
		"":                        "",
	} {
		if got := sentence(message); got != want {
			t.Errorf("%q: %q, want %q", message, got, want)
		}
	}
}

// TestOverview: what the page shows in place is named at its foot and led to,
// what it does not show is told there in full.
func TestOverview(t *testing.T) {
	file := source.NewFile("wire.md", []byte("a b c"))
	f := func(slug, message string) *finding.Finding {
		return &finding.Finding{Severity: finding.Note, Slug: slug, Message: message, At: file.Span(0, 1),
			Also: []finding.Place{{At: file.Span(2, 3), What: "in the method, here"}}}
	}
	here, there := f("here", "it is `here`"), f("lost", "nowhere else")
	p := sample(t)
	p.Back = append(p.Back, &view.Notice{Findings: []*finding.Finding{here}},
		&view.Paragraph{Text: view.Text{view.Told{Name: "look", Of: here}, view.Told{Name: " lost", Of: there}}},
		&view.Fold{Text: view.Text{view.Plain("a sentence")}, Label: "more", Items: []view.Fact{{Term: view.Text{view.Plain("x")}, Text: view.Text{view.Plain("y")}}}},
		&view.Notice{Overview: true, Findings: []*finding.Finding{here, there}})
	out := render(t, p)
	check(t, out)
	for _, want := range []string{
		`<li class="finding note" id="finding-here"><strong class="severity">note</strong> <span class="message">It is <code>here</code></span>` +
			` <small class="place"><code class="slug">here</code> wire.md:1:1; in the method, here: wire.md:1:3</small></li>`,
		`<a href="#finding-here">look</a> lost</p>`,
		`<li>note: <a href="#finding-here">It is <code>here</code></a> <small>(a, wire.md:1:1)</small></li>`,
		`<p>1 note on this page:</p>`,
		`<li class="finding note"><strong class="severity">note</strong> <span class="message">Nowhere else</span>`,
		"a sentence</p>\n<details>\n<summary>more</summary>\n<dl>",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("not in the page: %s", want)
		}
	}
}
