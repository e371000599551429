package blocks_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

const asking = "---\ntitle: Asked\n---\n\n```instruments\nruler:\n  resolution: 1 mm\n  zero: +2.5 mm\n```\n\n" +
	"```data w\nm / kg, x / mm @ruler, z / mm @ruler\n0.10, 21, 22\n0.20, 26, 27\n~0.30, 99, 98 # slipped\n0.40, 36, –\n```\n\n" +
	"```calc\nsense = 1\nsag = -1 * pointmean(w.x, w.z) | mean of both\nN = rows(w.m) | loads\nlag = N - floor(N / 2) | half of them\nL = mean(w.x) + 7.25 mm in mm | length\nd = L | the same\nfar = max(w.m) | greatest\nrough = rel(L) | how rough\n```\n\n" +
	"```fit line\ny: [w.x, w.z]\nx: w.m\n```\n\n```plot graph\ny: [w.x, w.z]\nx: w.m\nfit: line\n```\n\n" +
	"```calc\nk = 9.81 m/s^2 / line.slope in N/m | stiffness\n```\n\n```budget of_k\nof: k\n```\n\n" +
	"```compare book\nof: k\nwith: 4.25 kN/m ± 5 %\n```\n\nIt is =[k as statement], twice =[2 * steel.E], and =[steel.E].\n"

// sheetOf is the body of a blank sheet without the markup of mathematics.
func sheetOf(t *testing.T, text string) string {
	t.Helper()
	page := files{"record.md": text}.page(t, view.AsBlank)
	return page[strings.Index(page, "</style>"):]
}

// TestAsked: a formula stands at each step that is asked, counts and repeated
// names are told without a place, what needs an uncertainty is left out, and a
// quantity that was typed within a formula is not told.
func TestAsked(t *testing.T) {
	body := sheetOf(t, asking)
	step := func(id string) string {
		_, rest, ok := strings.Cut(body, `id="calc-`+id+`"`)
		if !ok {
			return ""
		}
		end := regexp.MustCompile(`<div class="(task|step)|</section>`).FindStringIndex(rest)
		return rest[:end[0]]
	}
	for id, want := range map[string]struct{ places, lines int }{"L": {1, 2}, "far": {1, 0}, "sense": {1, 0}, "sag": {}, "N": {}, "lag": {}, "d": {}} {
		s := step(id)
		if n := strings.Count(s, `class="blank"`); s == "" || n != want.places {
			t.Errorf("%s has %d places: %s", id, n, s)
		}
		if n := strings.Count(s, `class="line"`); n != want.lines {
			t.Errorf("%s has %d lines", id, n)
		}
		if id != "sense" && !strings.Contains(s, "<math><mstyle") {
			t.Errorf("%s has no formula: %s", id, s)
		}
	}
	if step("rough") != "" {
		t.Error("a relative uncertainty is asked")
	}
	for _, s := range []string{"7.25", "2.5 ", "9.81", "+2.5"} {
		if strings.Contains(body, s) {
			t.Errorf("%q is on the sheet", s)
		}
	}
}

// TestGridOfColumns: a column has a cell for each row of its table, struck ones
// that were not read again too, beside what it is plotted against.
func TestGridOfColumns(t *testing.T) {
	body := sheetOf(t, asking)
	_, grid, ok := strings.Cut(body, `-grid`)
	if !ok {
		t.Fatal("there is no grid")
	}
	grid = grid[:strings.Index(grid, "</table>")]
	if rows, heads := strings.Count(grid, "<tr>")-1, strings.Count(grid, `scope="col"`); rows != 4 || heads != 2 || !strings.Contains(grid, "<mi>m</mi>") {
		t.Errorf("the grid has %d rows under %d headings: %s", rows, heads, grid)
	}
}

