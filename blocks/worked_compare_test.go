package blocks_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

// TestWorkedComparison follows a comparison step by step. The arithmetic was
// done by hand: 201.5 − 210.0 = −8.5; −8.5/210 = −0.040 48; both uncertainties
// are halves of what is stated, expanded again by the 1.960 of 95 %: 6.860 and
// 3.920, of which the root sum of squares is 7.901; −8.5/7.901 = −1.076. The
// formula is that of ISO 13528 (from memory).
func TestWorkedComparison(t *testing.T) {
	f := files{"record.md": "```calc\nE = 201.5 GPa ± 7.0 GPa k=2\nref = 210.0 GPa ± 4.0 GPa k=2\n```\n```compare table\nof: E\nwith: ref\n```\n"}
	page := f.page(t, view.AsWorked)
	for id, want := range map[string][]string{
		"table-work-difference": {"E − ref", "201.5 GPa − 210 GPa", "(−8.5 ± 7.9) GPa (95 %)"},
		"table-work-percentage": {"− 8.500 GPa 210 GPa", "− 0.040 48", "(−4.0 ± 3.7) % (95 %)"},
		"table-work-En": {"Δ U 2 ( E ) + U 2 ( ref )", "− 8.500 GPa ( 6.860 GPa ) 2 + ( 3.920 GPa ) 2",
			"− 8.500 GPa 7.901 GPa", "−1.1"},
	} {
		if got := stages(t, page, id); strings.Join(got, "\n") != strings.Join(want, "\n") {
			t.Errorf("the steps of %s are\n%s\nnot\n%s", id, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
	for _, s := range []string{"difference of the result from the reference value", "normalized error (ISO 13528)", "more than their expanded uncertainties explain"} {
		if !strings.Contains(page, s) {
			t.Errorf("the page does not say %q", s)
		}
	}
	if strings.Contains(f.page(t, view.AsRecord), "table-work") {
		t.Error("the record shows the steps")
	}
}

// TestComparisonInWords: the headings of a comparison and of a budget name no
// program names; a difference is rounded in one way all over the page.
func TestComparisonInWords(t *testing.T) {
	f := files{"record.md": "The difference is =[c.difference].\n\n```calc\nE = 201.5 GPa ± 7.0 GPa k=2\nnu_x = E / (700 GPa ± 9 GPa)\nnu_rest = nu_x + 0 * E\n```\n```compare c\nof: E\nwith: carbon_steel.E\n```\n```budget b\nof: nu_x\ntrials: 10000\n```\n"}
	for _, v := range []view.View{view.AsRecord, view.AsWorked} {
		text := spaced(anyTag.ReplaceAllString(f.page(t, v), ""))
		for _, want := range []string{"E beside the handbook value of E for carbon steel", "Shares of the variance of ν (x)"} {
			if !strings.Contains(text, want) {
				t.Errorf("the page lacks %q", want)
			}
		}
		if n := strings.Count(text, "(−8.5 ± 6.9) GPa"); n < 2+int(v) {
			t.Errorf("the difference is so rounded %d times", n)
		}
	}
}

// TestWorkedComparisonAtTheEdge: a reference below zero, one of zero, one that
// has no uncertainty, one that shares all or some of its sources, and one that
// is equal: each shows the steps there are, and no number that is none.
func TestWorkedComparisonAtTheEdge(t *testing.T) {
	for _, c := range []struct {
		name, of, with string
		want, not      []string
	}{
		{"below zero", "-3.0 mm ± 0.2 mm k=2", "-4.0 mm ± 0.3 mm k=2", []string{"c-work-En", "of its magnitude"}, []string{"NaN"}},
		{"zero", "0.10 mm ± 0.2 mm k=2", "0 mm ± 0.3 mm k=2", []string{"c-work-En"}, []string{"c-work-percentage", "NaN", "Inf"}},
		{"exact", "0.10 mm ± 0.2 mm k=2", "0.20 mm", []string{"c-work-difference", "not assessable"}, []string{"c-work-En"}},
		{"the same", "base", "base", []string{"c-work-difference", "not assessable"}, []string{"c-work-En", "NaN"}},
		{"partly the same", "base + 1.0 mm ± 0.1 mm k=2", "base + 1.2 mm ± 0.2 mm k=2", []string{"c-work-En", "in common"}, []string{"NaN"}},
		{"equal", "2.0 mm ± 0.2 mm k=2", "2.0 mm ± 0.3 mm k=2", []string{"c-work-En", "agree within"}, []string{"NaN", "Inf"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := files{"record.md": "```calc\nbase = 5.0 mm ± 0.2 mm k=2\na = " + c.of + "\nb = " + c.with + "\n```\n```compare c\nof: a\nwith: b\n```\n"}
			page := f.page(t, view.AsWorked)
			page = page[strings.Index(page, "</style>"):]
			for _, s := range c.want {
				if !strings.Contains(page, s) {
					t.Errorf("%q is not in the page", s)
				}
			}
			for _, s := range c.not {
				if strings.Contains(page, s) {
					t.Errorf("%q is in the page", s)
				}
			}
		})
	}
}

// TestComparisonOnASheet: the blank sheet asks for each number, leaves room for
// it, and holds none; for En only where the reference value has an uncertainty.
func TestComparisonOnASheet(t *testing.T) {
	for with, asked := range map[string]bool{"187.25 GPa ± 4.75 GPa k=2": true, "187.25 GPa": false} {
		page := files{"record.md": "```calc\nE = 201.53 GPa ± 7.25 GPa k=2\n```\n```compare c\nof: E\nwith: " + with + "\n```\n"}.page(t, view.AsBlank)
		body := page[strings.Index(page, "</style>"):]
		for _, s := range []string{"201.5", "14.28", "7.6", "expanded uncertaint"} {
			if strings.Contains(body, s) {
				t.Errorf("%q is on the sheet", s)
			}
		}
		if strings.Contains(body, "normalized error") != asked {
			t.Errorf("with %s the sheet asks for En: %v", with, !asked)
		}
		if n := strings.Count(body, `<div class="line">`); n < 6 {
			t.Errorf("%d lines of room", n)
		}
	}
	w := buildWith(t, files{"record.md": "```compare c\nof: nothing\nwith: neither\n```\n"}.write(t), build.Options{Workers: 1, View: view.AsBlank})
	if !strings.Contains(string(w.HTML), "percentage difference") {
		t.Error("a comparison that cannot be made asks for nothing")
	}
}

// TestThermometer: the resolution and the zero of a thermometer are differences
// of temperatures; in °C they would be temperatures, 273 K too great.
func TestThermometer(t *testing.T) {
	record := func(settings string) files {
		return files{"record.md": "```instruments\nth: {" + settings + "}\n```\n```data w\nT / °C @th\n20.1\n20.3\n```\n```calc\nT = mean(w.T) in °C\n```\n```compare c\nof: T\nwith: 21.0 °C\n```\n"}
	}
	for _, settings := range []string{"resolution: 0.1 °C", "resolution: 0.1 K, zero: 0.2 °C", "resolution: 0.1 K, zero: [0.2 °C, 0.1 K]"} {
		if out := buildWith(t, record(settings).write(t), build.Options{Workers: 1}); !out.has("bad-value") {
			t.Errorf("%s: %v", settings, out.Findings)
		}
	}
	out := record("resolution: 0.1 K, zero: 0.2 K").build(t)
	if v := float64(out.value("T").Value); math.Abs(v-293.15) > 1e-9 {
		t.Errorf("the mean is %g K", v)
	}
	page := record("resolution: 0.1 K, zero: 0.2 K").page(t, view.AsWorked)
	if got := strings.Join(stages(t, page, "c-work-percentage"), "|"); !strings.HasPrefix(got, "− 1.000 K 294.15 K") {
		t.Errorf("the percentage difference is %s", got)
	}
}

// TestDifferenceFollows: the printed difference is that of the printed numbers.
func TestDifferenceFollows(t *testing.T) {
	page := files{"record.md": "```calc\nG = 79.06 GPa ± 2.2 GPa std\nr = 79.65 GPa ± 0.61 GPa std\n```\n```compare handbook\nof: G\nwith: r\n```\n"}.page(t, view.AsRecord)
	text := spaced(anyTag.ReplaceAllString(page, " "))
	if !strings.Contains(squeeze(text), "79.65(61)GPa") || !strings.Contains(squeeze(text), "(−0.6±4.5)GPa") {
		t.Errorf("the numbers are %s", regexp.MustCompile(`result.{0,200}`).FindString(text))
	}
}

// TestBriefNames: a result stands under its own symbol where that is the only
// one on the page, under that of its practical where two would be confused.
func TestBriefNames(t *testing.T) {
	for _, c := range []struct{ more, want string }{{"", "E beside"}, {"E = 1 GPa\n", "E young beside"}} {
		f := readFolder(t, "../examples/steel-wire")
		f["record.md"] += "\n```calc\nother = 210 GPa ± 4 GPa std\n" + c.more + "```\n```compare brief\nof: young.E\nwith: other\n```\n"
		page := spaced(strings.Join(strings.Fields(anyTag.ReplaceAllString(f.page(t, view.AsRecord), " ")), " "))
		if !strings.Contains(page, c.want+" other") {
			at := strings.Index(page, "beside other")
			t.Errorf("%q: the page lacks %q: %q", c.more, c.want, page[max(0, at-60):max(0, at)+20])
		}
	}
}
