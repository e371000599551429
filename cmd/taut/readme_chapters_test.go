package main

import (
	"os"
	"strings"
	"testing"
)

// TestReadmeChapters holds the commands that the README shows for a class and
// for an archive to be those of the manual's chapters, which are run by
// TestTeachingChapter and TestArchiveExample.
func TestReadmeChapters(t *testing.T) {
	blocks := readme(t, "```", "sh")
	for chapter, mark := range map[string]string{"teaching.md": "taut mark", "archive.md": "taut shelf"} {
		text, err := os.ReadFile("../../examples/manual/" + chapter)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, b := range blocks {
			if !strings.Contains(b, mark) {
				continue
			}
			found = true
			for _, line := range strings.Split(strings.TrimSpace(b), "\n") {
				command, _, _ := strings.Cut(line, "#")
				if !strings.Contains(string(text), "\n"+strings.TrimRight(command, " ")) {
					t.Errorf("the README shows a command that %s does not: %s", chapter, line)
				}
			}
		}
		if !found {
			t.Errorf("the README has no commands with `%s`", mark)
		}
	}
}
