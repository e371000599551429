package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plaintext"
)

func chapterNamed(t *testing.T, name string) chapter {
	t.Helper()
	for _, c := range chapters() {
		if c.name == name {
			return c
		}
	}
	t.Fatalf("the manual has no chapter %s", name)
	return chapter{}
}

// headings are the words that a chapter has a section for.
func headings(t *testing.T, name string) map[string]entry {
	t.Helper()
	out := map[string]entry{}
	c := chapterNamed(t, name)
	for _, e := range c.entries() {
		if e.row < 0 {
			out[e.word] = e
		}
	}
	return out
}

// lacks reports the words that a chapter has no entry for, and the entries of
// things that there are not.
func lacks(t *testing.T, chapter string, words []string) {
	t.Helper()
	have := headings(t, chapter)
	for _, w := range words {
		if _, ok := have[w]; !ok {
			t.Errorf("examples/manual/%s.md has no entry `%s`", chapter, w)
		}
	}
	for w := range have {
		if !slices.Contains(words, w) {
			t.Errorf("examples/manual/%s.md has an entry `%s`, which the program does not have", chapter, w)
		}
	}
}

// TestManualChapters works every chapter out, as `taut help` does: none has an
// error, and nothing in it waits or is shown on the page only.
func TestManualChapters(t *testing.T) {
	index := chapterNamed(t, indexName)
	for _, c := range chapters() {
		shown := c.shown()
		for _, f := range shown.Findings {
			if f.Severity != finding.Note {
				t.Errorf("%s: %s", c.name, f)
			}
		}
		if shown.Title == "" || shown.Title == c.name {
			t.Errorf("%s has no title", c.name)
		}
		if n := len(regexp.MustCompile(`\]\(`+c.name+`[./]`).FindAll(index.file.Text, -1)); c.name != indexName && n != 1 {
			t.Errorf("the index leads to %s %d times", c.name, n)
		}
		if c.name != indexName && !strings.Contains(string(c.file.Text), indexName+".html)") {
			t.Errorf("%s does not lead back to the index", c.name)
		}
		text := c.text()
		for _, bad := range []string{"(not yet", "(shown on the page only)", "\x1b", "\u00a0", "=[", "NaN"} {
			if strings.Contains(withoutCode(text), bad) {
				t.Errorf("taut help %s shows %q", c.name, bad)
			}
		}
		for _, m := range chapterLink.FindAllStringSubmatch(string(c.file.Text), -1) {
			chapterNamed(t, m[1])
		}
	}
}

// withoutCode is a text as a terminal shows it, without the lines of code and
// without what stands between backticks.
func withoutCode(text string) string {
	text = regexp.MustCompile("(?m)^ +.*$").ReplaceAllString(text, "")
	return regexp.MustCompile("`[^`]*`").ReplaceAllString(text, "")
}

// TestHelpWidth: running text and tables keep to 80 columns; code may be wider.
func TestHelpWidth(t *testing.T) {
	for _, c := range chapters() {
		for _, line := range strings.Split(c.text(), "\n") {
			if len([]rune(line)) > plaintext.Width && !strings.HasPrefix(line, "    ") {
				t.Errorf("taut help %s: %d columns: %s", c.name, len([]rune(line)), line)
			}
		}
	}
}

// TestManualFindings: every slug has an entry, and the example of each gives
// the finding.
func TestManualFindings(t *testing.T) {
	slugs := allSlugs(t)
	if len(slugs) < 120 {
		t.Errorf("only %d slugs were found", len(slugs))
	}
	lacks(t, "findings", slugs)
	examples := 0
	c := chapterNamed(t, "findings")
	for _, section := range strings.Split(string(c.file.Text), "\n## `")[1:] {
		slug, rest, _ := strings.Cut(section, "`")
		for _, example := range fences(rest, "markdown") {
			examples++
			path := filepath.Join(t.TempDir(), "r.md")
			if err := os.WriteFile(path, []byte(example), 0o666); err != nil {
				t.Fatal(err)
			}
			out, err := build.Record(path, options(nil))
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(out.Findings, func(f *finding.Finding) bool { return f.Slug == slug }) {
				t.Errorf("the example of `%s` does not give it, but %v\n%s", slug, out.Findings, example)
			}
		}
	}
	if examples < 100 {
		t.Errorf("only %d examples were found", examples)
	}
}

