package archive

import (
	"path/filepath"
	"testing"
)

// TestSealAndVerify: what was sealed is found to be as it was, and run again
// gives the same.
func TestSealAndVerify(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive := filepath.Join(dir, "archive")
	for _, s := range sealTo(t, archive, sealing(), filepath.Join(dir, "wf/record.md"), filepath.Join(dir, "wf/second.md")) {
		t.Logf("%+v", s)
	}
	for name, text := range tree(t, archive) {
		t.Log(name, len(text))
	}
	r := verified(t, archive, VerifyOptions{})
	if f := findings(r); f != "" {
		t.Error(f)
	}
	for _, u := range r.Units {
		if u.Bag != nil && u.Bag.Status != Identical {
			t.Errorf("%s: %+v", u.Path, u.Bag)
		}
	}
}
