package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plan"
	"example.org/taut/engine/variant"
)

// TestOwnMethod holds the manual's chapter on writing a method to its word: its
// pieces are the method file, `taut check` finds nothing in that, the record
// that takes it builds without findings, and a plan can be made.
func TestOwnMethod(t *testing.T) {
	dir := filepath.FromSlash("../../examples/manual/own-method")
	chapter, err := os.ReadFile(filepath.Join(dir, "record.md"))
	if err != nil {
		t.Fatal(err)
	}
	var pieces []string
	for _, s := range strings.Split(string(chapter), "\n````markdown\n")[1:] {
		piece, _, ended := strings.Cut(s, "\n````\n")
		if !ended {
			t.Fatalf("a piece has no end: %s", s)
		}
		pieces = append(pieces, piece)
	}
	if len(pieces) < 3 {
		t.Fatalf("%d pieces", len(pieces))
	}
	last := len(pieces) - 1 // that one is of the record
	path := filepath.Join(dir, "my-method.md")
	file, err := build.MethodFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(pieces[:last], "\n\n") + "\n"; got != string(file.Text) {
		t.Errorf("the chapter's pieces are not my-method.md:\n%s", got)
	}
	record, err := os.ReadFile(filepath.Join(dir, "cord.md"))
	if err != nil || !strings.Contains(string(record), pieces[last]) {
		t.Errorf("the record does not hold the last piece: %v", err)
	}

	var set finding.Set
	m := method.Read(file, block.KindNames(blocks.All()), &set)
	r := variant.Check(m, blocks.Built(), blocks.All())
	if r.Clean != variant.CleanSeeds || r.Faults != 1 {
		t.Errorf("%d clean simulations, %d faults", r.Clean, r.Faults)
	}
	out, err := build.Record(filepath.Join(dir, "cord.md"), options(nil))
	if err != nil {
		t.Fatal(err)
	}
	p := plan.Make(m, nil, blocks.Built(), blocks.All(), plan.Options{Coverage: 0.95})
	for _, f := range append(append(append(set.Sorted(), r.Findings...), out.Findings...), p.Findings...) {
		t.Error(f)
	}
	if p.Of == nil || !(p.Of.U > 0) {
		t.Error("the plan expects nothing")
	}
}
