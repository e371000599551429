package method_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

var update = flag.Bool("update", false, "rewrite the expected outputs of this package's tests")

// golden compares a text with that of a file.
func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s is not what came out:\n%s", path, got)
	}
}

// TestFaulty reads and simulates method files with faults in them and compares
// what is said with what is expected of each line.
func TestFaulty(t *testing.T) {
	files, err := filepath.Glob("testdata/faulty/*.md")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var set finding.Set
		m := method.Read(source.NewFile(filepath.Base(path), text), kinds, &set)
		_, findings := m.Simulate(1, nil, false)
		for _, f := range findings {
			set.Add(f)
		}
		var b strings.Builder
		for _, f := range set.Sorted() {
			fmt.Fprintln(&b, f)
			for _, p := range f.Also {
				line, col := p.At.Position()
				fmt.Fprintf(&b, "  %d:%d: %s\n", line, col, p.What)
			}
		}
		golden(t, strings.TrimSuffix(path, ".md")+".findings", b.String())
	}
}

// TestScaffold lays out records of a method, unread and simulated.
func TestScaffold(t *testing.T) {
	m := parse(t, head+springs+scaffold)
	golden(t, "testdata/scaffold-unread.txt", archive(m.Scaffold("spring", nil)))
	golden(t, "testdata/scaffold-filled.txt", archive(m.Scaffold("./spring.md", simulate(t, m, 2, nil, false))))
	golden(t, "testdata/scaffold-planned.txt", archive(m.Scaffold("spring", simulate(t, m, 2, nil, true))))
	bare := parse(t, head)
	golden(t, "testdata/scaffold-bare.txt", archive(bare.Scaffold("spring", nil)))
}

const scaffold = `## theory
The spring obeys.
## results
It is stiff.
## questions
Why?
## scaffold
# Aim
To find $k$ by =[spring.k].

# Conclusion
`

// archive writes files one after the other, by name.
func archive(files map[string]string) string {
	var names []string
	for n := range files {
		names = append(names, n)
	}
	slices.Sort(names)
	var b strings.Builder
	for _, n := range names {
		fmt.Fprintf(&b, "-- %s --\n%s", n, files[n])
	}
	return b.String()
}

// TestScaffoldApart takes blocks and inline values of the scaffold for the
// record's own, not for the method's.
func TestScaffoldApart(t *testing.T) {
	m := parse(t, head+"## results\nIt is =[k].\n## scaffold\n# Aim\nIt is =[spring.k].\n~~~calc\na = 1\n~~~\n")
	if len(m.Record.Inlines) != 1 {
		t.Errorf("the method has %d inline values", len(m.Record.Inlines))
	}
	for _, b := range m.Record.Blocks {
		if b.Kind == "calc" {
			t.Error("the method has a calc of its scaffold")
		}
	}
}
