package build_test

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/internal/browser"
	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

// checkers is the folder that TAUT_CHECKERS names: the node_modules of
// .ci/checkers. Without it the tests that need it are skipped, but fail where
// TAUT_BROWSER is "required".
func checkers(t *testing.T) string {
	t.Helper()
	dir := os.Getenv("TAUT_CHECKERS")
	if dir == "" {
		if os.Getenv("TAUT_BROWSER") == "required" {
			t.Fatal("TAUT_CHECKERS names no folder of checkers")
		}
		t.Skip("TAUT_CHECKERS names no folder of checkers")
	}
	return dir
}

// builtIn are the themes of the program.
type builtIn struct{}

func (builtIn) Names() []string                       { return themes.Names() }
func (builtIn) Load(name string) (*page.Theme, error) { return themes.Load(name) }

// TestPages has independent programs look at every page of every example.
func TestPages(t *testing.T) {
	checkers := checkers(t)
	pages := examplePages(t)
	t.Run("valid", func(t *testing.T) { testValidHTML(t, checkers, pages) })
	t.Run("accessible", func(t *testing.T) { testAccessibility(t, checkers, pages) })
}

// examplePage is a page of an example: its record, how it was built, and its
// file.
type examplePage struct {
	record, theme string
	view          view.View
	file          string
}

// examplePages writes every page of every example in every theme and view.
func examplePages(t *testing.T) []examplePage {
	t.Helper()
	list, err := build.Records(filepath.FromSlash("../../examples"))
	if err != nil || len(list) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	dir, trials := t.TempDir(), build.NewMemory(256)
	var pages []examplePage
	for _, name := range themes.Names() {
		theme, err := themes.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range list {
			for _, v := range []view.View{view.AsRecord, view.AsWorked, view.AsBlank} {
				out, err := build.Record(path, build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Theme: theme, View: v, Trials: trials})
				if err != nil {
					t.Fatal(err)
				}
				record := strings.TrimSuffix(filepath.Join(filepath.Base(filepath.Dir(path)), filepath.Base(path)), filepath.Ext(path))
				file := filepath.Join(dir, fmt.Sprintf("%03d.html", len(pages)))
				if err := os.WriteFile(file, out.HTML, 0o666); err != nil {
					t.Fatal(err)
				}
				pages = append(pages, examplePage{filepath.ToSlash(record), name, v, file})
			}
		}
	}
	return pages
}

// testValidHTML has an independent checker, the Nu Html Checker, read the pages
// of every example: it finds no error against the HTML standard. Of styles it
// knows less than browsers do, so what it says of them is left out, and themes,
// which differ in nothing else, are not told apart.
func testValidHTML(t *testing.T, checkers string, pages []examplePage) {
	jar := filepath.Join(checkers, "vnu-jar", "build", "dist", "vnu.jar")
	check := func(files ...string) (string, error) {
		args := append([]string{"-jar", jar, "--errors-only", "--filterpattern", ".*CSS:.*"}, files...)
		out, err := exec.Command("java", args...).CombinedOutput()
		return fmt.Sprintf("%.4000s", out), err
	}
	var files []string
	for _, p := range pages {
		if p.theme == themes.Default {
			files = append(files, p.file)
		}
	}
	if said, err := check(files...); err != nil {
		t.Errorf("%v\n%s", err, said)
	}
	bad := filepath.Join(t.TempDir(), "bad.html")
	if err := os.WriteFile(bad, []byte("<!DOCTYPE html><html lang=\"en\"><head><title>x</title></head><body><p id=\"a\"><b id=\"a\"></p></body></html>"), 0o666); err != nil {
		t.Fatal(err)
	}
	if said, err := check(bad); err == nil || !strings.Contains(said, "Duplicate ID") {
		t.Errorf("an ID that stands twice is not found, so the checker does not look: %s", said)
	}
}

// axeFinding is what axe-core says of one rule.
type axeFinding struct {
	ID    string `json:"id"`
	Help  string `json:"help"`
	Nodes []struct {
		HTML    string `json:"html"`
		Summary string `json:"failureSummary"`
	} `json:"nodes"`
}

const axeRun = `axe.run(document, {runOnly: %s, resultTypes: ["violations"], preload: false}).then(r => JSON.stringify(r.violations))`

// Rules of axe-core: those of WCAG 2.2, levels A and AA, that ask what is on a
// page, those that ask whether a finger hits what it means, and the contrast.
const (
	ofContent  = `{type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}, rules: {"color-contrast": {enabled: false}}`
	ofFingers  = `{type: "rule", values: ["target-size"]}`
	ofContrast = `{type: "rule", values: ["color-contrast", "link-in-text-block"]}`
)

// looker is a tab, and the checker's script.
type looker struct {
	tab *browser.Tab
	axe string
}

func (l looker) open(file string) {
	l.tab.Window(1200, 900, false)
	l.tab.Open("file://" + filepath.ToSlash(file))
	browser.Eval[bool](l.tab, l.axe+"\ntrue")
}

func (l looker) axeFinds(t *testing.T, rules string) []axeFinding {
	t.Helper()
	var found []axeFinding
	if err := json.Unmarshal([]byte(browser.Eval[string](l.tab, fmt.Sprintf(axeRun, rules))), &found); err != nil {
		t.Fatal(err)
	}
	return found
}

