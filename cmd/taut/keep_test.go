package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
)

// TestBuildID: the build ID is what the go command reads of the same file; one
// that others have put in its place tells no two programs apart.
func TestBuildID(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("programs are in the form of ELF on Linux")
	}
	f, err := openProgram()
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	id := buildID(bytes.NewReader(text))
	path, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("go", "tool", "buildid", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	if want := strings.TrimSpace(string(out)); id != want {
		t.Fatalf("the build ID is %q, not %q", id, want)
	}
	if !wholeBuildID.MatchString(id) {
		t.Fatalf("the build ID is %q", id)
	}
	other := bytes.ReplaceAll(text, []byte(id), []byte("redacted"+strings.Repeat("\x00", len(id)-8)))
	if got := buildID(bytes.NewReader(other)); got != "" {
		t.Errorf("%q is taken for a build ID", got)
	}
	for _, bad := range [][]byte{nil, []byte("#!/bin/sh\n"), text[:100], text[:len(text)/2]} {
		if got := buildID(bytes.NewReader(bad)); got != "" {
			t.Errorf("%q is read of %d bytes", got, len(bad))
		}
	}
}
