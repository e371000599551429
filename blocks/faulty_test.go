package blocks_test

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

var update = flag.Bool("update", false, "rewrite the golden files of this package")

const faultyDir = "../testdata/faulty"

// expectation is a finding that a case announces.
//
// On the offending line it reads, in a comment of the line's own form,
//
//	#: SEVERITY SLUG TEXT
//
// where TEXT, which may be left out, is what the finding points at begins with.
// Several may follow each other. Where the line has no room for a comment, the
// case announces it anywhere else, mostly at its end, with
//
//	#@ [FILE:]LINE: SEVERITY SLUG TEXT
type expectation struct {
	file     string
	line     int
	severity string
	slug     string
	text     string
}

var (
	onLine    = regexp.MustCompile(`#: (error|caution|note) ([\w-]+)(?: (.*?))?\s*(?:-->|$)`)
	elsewhere = regexp.MustCompile(`^#@ (?:([\w.-]+):)?(\d+): (error|caution|note) ([\w-]+)(?: (.*))?$`)
)

func expectations(name, text string) []expectation {
	var out []expectation
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimRight(line, "\r")
		if m := elsewhere.FindStringSubmatch(line); m != nil {
			n, _ := strconv.Atoi(m[2])
			e := expectation{m[1], n, m[3], m[4], m[5]}
			if e.file == "" {
				e.file = name
			}
			out = append(out, e)
			continue
		}
		parts := strings.Split(line, "#: ")
		for _, p := range parts[1:] {
			if m := onLine.FindStringSubmatch("#: " + strings.TrimRight(strings.TrimSuffix(strings.TrimSpace(p), "<!--"), " ")); m != nil {
				out = append(out, expectation{name, i + 1, m[1], m[2], m[3]})
			}
		}
	}
	return out
}

// check compares the findings of a case with what it announces.
func check(t *testing.T, want []expectation, got []*finding.Finding) {
	t.Helper()
	left := slices.Clone(want)
	for _, f := range got {
		line, _ := f.At.Position()
		file := ""
		if f.At.File != nil {
			file = filepath.Base(f.At.File.Name)
		}
		i := slices.IndexFunc(left, func(e expectation) bool {
			return e.file == file && e.line == line && e.severity == f.Severity.String() && e.slug == f.Slug && strings.HasPrefix(f.At.File.Line(line)[f.At.Start-f.At.File.LineStart(line):], e.text)
		})
		if i < 0 {
			t.Errorf("not announced: %s", f)
			continue
		}
		left = slices.Delete(left, i, i+1)
	}
	for _, e := range left {
		t.Errorf("no such finding: %s:%d: %s %s %s", e.file, e.line, e.severity, e.slug, e.text)
	}
}

// keeps is the last paragraph of each case: whatever is wrong above it, it
// must be computed.
const keeps = "Kept: =[6 * 7 m]."

