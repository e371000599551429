package blocks_test

import (
	"encoding/json"
	"html"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/results"
	"example.org/taut/themes"
)

// builtIn are the themes of the program.
type builtIn struct{}

func (builtIn) Names() []string                       { return themes.Names() }
func (builtIn) Load(name string) (*page.Theme, error) { return themes.Load(name) }

// whole is one record, built by the whole engine.
type whole struct {
	*build.Output
	t testing.TB
}

// buildFile builds a record; an error finding fails the test.
func buildFile(t testing.TB, path string, workers int) *whole {
	t.Helper()
	w := buildAnyway(t, path, workers)
	for _, f := range w.Findings {
		if f.Severity == finding.Error {
			line, col := f.At.Position()
			t.Fatalf("%s:%d:%d: %s: %s", path, line, col, f.Slug, f.Message)
		}
	}
	return w
}

func buildAnyway(t testing.TB, path string, workers int) *whole {
	t.Helper()
	return buildWith(t, path, build.Options{Workers: workers})
}

// buildWith builds a record with options of which the kinds, the library and
// the themes are those of the program.
func buildWith(t testing.TB, path string, o build.Options) *whole {
	t.Helper()
	o.Kinds, o.Library, o.Themes, o.Version = blocks.All(), blocks.Built(), builtIn{}, "test"
	out, err := build.Record(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return &whole{out, t}
}

// files are the files of a record by name; the record is record.md.
type files map[string]string

// build writes the files to a folder of their own and builds the record.
func (f files) build(t testing.TB) *whole {
	t.Helper()
	return buildFile(t, f.write(t), 1)
}

func (f files) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range f {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "record.md")
}

// with returns the files with one piece of text replaced, which must stand
// there once.
func (f files) with(t testing.TB, name, old, new string) files {
	t.Helper()
	if n := strings.Count(f[name], old); n != 1 {
		t.Fatalf("%q stands %d times in %s", old, n, name)
	}
	out := files{}
	for k, v := range f {
		out[k] = v
	}
	out[name] = strings.Replace(f[name], old, new, 1)
	return out
}

// readFolder reads the files of an example.
func readFolder(t testing.TB, dir string) files {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(names) == 0 {
		t.Fatalf("%s: nothing there (%v)", dir, err)
	}
	f := files{}
	for _, n := range names {
		if info, err := os.Stat(n); err == nil && info.IsDir() {
			continue
		}
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		f[filepath.Base(n)] = string(text)
	}
	return f
}

// calc builds a record of one calculation block after other blocks.
func calc(t testing.TB, before, statements string) *whole {
	t.Helper()
	return files{"record.md": before + "\n```calc\n" + strings.TrimSpace(statements) + "\n```\n"}.build(t)
}

func (w *whole) value(name string) results.Value {
	w.t.Helper()
	v, ok := w.Results.Values[name]
	if !ok {
		w.t.Fatalf("%s: no value `%s`", w.Path, name)
	}
	return v
}

// u returns the standard uncertainty, 0 for an exact value.
func (w *whole) u(name string) float64 {
	w.t.Helper()
	if v := w.value(name); v.U != nil {
		return float64(*v.U)
	}
	return 0
}

// dof returns the degrees of freedom, +Inf where they are not limited.
func (w *whole) dof(name string) float64 {
	w.t.Helper()
	if v := w.value(name); v.DOF != nil {
		return float64(*v.DOF)
	}
	return math.Inf(1)
}

// get returns one figure of the results: NAME, or u, dof, k or U of a name as
// in `u(E)`; `corr(fit)` is the correlation of a line's two coefficients.
func (w *whole) get(what string) float64 {
	w.t.Helper()
	kind, name, ok := strings.Cut(strings.TrimSuffix(what, ")"), "(")
	if !ok {
		return float64(w.value(what).Value)
	}
	switch kind {
	case "u":
		return w.u(name)
	case "dof":
		return w.dof(name)
	case "k":
		return float64(*w.value(name).K)
	case "U":
		return float64(*w.value(name).Expanded)
	case "corr", "cov":
		c := w.Results.Fits[name].Covariance
		if len(c) != 2 {
			w.t.Fatalf("%s: the fit `%s` has %d coefficients", w.Path, name, len(c))
		}
		if kind == "cov" {
			return float64(c[0][1])
		}
		return float64(c[0][1]) / math.Sqrt(float64(c[0][0]*c[1][1]))
	}
	w.t.Fatalf("no figure %q", what)
	return 0
}

// near demands a figure within a tolerance.
func (w *whole) near(what string, want, tolerance float64) {
	w.t.Helper()
	if got := w.get(what); !(math.Abs(got-want) <= tolerance) {
		w.t.Errorf("%s = %.12g, want %.12g ± %.2g", what, got, want, tolerance)
	}
}

// same demands a figure to 12 digits.
func (w *whole) same(what string, want float64) {
	w.t.Helper()
	if got := w.get(what); got != want && !(math.Abs(got-want) <= 1e-12*math.Abs(want)) {
		w.t.Errorf("%s = %.17g, want %.17g", what, got, want)
	}
}

// slugs lists the slugs of the findings of a severity.
func (w *whole) slugs(s finding.Severity) []string {
	var out []string
	for _, f := range w.Findings {
		if f.Severity == s {
			out = append(out, f.Slug)
		}
	}
	return out
}

// has reports whether there is a finding of that slug.
func (w *whole) has(slug string) bool {
	for _, f := range w.Findings {
		if f.Slug == slug {
			return true
		}
	}
	return false
}

var tag = regexp.MustCompile(`<[^>]*>`)

// text is what the page says, without its markup, white space in one.
func (w *whole) text() string {
	return strings.Join(strings.Fields(html.UnescapeString(tag.ReplaceAllString(string(w.HTML), ""))), " ")
}

// section is the part of the page of one block, with its markup.
func (w *whole) section(id string) string {
	w.t.Helper()
	_, after, ok := strings.Cut(string(w.HTML), `<section class="block" id="`+id+`"`)
	if !ok {
		w.t.Fatalf("%s: no block %q on the page", w.Path, id)
	}
	before, _, _ := strings.Cut(after, `<section class="block"`)
	return before
}

func (w *whole) says(want ...string) {
	w.t.Helper()
	text := strings.ReplaceAll(w.text(), "`", "")
	for _, s := range want {
		if !strings.Contains(text, strings.ReplaceAll(s, "`", "")) { // the page sets as code what is quoted so
			w.t.Errorf("%s: the page does not say %q", w.Path, s)
		}
	}
}

// numbers are the parts of the results that hold numbers, as JSON, without the
// lines where the values stand.
func (w *whole) numbers() string {
	w.t.Helper()
	values := map[string]results.Value{}
	for k, v := range w.Results.Values {
		v.Line = 0
		values[k] = v
	}
	b, err := json.MarshalIndent([]any{values, w.Results.Columns, w.Results.Fits, w.Results.MonteCarlo}, "", " ")
	if err != nil {
		w.t.Fatal(err)
	}
	return string(b)
}
