package archive

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// signedArchive is a small archive of two bags, the second signed.
func signedArchive(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive := filepath.Join(dir, "archive")
	sealTo(t, archive, sealing(), filepath.Join(dir, "wf/record.md"))
	o := sealing()
	o.Key = testKey
	sealTo(t, archive, o, filepath.Join(dir, "wf/second.md"))
	return archive
}

// copyTree copies a folder.
func copyTree(t testing.TB, from string) string {
	t.Helper()
	to := t.TempDir()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return to
}

// long is the length from which on a file's bytes are not all flipped before a
// whole verification: for most of them the sums alone are made, as it makes
// them, and held against the manifests.
const long = 10000

// TestEveryFlippedByte flips one bit in each byte of each file of an archive,
// one after the other, and demands that each is found.
func TestEveryFlippedByte(t *testing.T) {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive := filepath.Join(dir, "archive")
	o := sealing()
	o.Key = testKey
	sealTo(t, archive, o, filepath.Join(dir, "wf/second.md"))
	if isFound(t, archive) {
		t.Fatal("something is found before anything is flipped")
	}
	sums := openSums(t, archive)
	flips, files := 0, 0
	for name := range tree(t, archive) {
		if strings.HasSuffix(name, "/") {
			continue
		}
		files++
		flips += flipFile(t, archive, name, func(i, size int) bool {
			if size > long && i%251 != 0 {
				return sums.differ(t, name)
			}
			return isFound(t, archive)
		})
	}
	if isFound(t, archive) {
		t.Error("something is found after all was put back")
	}
	if files < 14 || flips < 50000 && !testing.Short() {
		t.Errorf("%d bytes in %d files were flipped", flips, files)
	}
}

// TestEveryFlippedByteOfALedger does so with a ledger of several lines, signed
// and not.
func TestEveryFlippedByteOfALedger(t *testing.T) {
	archive := signedArchive(t)
	n := flipFile(t, archive, "wf-7/"+ledgerName, func(int, int) bool {
		a, err := Open(archive)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Close()
		return len(a.Findings()) > 0
	})
	if n < 1000 && !testing.Short() {
		t.Errorf("%d bytes were flipped", n)
	}
}

// flipFile flips a bit in each byte of a file, another one each time, and
// returns how many bytes that were.
func flipFile(t *testing.T, archive, name string, found func(i, size int) bool) int {
	path := filepath.Join(archive, filepath.FromSlash(name))
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	text, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	stride := 1
	if testing.Short() {
		stride = 1 + len(text)/500
	}
	n := 0
	for i := 0; i < len(text); i += stride {
		put := func(c byte) {
			if _, err := f.WriteAt([]byte{c}, int64(i)); err != nil {
				t.Fatal(err)
			}
		}
		put(text[i] ^ 1<<(i%8))
		if !found(i, len(text)) {
			t.Fatalf("%s: the flipped byte %d, %q, was not found", name, i, text[i:i+1])
		}
		put(text[i])
		n++
	}
	return n
}

// isFound reports whether a verification finds anything. No record is run
// again: that would find more, not less.
func isFound(t *testing.T, archive string) bool {
	r, err := Verify(context.Background(), archive, VerifyOptions{Build: builtIn("0.1.0"), Quick: true, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, u := range r.Units {
		if len(u.Findings) > 0 {
			return true
		}
	}
	return false
}

// sealedSums are the sums that the manifests of the one bag name.
type sealedSums struct {
	v    *verifier
	bag  string
	sums map[string]map[string]string // by algorithm and path
}

func openSums(t *testing.T, archive string) *sealedSums {
	t.Helper()
	a, err := Open(archive)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { a.Close() })
	s := &sealedSums{v: newVerifier(a, VerifyOptions{}), bag: a.apparatus[0].Entries[0].Path() + "/", sums: map[string]map[string]string{}}
	for _, x := range algorithms {
		of, _ := x.manifests()
		text, err := readRegular(a.root, s.bag+of, mostRead)
		if err != nil {
			t.Fatal(err)
		}
		s.sums[x.name] = parseManifest(of, x, true, text).sums
	}
	return s
}

// differ reports whether the sums of a file are others than those, all of them.
func (s *sealedSums) differ(t *testing.T, name string) bool {
	have, _, err := s.v.sumsOfFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range algorithms {
		if want := s.sums[x.name][strings.TrimPrefix(name, s.bag)]; want == "" || have[x.name] == want {
			return false
		}
	}
	return true
}
