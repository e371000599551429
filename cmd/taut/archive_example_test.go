package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestArchiveExample follows the chapter on the archive as a lab manager would,
// with fewer records: each command that it shows is run, in its order, and the
// shelf has to show what it promises.
func TestArchiveExample(t *testing.T) {
	if testing.Short() {
		t.Skip("it builds and verifies some twenty records")
	}
	chapter, err := os.ReadFile("../../examples/manual/archive.md")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	maker := filepath.Join(dir, "maker")
	if out, err := exec.Command("go", "build", "-o", maker, "../../examples/archive/make").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	t.Chdir(dir)
	commands := 0
	for _, block := range regexp.MustCompile("(?s)\n```sh\n(.*?)\n```\n").FindAllStringSubmatch(string(chapter), -1) {
		for _, line := range strings.Split(block[1], "\n") {
			commands++
			follow(t, maker, line)
		}
	}
	if commands < 7 {
		t.Errorf("the chapter shows only %d commands", commands)
	}

	// The three things that happened, in words, on the pages.
	wire, torsion, index := shelfText(t, "apparatus/wf-7.html"), shelfText(t, "apparatus/th-2.html"), shelfText(t, "index.html")
	for _, c := range []struct{ page, want string }{
		{torsion, "The calibration of clock (stopwatch), SC-5 was due on 2025-11-30: OVERDUE by 91 days"},
		{torsion, "OVERDUE by 91 days"},
		{wire, "was fitted in the place of W-11: kinked at the lower chuck"},
		{wire, "The zero readings of gauge: beyond a control limit"},
		{wire, "beyond a limit"}, // at its point, on the chart
		{wire, "certified value"},
		{index, "1 OVERDUE"}, {index, "signals: zero of gauge"},
		{shelfText(t, "titles.html"), "Young's modulus of wire W-12"},
		{shelfText(t, "materials.html"), "steel"},
		{shelfText(t, "methods.html"), "torsion-pendulum"},
	} {
		if !strings.Contains(c.page, c.want) {
			t.Errorf("the shelf does not say %q", c.want)
		}
	}
	if strings.Contains(wire, "OVERDUE") || strings.Contains(torsion, "The zero readings of gauge") {
		t.Error("the shelf says of one apparatus what is true of the other")
	}

	// A record that is corrected is sealed beside the first.
	record := filepath.Join("lab", "TH-2", "2025-03-10", "record.md")
	text, err := os.ReadFile(record)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(record, append(text, "\nThe wire was wiped before it was measured.\n"...), 0o666); err != nil {
		t.Fatal(err)
	}
	follow(t, maker, "taut seal "+record+" -o archive")
	follow(t, maker, "taut shelf archive -o shelf --today 2026-03-01")
	if page := shelfText(t, "apparatus/th-2.html"); !strings.Contains(page, "AMENDED by") || !strings.Contains(page, "amends ") {
		t.Error("the shelf does not show the amended record")
	}
}

// follow runs one command of the chapter, with eight records of each apparatus
// where it makes them.
func follow(t *testing.T, maker, line string) {
	t.Helper()
	var out, errs bytes.Buffer
	args := strings.Fields(line)
	if rest, ok := strings.CutPrefix(line, "go run ./examples/archive/make "); ok {
		if text, err := exec.Command(maker, append([]string{"-count", "8"}, strings.Fields(rest)...)...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v\n%s", line, err, text)
		}
		return
	}
	if args[0] != "taut" {
		t.Fatalf("the chapter shows %q, which is no command of ours", line)
	}
	if code := run(args[1:], strings.NewReader(""), &out, &errs); code != 0 {
		t.Fatalf("%s: exit code %d\n%s%s", line, code, out.String(), errs.String())
	}
}

// shelfText is the text of a page of the shelf, with that of its charts.
func shelfText(t *testing.T, name string) string {
	t.Helper()
	page, err := os.ReadFile(filepath.Join("shelf", filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return pageText(page)
}

// TestArchiveRecords: the same seed makes the same records, another one
// others; each can be sealed.
func TestArchiveRecords(t *testing.T) {
	dir := t.TempDir()
	maker := filepath.Join(dir, "maker")
	if out, err := exec.Command("go", "build", "-o", maker, "../../examples/archive/make").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	read := func(name string, more ...string) map[string]string {
		t.Helper()
		at := filepath.Join(dir, name)
		if out, err := exec.Command(maker, append([]string{"-o", at, "-count", "4"}, more...)...).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		files := map[string]string{}
		err := filepath.Walk(at, func(p string, info os.FileInfo, err error) error {
			if err != nil || info.IsDir() {
				return err
			}
			text, err := os.ReadFile(p)
			files[strings.TrimPrefix(p, at)] = string(text)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return files
	}
	a, b, c := read("a"), read("b"), read("c", "-seed", "another")
	differ := 0
	for name, text := range a {
		if b[name] != text {
			t.Errorf("%s differs at the second time", name)
		}
		if c[name] != text {
			differ++
		}
	}
	if len(a) != len(b) || len(a) < 40 || differ < 8 {
		t.Errorf("%d and %d files, %d depend on the seed", len(a), len(b), differ)
	}
	for name, text := range a {
		if strings.HasSuffix(name, ".md") && !strings.Contains(text, "An invented record") {
			t.Errorf("%s does not say that it is invented", name)
		}
	}
	for _, args := range [][]string{{}, {"-o", dir}, {"-o", filepath.Join(dir, "x"), "-count", "1"}, {"-bad"}} {
		if err := exec.Command(maker, args...).Run(); err == nil {
			t.Errorf("make %v made something", args)
		}
	}
}
