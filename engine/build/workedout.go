package build

import (
	"path"
	"path/filepath"
	"sort"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// WorkedOut is a record that was worked out and not made into a page, for
// those who ask about its names and places.
type WorkedOut struct {
	Record  *record.Record
	Program *block.Program
	// Findings are in order; a file in them, and in the program, is named by
	// its path below Root or, where it is built in, by a name of its own.
	Findings []*finding.Finding
	Root     string // absolute

	known map[*source.File]bool
}

// Path is the absolute path of a file of the record; "" where it is built in.
func (w *WorkedOut) Path(f *source.File) string {
	if !w.known[f] {
		return ""
	}
	return filepath.Join(w.Root, filepath.FromSlash(f.Name))
}

// Opened is the file of that path, relative to the folder of the record, if it
// was read; else nil.
func (w *WorkedOut) Opened(name string) *source.File {
	for f := range w.known {
		if f.Name == path.Join(path.Dir(w.Record.File.Name), name) {
			return f
		}
	}
	return nil
}

// Files lists the absolute paths of the files that were read, in order.
func (w *WorkedOut) Files() []string {
	var out []string
	for f := range w.known {
		out = append(out, w.Path(f))
	}
	sort.Strings(out)
	return out
}

// WorkOut works the record at a path, at, out. Unsaved holds texts that stand for
// those of the files, such as an editor's, by their absolute paths. The errors
// are those of Record.
func WorkOut(at string, unsaved map[string][]byte, o Options) (*WorkedOut, error) {
	d, err := newDoor(at)
	if err != nil {
		return nil, err
	}
	defer d.close()
	d.unsaved = map[string][]byte{}
	for p, text := range unsaved {
		if inside, err := filepath.Rel(d.root.Name(), p); err == nil && filepath.IsLocal(inside) {
			d.unsaved[filepath.ToSlash(inside)] = text
		}
	}
	text, err := d.open(d.record, filepath.ToSlash(filepath.Clean(at)))
	if err != nil {
		return nil, &ReadError{Err: err}
	}
	w, err := workOut(d, text, o)
	if err != nil {
		return nil, err
	}
	return &WorkedOut{Record: w.record, Program: w.program, Findings: w.findings, Root: d.root.Name(), known: d.known}, nil
}

// FrontKeys lists the keys of a record's front matter.
func FrontKeys(kinds []block.Kind) []string {
	return append(append([]string(nil), frontKeys...), block.FrontKeys(kinds)...)
}