// TestGridOfPairs: pairs and steps have the rows that the sheet gives, not those
// that are left where one was struck.
func TestGridOfPairs(t *testing.T) {
	for x, want := range map[string]int{"pairs(w.x, 2, w.m)": 2, "pairs(w.x, 1)": 2, "steps(w.x)": 3} {
		text := strings.Replace(asking, "d = L | the same", "P = "+x+" | differences", 1)
		text = strings.Replace(text, "sag = -1 * pointmean(w.x, w.z) | mean of both\n", "", 1)
		_, grid, _ := strings.Cut(sheetOf(t, text), `-grid`)
		if rows := strings.Count(grid[:strings.Index(grid+"</table>", "</table>")], "<tr>") - 1; rows != want {
			t.Errorf("the grid of %s has %d rows, not %d", x, rows, want)
		}
	}
}

// TestTypedWithUncertainty: a quantity that was typed with its uncertainty has
// places for both.
func TestTypedWithUncertainty(t *testing.T) {
	const both = "to fill in</span></span></span>\u00a0±\u00a0<span class=\"blank\">"
	for x, want := range map[string]int{"208.9(25) GPa": 1, "208.9 GPa ± 2.5 GPa std": 1, "208.9 GPa": 0} {
		if n := strings.Count(sheetOf(t, "```calc\nE = "+x+" | quoted\n```\n"), both); n != want {
			t.Errorf("%s is asked with its uncertainty %d times", x, n)
		}
	}
}

// TestPaperBeforePoints: points and intercepts are asked below the paper, once,
// and say of which readings they are; no two intercepts are made of one point.
func TestPaperBeforePoints(t *testing.T) {
	body := sheetOf(t, asking)
	paper, points := strings.Index(body, "<svg"), strings.Index(body, "Two points of the first line")
	if paper < 0 || points < paper || strings.Count(body, "Two points of the first line") != 1 {
		t.Errorf("the paper is at %d, the points at %d", paper, points)
	}
	for _, s := range []string{"first point, of x", "second point, of x", "point of z", "of x: where", "of z: where"} {
		if !strings.Contains(body, s) {
			t.Errorf("%q is not on the sheet", s)
		}
	}
	for _, g := range []struct{ step, point string }{{"intercept_1", "1"}, {"intercept_2", "3"}} {
		_, step, _ := strings.Cut(body, `-work-`+g.step+`"`)
		step, _, _ = strings.Cut(step, ` id="`)
		if !strings.Contains(step, "<msub><mi>y</mi><mn>"+g.point+"</mn></msub>") {
			t.Errorf("%s is not made of point %s: %s", g.step, g.point, step)
		}
	}
}

// TestToldOnASheet: the reference value is told, with a place for words; a
// constant of the handbook stands in the text, what is made of it does not; a
// statement has places for value and uncertainty; zero readings have places
// unless they are given.
func TestToldOnASheet(t *testing.T) {
	body := sheetOf(t, asking)
	for s, times := range map[string]int{"In words:": 1, `class="q given" value="4250"`: 1, `class="q given"`: 2, "±\u00a0<span class=\"blank\">": 1} {
		if n := strings.Count(body, s); n != times {
			t.Errorf("%q stands %d times on the sheet, not %d", s, n, times)
		}
	}
	instruments := func(body string) string {
		_, s, _ := strings.Cut(body, `data-kind="instruments"`)
		return s[:strings.Index(s, "</table>")]
	}
	if n := strings.Count(instruments(body), `class="blank"`); n != 3 {
		t.Errorf("%d places for zero readings", n)
	}
	given := instruments(sheetOf(t, strings.Replace(asking, "```instruments", "```instruments given=yes", 1)))
	if strings.Contains(given, `class="blank"`) || !strings.Contains(given, "+2.5") {
		t.Errorf("a zero reading that is given is asked: %s", given)
	}
}

