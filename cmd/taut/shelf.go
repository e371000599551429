package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/taut/engine/archive"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "shelf", args: "ARCHIVE", what: "make the pages of an archive: apparatus, histories, calibrations due",
	more: "The pages are for a browser and need no server: index.html lists the apparatus, and each has\n" +
		"a page with its instruments and when their calibrations are due, its specimens, a control\n" +
		"chart of each result and of the zero readings, and all its records; methods.html,\n" +
		"materials.html and titles.html list the records in other orders. Nothing is written into the\n" +
		"archive. DIR is new, empty or an earlier shelf; without -o it stands beside the archive,\n" +
		"named ARCHIVE-shelf. The pages lead to those of the records in the archive, by the way from\n" +
		"DIR to it; with --copy they lead to copies in DIR/records, so that DIR can be moved alone.\n\n" +
		"Calibrations are judged for the day of --today, for the present day without it; the pages\n" +
		"say which. Limits rest on all values of a specimen, or with --baseline on its first N.\n" +
		"What can't be read is told, on the pages too, and all else is shelved. Whether files are as\n" +
		"they were sealed, `taut verify` tells.",
	setup: func(f *flags) func(*call) int {
		s := &shelver{}
		f.text(&s.dir, "o", "DIR", "the folder for the pages")
		f.text(&s.today, "today", "DATE", "the day for which calibrations are judged, as 2026-03-12")
		f.text(&s.baseline, "baseline", "N", "let the limits rest on the first N values of each specimen")
		f.yes(&s.copies, "copy", "copy the records' pages into DIR")
		f.text(&s.themeName, "theme", "NAME|DIR", "how the pages look")
		return s.run
	},
})

// shelfMarker is the file that tells a shelf from a folder of something else.
const shelfMarker = "taut.shelf"

const shelfMarkerText = "taut shelf\n\nPages made by `taut shelf` of an archive. They can be thrown away and made anew.\n"

// shelver is one call of `taut shelf`.
type shelver struct {
	*call
	dir, today, baseline, themeName string
	copies                          bool

	archive string // its folder
	options archive.ShelfOptions
}

func (s *shelver) run(k *call) int {
	s.call = k
	if len(k.args) != 1 {
		return k.wrongUsage("`shelf` needs the folder of one archive")
	}
	s.archive = filepath.Clean(k.args[0])
	if err := s.settle(); err != nil {
		return k.wrongUsage(err.Error())
	}
	theme, err := (&builder{call: k, themeName: s.themeName}).theme()
	if err == nil && theme == nil {
		theme, err = themes.Load("")
	}
	if err == nil {
		err = s.place()
	}
	if err != nil {
		return k.complain(err)
	}
	s.options.Theme, s.options.Version = theme, version
	return s.make()
}

// settle reads the options.
func (s *shelver) settle() error {
	if s.today == "" {
		s.today = time.Now().Format(time.DateOnly)
	}
	if _, err := time.Parse(time.DateOnly, s.today); err != nil {
		return fmt.Errorf("`--today` can't be `%s`: it is a date such as 2026-03-12", s.today)
	}
	s.options.Today = s.today
	if s.baseline != "" {
		n, err := strconv.Atoi(s.baseline)
		if err != nil || n < 2 {
			return fmt.Errorf("`--baseline` can't be `%s`: it is a whole number of 2 or more", s.baseline)
		}
		s.options.Baseline = n
	}
	if s.dir == "" {
		s.dir = filepath.Clean(absolute(s.archive)) + "-shelf"
		if short, err := filepath.Rel(absolute("."), s.dir); err == nil {
			s.dir = short
		}
	}
	return nil
}

// place finds the way from the shelf to the records, and refuses a folder that
// is something else.
func (s *shelver) place() error {
	if inside(s.dir, s.archive) {
		return usageError(fmt.Sprintf("`%s` lies in the archive, into which nothing but sealed records goes; name another folder", slashed(s.dir)))
	}
	entries, err := os.ReadDir(s.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil && !isFolder(s.dir):
		return usageError(fmt.Sprintf("`%s` is no folder; name another", slashed(s.dir)))
	case err != nil:
		return err
	case len(entries) > 0 && !slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return e.Name() == shelfMarker }):
		return usageError(fmt.Sprintf("the folder `%s` holds something that is no shelf, and nothing was written; name another", slashed(s.dir)))
	}
	if s.copies {
		s.options.Records = "records"
		return nil
	}
	way, err := filepath.Rel(absolute(s.dir), absolute(s.archive))
	if err != nil {
		return usageError(fmt.Sprintf("no way leads from `%s` to the archive; use `--copy`", slashed(s.dir)))
	}
	s.options.Records = filepath.ToSlash(way)
	return nil
}

// inside reports whether a path, links followed as far as it exists, lies in a
// folder.
func inside(path, folder string) bool {
	rel, err := filepath.Rel(followed(folder), followed(path))
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func followed(path string) string {
	path = absolute(path)
	for rest := ""; ; {
		if real, err := filepath.EvalSymlinks(path); err == nil {
			return filepath.Join(real, rest)
		}
		up := filepath.Dir(path)
		if up == path {
			return filepath.Join(path, rest)
		}
		path, rest = up, filepath.Join(filepath.Base(path), rest)
	}
}

// make makes the pages and writes them.
func (s *shelver) make() int {
	a, err := archive.Open(s.archive)
	if err != nil {
		return s.complain(fmt.Errorf("%s: %w", slashed(s.archive), err))
	}
	defer a.Close()
	shelf, err := a.Shelve(s.options)
	if err != nil {
		return s.complain(err)
	}
	code := exitOK
	for _, f := range shelf.Findings {
		fmt.Fprintf(s.err, "%s/%s\n", slashed(s.archive), f)
		if f.Severity == finding.Error {
			code = exitErrors
		}
	}
	if err := s.write(shelf); err != nil {
		return max(code, s.complain(err))
	}
	fmt.Fprintln(s.out, slashed(filepath.Join(s.dir, "index.html")))
	return code
}

func (s *shelver) write(shelf *archive.Shelf) error {
	if err := s.file(shelfMarker, []byte(shelfMarkerText)); err != nil {
		return err
	}
	for _, p := range shelf.Pages {
		if err := s.file(p.Path, p.HTML); err != nil {
			return err
		}
	}
	if !s.copies {
		return nil
	}
	root, err := os.OpenRoot(s.archive)
	if err != nil {
		return err
	}
	defer root.Close()
	for _, p := range shelf.Linked {
		text, err := fs.ReadFile(root.FS(), p)
		if errors.Is(err, fs.ErrNotExist) {
			continue // told by `taut verify`; the link leads nowhere, as in the archive
		}
		if err != nil {
			return err
		}
		if err := s.file("records/"+p, text); err != nil {
			return err
		}
	}
	return nil
}

// file writes one file of the shelf. A folder in it that leads into the archive
// is not followed.
func (s *shelver) file(name string, text []byte) error {
	path := filepath.Join(s.dir, filepath.FromSlash(name))
	dir := filepath.Dir(path)
	if inside(dir, s.archive) {
		return usageError(fmt.Sprintf("`%s` leads into the archive, and nothing was written there; take the link away", slashed(dir)))
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	return build.WriteFile(path, text)
}
