package blocks_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// errorsOf are the errors of a built record, each with its line.
func errorsOf(w *whole) (out []string) {
	for _, f := range w.Findings {
		if f.Severity == finding.Error {
			line, _ := f.At.Position()
			out = append(out, fmt.Sprintf("%s line %d: %s: %s", filepath.Base(f.At.File.Name), line, f.Slug, f.Message))
		}
	}
	return out
}

// TestOneLoad: the readings of an example cut to one row, or all taken at one
// load, are one fault, told once where the record binds the loads.
func TestOneLoad(t *testing.T) {
	for name, file := range map[string]string{
		"spring-static": "pull.csv", "cantilever-load": "bend.csv", "steel-wire": "pull.csv", "beam-central-load": "sag.csv",
		"beam-uniform-bending": "rise.csv", "static-torsion": "twist.csv", "spring-oscillation": "swing.csv", "cantilever-vibration": "swing.csv",
	} {
		example := readFolder(t, "../examples/"+name)
		example["record.md"] = strings.Replace(example["record.md"], "\n~3 #", "\n# 3", 1) // the row that the wire has struck
		head, rows, _ := strings.Cut(example[file], "\n")
		lines := strings.Split(strings.TrimSpace(rows), "\n")
		if name == "steel-wire" { // with times, of which one makes no step either
			head += ", time / s"
			for i := range lines {
				lines[i] += fmt.Sprintf(", %d", 120*i)
			}
			example["record.md"] = strings.Replace(example["record.md"], "\nload      = pull.load\n", "\nload      = pull.load\ntime = pull.time\n", 1)
			example["record.md"] = strings.Replace(example["record.md"], "screw_down / mm\n", "screw_down / mm\ntime / s = time / s\n", 1)
		}
		load, _, _ := strings.Cut(lines[0], ",")
		one := head + "\n" + lines[0] + "\n"
		all := head + "\n"
		for _, l := range lines {
			_, rest, _ := strings.Cut(l, ",")
			all += load + "," + rest + "\n"
		}
		for text, want := range map[string]string{one: "no-fit: `load` has a single value here", all: fmt.Sprintf("no-fit: all %d values of `load` are equal here", len(lines))} {
			example[file] = text
			w := buildAnyway(t, example.write(t), 1)
			got := errorsOf(w)
			if len(got) != 1 || !strings.HasPrefix(got[0], "record.md line ") || !strings.Contains(got[0], want) {
				t.Errorf("%s: %d errors, not one `%s`\n%s", name, len(got), want, strings.Join(got, "\n"))
			}
		}
	}
}

// TestOneValueOfOwnMethod: it takes a line with a slope and an intercept to need
// two values; what is struck is none.
func TestOneValueOfOwnMethod(t *testing.T) {
	const text = "```data pull\nload / kg, up / mm\n%s```\n```practical own method=./own.md\nload = pull.load\nup = pull.up\n```\n"
	const own = "---\nmethod: own\ntitle: Own\nversion: 1\nresults: slope\n---\n```roles\n| role | takes | unit | absent | what |\n| --- | --- | --- | --- | --- |\n" +
		"| load | column | kg | – | |\n| up | column | m | – | |\n```\n## results\n```calc\neach = load\n```\n```fit line\ny: up\nx: each\n%s```\n```calc\nslope = line.slope\n```\n"
	for _, c := range []struct {
		rows, model string
		errors      int
	}{
		{"1, 1.1\n2, 1.9\n3, 3.0\n", "", 0},
		{"1, 1.1\n1, 1.2\n1, 1.0\n", "", 1},
		{"1, 1.1\n~2, 1.9 # slipped\n1, 1.0\n", "", 1},
		{"1, 1.1\n1, 1.2\n1, 1.0\n", "model: proportional\n", 0},
	} {
		got := errorsOf(buildAnyway(t, files{"record.md": fmt.Sprintf(text, c.rows), "own.md": fmt.Sprintf(own, c.model)}.write(t), 1))
		if len(got) != c.errors || c.errors > 0 && !strings.HasPrefix(got[0], "record.md line 8: no-fit:") {
			t.Errorf("%q %q: %v", c.rows, c.model, got)
		}
	}
}
