package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"sync"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/themes"
)

// target is a record to be built and where its page and its results belong
// within an output folder: "labs/wire", without an ending.
type target struct {
	record string
	inside string
}

// targets lists the records that the paths stand for, each once. A folder
// stands for every record below it, the folders in skip left out. Several
// records belong under the folders in which they stand below the folder that
// the paths have in common.
func targets(paths []string, skip ...string) ([]target, error) {
	base := ""
	for _, p := range paths {
		folder := absolute(p)
		if !isFolder(p) {
			folder = filepath.Dir(folder) // where there is no such file, the build says so
		}
		base = common(base, folder)
	}
	var out []target
	seen := map[string]bool{}
	for _, p := range paths {
		list := []string{filepath.Clean(p)}
		if isFolder(p) {
			var err error
			if list, err = build.Records(list[0], skip...); err != nil {
				return nil, err
			}
			if len(list) == 0 {
				return nil, usageError(fmt.Sprintf("there is no record below `%s`: no file NAME.md", filepath.ToSlash(filepath.Clean(p))))
			}
		}
		for _, r := range list {
			abs := absolute(r)
			if seen[abs] {
				continue
			}
			seen[abs] = true
			inside, err := filepath.Rel(base, abs)
			if err != nil {
				return nil, err
			}
			out = append(out, target{r, strings.TrimSuffix(inside, filepath.Ext(inside))})
		}
	}
	return out, nil
}

// common is the deepest folder above both or one of them; a is "" for none yet.
func common(a, b string) string {
	if a == "" {
		return b
	}
	for !within(b, a) {
		a = filepath.Dir(a)
	}
	return a
}

// within reports whether a path is a folder or lies below it.
func within(path, folder string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// options are those of a build with all that is built in.
func options(theme *page.Theme) build.Options {
	return build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: &builtInThemes{}, Theme: theme, Version: version, Trials: build.NewMemory(256), Texts: build.NewTexts(1 << 20)}
}

// builtInThemes are the themes of the program, each read once. Several
// goroutines may use it at once.
type builtInThemes struct {
	mu     sync.Mutex
	loaded map[string]*page.Theme
}

func (*builtInThemes) Names() []string { return themes.Names() }

func (t *builtInThemes) Load(name string) (*page.Theme, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if th := t.loaded[name]; th != nil {
		return th, nil
	}
	th, err := themes.Load(name)
	if err != nil {
		return nil, err
	}
	if t.loaded == nil {
		t.loaded = map[string]*page.Theme{}
	}
	t.loaded[name] = th
	return th, nil
}

// complain reports what went wrong with files or usage and returns the exit
// code.
func (k *call) complain(err error) int {
	fmt.Fprintf(k.err, "taut: %s\n", oneLine(err))
	var m *build.MethodError
	var r *build.RecordError
	var o *build.OverInputError
	var u usageError
	if errors.As(err, &m) || errors.As(err, &r) || errors.As(err, &o) || errors.As(err, &u) {
		return exitUsage
	}
	return exitFiles
}

// usageError is an error of whoever called the program.
type usageError string

func (e usageError) Error() string { return string(e) }

func oneLine(err error) string { return strings.ReplaceAll(err.Error(), "\n", " ") }

// tally counts findings over several records.
type tally struct{ errors, cautions, notes int }

func (t *tally) add(o *build.Output) { t.count(o.Findings) }

func (t *tally) count(list []*finding.Finding) {
	for _, f := range list {
		switch f.Severity {
		case finding.Error:
			t.errors++
		case finding.Caution:
			t.cautions++
		default:
			t.notes++
		}
	}
}

func (t tally) String() string {
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{t.errors, "error"}, {t.cautions, "caution"}, {t.notes, "note"}} {
		switch {
		case p.n == 1:
			parts = append(parts, "1 "+p.what)
		case p.n > 1:
			parts = append(parts, fmt.Sprintf("%d %ss", p.n, p.what))
		}
	}
	if len(parts) == 0 {
		return "no findings"
	}
	return strings.Join(parts, ", ")
}

func (t tally) exit() int {
	if t.errors > 0 {
		return exitErrors
	}
	return exitOK
}

// write writes a file in a folder that may have to be made.
func write(path string, text []byte) error { return build.CreateFile(path, text) }
