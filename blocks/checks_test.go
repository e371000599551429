package blocks_test

import (
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestChecksTell: the page says how many checks could be made and what spoke,
// and leads to it; a sheet says nothing.
func TestChecksTell(t *testing.T) {
	record := func(conditions string) files {
		return files{"record.md": "```data pull\nup / mm\n1\n2\n```\n\n```calc\nx = 3 mm\nlost = –\n```\n\n```checks\n" + conditions + "\n```\n"}
	}
	for _, c := range []struct{ conditions, want string }{
		{"a_b: x < 0 mm | note | is low", "The check passed: a b."},
		{"a: x < 0 mm | note | is low\nb: pull.up < 0 mm | note | is low\nb: x == 0 mm | note | is none", "Both checks passed: a, b."},
		{"a: x < 0 mm | note | is low\nb: lost < 0 mm | note | is low", "1 of 2 checks could be made; it found nothing. Passed: a. Wait for readings: b."},
		{"b: lost < 0 mm | note | is low", "None of 1 check could be made. Wait for readings: b."},
		{"a: x > 0 mm | note | is high\nb: x < 0 mm | note | is low", "2 checks made; 1 spoke: a. Passed: b."},
		{"a: x > 0 mm | note | h\nb: x < 0 mm | note | l\nc: pull.up > 1 mm | note | m\nd: x<0 mm|note|n\ne: x<0 mm|note|o\nf: x<0 mm|note|p", "6 checks made; 2 spoke: a, c. The checks by name passed"},
	} {
		w := record(c.conditions).build(t)
		if text := w.text(); !strings.Contains(text, c.want) {
			t.Errorf("%s: the page does not say %q", c.conditions, c.want)
		}
		if strings.Contains(c.want, "spoke") && !strings.Contains(string(w.HTML), `<a href="#finding-a">a</a>`) {
			t.Errorf("%s: nothing leads to the finding", c.conditions)
		}
		sheet := record(c.conditions).page(t, view.AsBlank)
		if strings.Contains(sheet, "passed") || strings.Contains(sheet, "could be made") {
			t.Errorf("%s: the sheet tells of checks", c.conditions)
		}
	}
}

// TestChecksOfAMethodTell: the checks of a practical are told in one place, with
// those that need what is not bound.
func TestChecksOfAMethodTell(t *testing.T) {
	w := readFolder(t, "../examples/steel-wire").build(t)
	text := w.text()
	if n := strings.Count(text, "checks could be made"); n != 1 {
		t.Errorf("the checks are told %d times", n)
	}
	w.says("none found anything.", "need what is not bound")
	if _, fold, _ := strings.Cut(text, "need what is not bound"); !strings.Contains(fold[:200], "spare better") {
		t.Error("a check that needs an unbound role is not named")
	}
}