// TestBudgetRoom: a budget by hand has a row for each source, six at least.
func TestBudgetRoom(t *testing.T) {
	many := "```calc\n"
	sum := "S = 0 m"
	for _, n := range strings.Fields("a b c e f h i j k") {
		many += n + " = 1 m ± 1 mm\n"
		sum += " + " + n
	}
	for text, want := range map[string]int{"```calc\na = 1 m ± 1 mm\nS = 2 * a\n": 6, many + sum + "\n": 9} {
		body := sheetOf(t, text+"```\n\n```budget of_S\nof: S\n```\n")
		_, table, _ := strings.Cut(body, "<caption>Uncertainty budget")
		if n := strings.Count(table[:strings.Index(table, "</table>")], "<tr>") - 1; n != want {
			t.Errorf("%d rows for sources, not %d", n, want)
		}
	}
}

// TestGridOfUnreadColumns: the grid has its rows before anything was read, also
// where the instrument's resolution is not yet known.
func TestGridOfUnreadColumns(t *testing.T) {
	unread := regexp.MustCompile(`(?m)^0\.\d0, \d+, .*$`).ReplaceAllString(asking, "–, –, –")
	unread = strings.Replace(unread, "~0.30, 99, 98 # slipped\n", "", 1)
	for _, text := range []string{unread, strings.Replace(unread, "resolution: 1 mm", "resolution: –", 1)} {
		_, grid, ok := strings.Cut(sheetOf(t, text), `-grid`)
		if !ok {
			t.Fatal("there is no grid")
		}
		grid = grid[:strings.Index(grid, "</table>")]
		if rows, heads := strings.Count(grid, "<tr>")-1, strings.Count(grid, `scope="col"`); rows != 3 || heads != 2 {
			t.Errorf("the grid has %d rows under %d headings: %s", rows, heads, grid)
		}
	}
}

// TestNamesInFormulas: the formulas of a method are preceded by what their
// names stand for; a value that the record binds is to be written in, a default
// of the method is told, and so is a count; one of two columns has a line of its
// own; what no formula uses is left out, and the author's help too.
func TestNamesInFormulas(t *testing.T) {
	const own = "---\nmethod: own\ntitle: Own\nversion: 1\nresults: E\n---\nText.\n\n```roles\nrole, takes, unit, absent, with, table, what\n" +
		"load, column, kg, –, , , \"each load, such as `w.m`\"\nsize, quantity, m, –, , , how long\ntwo, columns, kg, –, , , both\nswings, readings, , –, , , how many swings\ngrow, quantity, , 3, , , how many\nidle, quantity, m, 77 m, , , not used\n```\n\n" +
		"## Results\n```calc\nE = mean(load) * size * grow * (two_2 / two_1) / mean(swings) | result\n```\n"
	const text = "```data w\nm / kg, p / kg, q / kg\n0.10, 1, 2\n0.20, 3, 4\n```\n\n```practical p method=./own.md\nload = w.m\nsize = 5.55 m\ntwo = w.p, w.q\nswings = 40\n```\n"
	page := files{"record.md": text, "own.md": own}.page(t, view.AsBlank)
	_, names, ok := strings.Cut(page, "The names in the formulas")
	if !ok {
		t.Fatal("the names are not told")
	}
	names = names[:strings.Index(names, "</table>")]
	for s, want := range map[string]bool{"<code>w</code>": true, "each load": true, `class="blank"`: true, "<mn>3</mn>": true, "<mn>40</mn>": true,
		"<mi>q</mi>": true, "<mi>two</mi><mn>2</mn>": true, "such as": false, "5.55": false, "idle": false, "77": false} {
		if strings.Contains(names, s) != want {
			t.Errorf("%q among the names: %v", s, !want)
		}
	}
}

// TestUnreadChains: names that rest on each other many times over are looked up
// once each: else this sheet would take longer than anybody waits.
func TestUnreadChains(t *testing.T) {
	var b strings.Builder
	b.WriteString("```calc\nx0 = –\n")
	for i := range 60 {
		fmt.Fprintf(&b, "x%d = x%d + x%d\n", i+1, i, i)
	}
	b.WriteString("```\n")
	if page := (files{"record.md": b.String()}).page(t, view.AsBlank); strings.Count(page, `class="blank"`) < 60 {
		t.Error("the sheet asks for nothing")
	}
}
