package build

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"syscall"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
)

// Marker is the name of the file, commonly empty, that widens what a record
// may read to everything below the folder in which it lies.
const Marker = "taut.root"

// MaxFile is the size of the largest file that is read, in bytes.
const MaxFile = 16 << 20

// door is the one way by which a record opens files. It opens them below one
// folder only and notes each of them.
type door struct {
	root   *os.Root
	marked bool   // the root holds a Marker
	record string // relative to the root: "2026/wire/record.md"
	dir    string // its folder: "2026/wire" or "."
	typed  string // the same folder as the reader named it

	opened map[string]*source.File // by path relative to the root
	known  map[*source.File]bool
	inputs []results.Input
	asked  []question
	texts  *Texts // nil for none

	unsaved map[string][]byte // texts that stand for those of the files, by path relative to the root
}

// question is one that was asked of the file system, and the answer: the sum
// of the file, or why there is none. The same answers make the same record.
type question struct {
	Path   string `json:"path"` // relative to the root
	Name   string `json:"name"` // as it was asked for
	Answer string `json:"answer"`
}

var _ block.Files = (*door)(nil)

// openDoor finds the root of a record and returns the door, which is to be
// closed, and the record itself.
func openDoor(record string) (*door, *source.File, error) {
	d, err := newDoor(record)
	if err != nil {
		return nil, nil, err
	}
	f, err := d.open(d.record, filepath.ToSlash(filepath.Clean(record)))
	if err != nil {
		d.close()
		return nil, nil, &ReadError{Err: err}
	}
	return d, f, nil
}

// newDoor is a door by which nothing was opened yet.
func newDoor(record string) (*door, error) {
	folder, err := filepath.Abs(filepath.Dir(record))
	if err != nil {
		return nil, err
	}
	if folder, err = filepath.EvalSymlinks(folder); err != nil {
		return nil, unreadable(record, err)
	}
	at, marked := rootOf(folder)
	below, err := filepath.Rel(at, folder)
	if err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(at)
	if err != nil {
		return nil, unreadable(record, err)
	}
	dir := filepath.ToSlash(below)
	return &door{root: root, marked: marked, dir: dir, record: path.Join(dir, filepath.Base(record)), typed: filepath.ToSlash(filepath.Dir(record)),
		opened: map[string]*source.File{}, known: map[*source.File]bool{}}, nil
}

func (d *door) close() { d.root.Close() }

// rootOf returns the nearest folder at or above the given one that holds a
// Marker; the folder itself where none does.
func rootOf(folder string) (root string, marked bool) {
	for at := folder; ; {
		if _, err := os.Lstat(filepath.Join(at, Marker)); err == nil {
			return at, true
		}
		up := filepath.Dir(at)
		if up == at {
			return folder, false
		}
		at = up
	}
}

// Open implements block.Files. A file that was not opened by the door, such as
// a built-in method, asks from the folder of the record.
func (d *door) Open(from *source.File, name string) (*source.File, error) {
	full, err := d.way(from, name)
	if err != nil {
		return nil, err
	}
	return d.open(full, name)
}

// way is the path of a file relative to the root, asked for from another file.
func (d *door) way(from *source.File, name string) (string, error) {
	if err := d.checkPath(name); err != nil {
		return "", err
	}
	dir := d.dir
	if d.known[from] {
		dir = path.Dir(from.Name)
	}
	full := path.Join(dir, name)
	if full == ".." || strings.HasPrefix(full, "../") {
		return "", d.outside(name)
	}
	return full, nil
}

// bytes reads a file that need not be text.
func (d *door) bytes(from *source.File, name string) ([]byte, error) {
	full, err := d.way(from, name)
	if err != nil {
		return nil, err
	}
	data, err := d.ask(full, name)
	if err == nil && !slices.ContainsFunc(d.inputs, func(in results.Input) bool { return in.Path == full }) {
		d.took(full, data)
	}
	return data, err
}

// ask reads a file and notes the question with its answer.
func (d *door) ask(full, name string) ([]byte, error) {
	data, unsaved := d.unsaved[full]
	var err error
	if !unsaved {
		data, err = d.read(full, name)
	}
	d.asked = append(d.asked, question{full, name, answer(data, err)})
	return data, err
}

// took notes a file that the record was made from.
func (d *door) took(full string, data []byte) {
	d.inputs = append(d.inputs, results.Input{Path: full, SHA256: sumOf(data)})
	sort.Slice(d.inputs, func(i, j int) bool { return d.inputs[i].Path < d.inputs[j].Path })
}

