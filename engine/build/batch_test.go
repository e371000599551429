package build

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/view"
)

// builds runs a batch over the records of a folder and returns the names of
// those that were built; what came of each is checked to come in order.
func builds(t *testing.T, b *Batch, dir string, results bool) (built []string) {
	t.Helper()
	records, err := Records(dir)
	if err != nil {
		t.Fatal(err)
	}
	var targets []Target
	for _, r := range records {
		stem := strings.TrimSuffix(r, ".md")
		target := Target{Record: r, Page: stem + ".html"}
		if results {
			target.Results = stem + ".json"
		}
		targets = append(targets, target)
	}
	i := 0
	n := b.Run(t.Context(), targets, func(m *Made) bool {
		if m.Err != nil {
			t.Errorf("%s: %v", m.Record, m.Err)
		}
		if m.Target != targets[i] {
			t.Errorf("%s came in the place of %s", m.Record, targets[i].Record)
		}
		i++
		if !m.Unchanged {
			built = append(built, strings.TrimPrefix(filepath.ToSlash(m.Record), filepath.ToSlash(dir)+"/"))
		}
		return true
	})
	if n != len(targets) {
		t.Errorf("%d of %d records were done", n, len(targets))
	}
	return built
}

// engineOf is an engine of that name, as a Keep wants it.
func engineOf(name string) func() (string, error) { return func() (string, error) { return name, nil } }

// TestBatchUnchanged changes one thing after the other and looks which records
// are built for it.
func TestBatchUnchanged(t *testing.T) {
	dir := tree(t, map[string]string{
		"a.md":     "```let\nx = 2\n```\n=[x]\n",
		"sub/b.md": "```read from=data.txt\n```\n",
		"sub/c.md": "```read from=lost.txt\n```\n```let\ny = nothing\n```\n", "sub/data.txt": "one",
	})
	kept := t.TempDir()
	b := &Batch{Options: testOptions(), Keep: NewKeep(kept, engineOf("1")), Workers: 2}
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	all := []string{"a.md", "sub/b.md", "sub/c.md"}
	results := true
	for _, c := range []struct {
		what   string
		change func()
		want   []string
	}{
		{"the first time", func() {}, all},
		{"nothing", func() {}, nil},
		{"a record", func() { write("a.md", "```let\nx = 3\n```\n=[x]\n") }, []string{"a.md"}},
		{"a file that is read", func() { write("sub/data.txt", "two") }, []string{"sub/b.md"}},
		{"a file that was missed", func() { write("sub/lost.txt", "found") }, []string{"sub/c.md"}},
		{"its name near another", func() { os.Remove(filepath.Join(dir, "sub/lost.txt")); write("sub/last.txt", "") }, []string{"sub/c.md"}},
		{"a page", func() { write("a.html", "edited") }, []string{"a.md"}},
		{"a page that is lost", func() { os.Remove(filepath.Join(dir, "a.html")) }, []string{"a.md"}},
		{"a results file", func() { write("sub/b.json", "{}") }, []string{"sub/b.md"}},
		{"no results file wanted", func() { results = false }, all},
		{"none again", func() {}, nil},
		{"the root", func() { write("taut.root", "") }, all},
		{"the engine", func() { b.Keep = NewKeep(kept, engineOf("2")) }, all},
		{"an engine without a sum", func() { b.Keep = NewKeep(kept, func() (string, error) { return "", errors.New("no sum") }) }, all},
		{"one with it", func() { b.Keep = NewKeep(kept, engineOf("2")) }, nil},
		{"the view", func() { b.Options.View = view.AsWorked }, all},
		{"a wish", func() { b.Anew = true }, all},
		{"no more", func() { b.Anew = false }, nil},
		{"permissions of what is not read", func() { os.Chmod(filepath.Join(dir, "sub/last.txt"), 0o600) }, nil},
		{"a file for a folder", func() {
			os.Remove(filepath.Join(dir, "sub/data.txt"))
			os.Mkdir(filepath.Join(dir, "sub/data.txt"), 0o777)
		}, []string{"sub/b.md"}},
		{"all that is kept", func() { os.RemoveAll(kept) }, all},
	} {
		c.change()
		if got := builds(t, b, dir, results); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v were built, not %v", c.what, got, c.want)
		}
	}
}

