package blocks_test

import (
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

const teaching = "The period is ?[T = ], by hand ?[E = 196.2 N/m]. Given =[g], computed =[E].\n\n" +
	"```instruments\nruler:\n  resolution: 1 mm\nclock:\n  resolution: 0.1 s\n```\n\n" +
	"```calc given=yes\ng = 9.81(2) m/s^2 | local\n```\n\n" +
	"```data w\nm / kg, x / cm @ruler\n0.10, 2.1\n0.20, 2.6\n~0.30, 4.17 # misread\n0.30, 3.1\n0.40, 3.6\n~0.50, 9.19 # slipped\n```\n\n" +
	"```data known given=yes\nt / s @clock\n12.3\n12.4\n```\n\n" +
	"```calc\nT = mean(known.t) / 10 in s | period\n```\n\n```fit line\ny: w.x\nx: w.m\n```\n\n" +
	"```plot graph\ny: w.x\nx: w.m\nfit: line\npaper: A5\ntitle: Slope =[line.slope]\n```\n\n" +
	"```calc\nE = g / line.slope in N/m | stiffness\n```\n\n" +
	"```question why marks=2\nWhy, at a slope of =[line.slope]?\n```\n\n```answer why\nBecause bananas weigh =[E].\n```\n\n" +
	"```question free marks=3\nAnd then?\n```\n"

// TestBlankSheet: rows for every reading, those taken again once; headings that
// say how finely to read; what is given stays; places for claims and results;
// room for answers, also where the record has none.
func TestBlankSheet(t *testing.T) {
	page := files{"record.md": teaching}.page(t, view.AsBlank)
	table := page[strings.Index(page, `id="w-table"`):]
	table = table[:strings.Index(table, "</table>")]
	if n := strings.Count(table, "<tr>") - 1; n != 5 {
		t.Errorf("%d rows for readings at five loads", n)
	}
	for _, s := range []string{"ruler, to the nearest 0.1\u00a0cm", "12.3", "9.810", "[2 marks]", "</span> / 5</p>", "≙ …………"} {
		if !strings.Contains(page, s) {
			t.Errorf("%q is not on the sheet", s)
		}
	}
	body := page[strings.Index(page, "</style>"):]
	for _, s := range []string{"196", "bananas", "1.235", "4.17", "9.19", "misread", "slipped", "5.00"} {
		if strings.Contains(body, s) {
			t.Errorf("%q is on the sheet", s)
		}
	}
	if n := len(regexp.MustCompile(`<span class="blank">`).FindAllString(body, -1)); n < 9 {
		t.Errorf("only %d places to fill in", n)
	}
	if n := strings.Count(body, `<div class="line">`); n != 2+2+1+2+3+9 { // T, the slope, the intercept, E, two answers
		t.Errorf("%d ruled lines", n)
	}
}

// TestUnreadRecordMakesASheet: a record laid out before the practical gives the
// same sheet, though nothing in it can be computed.
func TestUnreadRecordMakesASheet(t *testing.T) {
	unread := regexp.MustCompile(`(?m)^(0\.\d0), \d\.\d$`).ReplaceAllString(teaching, "–, –")
	unread = regexp.MustCompile(`(?m)^~.*\n`).ReplaceAllString(unread, "")
	unread = strings.Replace(unread, "= 196.2 N/m", "= ", 1)
	page := files{"record.md": unread}.page(t, view.AsBlank)
	for _, s := range []string{`class="fig"`, "to the nearest 0.1\u00a0cm", "N/m", "cm/kg"} {
		if !strings.Contains(page, s) {
			t.Errorf("%q is not on the sheet", s)
		}
	}
	if strings.Contains(page, `class="missing"`) {
		t.Error("the sheet speaks of what is missing")
	}
}

// TestPaperOptions: the sizes of graph paper, and what is none.
func TestPaperOptions(t *testing.T) {
	base := "```data w\nm / kg, x / cm\n0.10, 2.1\n0.20, 2.6\n0.30, 3.1\n```\n```plot graph\ny: w.x\nx: w.m\n"
	for options, says := range map[string]string{
		"": "", "paper: A5": "1 cm ≙ ", "paper: A4": "1 cm ≙ ", "paper: 12 x 16 cm": "1 cm ≙ ", "paper: 5×5 cm": "1 cm ≙ ",
		"scale: yes": "1 cm ≙ ", "paper: A5\nscale: no": "",
		"paper: A3": "!bad-value", "paper: 40 x 5 cm": "!bad-value", "paper: 4 x 5 cm": "!bad-value", "scale: maybe": "!bad-value",
		"papre: A5": "!unknown-key",
	} {
		w := buildWith(t, files{"record.md": base + options + "\n```\n"}.write(t), build.Options{Workers: 1})
		slug, bad := strings.CutPrefix(says, "!")
		if bad != (len(w.Findings) > 0 && w.Findings[len(w.Findings)-1].Severity.String() == "error") || bad && !w.has(slug) {
			t.Errorf("%q: %v", options, w.Findings)
		}
		if stated := strings.Contains(string(w.HTML), "1 cm ≙ "); !bad && stated != (says != "") {
			t.Errorf("%q: the scale is stated: %v", options, stated)
		}
	}
}

// TestCautionsOnASheet: a caution on a blank sheet is whole or defers to what
// is posted. A limit that is given stays; a paragraph that rests on readings
// goes, its number and its words, and those beside it stay.
func TestCautionsOnASheet(t *testing.T) {
	const record = "```calc given=yes\ng = 9.81 m/s^2\nposted = 3.5 kg\n```\n\n```calc\nm = 2.345 kg\n```\n\n```data w\nx / mm\n7.31\n7.33\n```\n\n" +
		"```caution goggles\nWear goggles; no more than =[posted].\n\nNo more than =[mean(w.x)] here.\n\n- stay away\n- at =[m] run\n```\n\n" +
		"```caution whole\nKeep =[posted] apart.\n```\n\n```caution computed\nShould not pass =[m].\n```\n"
	page := files{"record.md": record}.page(t, view.AsBlank)
	front := page[strings.Index(page, `class="safety"`):]
	front = front[:strings.LastIndex(front, "</aside>")]
	for s, times := range map[string]int{"Wear goggles": 1, `value="3.5"`: 2, "Keep": 1, view.Deferral: 2, "No more than": 0, "stay away": 0, "Should not pass": 0, `class="blank"`: 0, "7.3": 0, "2.345": 0} {
		if n := strings.Count(front, s); n != times {
			t.Errorf("%q stands %d times in the cautions, not %d:\n%s", s, n, times, front)
		}
	}
	for _, v := range []view.View{view.AsRecord, view.AsWorked} {
		if page := (files{"record.md": record}).page(t, v); strings.Contains(page, view.Deferral) || !strings.Contains(page, "stay away") {
			t.Errorf("view %v has the cautions of a blank sheet", v)
		}
	}
}

// TestUnansweredQuestion: a page says of an empty answer that it is one; a
// blank sheet has room instead.
func TestUnansweredQuestion(t *testing.T) {
	const record = "```question why marks=2\nWhy?\n```\n\n```answer why\n```\n"
	for v, says := range map[view.View]bool{view.AsRecord: true, view.AsWorked: true, view.AsBlank: false} {
		page := files{"record.md": record}.page(t, v)
		if strings.Contains(page, "not answered") != says || strings.Contains(page, `<div class="line">`) == says {
			t.Errorf("view %v: %s", v, page[strings.Index(page, "</style>"):])
		}
	}
}

// TestGivenOnTheExamplesSheets: what a sheet asks to reckon with stands on it,
// and nothing of what became of the readings does.
func TestGivenOnTheExamplesSheets(t *testing.T) {
	for name, given := range map[string][]string{
		"beam-central-load":    {"g", "hanger"},
		"beam-uniform-bending": {"g", "hanger"},
		"cantilever-load":      {"g", "hanger"},
		"cantilever-vibration": nil,
		"steel-wire":           {"g", "dead", "breaking"},
		"steel-wire-by-hand":   {"g", "dead"},
		"class-set":            {"g", "dead_load"},
	} {
		page := readFolder(t, "../examples/"+name).page(t, view.AsBlank)
		body := page[strings.Index(page, "</style>"):]
		for _, s := range given {
			if !regexp.MustCompile(`<div class="step given" id="calc[-0-9a-z]*-` + s + `">`).MatchString(body) {
				t.Errorf("%s: %s is not given", name, s)
			}
		}
		for _, s := range []string{"struck", "had found", "matters most", "to improve"} {
			if strings.Contains(body, s) {
				t.Errorf("%s: the empty sheet says %q", name, s)
			}
		}
	}
}
