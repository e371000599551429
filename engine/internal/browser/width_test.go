package browser_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"example.org/taut/engine/internal/browser"
	"example.org/taut/engine/view"
)

// The width of A4, and what of it is between the margins, in pixels of CSS, of
// which 96 are an inch.
const (
	sheet   = 210 * 960 / 254
	between = (210 - 26 - 18) * 960 / 254.
)

// TestNothingIsWiderThanPaper lays the examples out for print: what is wider
// than the page would have all of it scaled down, or be cut.
func TestNothingIsWiderThanPaper(t *testing.T) {
	b := browser.Start(t)
	records, err := filepath.Glob(filepath.FromSlash("../../../examples/*/record.md"))
	if err != nil || len(records) < 10 {
		t.Fatal(records, err)
	}
	for _, record := range records {
		tab := b.Tab(t)
		tab.Paper(sheet, 900)
		for _, v := range []view.View{view.AsWorked, view.AsBlank} {
			tab.Open(fileAddress(pageOf(t, record, v)))
			if wide := browser.Eval[string](tab, widest); wide != "" {
				t.Errorf("%s, %s: wider than the paper: %s", record, v, wide)
			}
		}
	}
}

// widest names what reaches beyond the edge of the paper, and by how much. The
// conditions of a style hold for the whole sheet, what is laid out has less.
var widest = fmt.Sprintf(`(() => {
	const edge = %f, out = []
	document.documentElement.style.width = edge + "px"
	for (const e of document.querySelectorAll("body *:not(.unseen, svg *, math *)")) {
		const over = e.getBoundingClientRect().right - edge
		if (over > 0) out.push(e.localName + "." + e.className + " " + e.textContent.trim().slice(0, 40) + ": " + over.toFixed(1))
	}
	return out.slice(0, 5).join("; ")
})()`, between)