// fences are the bodies of the fences of four backticks of a kind.
func fences(text, kind string) []string {
	var out []string
	for _, s := range strings.Split(text, "\n````"+kind+"\n")[1:] {
		body, _, _ := strings.Cut(s, "\n````\n")
		out = append(out, body+"\n")
	}
	return out
}

// TestManualFunctions: every function has an entry with an example that is
// computed, and the entry shows how it is written.
func TestManualFunctions(t *testing.T) {
	var names []string
	have := headings(t, "functions")
	c := chapterNamed(t, "functions")
	body := c.shown().Body
	sections := plaintext.Sections(body.Doc)
	check := func(f eval.Function, computed bool) {
		names = append(names, f.Name)
		e, ok := have[f.Name]
		if !ok {
			return // lacks tells
		}
		for _, usage := range strings.Split(f.Usage, " or ") {
			if !slices.Contains(sections[e.section].Codes, usage) {
				t.Errorf("the heading of `%s` does not hold `%s`", f.Name, usage)
			}
		}
		if source := c.sectionText(f.Name); computed && !strings.Contains(source, "=[") {
			t.Errorf("the entry of `%s` computes no example", f.Name)
		}
	}
	for _, f := range eval.Functions() {
		check(f, f.Name != "given") // that one has a meaning in methods only
	}
	for _, f := range method.SimulationFunctions() {
		check(f, false)
	}
	lacks(t, "functions", names)
}

// sectionText is the source of the section of a word.
func (c *chapter) sectionText(word string) string {
	for _, s := range regexp.MustCompile("(?m)^#+ ").Split(string(c.file.Text), -1)[1:] {
		head, _, _ := strings.Cut(s, "\n")
		for _, m := range regexp.MustCompile("`([^`]*)`").FindAllStringSubmatch(head, -1) {
			if wordOf(m[1]) == word {
				return s
			}
		}
	}
	return ""
}

// TestManualKinds: every kind has an entry, and in its tables every option and
// key that the program knows; what an entry shows as source stands there live
// too.
func TestManualKinds(t *testing.T) {
	var names []string
	c := chapterNamed(t, "kinds")
	for _, k := range blocks.All() {
		info := k.Info()
		names = append(names, info.Name)
		rows := rowsOf(c.sectionText(info.Name))
		want := append([]string(nil), info.Options...)
		for _, keys := range info.Keys {
			want = append(want, keys.Names...)
		}
		for _, key := range want {
			if !slices.Contains(rows, key) {
				t.Errorf("the entry of `%s` has no row for `%s`", info.Name, key)
			}
		}
		for _, row := range rows {
			if !slices.Contains(want, row) && len(want) > 0 && !strings.HasPrefix(row, ".") {
				t.Errorf("the entry of `%s` has a row `%s`, which is none of its keys", info.Name, row)
			}
		}
	}
	lacks(t, "kinds", names)
	if n := c.showsLive(t); n < 8 {
		t.Errorf("only %d examples", n)
	}
}

// showsLive holds that what a chapter shows as source stands in it live too, and
// counts it.
func (c *chapter) showsLive(t *testing.T) int {
	t.Helper()
	text := string(c.file.Text)
	shown := fences(text, "markdown")
	for _, s := range shown {
		if strings.Count(text, s) < 2 {
			t.Errorf("%s: this is shown and does not stand in the chapter as it is shown:\n%s", c.name, s)
		}
	}
	return len(shown)
}

