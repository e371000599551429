package blocks_test

import (
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// spaced has plain spaces in the place of those at which no line breaks.
func spaced(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

// TestNumbersInSentences: numbers within the verdict, the statement and the
// caption of the sums are set like all others, with raised powers and digits in
// groups; none is left as it would be typed.
func TestNumbersInSentences(t *testing.T) {
	page := files{"record.md": "In full: =[A as statement].\n\n" +
		"```data w\nd / mm\n0.561\n0.562\n0.564\n0.560\n```\n```data v\nm / kg m^2, t / s^2\n1, 2.1\n2, 3.9\n3, 6.1\n```\n" +
		"```fit line\ny: v.t\nx: v.m\n```\n```calc\nd = mean(w.d)\nA = pi * d^2 / 4 in mm^2\n```\n```budget of_A\nof: A\ntrials: 20000\n```\n"}.page(t, view.AsWorked)
	text := strings.ReplaceAll(page[strings.Index(page, "</head>"):], `<span class="unseen">^</span>`, "")
	text = spaced(anyTag.ReplaceAllString(regexp.MustCompile(`(?s)<code.*?</code>`).ReplaceAllString(text, ""), ""))
	if raw := regexp.MustCompile(`.{0,40}\^.{0,9}`).FindString(text); raw != "" {
		t.Errorf("a power as it would be typed: %q", raw)
	}
	for _, want := range []string{"is validated: the ends differ by ", "u = 0.", "20000 trials"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %q", want, regexp.MustCompile(`.{0,80}(degrees|coverage|differ).{0,80}`).FindAllString(text, -1))
		}
	}
	if !strings.Contains(page, `<span class="g">20</span>000`) {
		t.Error("the number of trials is not in groups")
	}
}

// TestFreedomOnThePage: the degrees of freedom are the same wherever a page
// shows them, and the factor says which it was taken for.
func TestFreedomOnThePage(t *testing.T) {
	page := files{"record.md": "In full: =[x + y as statement].\n\n```calc\nx = 1.0 m ± 1 mm std dof=9\ny = 1.0 m ± 0.97 mm std\n```\n```budget b\nof: x + y\ntrials: 20000\n```\n"}.page(t, view.AsRecord)
	text := spaced(anyTag.ReplaceAllString(page, ""))
	for _, want := range []string{"k = 2.03 for 95 %, at ν = 33", "for ν = 33 degrees"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %q: %q", want, regexp.MustCompile(`.{0,80}(degrees|coverage|differ).{0,80}`).FindAllString(text, -1))
		}
	}
	page = files{"record.md": "In full: =[x + y as statement].\n\n```calc\nx = 1.0 m ± 1 mm std dof=9\ny = 1.0 m ± 11 mm std\n```\n```budget b\nof: x + y\ntrials: 20000\n```\n"}.page(t, view.AsRecord)
	if text = spaced(anyTag.ReplaceAllString(page, "")); strings.Count(text, "&gt; 10000") < 1 || !strings.Contains(text, "ν &gt; 10000 degrees") || !strings.Contains(text, "more than 10000") {
		t.Errorf("many degrees of freedom are not told as such: %s", regexp.MustCompile(`.{0,80}degrees of freedom.{0,80}`).FindAllString(text, -1))
	}
}

// TestFreedomOfNu: in a budget of Poisson's ratio, ν, the degrees of freedom
// are not called ν too.
func TestFreedomOfNu(t *testing.T) {
	for name, want := range map[string]string{"nu": "d.f.", "E": "ν"} {
		page := files{"record.md": "```calc\n" + name + " = 0.30 ± 0.01 std dof=9 + 0.00 ± 0.0097 std\n```\n```budget b\nof: " + name + "\ntrials: 20000\n```\n"}.page(t, view.AsRecord)
		text := spaced(anyTag.ReplaceAllString(page, " "))
		if !strings.Contains(text, "at "+want+" = 33") {
			t.Errorf("of %s the page lacks %q: %q", name, want, regexp.MustCompile(`.{0,80}(coverage factor|distribution).{0,120}`).FindAllString(text, -1))
		}
	}
}
