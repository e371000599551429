package blocks_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// tiny is a method of a few lines, in a folder of the author's own.
const tiny = `---
method: tiny
title: A tiny method
version: 1
results: out, twice
---
~~~roles
role,   takes,    unit, absent
length, readings, m,    –
extra,  quantity, m,    optional
shift,  quantity, m,    2 m
pull,   columns,  kg,   optional
~~~
## results
~~~calc
L     = mean(length)
out   = L + shift
twice = 2 * out
~~~
~~~calc needs=extra
sum = out + extra
~~~
~~~calc lacks=extra
sum = out
~~~
~~~calc needs=pull_2
gap = mean(pull_2 - pull_1)
~~~
## checks
~~~checks
long: out > 10 m | caution | it is =[out]
heavy: given(pull) and out > 0 m | note | pulled
~~~
~~~checks needs=pull
row_by_row: pull > 3 kg | note | row =[row] has =[pull]
~~~
`

func tinyFiles(record string) files {
	return files{"record.md": strings.ReplaceAll(record, "~~~", "```"), "tiny.md": strings.ReplaceAll(tiny, "~~~", "```")}
}

// TestMethodScope binds one method twice, in a record that has its names too.
func TestMethodScope(t *testing.T) {
	w := tinyFiles(`
~~~calc
L      = 100 m
length = 3 m
out    = first.out + second.out
both   = first.L + L
~~~
~~~practical first method=./tiny.md
length = length
~~~
~~~practical second method=./tiny.md
length = L / 20
shift  = 1 m
extra  = 0.5 m
~~~
`).build(t)
	for name, want := range map[string]float64{
		"first.out": 5, "first.twice": 10, "first.sum": 5, "second.out": 6, "second.sum": 6.5, "out": 11, "both": 103,
	} {
		w.near(name, want, 1e-15)
	}
}

// TestMethodInside looks for names of a method from outside and the other way
// round.
func TestMethodInside(t *testing.T) {
	w := buildAnyway(t, tinyFiles(`
~~~calc
inner = shift
~~~
~~~practical p method=./tiny.md
length = 2 m
shift  = twice
~~~
`).write(t), 1)
	if got := fmt.Sprint(w.slugs(finding.Error)); got != "[undefined undefined]" {
		t.Errorf("the findings are %s", got)
	}
}

// TestMethodFindings holds findings of a method to their places: the binding
// in the record or the cell first, then the line in the method.
func TestMethodFindings(t *testing.T) {
	w := tinyFiles(`
~~~data d
m / kg
1
4
~~~
~~~practical p method=./tiny.md
length = 20 m
pull   = d.m
~~~
`).build(t)
	var got []string
	for _, f := range w.Findings {
		line, _ := f.At.Position()
		text := fmt.Sprintf("%s:%d %s %q", f.At.File.Name, line, f.Slug, f.Message)
		text = filepath.Base(text[:strings.Index(text, " ")]) + text[strings.Index(text, " "):]
		for _, p := range f.Also {
			line, _ := p.At.Position()
			text += fmt.Sprintf(" < %s:%d", filepath.Base(p.At.File.Name), line)
		}
		got = append(got, text)
	}
	want := strings.Join([]string{
		`record.md:5 row_by_row "row 2 has 4 kg" < tiny.md:35`,
		`record.md:7 long "it is 22 m" < tiny.md:31`,
		`record.md:7 heavy "pulled" < tiny.md:32`,
	}, "\n")
	if s := strings.Join(got, "\n"); s != want {
		t.Errorf("the findings are\n%s\nnot\n%s", s, want)
	}
}

// TestMethodUnread binds what is not yet read: all that depends on it waits
// and nothing is wrong.
func TestMethodUnread(t *testing.T) {
	w := tinyFiles(`
~~~data d
l / m, m / kg, n / kg
–,     –,      –
–,     –,      –
~~~
~~~calc
e = –   in m | to be measured
~~~
~~~practical p method=./tiny.md
length = d.l
pull   = d.m, d.n
extra  = e
shift  = –
~~~
Of =[p.out] and =[e].
`).build(t)
	for _, f := range w.Findings {
		if f.Severity > finding.Note {
			t.Errorf("%s", f)
		}
	}
	if _, there := w.Results.Values["p.out"]; there {
		t.Error("what was not read has a value")
	}
	w.says("not yet read: d.l", "not yet read: e")
}

// TestMethodAbsent shows nothing of the blocks that are not there.
func TestMethodAbsent(t *testing.T) {
	w := tinyFiles("~~~practical p method=./tiny.md\nlength = 2 m\n~~~\n").build(t)
	if s := w.text(); strings.Contains(s, "needs=") || strings.Contains(s, "lacks=") {
		t.Error("the page shows a block that is not there")
	}
}

// TestMethodSettled breaks a method where this record does not bind: the
// finding is made for all bindings at once.
func TestMethodSettled(t *testing.T) {
	record := "~~~practical p method=./tiny.md\nlength = 2 m\n~~~\n"
	for _, c := range []struct{ old, new, want string }{
		{"sum = out + extra", "sum = out * extra + out", "[unit-clash]"},
		{"gap = mean(pull_2 - pull_1)", "gap = mean(pull_2 - length)", "[unit-clash]"},
		{"gap = mean(pull_2 - pull_1)", "gap = mena(pull_2)", "[unknown-function]"},
		{"gap = mean(pull_2 - pull_1)", "gap = sum * extra", "[not-covered]"},
		{"calc lacks=extra", "calc lacks=pull", "[defined-twice]"},
		{"calc lacks=extra", "calc lacks=exta", "[defined-twice unknown-role]"},
		{"needs=pull_2", "needs=shift_2", "[not-covered not-covered unknown-role]"},
		{"results: out, twice", "results: out, thrice", "[undefined]"},
		{"shift,  quantity, m,    2 m", "shift,  quantity, m,    2 kg", "[bad-role]"},
		{"long: out > 10 m", "long: sum > 10 m", "[]"},
		{"long: out > 10 m", "long: extra > 10 m", "[not-covered]"},
		{"row =[row] has", "row =[row in m] has", "[unit-clash]"},
		{"## checks", "## results", "[defined-twice]"},
	} {
		f := tinyFiles(record)
		n := strings.Count(f["tiny.md"], c.old)
		f["tiny.md"] = strings.Replace(f["tiny.md"], c.old, c.new, 1)
		w := buildAnyway(t, f.write(t), 1)
		if got := fmt.Sprint(w.slugs(finding.Error)); got != c.want || n == 0 {
			t.Errorf("%s: the findings are %s, not %s", c.new, got, c.want)
			for _, f := range w.Findings {
				t.Log(f)
			}
		}
	}
}

// TestBuiltInMethods holds every built-in method to what must be so however
// its roles are bound.
func TestBuiltInMethods(t *testing.T) {
	names, err := filepath.Glob("methods/*.md")
	if err != nil || len(names) == 0 {
		t.Fatalf("no methods: %v", err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		w := buildAnyway(t, files{"record.md": "```practical p method=./m.md\n```\n", "m.md": string(text)}.write(t), 1)
		for _, f := range w.Findings {
			if f.Severity == finding.Error && f.Slug != "unbound-role" {
				t.Errorf("%s: %s", name, f)
			}
		}
	}
}