// rowsOf lists the words that begin the rows of tables.
func rowsOf(text string) []string {
	var out []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(text, -1) {
		out = append(out, wordOf(m[1]))
	}
	return out
}

// TestManualLanguage: every key of the front matter and of every head has a
// row.
func TestManualLanguage(t *testing.T) {
	c := chapterNamed(t, "language")
	rows := rowsOf(string(c.file.Text))
	if c.showsLive(t) == 0 {
		t.Error("no example is shown")
	}
	for _, key := range append(build.FrontKeys(blocks.All()), "print") {
		if !slices.Contains(rows, key) {
			t.Errorf("the chapter on the language has no row for `%s`", key)
		}
	}
}

// TestManualFirstRecord follows the chapter on the first record minute by
// minute, as a newcomer would, and compares what it promises.
func TestManualFirstRecord(t *testing.T) {
	text := string(chapterNamed(t, "first-record").file.Text)
	pieces := fences(text, "markdown")
	var promised []string
	for _, s := range strings.Split(text, "\n```text\n")[1:] {
		promise, _, _ := strings.Cut(s, "\n```\n")
		promised = append(promised, promise)
	}
	if len(pieces) != 5 || len(promised) != 3 {
		t.Fatalf("%d pieces, %d promises", len(pieces), len(promised))
	}
	t.Chdir(t.TempDir())
	built := func(record string, code int) (page, out string) {
		t.Helper()
		var o, e strings.Builder
		if err := os.WriteFile("wire.md", []byte(record), 0o666); err != nil {
			t.Fatal(err)
		}
		if got := run([]string{"build", "wire.md"}, strings.NewReader(""), &o, &e); got != code {
			t.Fatalf("exit code %d: %s", got, e.String())
		}
		html, err := os.ReadFile("wire.html")
		if err != nil {
			t.Fatal(err)
		}
		return pageText(html), e.String()
	}
	record := pieces[0]
	built(record, exitOK)
	record += "\n" + pieces[1]
	page, said := built(record, exitOK)
	if !strings.Contains(page, promised[0]) || !strings.Contains(said, "note: no-instrument") {
		t.Errorf("minute 2: the page does not say %q, or there is no note: %s", promised[0], said)
	}
	record = strings.Replace(record, "load / kg, up / mm\n", "load / kg, up / mm @screw\n", 1)
	record = strings.Replace(record, "```data pull", pieces[2]+"\n```data pull", 1)
	if _, said = built(record, exitOK); said != "" {
		t.Errorf("minute 3: %s", said)
	}
	record += "\n" + pieces[3]
	if page, _ = built(record, exitOK); !strings.Contains(page, promised[1]) {
		t.Errorf("minute 4: the page does not say %q", promised[1])
	}
	record += "\n" + pieces[4]
	if _, said = built(record, exitOK); said != "" {
		t.Errorf("minute 5: %s", said)
	}
	if _, said = built(strings.Replace(record, "line.slope)", "slope)", 1), exitErrors); !strings.Contains(squeezed(said), squeezed(promised[2])) {
		t.Errorf("the mistake gives %s", said)
	}
}

// TestManualCommandLines: every command line that a chapter shows has a command
// and options that there are.
func TestManualCommandLines(t *testing.T) {
	n := 0
	for _, c := range chapters() {
		for _, s := range strings.Split(string(c.file.Text), "\n```sh\n")[1:] {
			body, _, _ := strings.Cut(s, "\n```\n")
			for _, line := range strings.Split(body, "\n") {
				line, _, _ = strings.Cut(line, " #")
				words := regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1)
				if len(words) < 2 || words[0] != "taut" {
					continue
				}
				n++
				command := commands[words[1]]
				if command == nil {
					t.Errorf("%s: there is no command in %q", c.name, line)
					continue
				}
				f := newFlags()
				command.setup(f)
				if err := f.set.Parse(words[2:]); err != nil {
					t.Errorf("%s: %q: %v", c.name, line, f.usageOf(err))
				}
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d command lines", n)
	}
}
