package blocks_test

import (
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestFitFacts: a fit tells the scatter that it takes where the resolution is
// the larger, and no R² of 1 where the line misses readings; with an intercept
// for each column R² is that within the columns.
func TestFitFacts(t *testing.T) {
	table := "```instruments\nrule:\n  resolution: 1 mm\n```\n```data w\nm / kg, x / mm @rule, y / mm @rule\n1, 1000, 51000\n2, 2000, 52000\n3, 3000, 53000\n4, 4000.5, 54000\n```\n"
	facts := func(settings string) string {
		page := files{"record.md": table + "```fit line\n" + settings + "```\n"}.page(t, view.AsRecord)
		text := spaced(anyTag.ReplaceAllString(page[strings.Index(page, `id="line-facts"`):], " "))
		return strings.ReplaceAll(strings.Join(strings.Fields(text), " "), " ,", ",")
	}
	for settings, want := range map[string][]string{
		"y: w.x\nx: w.m\n":        {"taken as 0.29 mm, by the resolution of the readings, which is larger", "R 2 &gt; 0.99999"},
		"y: [w.x, w.y]\nx: w.m\n": {"taken as 0.29 mm", "R 2 within the columns &gt; 0.99999"},
		"y: w.y\nx: w.m\n":        {"R 2 1", "4 readings, 2 degrees of freedom"},
	} {
		got := facts(settings)
		for _, w := range want {
			if !strings.Contains(got, w) {
				t.Errorf("the facts of %q lack %q: %.500s", settings, w, got)
			}
		}
	}
}
