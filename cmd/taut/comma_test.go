package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

// withDecimal copies a record's folder and sets the decimal sign of the record.
func withDecimal(t *testing.T, path, sign string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.Dir(path))); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(dir, filepath.Base(path))
	text, err := os.ReadFile(to)
	if err != nil {
		t.Fatal(err)
	}
	set := "decimal: " + sign + "\n"
	if had := regexp.MustCompile(`(?m)^decimal: .*\n`); had.Match(text) {
		text = had.ReplaceAll(text, []byte(set))
	} else if text = bytes.Replace(text, []byte("---\n"), []byte("---\n"+set), 1); !bytes.Contains(text, []byte(set)) {
		text = append([]byte("---\n"+set+"---\n"), text...)
	}
	if err := os.WriteFile(to, text, 0o666); err != nil {
		t.Fatal(err)
	}
	return to
}

// TestDecimalComma builds every example with a decimal comma: no number that
// the page shows has a decimal point, in its text, in what is read out and in
// its figures; code and the values for programs keep it, and the results file
// is the same. What the author typed as prose is the author's.
func TestDecimalComma(t *testing.T) {
	point := regexp.MustCompile(`(?:^|[^\w.])(\d+\.\d+)(?:$|[^\w.]|\.$|\.[^\d])`)
	found := 0
	for _, path := range examplePaths(t) {
		t.Run(filepath.ToSlash(path), func(t *testing.T) {
			comma, plain := withDecimal(t, path, "comma"), withDecimal(t, path, "point")
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			own := prose(string(text))
			for _, v := range []view.View{view.AsRecord, view.AsWorked, view.AsBlank} {
				with, without := viewOf(t, comma, v), viewOf(t, plain, v)
				for _, m := range point.FindAllStringSubmatch(displayed(string(with.HTML)), -1) {
					if !strings.Contains(own, m[1]) {
						t.Errorf("%s: %q", v, m[0])
					}
				}
				found += len(point.FindAllString(displayed(string(without.HTML)), -1))
				if got, want := numbersOf(t, with), numbersOf(t, without); !bytes.Equal(got, want) {
					t.Errorf("%s: the results file differs", v)
				}
			}
		})
	}
	if found < 5000 {
		t.Errorf("only %d decimal points with `decimal: point`: the search is blind", found)
	}
}

// numbersOf is the results file without the sums of what was read.
func numbersOf(t *testing.T, out *build.Output) []byte {
	t.Helper()
	r := *out.Results
	r.Inputs = nil
	b, err := r.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// prose is what the author of a record wrote for readers: all but the blocks
// that compute.
func prose(text string) string {
	text = regexp.MustCompile("(?ms)^````+[^`\n]*\n.*?^````+ *$").ReplaceAllString(text, "") // fences within fences
	return fence.ReplaceAllStringFunc(text, func(block string) string {
		switch kind, _, _ := strings.Cut(fence.FindStringSubmatch(block)[2], " "); kind {
		case "question", "answer", "caution":
			return block
		}
		return ""
	})
}

// displayed is what a page shows and has read out, without code.
func displayed(page string) string {
	for _, hidden := range []string{"style", "code", "pre", "annotation"} {
		page = regexp.MustCompile(`(?s)<`+hidden+`\b.*?</`+hidden+`>`).ReplaceAllString(page, "\n")
	}
	page = regexp.MustCompile(`<span class="g">(\d+)</span>`).ReplaceAllString(page, "$1")
	var out strings.Builder
	for _, m := range regexp.MustCompile(` (?:aria-label|title|alt)="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		out.WriteString(m[1] + "\n")
	}
	out.WriteString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, "\n"))
	return out.String()
}
