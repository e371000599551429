package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"slices"
	"sort"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
)

// taken is a record with the bytes of everything that makes it.
type taken struct {
	path    string // as given
	out     *build.Output
	date    string            // of the record, else of the sealing
	payload map[string][]byte // source and theme by path within the bag
	marked  bool              // the record's root holds a build.Marker
	content string
}

// take builds a record where it lies and takes the bytes that it was built
// from. What is returned with an error has its findings.
func take(path string, o Options) (*taken, error) {
	b := o.Build
	names := &noting{Themes: b.Themes}
	b.Themes, b.Theme, b.View = names, nil, view.AsRecord
	out, err := build.Record(path, b)
	if err != nil {
		return nil, err
	}
	t := &taken{path: path, out: out, date: out.Results.Record.Date, payload: map[string][]byte{}}
	if t.date == "" {
		t.date = o.Sealed
	}
	switch n := out.Count(finding.Error); {
	case n > 0 && !o.WithErrors:
		return t, refusal(path, "has-errors", counted(n, "error")+" in the record", "put them right, or seal it as it is with `--with-errors`")
	case t.date == "":
		return t, refusal(path, "no-date", "the record has no date", "write `date: 2026-03-14` into its front matter, or give the day of the sealing with `--sealed`")
	}
	if err := t.takeSource(o.hooks); err != nil {
		return t, err
	}
	theme := o.Theme
	if theme == nil {
		if theme, err = o.ThemeFiles(names.name); err != nil {
			return t, err
		}
	}
	if err := t.takeTheme(theme); err != nil {
		return t, err
	}
	t.content = contentSum(o.Build.Version, out.Path, t.sums())
	return t, nil
}

// noting notes the theme that a record asks for.
type noting struct {
	build.Themes
	name string
}

func (n *noting) Load(name string) (*page.Theme, error) {
	n.name = name
	return n.Themes.Load(name)
}

func refusal(path, slug, message, hint string) *Finding { return fault(path, slug, message, hint) }

// takeSource reads the files that the record was built from once more, below
// the same root, and holds them against the sums of those that were built.
func (t *taken) takeSource(h hooks) error {
	root, err := os.OpenRoot(t.out.Root)
	if err != nil {
		return t.changed(".", err)
	}
	defer root.Close()
	for _, in := range t.out.Inputs {
		if err := h.beforeReading(in.Path); err != nil {
			return err
		}
		text, err := readLinked(root, in.Path)
		if err != nil || sumOf(text) != in.SHA256 {
			return t.changed(in.Path, err)
		}
		t.payload[path.Join(sourceDir, in.Path)] = text
	}
	if _, err := root.Lstat(build.Marker); err == nil {
		t.marked = true
		if at := path.Join(sourceDir, build.Marker); t.payload[at] == nil {
			t.payload[at] = []byte{}
		}
	}
	return nil
}

// readLinked reads a file of the source, where links within the root are
// followed.
func readLinked(root *os.Root, name string) ([]byte, error) {
	info, err := root.Stat(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &notRegular{info.Mode()}
	}
	return root.ReadFile(name)
}

func (t *taken) changed(name string, err error) error {
	message := fmt.Sprintf("`%s` was changed while it was being sealed", name)
	if err != nil {
		message += " (" + reason(err) + ")"
	}
	return refusal(t.path, "changed-while-sealing", message, "nothing of this record was sealed; seal it again")
}

// takeTheme takes the files of which a theme is made.
func (t *taken) takeTheme(theme fs.FS) error {
	names, err := fs.Glob(theme, "*.html")
	if err != nil {
		return err
	}
	for _, name := range append(names, "style.css", "print.css") {
		text, err := fs.ReadFile(theme, name)
		if name == "print.css" && errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("theme: %w", err)
		}
		t.payload[path.Join(themeDir, name)] = text
	}
	return nil
}

func (t *taken) identity() string {
	if a := t.out.Results.Apparatus; a != nil {
		return strings.Join(strings.Fields(a.Identity), " ")
	}
	return ""
}

func (t *taken) sums() map[string]string {
	out := map[string]string{}
	for p, text := range t.payload {
		out[p] = sumOf(text)
	}
	return out
}

// contentSum stands for a source with a theme, as a version of the engine
// builds it: the SHA-256 sum of a short text.
func contentSum(version, record string, files map[string]string) string {
	var b bytes.Buffer
	fmt.Fprintf(&b, "taut %s\nrecord %s\n", version, record)
	var paths []string
	for p := range files {
		if strings.HasPrefix(p, sourceDir+"/") || strings.HasPrefix(p, themeDir+"/") {
			paths = append(paths, p)
		}
	}
	sort.Strings(paths)
	for _, p := range paths {
		fmt.Fprintf(&b, "%s  %s\n", files[p], escape.Replace(p))
	}
	return sumOf(b.Bytes())
}

func sortedFolders(m map[string]*folder) []*folder {
	var out []*folder
	for _, f := range m {
		out = append(out, f)
	}
	slices.SortFunc(out, func(a, b *folder) int { return strings.Compare(a.Folder, b.Folder) })
	return out
}
