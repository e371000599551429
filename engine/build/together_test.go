package build

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func namesIn(t *testing.T, dir string) (out []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

// TestTogether: a folder holds all that is written or nothing of it, whether
// it was there or not.
func TestTogether(t *testing.T) {
	fill := func(fail bool) func(string) error {
		return func(dir string) error {
			for _, name := range []string{"a", "b"} {
				if err := os.Mkdir(filepath.Join(dir, name), 0o777); err != nil {
					return err
				}
			}
			if fail {
				return errors.New("no room")
			}
			return nil
		}
	}
	top := t.TempDir()
	empty := filepath.Join(top, "empty")
	if err := os.Mkdir(empty, 0o777); err != nil {
		t.Fatal(err)
	}
	for _, dir := range []string{filepath.Join(top, "new"), empty} {
		if err := Together(dir, fill(true)); err == nil {
			t.Error("no error")
		}
		if got := namesIn(t, top); len(got) > 2 {
			t.Errorf("left behind: %v", got)
		}
		if dir == empty && len(namesIn(t, dir)) > 0 {
			t.Errorf("left behind: %v", namesIn(t, dir))
		}
		if err := Together(dir, fill(false)); err != nil {
			t.Fatal(err)
		}
		if got := namesIn(t, dir); len(got) != 2 {
			t.Errorf("%s holds %v", dir, got)
		}
		if err := Together(dir, fill(false)); err == nil {
			t.Error("a folder that is not empty was filled")
		}
	}
	if err := Together(filepath.Join(top, "deep", "down"), fill(false)); err != nil {
		t.Fatal(err)
	}
}
