package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

// TestExamples builds every example: none has an error, and a second build
// with warm caches gives the same bytes.
func TestExamples(t *testing.T) {
	list, err := build.Records(filepath.FromSlash("../../examples"))
	if err != nil {
		t.Fatal(err)
	}
	if len(list) == 0 {
		t.Fatal("there are no examples")
	}
	o := options(nil)
	for _, path := range list {
		first, err := build.Record(path, o)
		if err != nil {
			t.Error(err)
			continue
		}
		for _, f := range first.Findings {
			if f.Severity == finding.Error {
				t.Error(f)
			}
		}
		second, err := build.Record(path, o)
		if err != nil || !bytes.Equal(first.HTML, second.HTML) {
			t.Errorf("%s: the second build differs: %v", path, err)
		}
	}
}

// TestStatementsEndTheirSentence: a full statement is a clause with clauses of
// its own, and what follows it in a sentence would hang in the air.
func TestStatementsEndTheirSentence(t *testing.T) {
	n := 0
	for _, path := range examplePaths(t) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile("[^`]=\\[[^\\]\n]* as statement\\]( \\||.?)").FindAllSubmatch(text, -1) {
			n++
			if after := string(m[1]); after != "." && after != " |" {
				t.Errorf("%s: %s does not end its sentence", path, m[0])
			}
		}
	}
	if n == 0 {
		t.Error("no example holds a statement")
	}
}
