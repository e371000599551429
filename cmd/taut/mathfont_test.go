package main

import (
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestFontHoldsMathematics: the part of a font that pages carry has every
// character that stands in the mathematics of an example. A single letter is
// set in mathematical italics (MathML Core, 4.2).
func TestFontHoldsMathematics(t *testing.T) {
	readme, err := os.ReadFile(filepath.FromSlash("../../engine/page/common/README.md"))
	if err != nil {
		t.Fatal(err)
	}
	has := map[rune]bool{}
	for _, m := range regexp.MustCompile(`U\+([0-9A-F]+)(?:-([0-9A-F]+))?`).FindAllStringSubmatch(string(readme), -1) {
		from, _ := strconv.ParseInt(m[1], 16, 32)
		to := from
		if m[2] != "" {
			to, _ = strconv.ParseInt(m[2], 16, 32)
		}
		for r := rune(from); r <= rune(to); r++ {
			has[r] = true
		}
	}
	formula := regexp.MustCompile(`(?s)<math.*?</math>`)
	tag := regexp.MustCompile(`(?s)<annotation.*?</annotation>|<[^>]*>|\s`)
	found := 0
	for _, path := range examplePaths(t) {
		lacking := map[rune]bool{}
		for _, m := range formula.FindAllString(string(viewOf(t, path, view.AsWorked).HTML), -1) {
			for _, r := range html.UnescapeString(strings.TrimSpace(tag.ReplaceAllString(m, ""))) {
				found++
				if !has[r] {
					lacking[r] = true
				}
			}
		}
		for r := range lacking {
			t.Errorf("%s: %q (%U) is not in the font", path, r, r)
		}
	}
	if found < 1000 {
		t.Errorf("only %d characters of mathematics were found", found)
	}
}
