package archive

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
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

// smallArchive is an archive of one bag, whose page was cut down to what each
// byte of it can be tried with; the sums were made to fit, and the line signed
// anew. A quick verification asks no more of a page.
func smallArchive(t *testing.T) string {
	dir := t.TempDir()
	writeFiles(t, dir, tiny)
	archive := filepath.Join(dir, "archive")
	sealTo(t, archive, sealing(), filepath.Join(dir, "wf/second.md"))
	hurt{t, archive}.forge(bagB, pageFile, func(s string) string { return s[:1000] })
	hurt{t, archive}.lines(func(list []string) []string {
		l, err := parseLine([]byte(list[0]))
		if err != nil {
			t.Fatal(err)
		}
		l.sign(testKey)
		l.Sum = l.sum()
		return []string{string(l.encode()) + "\n"}
	})
	return archive
}

// TestEveryFlippedByte flips one bit in each byte of each file of an archive,
// one after the other, and demands that a verification finds each.
func TestEveryFlippedByte(t *testing.T) {
	archive := smallArchive(t)
	if isFound(t, archive) {
		t.Fatal("something is found before anything is flipped")
	}
	const parts = 4
	var flips, files atomic.Int64
	t.Run("parts", func(t *testing.T) {
		for part := range parts {
			t.Run(fmt.Sprint(part), func(t *testing.T) {
				t.Parallel()
				archive := copyTree(t, archive)
				for name := range tree(t, archive) {
					if !strings.HasSuffix(name, "/") {
						n := flipFile(t, archive, name, part, parts, func() bool { return isFound(t, archive) })
						flips.Add(int64(n))
						files.Add(1)
					}
				}
				if isFound(t, archive) {
					t.Error("something is found after all was put back")
				}
			})
		}
	})
	if files.Load() < 14*parts || flips.Load() < 10000 && !testing.Short() {
		t.Errorf("%d bytes in %d files were flipped", flips.Load(), files.Load())
	}
}

// TestFlippedBytesOfAPage does so with some bytes of a page as it is sealed.
func TestFlippedBytesOfAPage(t *testing.T) {
	archive := signedArchive(t)
	if n := flipFile(t, archive, bagA+"/"+pageFile, 0, 499, func() bool { return isFound(t, archive) }); n < 100 && !testing.Short() {
		t.Errorf("%d bytes were flipped", n)
	}
}

// TestEveryFlippedByteOfALedger does so with a ledger of several lines, signed
// and not.
func TestEveryFlippedByteOfALedger(t *testing.T) {
	archive := signedArchive(t)
	n := flipFile(t, archive, "wf-7/"+ledgerName, 0, 1, func() bool {
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

// flipFile flips a bit in each byte of one part of a file's bytes, another bit
// each time, and returns how many bytes that were.
func flipFile(t *testing.T, archive, name string, part, parts int, found func() bool) int {
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
	stride := parts
	if testing.Short() {
		stride += len(text) / 125
	}
	n := 0
	for i := part; i < len(text); i += stride {
		put := func(c byte) {
			if _, err := f.WriteAt([]byte{c}, int64(i)); err != nil {
				t.Fatal(err)
			}
		}
		put(text[i] ^ 1<<(i%8))
		if !found() {
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
