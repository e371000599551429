package page

import (
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// unstyled are the classes that say what a piece is, for themes and programs
// that ask, though the theme here gives them no look of their own.
var unstyled = []string{
	"given", "read", "computed", "answer", // standings
	"kind", "message", "slug", "picture", "graph", "bars", "raw", "front", "working", "side", "footnote-backref", "language-python",
}

// TestClasses: each class of a page is one that the theme knows, and the theme
// knows none that pages do not have.
func TestClasses(t *testing.T) {
	page := sample(t)
	page.Images = map[string]string{"held.png": "data:image/png;base64,AAAA"}
	page.Back = append(page.Back, prose(t, "a `=unread` <b>\n\n![f](held.png)\n\n<div>\n", nil, nil))
	for lacking := 1; lacking <= mostPadding; lacking++ {
		page.Back = append(page.Back,
			column("0.1", "0.1"+strings.Repeat("1", lacking)),
			column("1", "0."+strings.Repeat("1", lacking)))
	}
	sheet := sample(t)
	sheet.Sheet, sheet.Marks = true, 12
	sheet.Back = append(sheet.Back, toFillIn()...)
	sheet.Back = append(sheet.Back, &view.Quantities{ID: "on-screen", OnScreen: true})
	used := map[string]bool{}
	for _, p := range []*view.Page{page, sheet} {
		check(t, render(t, p)).each(func(e, _ *element) {
			for _, c := range strings.Fields(e.attr["class"]) {
				used[c] = true
			}
		})
	}
	style := theme(t).plain.style
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`\.([a-z][a-z0-9-]*)`).FindAllStringSubmatch(style, -1) {
		known[m[1]] = true
	}
	for _, c := range sorted(used) {
		if !known[c] && !slices.Contains(unstyled, c) && !strings.HasPrefix(c, "fig-") {
			t.Errorf("class %s has no rule", c)
		}
	}
	for _, c := range sorted(known) {
		if !used[c] && !strings.HasPrefix(c, "fig-") && c != "group" {
			t.Errorf("rule for class %s, which no page has", c)
		}
	}
}

// column is a table of one column of numbers.
func column(numbers ...string) *view.Table {
	t := &view.Table{Columns: []view.Column{{Numeric: true}}}
	for _, n := range numbers {
		t.Rows = append(t.Rows, view.Row{Cells: []view.Cell{read(n, 1)}})
	}
	return t
}

func sorted(set map[string]bool) []string {
	var out []string
	for k := range set {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
