package build

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"syscall"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// ArchiveMarker is the name of the file that marks the folder of an archive.
const ArchiveMarker = "taut.archive"

// Records lists the records below a folder, sorted by path: the files NAME.md
// whose front matter has no `method:`. Hidden folders are left out, and so are
// those in skip and archives: what is sealed is neither built in its place nor
// sealed again.
func Records(dir string, skip ...string) ([]string, error) {
	var out []string
	top := dir + string(filepath.Separator) // so that a link to a folder is followed
	err := filepath.WalkDir(top, func(p string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir():
			if p != top && (strings.HasPrefix(e.Name(), ".") || isOneOf(p, skip)) {
				return fs.SkipDir
			}
			if _, err := os.Lstat(filepath.Join(p, ArchiveMarker)); err == nil {
				return fs.SkipDir
			}
		case filepath.Ext(p) == ".md" && !strings.HasPrefix(e.Name(), ".") && !isMethod(p):
			out = append(out, p)
		}
		return nil
	})
	sort.Strings(out)
	return out, err
}

func isOneOf(p string, list []string) bool {
	for _, s := range list {
		if SamePath(p, s) {
			return true
		}
	}
	return false
}

// SamePath reports whether two paths lead to the same file, or would if there
// were one.
func SamePath(a, b string) bool {
	i, err := os.Stat(a)
	if j, err2 := os.Stat(b); err == nil && err2 == nil {
		return os.SameFile(i, j)
	}
	x, err := filepath.Abs(a)
	y, err2 := filepath.Abs(b)
	return err == nil && err2 == nil && x == y
}

// longestFront is how much of a file is looked at for its front matter.
const longestFront = 64 << 10

// isMethod looks at the front matter alone. What cannot be read is taken for a
// record, so that building it tells what is wrong.
func isMethod(path string) bool {
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return false
	}
	defer f.Close()
	head, ok := readFrontMatter(f)
	// A key may be written with escapes, but not without either of these.
	if !ok || !bytes.Contains(head, []byte("method")) && !bytes.ContainsRune(head, '\\') {
		return false
	}
	return record.Parse(source.NewFile("", head), nil, &finding.Set{}).Front.Get("method") != nil
}

// readFrontMatter returns the front matter with its fences, as far as it is
// looked at; it reads little more than that.
func readFrontMatter(r io.Reader) ([]byte, bool) {
	r = io.LimitReader(r, longestFront)
	head := make([]byte, 0, 2<<10)
	for {
		n, err := io.ReadFull(r, head[len(head):cap(head)])
		head = head[:len(head)+n]
		text := bytes.TrimPrefix(head, []byte("\uFEFF"))
		if !bytes.HasPrefix(text, []byte("---")) {
			return nil, false
		}
		if i := bytes.Index(text, []byte("\n---")); i >= 0 {
			return text[:i+len("\n---")], true
		}
		switch {
		case err == io.EOF || err == io.ErrUnexpectedEOF:
			return text, true
		case err != nil:
			return nil, false
		}
		head = slices.Grow(head, len(head))
	}
}
