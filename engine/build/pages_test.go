package build_test

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
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

// examplePages writes every page of every example in every theme and view.
func examplePages(t *testing.T) []string {
	t.Helper()
	list, err := build.Records(filepath.FromSlash("../../examples"))
	if err != nil || len(list) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	dir, trials := t.TempDir(), build.NewMemory(256)
	var pages []string
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
				base := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
				file := filepath.Join(dir, strings.Join([]string{name, filepath.Base(filepath.Dir(path)), base, v.String()}, "-")+".html")
				if err := os.WriteFile(file, out.HTML, 0o666); err != nil {
					t.Fatal(err)
				}
				pages = append(pages, file)
			}
		}
	}
	return pages
}

// TestValidHTML has an independent checker, the Nu Html Checker, read the pages
// of every example: it finds no error against the HTML standard. Of styles it
// knows less than browsers do, so what it says of them is left out, and themes,
// which differ in nothing else, are not told apart.
func TestValidHTML(t *testing.T) {
	jar := filepath.Join(checkers(t), "vnu-jar", "build", "dist", "vnu.jar")
	check := func(pages ...string) (string, error) {
		args := append([]string{"-jar", jar, "--errors-only", "--filterpattern", ".*CSS:.*"}, pages...)
		out, err := exec.Command("java", args...).CombinedOutput()
		return fmt.Sprintf("%.4000s", out), err
	}
	var pages []string
	for _, page := range examplePages(t) {
		if strings.HasPrefix(filepath.Base(page), themes.Default) {
			pages = append(pages, page)
		}
	}
	if said, err := check(pages...); err != nil {
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

const axeRun = `axe.run({exclude: [%s]}, {runOnly: %s, resultTypes: ["violations"], preload: false}).then(r => JSON.stringify(r.violations))`

// Rules of axe-core: those of WCAG 2.2, levels A and AA, that ask what is on a
// page, and those that ask how it looks.
const (
	ofContent = `{type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}, rules: {"color-contrast": {enabled: false}}`
	ofLook    = `{type: "rule", values: ["color-contrast", "target-size", "link-in-text-block"]}`
)

// moreOfTheSame are the rows of the table of quantities that look as those
// before them do.
const moreOfTheSame = `".quantities tbody tr:nth-child(n+12)"`

// TestAccessibility has an independent checker, axe-core, look at the pages of
// every example in Chromium: at what is on each, and, in each theme, light and
// wide as well as dark and narrow, at how it looks. It finds nothing against WCAG
// 2.2, levels A and AA. Themes change no content, and a record looks as its
// worked view does, so neither is looked at twice.
func TestAccessibility(t *testing.T) {
	axe, err := os.ReadFile(filepath.Join(checkers(t), "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	b := browser.Start(t)
	run := func(t *testing.T, tab *browser.Tab, rules string, but ...string) []axeFinding {
		t.Helper()
		var found []axeFinding
		if err := json.Unmarshal([]byte(browser.Eval[string](tab, fmt.Sprintf(axeRun, strings.Join(but, ", "), rules))), &found); err != nil {
			t.Fatal(err)
		}
		return found
	}
	open := func(t *testing.T, page string) *browser.Tab {
		tab := b.Tab(t)
		tab.Window(1200, 900, false)
		tab.Open("file://" + page)
		browser.Eval[bool](tab, string(axe)+"\ntrue")
		return tab
	}
	for _, page := range examplePages(t) {
		name := strings.TrimSuffix(filepath.Base(page), ".html")
		t.Run(name, func(t *testing.T) {
			tell := func(how string, found []axeFinding) {
				for _, f := range found {
					for _, n := range f.Nodes[:min(len(f.Nodes), 3)] {
						t.Errorf("%s: %s: %s\n%.300s\n%s", how, f.ID, f.Help, n.HTML, n.Summary)
					}
				}
			}
			tab := open(t, page)
			if strings.HasPrefix(name, themes.Default) {
				tell("content", run(t, tab, ofContent))
			}
			for _, dark := range []bool{false, true} {
				how, width := "light", int64(1200)
				if dark {
					how, width = "dark and narrow", 390
				}
				tab.Window(width, 900, dark)
				tell(how, seen(t, tab))
				if !strings.HasSuffix(name, "-"+view.AsRecord.String()) {
					tell(how, run(t, tab, ofLook, moreOfTheSame))
				}
			}
		})
	}
	bad := filepath.Join(t.TempDir(), "bad.html")
	if err := os.WriteFile(bad, []byte("<!DOCTYPE html><html lang=\"en\"><head><title>x</title></head><body><a href='#'><img src='data:,'></a> <b style='color: #eee'>pale</b></body></html>"), 0o666); err != nil {
		t.Fatal(err)
	}
	tab := open(t, bad)
	for _, rules := range []string{ofContent, ofLook} {
		if len(run(t, tab, rules)) == 0 {
			t.Errorf("nothing is wrong with a page that is: the checker does not look (%s)", rules)
		}
	}
}

// inks is a script that lists the colours of mathematics and of figures, each
// with its ground: what axe-core says nothing of.
//
//go:embed testdata/inks.js
var inks string

// ink is something drawn or written: its colours are "rgb(r, g, b)".
type ink struct {
	What, Ink, Ground string
	Graphic           bool
}

// seen computes the contrast of what is written in mathematics and figures, at
// least 4.5 to 1, and of the marks and lines of figures, at least 3 to 1 (WCAG
// 2.2, success criteria 1.4.3 and 1.4.11). The ruling of graph paper and of
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
