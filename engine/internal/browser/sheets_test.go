package browser_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/pdf"
	"example.org/taut/engine/view"
)

// printer prints pages and reads back what is on paper.
type printer struct {
	*pdf.Printer
	toText string
}

func findPrinter(t *testing.T) printer {
	t.Helper()
	p, err := pdf.Find()
	toText, errText := exec.LookPath("pdftotext")
	if err != nil || errText != nil {
		if os.Getenv("TAUT_BROWSER") == "required" {
			t.Fatal("no Chromium, or no pdftotext: ", err, errText)
		}
		t.Skip("no Chromium, or no pdftotext")
	}
	return printer{p, toText}
}

// pages are the words on each printed page of a file.
func (p printer) pages(t *testing.T, file string) []string {
	t.Helper()
	printed, err := p.Print(t.Context(), file)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(p.toText, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(printed)
	words, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimRight(string(words), "\f\n"), "\f")
}

// TestSheetsInPrint prints blank sheets on A4: each page has its number, none is
// empty but for that, and no table to fill in is split (its heading would be
// printed again).
func TestSheetsInPrint(t *testing.T) {
	p := findPrinter(t)
	for _, record := range []string{"../../../examples/class-set/record.md", mainExample} {
		page := pageOf(t, filepath.FromSlash(record), view.AsBlank)
		html, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		pages := p.pages(t, page)
		for i, text := range pages {
			number, own := fmt.Sprintf("%d/%d", i+1, len(pages)), strings.Join(strings.Fields(text), "")
			if !strings.HasSuffix(own, number) || own == number {
				t.Errorf("%s: page %d of %d ends with %.40q", record, i+1, len(pages), own[max(0, len(own)-20):])
			}
		}
		if unsplit(t, string(html), strings.Join(pages, "\f")) < 6 {
			t.Errorf("%s: there are few tables to fill in", record)
		}
	}
}

// unsplit compares how often what stands in headings alone is on the page and
// in print, and returns how often it is on the page.
func unsplit(t *testing.T, html, printed string) int {
	t.Helper()
	_, body, _ := strings.Cut(html, "</style>")
	const mark = "to the nearest"
	want, got := strings.Count(body, mark), strings.Count(strings.Join(strings.Fields(printed), " "), mark)
	if got != want {
		t.Errorf("%q is printed %d times, not %d: a table is split", mark, got, want)
	}
	return want
}
