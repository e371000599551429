package main

import (
	"bytes"
	"path/filepath"
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
