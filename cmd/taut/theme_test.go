package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestThemeOfTheManual: the theme that the manual shows is the one that the
// script builds with.
func TestThemeOfTheManual(t *testing.T) {
	chapter, err := os.ReadFile(filepath.FromSlash("../../examples/manual/themes.md"))
	if err != nil {
		t.Fatal(err)
	}
	script, err := os.ReadFile(filepath.FromSlash("../../testdata/script/theme.txtar"))
	if err != nil {
		t.Fatal(err)
	}
	m := regexp.MustCompile("(?s)```css style.css\n(.*?)```").FindSubmatch(chapter)
	if m == nil || !strings.HasSuffix(string(script), "-- field/style.css --\n"+string(m[1])) {
		t.Error("the theme of the manual is not the one of the script")
	}
}
