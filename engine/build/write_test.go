package build

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	p := filepath.Join(dir, "page.html")
	for _, text := range []string{"one", "two, longer", ""} {
		if err := WriteFile(p, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(p); err != nil || string(got) != text {
			t.Errorf("read %q, %v", got, err)
		}
	}
	if err := os.Chmod(p, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(p, []byte("three")); err != nil {
		t.Fatal(err)
	}
	if info := must(os.Stat(p)); info.Mode().Perm() != 0o600 {
		t.Errorf("permissions became %v", info.Mode())
	}
	if left := must(os.ReadDir(dir)); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
}

func TestWriteFileLongName(t *testing.T) {
	p := filepath.Join(t.TempDir(), strings.Repeat("n", 250)+".html")
	if err := WriteFile(p, []byte("text")); err != nil {
		t.Error(err)
	}
}

func TestWriteFileRefuses(t *testing.T) {
	dir := tree(t, map[string]string{"file": "f", "folder/x": ""})
	for _, name := range []string{"folder", "file/below", "nosuch/file"} {
		if err := WriteFile(filepath.Join(dir, name), []byte("x")); err == nil {
			t.Errorf("%s was written", name)
		}
	}
	if left := must(os.ReadDir(dir)); len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
}

// TestWriteFileWhole reads a file while it is written again and again: it is
// always one of the texts, as a whole.
func TestWriteFileWhole(t *testing.T) {
	p := filepath.Join(t.TempDir(), "page.html")
	texts := [][]byte{bytes.Repeat([]byte("a"), 100_000), bytes.Repeat([]byte("b"), 70_000)}
	if err := WriteFile(p, texts[0]); err != nil {
		t.Fatal(err)
	}
	done := make(chan error)
	go func() {
		var err error
		for i := 0; i < 100 && err == nil; i++ {
			err = WriteFile(p, texts[i%2])
		}
		done <- err
	}()
	for {
		got, err := os.ReadFile(p)
		if err != nil || !bytes.Equal(got, texts[0]) && !bytes.Equal(got, texts[1]) {
			t.Fatalf("read %d bytes that are neither text, %v", len(got), err)
		}
		select {
		case err := <-done:
			if err != nil {
				t.Fatal(err)
			}
			return
		default:
		}
	}
}
