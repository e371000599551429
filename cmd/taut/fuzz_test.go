package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"example.org/taut/engine/build"
)

var manyTrials = regexp.MustCompile(`trials\D{0,5}[\d_]{5,}`)

// FuzzBuild feeds anything as a record to all that is built in: there is a
// page and a results file, or an error that says why there is none, and the
// same bytes at the second time.
func FuzzBuild(f *testing.F) {
	for _, pattern := range []string{"../../examples/*/*.md", "../../blocks/methods/*.md"} {
		list, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, p := range list {
			text, err := os.ReadFile(p)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
		}
	}
	f.Add([]byte("```data d\nx / m, y / kg @s\n1, 2.0\n~3, 4 # no\n–, 5\n```\n```calc\na = mean(d.x) in mm\n```\n```fit l\ny: d.y\nx: d.x\n```\n```plot p\nfit: l\nshow: points line limits triangle residuals\n```\n=[l.slope as statement] ?[a = 2 m]"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, text []byte) {
		if manyTrials.Match(text) {
			return // slow, and no other than few
		}
		path := filepath.Join(dir, "r.md")
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		first, err := build.Record(path, options(nil))
		if err != nil {
			var r *build.ReadError
			var m *build.MethodError
			if !errors.As(err, &r) && !errors.As(err, &m) {
				t.Fatalf("%v", err)
			}
			return
		}
		second, err := build.Record(path, options(nil))
		if err != nil || !bytes.Equal(first.HTML, second.HTML) {
			t.Fatalf("the second build differs: %v", err)
		}
		a, err := first.Results.Bytes()
		b, err2 := second.Results.Bytes()
		if err != nil || err2 != nil || !bytes.Equal(a, b) {
			t.Fatalf("the second results file differs: %v, %v", err, err2)
		}
	})
}
