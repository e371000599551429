package browser_test

import (
	"bytes"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/internal/browser"
	"example.org/taut/engine/page"
	"example.org/taut/engine/pdf"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

const mainExample = "../../../examples/steel-wire/record.md"

type builtIn struct{}

func (builtIn) Names() []string                       { return themes.Names() }
func (builtIn) Load(name string) (*page.Theme, error) { return themes.Load(name) }

// noDraws leaves Monte Carlo evaluations out: they change nothing that is
// looked at here.
type noDraws struct{}

func (noDraws) Get([32]byte) (*trial.Result, bool) { return nil, true }
func (noDraws) Put([32]byte, *trial.Result)        {}

// TestInBrowser holds built pages to what only a browser can tell. It is
// skipped where no Chromium is installed, but not where TAUT_BROWSER is
// "required".
func TestInBrowser(t *testing.T) {
	b := browser.Start(t)
	t.Run("requests", func(t *testing.T) { testRequests(t, b) })
	t.Run("hostile", func(t *testing.T) { testHostilePages(t, b) })
	t.Run("print", testPrint)
}

// pageOf builds a record and returns the file of its page.
func pageOf(t *testing.T, record string, v view.View) string {
	t.Helper()
	out, err := build.Record(record, build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, View: v, Version: "0", Trials: noDraws{}})
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, out.HTML, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func fileAddress(path string) string {
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(path)}).String()
}

// testRequests opens every example, and the main one in each view: a page asks
// for itself and for nothing else, and runs no script.
func testRequests(t *testing.T, b *browser.Browser) {
	records, err := build.Records(filepath.FromSlash("../../../examples"))
	if err != nil {
		t.Fatal(err)
	}
	if len(records) < 5 {
		t.Fatalf("only %d examples", len(records))
	}
	tab := b.Tab(t)
	var want []string
	visit := func(record string, v view.View) {
		at := fileAddress(pageOf(t, record, v))
		want = append(want, at)
		tab.Open(at)
		if n := browser.Eval[int](tab, `document.scripts.length + document.querySelectorAll("link, iframe, [style]").length`); n > 0 {
			t.Errorf("%s: %d elements that have no place in a page", record, n)
		}
		// Scrolled through and printed, it asks for nothing more.
		tab.Do(`scrollTo(0, document.body.scrollHeight)`)
	}
	for _, r := range records {
		visit(r, view.AsRecord)
	}
	visit(filepath.FromSlash(mainExample), view.AsWorked)
	visit(filepath.FromSlash(mainExample), view.AsBlank)
	got := append(tab.Requests(), tab.Stopped()...)
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("requests:\n%s\nnot only:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// testHostilePages: whatever stands in a record, no script of it runs, and
// nothing is fetched.
func testHostilePages(t *testing.T, b *browser.Browser) {
	for _, name := range view.Names() {
		v, _ := view.Named(name)
		tab := b.Tab(t)
		at := fileAddress(pageOf(t, filepath.FromSlash("../../../testdata/hostile/record.md"), v))
		tab.Open(at)
		tab.Do(`document.querySelectorAll("*").forEach(e => {
			for (const type of ["click", "mouseover", "load", "error", "focus"]) {
				e.addEventListener(type, v => v.preventDefault(), { once: true })
				e.dispatchEvent(new MouseEvent(type, { bubbles: true, cancelable: true }))
			}
		})`)
		time.Sleep(200 * time.Millisecond)
		if hit := browser.Eval[int](tab, `window.hit ?? 0`); hit != 0 {
			t.Errorf("%s: script %d ran", name, hit)
		}
		if n := browser.Eval[int](tab, `document.querySelectorAll("script, iframe, form, base, object, embed, [onclick], [onload], [onerror], [onmouseover], [style]").length`); n > 0 {
			t.Errorf("%s: %d elements of the author's own", name, n)
		}
		if links := browser.Eval[[]string](tab, `[...document.querySelectorAll("a[href]")].map(a => a.protocol).filter(p => p !== "file:")`); len(links) > 0 {
			t.Errorf("%s: links lead to %v", name, links)
		}
		if s := tab.Stopped(); len(s) > 0 {
			t.Errorf("%s: only the policy stopped %v", name, s)
		}
		// What got in all the same would not run.
		tab.Do(`(() => { const s = document.createElement("script"); s.textContent = "window.hit = 99"; document.body.append(s);
			const d = document.createElement("div"); d.innerHTML = "<img src='http://192.0.2.7/x.png' onerror='window.hit=98'>"; document.body.append(d) })()`)
		time.Sleep(100 * time.Millisecond)
		if hit := browser.Eval[int](tab, `window.hit ?? 0`); hit != 0 {
			t.Errorf("%s: script %d ran", name, hit)
		}
		if s := tab.Stopped(); len(s) != 1 {
			t.Errorf("%s: the policy stopped %v", name, s)
		}
		if d := tab.Dialogs(); len(d) > 0 {
			t.Errorf("%s: dialogs %v", name, d)
		}
		for _, r := range tab.Requests() {
			if r != at {
				t.Errorf("%s: a request for %s", name, r)
			}
		}
	}
}

// testPrint prints the main example as `taut build --pdf` does.
func testPrint(t *testing.T) {
	p, err := pdf.Find()
	if err != nil {
		t.Fatal(err)
	}
	text, err := p.Print(t.Context(), pageOf(t, mainExample, view.AsRecord))
	if err != nil {
		t.Fatal(err)
	}
	// ISO 32000-1: 14.7 logical structure, 14.8 tagged PDF, 12.3.3 outlines.
	for _, want := range []string{`/StructTreeRoot`, `/MarkInfo\s*<<[^>]*/Marked true`, `/Outlines`, `/Lang`} {
		if !regexp.MustCompile(want).Match(text) {
			t.Errorf("the PDF has no %s", want)
		}
	}
	if !pdf.IsPDF(text) || !bytes.Contains(text[len(text)-32:], []byte("%%EOF")) {
		t.Error("the PDF is not whole")
	}
	toText, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("TAUT_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Log("pdftotext is not installed: the text was not looked at")
		return
	}
	cmd := exec.Command(toText, "-", "-")
	cmd.Stdin = bytes.NewReader(text)
	words, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Young's modulus of a steel wire", "R. Thornbury (invented)", "GPa", "Safety", "Conclusion", "SHA-256"} {
		if !strings.Contains(strings.Join(strings.Fields(string(words)), " "), want) {
			t.Errorf("the text of the PDF lacks %q", want)
		}
	}
}