// testAccessibility has an independent checker, axe-core, look at the pages of
// every example in Chromium, and finds nothing against WCAG 2.2, levels A and
// AA. Themes change no content, so that is asked once. How a page looks is asked
// in each theme, light and wide as well as dark and narrow: the contrast of all
// that is written or drawn is computed here, everywhere, and by axe-core, which
// takes long over it, on the pages of one example and one chapter.
func testAccessibility(t *testing.T, checkers string, pages []examplePage) {
	axe, err := os.ReadFile(filepath.Join(checkers, "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	b := browser.Start(t)
	lookers := make(chan looker, runtime.GOMAXPROCS(0))
	for range cap(lookers) {
		lookers <- looker{b.Tab(t), string(axe)}
	}
	t.Run("pages", func(t *testing.T) {
		for _, p := range pages {
			t.Run(p.theme+"/"+p.record+"/"+p.view.String(), func(t *testing.T) {
				t.Parallel()
				l := <-lookers
				defer func() { lookers <- l }()
				l.lookAt(t, p)
			})
		}
	})
	bad := filepath.Join(t.TempDir(), "bad.html")
	if err := os.WriteFile(bad, []byte("<!DOCTYPE html><html lang=\"en\"><head><title>x</title></head><body><a href='#'><img src='data:,'></a> <b style='color: #eee'>pale</b><p><button style='width:9px;height:9px;padding:0'></button><button style='width:9px;height:9px;padding:0'></button></body></html>"), 0o666); err != nil {
		t.Fatal(err)
	}
	l := <-lookers
	l.open(bad)
	for _, rules := range []string{ofContent, ofFingers, ofContrast} {
		if len(l.axeFinds(t, rules)) == 0 {
			t.Errorf("nothing is wrong with a page that is: the checker does not look (%s)", rules)
		}
	}
	if len(seen(t, l.tab)) == 0 {
		t.Error("pale words have contrast enough: the inks are not looked at")
	}
}

// lookAt looks at one page.
func (l looker) lookAt(t *testing.T, p examplePage) {
	tell := func(how string, found []axeFinding) {
		for _, f := range found {
			for _, n := range f.Nodes[:min(len(f.Nodes), 3)] {
				t.Errorf("%s: %s: %s\n%.300s\n%s", how, f.ID, f.Help, n.HTML, n.Summary)
			}
		}
	}
	l.open(p.file)
	if p.theme == themes.Default {
		tell("content", l.axeFinds(t, ofContent))
	}
	for _, dark := range []bool{false, true} {
		how, width := "light", int64(1200)
		if dark {
			how, width = "dark and narrow", 390
		}
		l.tab.Window(width, 900, dark)
		tell(how, seen(t, l.tab))
		if n := browser.Eval[int](l.tab, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); n > 0 {
			t.Errorf("%s: the page is %d px too wide", how, n)
		}
		if p.record == "steel-wire/record" || p.record == "manual/kinds" {
			tell(how, l.axeFinds(t, ofContrast))
		}
	}
	// The links of a record are those of its other views, or more.
	if p.view == view.AsRecord {
		tell("narrow", l.axeFinds(t, ofFingers))
	}
}

// inks is a script that lists the colours of all that is written or drawn, each
// with its ground. Axe-core says nothing of mathematics and figures.
//
//go:embed testdata/inks.js
var inks string

// ink is something drawn or written: its colours are "rgb(r, g, b)".
type ink struct {
	What, Ink, Ground string
	Graphic           bool
}

// seen computes the contrast of what is written, mathematics and figures
// included, at least 4.5 to 1, and of the marks and lines of figures, at least 3
// to 1 (WCAG 2.2, success criteria 1.4.3 and 1.4.11). The ruling of graph paper and of
// grids is no part that is needed to understand a figure.
func seen(t *testing.T, tab *browser.Tab) []axeFinding {
	t.Helper()
	var list []ink
	if err := json.Unmarshal([]byte(browser.Eval[string](tab, inks)), &list); err != nil {
		t.Fatal(err)
	}
	var out []axeFinding
	for _, k := range list {
		least := 4.5
		if k.Graphic {
			least = 3
		}
		if r := contrastOf(t, k.Ink, k.Ground); r < least {
			f := axeFinding{ID: "contrast", Help: fmt.Sprintf("%s: %s on %s is %.2f to 1", k.What, k.Ink, k.Ground, r)}
			f.Nodes = append(f.Nodes, struct {
				HTML    string `json:"html"`
				Summary string `json:"failureSummary"`
			}{})
			out = append(out, f)
		}
	}
	return out
}

// contrastOf is the contrast ratio of WCAG 2.2.
func contrastOf(t *testing.T, a, b string) float64 {
	t.Helper()
	list := []float64{luminanceOf(t, a), luminanceOf(t, b)}
	sort.Float64s(list)
	return (list[1] + 0.05) / (list[0] + 0.05)
}

// luminanceOf is the relative luminance of WCAG 2.2 of a colour rgb(r, g, b).
func luminanceOf(t *testing.T, rgb string) float64 {
	t.Helper()
	inside, ok := strings.CutPrefix(strings.TrimSuffix(rgb, ")"), "rgb(")
	parts := strings.Split(inside, ", ")
	if !ok || len(parts) != 3 {
		t.Fatalf("colour %q", rgb)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, err := strconv.ParseFloat(parts[i], 64)
		if err != nil {
			t.Fatal(err)
		}
		c := n / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += float64(weight * c)
	}
	return sum
}

// TestContrastOf holds the formula to published values: black on white is 21
// to 1, and #767676 is the lightest grey that text on white may have
// (Understanding WCAG 2.2, 1.4.3).
func TestContrastOf(t *testing.T) {
	for c, want := range map[string]float64{"rgb(0, 0, 0)": 21, "rgb(118, 118, 118)": 4.54, "rgb(119, 119, 119)": 4.48, "rgb(255, 255, 255)": 1} {
		if got := contrastOf(t, c, "rgb(255, 255, 255)"); math.Abs(got-want) > 0.005 {
			t.Errorf("%s: %.3f, want %.2f", c, got, want)
		}
	}
}
