package build

import (
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

func front(text string) (Front, *record.Record, *finding.Set) {
	set := &finding.Set{}
	rec := record.Parse(source.NewFile("lab/wire 1.md", []byte(text)), nil, set)
	return readFront(rec, nil, []string{"bench", "slate"}, set), rec, set
}

func TestCoverage(t *testing.T) {
	for typed, want := range map[string]struct {
		p    float64
		text string
	}{
		"95 %":       {0.95, "95 %"},
		"95%":        {0.95, "95 %"},
		"0.95":       {0.95, "95 %"},
		".95":        {0.95, "95 %"},
		"68.27 %":    {0.6827, "68.27 %"},
		"0.6827":     {0.6827, "68.27 %"},
		"99.73 %":    {0.9973, "99.73 %"},
		"0.5 %":      {0.005, "0.5 %"},
		"99.99999 %": {0.9999999, "99.99999 %"},
		"95":         {},
		"1":          {},
		"0":          {},
		"100 %":      {},
		"0 %":        {},
		"-5 %":       {},
		"95 ‰":       {},
		"0,95":       {},
		"9.5e1 %":    {},
		"NaN":        {},
		"ninety":     {},
		"[95]":       {},
	} {
		f, _, set := front("---\ncoverage: " + typed + "\n---\n")
		switch {
		case want.p == 0 && (set.Count(finding.Error) != 1 || f.Coverage != 0.95 || f.CoverageText != "95 %"):
			t.Errorf("%s: taken for %v, %v", typed, f.Coverage, set.Sorted())
		case want.p != 0 && (set.Len() != 0 || f.Coverage != want.p || f.CoverageText != want.text):
			t.Errorf("%s: %v, %q, %v", typed, f.Coverage, f.CoverageText, set.Sorted())
		}
	}
}

func TestFrontValues(t *testing.T) {
	for line, ok := range map[string]bool{
		"date: 2026-03-14": true, "date: 2024-02-29": true, "date: 2026-02-29": false, "date: 2026-3-4": false, "date: 2026-03-14T10:00:00Z": false,
		"date: \"2026-03-14\"": true, "date:": false,
		"digits: 1": true, "digits: 2": true, "digits: 3": false, "digits: 0": false, "digits: two": false, "digits: 2.0": false,
		"decimal: comma": true, "decimal: point": true, "decimal: ','": false,
		"theme: slate": true, "theme: slat": false, "theme: ../x": false,
		"title: '  A   title  '": true, "title: [a]": false, "title: {a: b}": false, "title: ''": false,
		"author: [A, B]": true, "author: [[A], B]": false, "author: [A, ]": true,
		"nothing: x": false, "Title: x": false,
	} {
		f, _, set := front("---\n" + line + "\n---\n")
		if n := set.Count(finding.Error); n > 1 || (n == 0) != ok || set.Len() != n {
			t.Errorf("%s: %v", line, set.Sorted())
		}
		for _, x := range set.Sorted() {
			if x.At.IsZero() || x.Hint == "" {
				t.Errorf("%s: without a place or a hint: %s", line, x)
			}
		}
		if strings.HasPrefix(line, "author: [A, B") && f.Author != "A, B" {
			t.Errorf("author is %q", f.Author)
		}
		if strings.HasPrefix(line, "title: ' ") && f.Title != "A title" {
			t.Errorf("title is %q", f.Title)
		}
	}
}

func TestTitle(t *testing.T) {
	for text, want := range map[string]string{
		"---\ntitle: Given\n---\n# Heading\n": "Given",
		"text\n\n## The *first* `one` &\n# B": "The first one &",
		"Underlined\n===\n":                   "Underlined",
		"#\n\n# Second\n":                     "Second",
		"> # Quoted\n\n# Own":                 "Own",
		"no heading":                          "wire 1",
		"":                                    "wire 1",
	} {
		f, rec, _ := front(text)
		if got := f.title(rec); got != want {
			t.Errorf("%q: title is %q, not %q", text, got, want)
		}
	}
}