// TestFaulty builds each record of testdata/faulty, and those that are too
// long to be written down. Every finding must be announced in the case, by
// line, severity, slug and column; findings.txt holds them as a terminal shows
// them. Every finding must stand on the page, and what is right be computed.
func TestFaulty(t *testing.T) {
	paths, err := filepath.Glob(faultyDir + "/*.md")
	if err != nil || len(paths) == 0 {
		t.Fatal("no cases", err)
	}
	seen := map[string]bool{}
	var golden bytes.Buffer
	golden.WriteString("The findings of each case, as a terminal shows them. See blocks/faulty_test.go.\n")
	for _, p := range paths {
		if strings.HasPrefix(filepath.Base(p), "method-") {
			continue // a method of a case
		}
		text, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		want := expectations(filepath.Base(p), string(text))
		for _, beside := range []string{".csv", ".yaml"} {
			file := strings.TrimSuffix(p, ".md") + beside
			if data, err := os.ReadFile(file); err == nil {
				want = append(want, expectations(filepath.Base(file), string(data))...)
			}
		}
		faultyCase(t, p, string(text), want, seen, &golden)
	}
	for _, c := range generated() {
		p := filepath.Join(t.TempDir(), c.name)
		if err := os.WriteFile(p, []byte(c.text), 0o666); err != nil {
			t.Fatal(err)
		}
		faultyCase(t, p, c.text, c.want, seen, &golden)
	}
	file := faultyDir + "/findings.txt"
	if *update {
		if err := os.WriteFile(file, golden.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	have, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	sameLines(t, file, string(have), golden.String())
	t.Run("slugs", func(t *testing.T) { everySlug(t, seen) })
}

func faultyCase(t *testing.T, path, text string, want []expectation, seen map[string]bool, golden *bytes.Buffer) {
	name := filepath.Base(path)
	t.Run(strings.TrimSuffix(name, ".md"), func(t *testing.T) {
		out, err := build.Record(path, build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Version: "test"})
		fmt.Fprintf(golden, "\n== %s\n", name)
		var read *build.ReadError
		if errors.As(err, &read) {
			fmt.Fprintln(golden, strings.ReplaceAll(err.Error(), filepath.ToSlash(path), name))
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.ToSlash(filepath.Dir(path)) + "/"
		var list bytes.Buffer
		if err := finding.WriteText(&list, out.Findings); err != nil {
			t.Fatal(err)
		}
		golden.WriteString(strings.ReplaceAll(list.String(), dir, ""))
		check(t, want, out.Findings)
		page := html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(string(out.HTML), ""))
		page = strings.Join(strings.Fields(page), " ")
		for _, f := range out.Findings {
			seen[f.Slug] = true
			plain := strings.Join(strings.Fields(f.Message), " ")
			_, n := utf8.DecodeRuneInString(plain)
			plain = plain[n:] // on the page a sentence begins with a capital letter
			if !strings.Contains(page, strings.ReplaceAll(plain, "`", "")) && !strings.Contains(page, plain) {
				t.Errorf("the page lacks the message %q", f.Message)
			}
		}
		if strings.Contains(text, keeps) && !strings.Contains(strings.ReplaceAll(page, "\u00a0", " "), "Kept: 42 m.") {
			t.Error("what is right was not computed")
		}
	})
}

func sameLines(t *testing.T, file, want, got string) {
	t.Helper()
	a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(a), len(b)) {
		x, y := "(end)", "(end)"
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if x != y {
			t.Errorf("%s:%d\nwant %s\n got %s", file, i+1, x, y)
			return
		}
	}
}

// generatedCase is a record that is too long to be written down.
type generatedCase struct {
	name, text string
	want       []expectation
}

func generated() []generatedCase {
	end := "\n" + keeps + "\n"
	one := func(name, text string, line int, severity, slug string) generatedCase {
		return generatedCase{name, text + end, []expectation{{name, line, severity, slug, ""}}}
	}
	brackets := strings.Repeat("(", 4000) + "1" + strings.Repeat(")", 4000)
	aliases := "```fit f\nx: 1\ny: [&y0 [a, b]"
	for i := 1; i < 60; i++ {
		aliases += fmt.Sprintf(", &y%d [*y%d, *y%d, *y%d]", i, i-1, i-1, i-1)
	}
	bomb := generatedCase{name: "alias-bomb.md", text: aliases + "]\n```\n" + end}
	bomb.want = []expectation{{bomb.name, 3, "error", "bad-settings", "*y0"}, {bomb.name, 3, "error", "bad-value", "[a"}}
	var rows strings.Builder
	for i := range 30 {
		fmt.Fprintf(&rows, "%d, 1, 2\n", i)
	}
	ragged := generatedCase{name: "ragged-rows.md", text: "```data t\na, b\n" + rows.String() + "```\n" + end}
	for i := range 10 {
		ragged.want = append(ragged.want, expectation{ragged.name, i + 3, "error", "ragged-row", ""})
	}
	ragged.want = append(ragged.want, expectation{ragged.name, 1, "error", "more-faults", "t"})
	return []generatedCase{
		one("deep-brackets.md", "```calc\nx = "+brackets+"\n```\n", 2, "error", "nesting"),
		one("long-formula.md", "```calc\nx = 1"+strings.Repeat(" + 1", 3000)+"\n```\n", 2, "error", "length"),
		one("deep-settings.md", "```instruments\ntape:\n  resolution: 1 mm\n  zero: "+strings.Repeat("[", 60)+strings.Repeat("]", 60)+"\n```\n", 4, "error", "too-large"),
		bomb, ragged,
		{"empty.md", "\n\n", []expectation{{"empty.md", 1, "caution", "empty-record", ""}}},
	}
}