// open reads a file by its path relative to the root; name is how it was asked
// for.
func (d *door) open(full, name string) (*source.File, error) {
	if f := d.opened[full]; f != nil {
		return f, nil
	}
	text, err := d.ask(full, name)
	if err != nil {
		return nil, err
	}
	if err := checkText(text, name); err != nil {
		return nil, err
	}
	f := d.texts.file(full, bytes.TrimPrefix(text, []byte("\uFEFF")), sha256.Sum256(text))
	d.opened[full], d.known[f] = f, true
	d.took(full, text)
	return f, nil
}

// answer is what a question came to.
func answer(text []byte, err error) string {
	var o *block.OpenError
	switch {
	case errors.As(err, &o):
		return "error: " + o.Message + "; " + o.Hint
	case err != nil:
		return "error: " + err.Error()
	}
	return "sha256: " + sumOf(text)
}

// sumOf is the SHA-256 sum of a text, in hexadecimal digits.
func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// still reports whether each question has the answer that it had.
func (d *door) still(asked []question) bool {
	for _, q := range asked {
		if text, err := d.read(q.Path, q.Name); answer(text, err) != q.Answer {
			return false
		}
	}
	return true
}

func (d *door) read(full, name string) ([]byte, error) {
	// Asked before opening: to open a pipe would wait for its writer.
	info, err := d.root.Stat(full)
	if err != nil {
		return nil, d.failed(full, name, err)
	}
	if err := checkInfo(info, name); err != nil {
		return nil, err
	}
	f, err := d.root.OpenFile(full, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, d.failed(full, name, err)
	}
	defer f.Close()
	// Asked again of what was opened: it may have been exchanged.
	if info, err = f.Stat(); err != nil {
		return nil, d.failed(full, name, err)
	}
	if err := checkInfo(info, name); err != nil {
		return nil, err
	}
	var text bytes.Buffer
	text.Grow(int(info.Size()) + bytes.MinRead)
	if _, err := text.ReadFrom(io.LimitReader(f, MaxFile+1)); err != nil {
		return nil, d.failed(full, name, err)
	}
	if text.Len() > MaxFile {
		return nil, tooLarge(name, int64(text.Len()))
	}
	return text.Bytes(), nil
}

// failed tells why a file could not be had.
func (d *door) failed(full, name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return d.missing(full, name)
	case errors.Is(err, fs.ErrPermission):
		return &block.OpenError{Message: fmt.Sprintf("`%s` may not be read", name), Hint: "its permissions forbid it"}
	case errors.Is(err, syscall.ELOOP):
		return &block.OpenError{Message: fmt.Sprintf("`%s` is a symbolic link that leads round in a circle", name)}
	}
	// What is no error of the system is the root's own: the way led outside.
	if number := syscall.Errno(0); !errors.As(err, &number) {
		return d.linkedOutside(name)
	}
	return &block.OpenError{Message: fmt.Sprintf("`%s` can't be read: %s", name, reason(err))}
}

// reason is what the system says, without the path, which may be absolute.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// missing offers the nearest name among the files of the folder.
func (d *door) missing(full, name string) error {
	dir, base := path.Split(full)
	names, err := d.list(path.Clean(dir))
	if err != nil {
		return &block.OpenError{Message: fmt.Sprintf("there is no file `%s`, nor its folder", name)}
	}
	hint := ""
	if did := finding.DidYouMean(base, names); did != "" {
		hint = did
	} else if full != d.record && d.dir == path.Clean(dir) {
		hint = "it should lie beside the record, or its path be given from there"
	}
	return &block.OpenError{Message: fmt.Sprintf("there is no file `%s`", name), Hint: hint}
}

// list returns the names in a folder, hidden ones left out.
func (d *door) list(dir string) ([]string, error) {
	f, err := d.root.Open(dir)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	all, err := f.Readdirnames(-1)
	if err != nil {
		return nil, err
	}
	sort.Strings(all) // folders have an order of their own
	var names []string
	for _, n := range all {
		if !strings.HasPrefix(n, ".") {
			names = append(names, n)
		}
	}
	return names, nil
}

// shown returns the name of a file as the reader would type it.
func (d *door) shown(f *source.File) string {
	if !d.known[f] {
		return f.Name
	}
	return d.shownPath(f.Name)
}

// shownPath is the same for a path relative to the root.
func (d *door) shownPath(name string) string {
	rel, err := filepath.Rel(filepath.FromSlash(d.dir), filepath.FromSlash(name))
	if err != nil {
		return name
	}
	return Printable(path.Join(d.typed, filepath.ToSlash(rel)))
}
