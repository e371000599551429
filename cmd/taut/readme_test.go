package main

import (
	"bytes"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// readme returns the blocks of the README that are fenced so, in order.
func readme(t *testing.T, fence, kind string) []string {
	t.Helper()
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for rest := string(text); ; {
		_, after, ok := strings.Cut(rest, "\n"+fence+kind+"\n")
		if !ok {
			break
		}
		body, more, ok := strings.Cut(after, "\n"+fence+"\n")
		if !ok {
			t.Fatalf("the README has an open %s block", kind)
		}
		out, rest = append(out, body+"\n"), "\n"+more
	}
	if len(out) == 0 {
		t.Fatalf("the README has no %s block", kind)
	}
	return out
}

var tags = regexp.MustCompile(`<[^>]*>`)

// pageText is the text of a page, as one line.
func pageText(page []byte) string {
	return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(string(page), ""))), " ")
}

// TestReadmeFirstRecord follows the README as a newcomer would: the record, the
// command, the line of the page that it promises, and the finding.
func TestReadmeFirstRecord(t *testing.T) {
	record := readme(t, "````", "markdown")[0]
	promised := readme(t, "```", "text")
	dir := t.TempDir()
	t.Chdir(dir)
	if err := os.WriteFile("wire.md", []byte(record), 0o644); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	if code := run([]string{"build", "wire.md"}, strings.NewReader(""), &out, &errs); code != 0 || errs.Len() > 0 {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	page, err := os.ReadFile(filepath.Join(dir, "wire.html"))
	if err != nil {
		t.Fatal(err)
	}
	if want := strings.TrimSpace(promised[0]); !strings.Contains(pageText(page), want) {
		t.Errorf("the page does not say %q", want)
	}
	// The finding: somebody writes slope for line.slope.
	broken := strings.Replace(record, "line.slope", "slope", 1)
	if err := os.WriteFile("wire.md", []byte(broken), 0o644); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	if code := run([]string{"check", "wire.md"}, strings.NewReader(""), &out, &errs); code != 1 {
		t.Errorf("exit code %d for a record with an error", code)
	}
	if want := strings.TrimSpace(promised[1]); !strings.Contains(out.String(), want) {
		t.Errorf("the check does not say\n%s\nbut\n%s", want, out.String())
	}
}

// TestReadmeCommands holds every command that the README names to be there.
func TestReadmeCommands(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile("(?m)^\\| `taut ([a-z]+)").FindAllStringSubmatch(string(text), -1) {
		var out, errs bytes.Buffer
		if code := run([]string{"help", m[1]}, strings.NewReader(""), &out, &errs); code != 0 {
			t.Errorf("the README names `taut %s`, of which `taut help` knows nothing: %s", m[1], errs.String())
		}
	}
}
