package blocks_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestManualTables holds the chapter on diagnostics to the tables that the
// tests of the methods work out.
func TestManualTables(t *testing.T) {
	chapter, err := os.ReadFile("../examples/manual/diagnostics.md")
	if err != nil {
		t.Fatal(err)
	}
	tables, err := filepath.Glob("testdata/catches/*.txt")
	if err != nil || len(tables) == 0 {
		t.Fatal("there are no tables", err)
	}
	for _, path := range append(tables, "testdata/stretched-wire/table.txt", "testdata/stretched-wire/own.txt") {
		table, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(chapter), "```text\n"+string(table)+"```\n") {
			t.Errorf("the manual does not quote %s as it is", path)
		}
	}
}