// elsewhereTested are the slugs that no record can bring about.
var elsewhereTested = map[string]string{
	"bad-constant":  "only a table of materials has it: TestBadConstants",
	"no-trials":     "a budget checks the number of trials when it is read; what is left are faults of the engine",
	"bad-qualifier": "the second line of defence behind engine/formula",
}

// everySlug holds that each finding of these packages has a case here, or is
// named in a test of its own package: what is wrong with a simulation is found
// when a method is simulated, not when a record is built.
func everySlug(t *testing.T, seen map[string]bool) {
	n := 0
	for _, dir := range []string{"../engine/record", "../engine/graph", "../engine/eval", "../engine/block", "../engine/method", "../engine/build", "."} {
		for slug, at := range slugsOf(t, dir) {
			n++
			if !seen[slug] && elsewhereTested[slug] == "" && !namedInTests(t, dir, slug) {
				t.Errorf("%s: no case makes the finding %s", at, slug)
			}
		}
	}
	if n < 60 {
		t.Errorf("only %d slugs were found", n)
	}
}

// namedInTests reports whether a test of a package, or a golden of its faulty
// cases, names a slug.
func namedInTests(t *testing.T, dir, slug string) bool {
	tests, err := filepath.Glob(dir + "/*_test.go")
	if err != nil {
		t.Fatal(err)
	}
	goldens, err := filepath.Glob(dir + "/testdata/faulty/*.findings")
	if err != nil {
		t.Fatal(err)
	}
	scripts, err := filepath.Glob("../testdata/script/*.txtar") // commands, with their whole output
	if err != nil {
		t.Fatal(err)
	}
	tests = append(append(tests, goldens...), scripts...)
	for _, file := range tests {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if (dir != "." || strings.HasSuffix(file, ".txtar")) && bytes.Contains(text, []byte(slug)) {
			return true
		}
	}
	return false
}

// slugsOf lists the slugs that a package can make: strings behind `Slug:` and
// the second argument of the functions that make findings.
func slugsOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	fset := token.NewFileSet()
	files, err := filepath.Glob(dir + "/*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(fset, file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		add := func(e ast.Expr) {
			if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
				if s, err := strconv.Unquote(l.Value); err == nil {
					out[s] = fset.Position(l.Pos()).String()
				}
			}
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.KeyValueExpr:
				if k, ok := n.Key.(*ast.Ident); ok && k.Name == "Slug" {
					add(n.Value)
				}
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.Ident:
					name = f.Name
				case *ast.SelectorExpr:
					name = f.Sel.Name
				}
				if slices.Contains([]string{"errorAt", "cautionAt", "noteAt", "Fail"}, name) && len(n.Args) > 2 {
					add(n.Args[1])
				}
			}
			return true
		})
	}
	return out
}

// TestBadConstants holds what a table of materials may not say.
func TestBadConstants(t *testing.T) {
	for _, c := range []struct{ text, slug string }{
		{"steel, E, 3 GPa", "bad-constant"},
		{"steel wire, E, 3 GPa, a book", "bad-constant"},
		{"steel, E, 3 GPa, ", "bad-constant"},
		{"steel, E, 3 GPz, a book", "unknown-unit"},
		{"steel, E, , a book", "expression-missing"},
		{"steel, E, 3 GPa, a book\nsteel, E, 4 GPa, a book", "bad-constant"},
	} {
		var set finding.Set
		method.ReadMaterials([]*source.File{source.NewFile("m.csv", []byte("material, constant, value, from\n"+c.text+"\n"))}, &set)
		var got []string
		for _, f := range set.Sorted() {
			got = append(got, f.Slug)
		}
		sort.Strings(got)
		if strings.Join(got, " ") != c.slug {
			t.Errorf("%q gives %v, want %s", c.text, got, c.slug)
		}
	}
}
