package build

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/page"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/view"
)

// The kinds of these tests: `let` has statements, `read` shows a file, `draw`
// has the value of its name drawn.
type (
	letKind  struct{}
	readKind struct{}
	drawKind struct{}
)

func (letKind) Info() block.Info { return block.Info{Name: "let", Naming: block.Labelled} }
func (readKind) Info() block.Info {
	return block.Info{Name: "read", Naming: block.Labelled, Options: []string{"from"}}
}
func (drawKind) Info() block.Info {
	return block.Info{Name: "draw", Naming: block.Referring, Options: []string{"trials"}}
}

type let []*formula.Statement

func (letKind) Read(r *block.Reader, b *record.Block) block.Instance {
	return let(formula.ParseStatements(b.Body.Span, r.Set))
}

func (l let) Defs() []*block.Def {
	var out []*block.Def
	for _, st := range l {
		out = append(out, &block.Def{Name: st.Name, At: st.NameAt, Uses: block.UsesOf(st.X), Compute: func(c *block.Computing) eval.Value {
			return c.Expr(st.Name, st.X)
		}})
	}
	return out
}

func (l let) Show(s *block.Shower) []view.Node {
	var out []view.Node
	for _, st := range l {
		out = append(out, &view.Paragraph{Text: append(view.Text{view.Plain(st.Name + " = ")}, s.Text(s.Value(st.Name), quantity.Auto, 0, "")...)})
	}
	return out
}

type fileText struct{ f *source.File }

func (readKind) Read(r *block.Reader, b *record.Block) block.Instance {
	o, _ := b.Option("from")
	return fileText{r.Open(o.Value, o.ValueAt)}
}

func (t fileText) Show(*block.Shower) []view.Node {
	if t.f == nil {
		return nil
	}
	return []view.Node{&view.Source{Text: string(t.f.Text)}}
}

type drawing struct {
	b      *record.Block
	trials int
	job    *block.Job
}

func (drawKind) Read(_ *block.Reader, b *record.Block) block.Instance {
	d := &drawing{b: b, trials: 5000}
	if o, ok := b.Option("trials"); ok {
		if _, err := fmt.Sscan(o.Value, &d.trials); err != nil {
			d.trials = -1
		}
	}
	return d
}

func (d *drawing) Jobs(c *block.Computing) []*block.Job {
	s, ok := c.Expr("", &formula.Name{Name: d.b.Name, At: d.b.NameAt}).(eval.Scalar)
	if !ok {
		return nil
	}
	d.job = &block.Job{Of: d.b.Name, At: d.b.NameAt, Q: s.Q, Expanded: 2 * s.Q.U(), Options: trial.Options{Trials: d.trials, Seed: 3}}
	return []*block.Job{d.job}
}

func (d *drawing) Show(*block.Shower) []view.Node {
	if d.job == nil || d.job.Result == nil {
		return nil
	}
	return []view.Node{&view.Paragraph{Text: view.Text{view.Plain(fmt.Sprintf("drawn: %.17g", d.job.Result.Mean))}}}
}

type noLibrary struct{}

func (noLibrary) Method(string) (*source.File, bool) { return nil, false }
func (noLibrary) MethodNames() []string              { return nil }
func (noLibrary) Material(string) (eval.Value, bool) { return nil, false }
func (noLibrary) MaterialNames() []string            { return nil }

type testThemes struct{}

var bench = sync.OnceValues(func() (*page.Theme, error) { return page.LoadTheme(os.DirFS(benchFolder)) })

var benchFolder = func() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Join(filepath.Dir(file), "..", "..", "themes", "bench")
}()

func (testThemes) Names() []string                       { return []string{"bench"} }
func (testThemes) Load(name string) (*page.Theme, error) { return bench() }

func testOptions() Options {
	return Options{Kinds: []block.Kind{letKind{}, readKind{}, drawKind{}}, Library: noLibrary{}, Themes: testThemes{}, Version: "0"}
}