// TestBatchFindings: what is said of a record that was not built is what was
// said when it was, under the names by which it is reached.
func TestBatchFindings(t *testing.T) {
	dir := tree(t, map[string]string{"in/r.md": "```read from=lost.txt\n```\n```let\ny = nothing\n```\n", "in/taut.root": "", "other/x": ""})
	b := &Batch{Options: testOptions(), Keep: NewKeep(t.TempDir(), engineOf("1"))}
	say := func(record string, wantUnchanged bool) string {
		t.Helper()
		out, err := Record(record, b.Options)
		if err != nil {
			t.Fatal(err)
		}
		var want, got strings.Builder
		if err := finding.WriteText(&want, out.Findings); err != nil {
			t.Fatal(err)
		}
		b.Run(t.Context(), []Target{{Record: record, Page: filepath.Join(dir, "in", "r.html")}}, func(m *Made) bool {
			if m.Err != nil || m.Unchanged != wantUnchanged {
				t.Errorf("%s: unchanged %v, %v", record, m.Unchanged, m.Err)
			}
			for i, r := range m.Findings {
				got.WriteString(r.Text)
				if r.Severity != out.Findings[i].Severity {
					t.Errorf("%s: finding %d became a %v", record, i, r.Severity)
				}
			}
			return true
		})
		if got.String() != want.String() || strings.Count(want.String(), "error") < 2 {
			t.Errorf("%s:\n%s\nwhen it was built:\n%s", record, got.String(), want.String())
		}
		return got.String()
	}
	say(filepath.Join(dir, "in", "r.md"), false)
	say(filepath.Join(dir, "in", "r.md"), true)
	t.Chdir(filepath.Join(dir, "other"))
	if text := say("../in/r.md", true); !strings.HasPrefix(text, "../in/r.md:1:") {
		t.Errorf("named %s", text)
	}
}

