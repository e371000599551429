package browser_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

// TestBreaksInPrint prints what belongs together at every height of a page: a
// heading, a caption or a sentence that leads in is never the last thing of a
// page, and by what the page was made stands in the margin of each.
func TestBreaksInPrint(t *testing.T) {
	p := findPrinter(t)
	for _, theme := range themes.Names() {
		th, err := themes.Load(theme)
		if err != nil {
			t.Fatal(err)
		}
		empty, err := page.Render(&view.Page{Title: "Breaks", Version: "7.8.9"}, th)
		if err != nil {
			t.Fatal(err)
		}
		// The style is the page's own; what it is tried on need not keep its policy.
		style, _, _ := strings.Cut(string(empty), "<body>")
		_, style, _ = strings.Cut(style, "<style>")
		html := `<!DOCTYPE html><html lang="en" data-made="Taut 7.8.9"><meta charset="utf-8"><title>Breaks</title><style>` +
			style + "<body><main>" + stacked() + `</main><footer><p class="made">Taut 7.8.9</p></footer>`
		file := filepath.Join(t.TempDir(), "breaks.html")
		if err := os.WriteFile(file, []byte(html), 0o644); err != nil {
			t.Fatal(err)
		}
		pages := p.pages(t, file)
		for i, text := range pages {
			lines := strings.FieldsFunc(text, func(r rune) bool { return r == '\n' })
			last := strings.Join(strings.Fields(lines[len(lines)-1]), " ")
			if foot := fmt.Sprintf("Taut 7.8.9 %d / %d", i+1, len(pages)); last != foot {
				t.Errorf("%s: page %d ends with %q, not %q", theme, i+1, last, foot)
			}
			if len(lines) < 2 || strings.Contains(lines[len(lines)-2], "LEADS") {
				t.Errorf("%s: page %d: nothing, or what leads to the next page: %q", theme, i+1, lines[max(0, len(lines)-2)])
			}
		}
		if n, want := strings.Count(strings.Join(pages, "\n"), "row\n"), 2*13*20; n != want {
			t.Errorf("%s: %d rows are printed, not %d", theme, n, want)
		}
		if len(pages) < 100 { // fewer, where something too wide shrinks all
			t.Errorf("%s: only %d pages", theme, len(pages))
		}
	}
}

// stacked is what belongs together, each on a page of its own below ever more
// lines. All that must not end a page says LEADS.
func stacked() string {
	const rows = "<tbody>%s</tbody>"
	table := "<section class=\"scroll\"><table><caption>Caption LEADS</caption><thead><tr><th>head LEADS</th></tr></thead>" +
		fmt.Sprintf(rows, strings.Repeat("<tr><td>row</td></tr>", 20)) + "</table></section>"
	pieces := []string{
		`<p>Sentence LEADS:</p><div class="table ledger">` + table + `</div>`,
		`<h3>Heading LEADS</h3><p>Its roles LEADS:</p>` + table,
		`<section class="block"><p class="label">label LEADS</p><p>One line.</p></section>`,
		`<p>Sentence LEADS:</p><pre><code>` + strings.Repeat("code\n", 8) + `</code></pre>`,
		`<div class="facts"><p class="title">Title LEADS</p><dl>` + strings.Repeat("<div><dt>term LEADS</dt><dd>text LEADS</dd></div>", 3) +
			`<div><dt>last</dt><dd>text</dd></div></dl></div>`,
		`<p>Sentence LEADS:<span class="equation"><math display="block"><mtext>formula LEADS</mtext></math></span>where it ends.</p>`,
	}
	var b strings.Builder
	for _, piece := range pieces {
		for lines := 18; lines < 31; lines++ {
			b.WriteString("<section>" + strings.Repeat("<p>line</p>", lines) + piece + "</section>\n")
		}
	}
	return "<style>main > section { break-before: page }</style>" + b.String()
}