func buildRecord(t *testing.T, path string, o Options) *Output {
	t.Helper()
	out, err := Record(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func bytesOf(t *testing.T, out *Output) []byte {
	t.Helper()
	text, err := out.Results.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return append(text, out.HTML...)
}

const wire = `---
title: A wire
author: A. Student
date: 2026-03-14
---

The length is =[L] and, as typed, L = 3 m.

` + "```let" + `
L = 2.5 m ± 2 mm std
A = L * L
B = A + nothing
` + "```" + `

` + "```read from=data/x.csv\n```" + `

` + "```draw A\n```\n"

func TestRecord(t *testing.T) {
	dir := tree(t, map[string]string{"wire.md": wire, "data/x.csv": "load <i>\n"})
	out := buildRecord(t, filepath.Join(dir, "wire.md"), testOptions())
	html := string(out.HTML)
	for _, want := range []string{"<h1>A wire</h1>", "A. Student", "2026-03-14", "load &lt;i&gt;", "drawn: 6.2", "is not defined", out.Inputs[0].SHA256, "data/x.csv"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if strings.Contains(html, dir) {
		t.Error("the page holds an absolute path")
	}
	var slugs []string
	for _, f := range out.Findings {
		slugs = append(slugs, f.Slug)
	}
	if got := strings.Join(slugs, " "); got != "stale-number undefined" || out.Count(finding.Error) != 1 || out.Count(finding.Caution) != 1 {
		t.Errorf("findings are %s", got)
	}
	r := out.Results
	if v := r.Values["A"]; v.Value != 6.25 || v.Unit != "m^2" || v.U == nil || *v.U != 0.01 || v.Line != 11 {
		t.Errorf("A is %+v", v)
	}
	if _, ok := r.Values["B"]; ok {
		t.Error("a value that waits is among the results")
	}
	if m := r.MonteCarlo["A"]; m.Trials != 5000 || m.Seed != 3 || !(m.Low < m.Mean && m.Mean < m.High) {
		t.Errorf("Monte Carlo of A is %+v", m)
	}
	if r.Findings[0].File != "wire.md" || out.Path != "wire.md" || len(out.Inputs) != 2 {
		t.Errorf("%+v, %s, %v", r.Findings[0], out.Path, out.Inputs)
	}
	for _, p := range out.Files() {
		if _, err := os.Stat(p); err != nil {
			t.Error(err)
		}
	}
}

func TestRecordSameBytes(t *testing.T) {
	files := map[string]string{"r/wire.md": wire, "r/data/x.csv": "x", "r/deep/n": ""}
	dir := tree(t, files)
	path := filepath.Join(dir, "r", "wire.md")
	want := bytesOf(t, buildRecord(t, path, testOptions()))
	for _, c := range []struct{ cwd, path string }{
		{"", "r/wire.md"}, {"r", "wire.md"}, {"r/deep", "../wire.md"}, {"r", "./deep/../wire.md"},
	} {
		t.Chdir(filepath.Join(dir, c.cwd))
		out := buildRecord(t, c.path, testOptions())
		if !bytes.Equal(bytesOf(t, out), want) {
			t.Errorf("other bytes from %s", c.cwd)
		}
		if got := out.Findings[0].At.File.Name; got != filepath.ToSlash(filepath.Clean(c.path)) {
			t.Errorf("from %s the record is called %s", c.cwd, got)
		}
	}
	for _, workers := range []int{1, 2, 3, 7} {
		o := testOptions()
		o.Workers = workers
		if !bytes.Equal(bytesOf(t, buildRecord(t, path, o)), want) {
			t.Errorf("other bytes by %d workers", workers)
		}
	}
	other := filepath.Join(tree(t, files), "r", "wire.md")
	if !bytes.Equal(bytesOf(t, buildRecord(t, other, testOptions())), want) {
		t.Error("other bytes at another place")
	}
}

// TestRecordsAtOnce builds one record in several goroutines with one cache:
// the race detector looks on.
func TestRecordsAtOnce(t *testing.T) {
	path := filepath.Join(tree(t, map[string]string{"wire.md": wire, "data/x.csv": "x"}), "wire.md")
	o := testOptions()
	want := bytesOf(t, buildRecord(t, path, o))
	o.Trials = NewMemory(4)
	var wg sync.WaitGroup
	got := make([][]byte, 8)
	for i := range got {
		wg.Go(func() {
			if out, err := Record(path, o); err == nil {
				text, _ := out.Results.Bytes()
				got[i] = append(text, out.HTML...)
			}
		})
	}
	wg.Wait()
	for i := range got {
		if !bytes.Equal(got[i], want) {
			t.Errorf("build %d gave other bytes", i)
		}
	}
}

// countingCache tells how often it was asked and answered.
type countingCache struct {
	Memory
	asked, answered int
}

func (c *countingCache) Get(key [32]byte) (*trial.Result, bool) {
	r, ok := c.Memory.Get(key)
	c.asked++
	if ok {
		c.answered++
	}
	return r, ok
}

func TestTrialCache(t *testing.T) {
	dir := tree(t, map[string]string{"wire.md": wire, "data/x.csv": "x"})
	path := filepath.Join(dir, "wire.md")
	c := &countingCache{Memory: *NewMemory(2)}
	o := testOptions()
	o.Trials = c
	first := bytesOf(t, buildRecord(t, path, o))
	if again := bytesOf(t, buildRecord(t, path, o)); !bytes.Equal(first, again) {
		t.Error("the cache changes the bytes")
	}
	if c.asked != 2 || c.answered != 1 {
		t.Errorf("asked %d times, answered %d times", c.asked, c.answered)
	}
	// Prose does not matter to it; what is drawn does.
	text := strings.Replace(wire, "The length", "Its length", 1)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	buildRecord(t, path, o)
	if c.answered != 2 {
		t.Error("other prose made the draws anew")
	}
	text = strings.Replace(text, "2 mm std", "3 mm std", 1)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	changed := buildRecord(t, path, o)
	if c.answered != 2 {
		t.Error("another uncertainty was answered from the cache")
	}
	fresh := buildRecord(t, path, testOptions())
	if !bytes.Equal(bytesOf(t, changed), bytesOf(t, fresh)) {
		t.Error("the cache changes the bytes of a changed record")
	}
}

func TestMemoryForgets(t *testing.T) {
	m := NewMemory(2)
	r := make([]*trial.Result, 4)
	for i := range r {
		r[i] = &trial.Result{Trials: i}
		m.Put([32]byte{byte(i)}, r[i])
	}
	for i := range r {
		got, ok := m.Get([32]byte{byte(i)})
		if ok != (i >= 2) || ok && got != r[i] {
			t.Errorf("%d: %v, %v", i, got, ok)
		}
	}
}

func TestTrialsThatCannotBeMade(t *testing.T) {
	for option, slug := range map[string]string{"trials=5": "no-trials", "trials=1000": "", "trials=99999999": "no-trials"} {
		text := "```let\nL = 2 m ± 1 mm\n```\n```draw L " + option + "\n```\n"
		out := buildRecord(t, filepath.Join(tree(t, map[string]string{"r.md": text}), "r.md"), testOptions())
		got := ""
		for _, f := range out.Findings {
			got += f.Slug
		}
		if got != slug {
			t.Errorf("%s: %v", option, out.Findings)
		}
	}
	exact := "```let\nL = 2 m\n```\n```draw L\n```\n"
	out := buildRecord(t, filepath.Join(tree(t, map[string]string{"r.md": exact}), "r.md"), testOptions())
	if len(out.Findings) != 0 || len(out.Results.MonteCarlo) != 0 {
		t.Errorf("an exact value: %v", out.Findings)
	}
}

func TestRecordErrors(t *testing.T) {
	dir := tree(t, map[string]string{"m.md": "---\nmethod: mine\n---\n", "bin.md": "a\x00b", "latin.md": "\xe9"})
	for name, want := range map[string]string{
		"m.md":     "is a method file",
		"bin.md":   "NUL byte at offset 1 (line 1)",
		"latin.md": "not in UTF-8: byte 0xE9 at offset 0 (line 1)",
		"n.md":     "there is no file",
		"x/n.md":   "nor its folder",
		"":         "is a folder",
	} {
		out, err := Record(filepath.Join(dir, name), testOptions())
		if out != nil || err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
			continue
		}
		var r *ReadError
		var m *MethodError
		if errors.As(err, &r) == errors.As(err, &m) {
			t.Errorf("%s: the error is a %T", name, err)
		}
	}
}

func TestRecords(t *testing.T) {
	dir := tree(t, map[string]string{
		"b.md": "", "a.md": "---\ntitle: x\n---\n", "sub/c.md": "# method: no\n", "sub/d.txt": "", ".git/e.md": "",
		".f.md": "", "m1.md": "---\nmethod: x\n---\n", "m2.md": "\uFEFF---\r\ntitle: y\r\n'method': x\r\n---\r\n",
		"m3.md": "---\n{title: z, method: x}\n---\n", "n.md": "---\nwhat:\n  method: inner\n---\n", "out/g.md": "", "h.MD": "",
	})
	for _, to := range []string{"b.md", "nowhere.md"} {
		if err := os.Symlink(to, filepath.Join(dir, "link-to-"+to)); err != nil {
			t.Fatal(err)
		}
	}
	got, err := Records(dir, filepath.Join(dir, "out"))
	if err != nil {
		t.Fatal(err)
	}
	want := "a.md b.md link-to-b.md link-to-nowhere.md n.md sub/c.md"
	var names []string
	for _, p := range got {
		names = append(names, filepath.ToSlash(strings.TrimPrefix(p, dir+string(filepath.Separator))))
	}
	if s := strings.Join(names, " "); s != want {
		t.Errorf("records are %s, not %s", s, want)
	}
	if _, err := Records(filepath.Join(dir, "nosuch")); err == nil {
		t.Error("a folder that is not there has records")
	}
}

// FuzzRecord feeds anything as a record: there is a page, or an error that
// says why there is none, and the same bytes at the second time.
func FuzzRecord(f *testing.F) {
	f.Add([]byte(wire))
	f.Add([]byte("---\ncoverage: 1e9 %\ndigits: [1]\ndate: {}\ntitle:\n---\n# x\n"))
	f.Add([]byte("---\n- a\n---\n"))
	f.Add([]byte("---\ntitle: x\n"))
	f.Add([]byte("\uFEFF---\nauthor: [a, b]\n---\n```let\nE = E\n```\nE = 5"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, text []byte) {
		path := filepath.Join(dir, "r.md")
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		out, err := Record(path, testOptions())
		if err != nil {
			var r *ReadError
			var m *MethodError
			if !errors.As(err, &r) && !errors.As(err, &m) {
				t.Fatalf("%v", err)
			}
			return
		}
		again, err := Record(path, testOptions())
		if err != nil || !bytes.Equal(bytesOf(t, out), bytesOf(t, again)) {
			t.Fatalf("the second build differs: %v", err)
		}
	})
}