// TestBatchTampered alters each byte of an entry, and cuts it everywhere: it is
// believed only as it was.
func TestBatchTampered(t *testing.T) {
	dir := tree(t, map[string]string{"a.md": "# A\n"})
	kept := t.TempDir()
	b := &Batch{Options: testOptions(), Keep: NewKeep(kept, engineOf("1"))}
	page := filepath.Join(dir, "a.html")
	builds(t, b, dir, false)
	entry := b.Keep.path(page)
	text := must(os.ReadFile(entry))
	for i := range text {
		changed := slices.Clone(text)
		changed[i] ^= 1
		for _, wrong := range [][]byte{changed, text[:i]} {
			if err := os.WriteFile(entry, wrong, 0o600); err != nil {
				t.Fatal(err)
			}
			if b.Keep.get(page) != nil {
				t.Fatalf("believed after a change at byte %d", i)
			}
		}
	}
	// An entry of another page is none of this one.
	other := filepath.Join(dir, "b.html")
	if err := os.MkdirAll(filepath.Dir(b.Keep.path(other)), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(b.Keep.path(other), text, 0o600); err != nil {
		t.Fatal(err)
	}
	if b.Keep.get(other) != nil {
		t.Error("the entry of another page was believed")
	}
}

// TestKeepTidy: pages that are gone are forgotten.
func TestKeepTidy(t *testing.T) {
	dir := tree(t, map[string]string{"a.md": "# A\n"})
	k := NewKeep(t.TempDir(), engineOf("1"))
	b := &Batch{Options: testOptions(), Keep: k}
	builds(t, b, dir, false)
	page := filepath.Join(dir, "a.html")
	gone := ""
	for i := 0; gone == ""; i++ { // one that is kept in the same place
		if p := filepath.Join(dir, fmt.Sprint(i)); filepath.Dir(k.path(p)) == filepath.Dir(k.path(page)) {
			gone = p
		}
	}
	k.put(&kept{Page: gone})
	b.Anew = true
	builds(t, b, dir, false)
	if k.get(gone) != nil || k.get(page) == nil {
		t.Errorf("kept %v for a page that is gone, %v for one that is there", k.get(gone), k.get(page))
	}
}

// TestBatchAtOnce: several batches over the same records and the same Keep end
// with whole pages, and with a Keep that knows them.
func TestBatchAtOnce(t *testing.T) {
	files := map[string]string{}
	for i := range 20 {
		files[fmt.Sprintf("%d/r.md", i)] = fmt.Sprintf("# %d\n```let\nx = %d m ± 1 mm\n```\n=[x]\n```draw x trials=2000\n```\n", i, i+1)
	}
	dir := tree(t, files)
	o := testOptions()
	o.Trials = NewMemory(8)
	k := NewKeep(t.TempDir(), engineOf("1"))
	var all sync.WaitGroup
	for range 3 {
		all.Go(func() { builds(t, &Batch{Options: o, Keep: k, Anew: true, Workers: 3}, dir, true) })
	}
	all.Wait()
	if again := builds(t, &Batch{Options: o, Keep: k}, dir, true); len(again) > 0 {
		t.Errorf("built again: %v", again)
	}
	for name := range files {
		p := filepath.Join(dir, name)
		if page := must(os.ReadFile(strings.TrimSuffix(p, ".md") + ".html")); string(page) != string(buildRecord(t, p, o).HTML) {
			t.Errorf("%s has another page", name)
		}
	}
}

// TestBatchDeleted: a record that is gone when its turn comes is an error of
// its own; the others are built.
func TestBatchDeleted(t *testing.T) {
	dir := tree(t, map[string]string{"a.md": "# A\n", "b.md": "# B\n", "c.md": "# C\n"})
	var targets []Target
	for _, n := range []string{"a", "b", "c"} {
		targets = append(targets, Target{Record: filepath.Join(dir, n+".md"), Page: filepath.Join(dir, n+".html")})
	}
	if err := os.Remove(targets[1].Record); err != nil {
		t.Fatal(err)
	}
	var failed []string
	b := &Batch{Options: testOptions(), Workers: 2}
	b.Run(t.Context(), targets, func(m *Made) bool {
		var unread *ReadError
		if errors.As(m.Err, &unread) {
			failed = append(failed, filepath.Base(m.Record))
		} else if m.Err != nil {
			t.Error(m.Err)
		}
		return true
	})
	if !slices.Equal(failed, []string{"b.md"}) {
		t.Errorf("failed: %v", failed)
	}
	if _, err := os.Stat(targets[2].Page); err != nil {
		t.Error(err)
	}
}

// TestBatchSparesInputs: what a record reads is not written over, even where
// the page is another name of it.
func TestBatchSparesInputs(t *testing.T) {
	dir := tree(t, map[string]string{"a.md": "```read from=data.txt\n```\n", "data.txt": "readings"})
	if err := os.Symlink("data.txt", filepath.Join(dir, "a.html")); err != nil {
		t.Fatal(err)
	}
	var over *OverInputError
	b := &Batch{Options: testOptions()}
	b.Run(t.Context(), []Target{{Record: filepath.Join(dir, "a.md"), Page: filepath.Join(dir, "a.html")}}, func(m *Made) bool {
		if !errors.As(m.Err, &over) {
			t.Errorf("came to %v", m.Err)
		}
		return true
	})
	if text := must(os.ReadFile(filepath.Join(dir, "data.txt"))); string(text) != "readings" {
		t.Errorf("the readings became %q", text)
	}
}

// TestEngineAskedLate: the engine's sum, which takes time, is asked only for
// what seems unchanged or was built.
func TestEngineAskedLate(t *testing.T) {
	dir := tree(t, map[string]string{"a.md": "# A\n"})
	var asked atomic.Int64
	kept := t.TempDir()
	b := &Batch{Options: testOptions(), Keep: NewKeep(kept, func() (string, error) {
		if _, err := os.Stat(filepath.Join(dir, "a.html")); err != nil {
			t.Error("asked before the page was there")
		}
		asked.Add(1)
		return "1", nil
	})}
	builds(t, b, dir, false)
	if asked.Load() != 1 {
		t.Errorf("asked %d times", asked.Load())
	}
}
