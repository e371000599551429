package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "build", args: "PATH…", what: "work records out and write their pages",
	more: "A folder stands for every record below it. A page stands beside its record, or with\n" +
		"-o in that folder, under the same folders as below the PATH given (below the folder that\n" +
		"several PATHs have in common): NAME.html, and for the views `worked` and `blank`\n" +
		"NAME.worked.html and NAME.blank.html, so that no view is written over another. The paths\n" +
		"of the pages that were written go to the standard output, findings to the standard error.\n\n" +
		"`record` is the record as it is written; `worked` shows every step of its calculations\n" +
		"with the numbers put in, and the answers; `blank` is the sheet to be filled in: empty\n" +
		"tables, ruled space and a grid to plot on, with no reading, result or answer in it. What\n" +
		"is computed, the findings and the results file are the same for every view.\n\n" +
		"Only what changed is built again: a page that is as its record, all files that the\n" +
		"record reads or looked for, the view, the theme and this program would make it is left\n" +
		"alone. Its findings are shown all the same, and the standard error says how many pages\n" +
		"are up to date. What every page was made from is kept, as sums, in the folder `taut`\n" +
		"among your caches, which may be deleted at any time; TAUT_CACHE names another folder,\n" +
		"TAUT_CACHE=off keeps nothing.\n\n" + pdfHelp,
	setup: func(f *flags) func(*call) int {
		b := &builder{view: view.AsRecord.String()}
		f.text(&b.dir, "o", "DIR", "write the pages below this folder")
		f.text(&b.view, "view", "VIEW", "what the page shows: "+strings.Join(view.Names(), ", "))
		f.text(&b.themeName, "theme", "NAME|DIR", "how the page looks: "+strings.Join(themes.Names(), ", ")+", or a folder of your own")
		f.text(&b.results, "results", "FILE", "write the results file too; with several records, a folder for theirs")
		f.text(&b.workers, "j", "N", "build at most N records at once (as many as there are processors); it changes no byte")
		f.yes(&b.anew, "anew", "build what has not changed, too")
		b.pdf.add(f)
		return b.run
	},
})

// builder is one call of `taut build`.
type builder struct {
	*call
	dir, view, themeName, results, workers string
	anew                                   bool
	pdf                                    pdfOption

	records  []target
	options  build.Options
	themeSum string
}

func (b *builder) run(k *call) int {
	b.call = k
	shown, ok := view.Named(b.view)
	if !ok {
		hint := finding.DidYouMean(b.view, view.Names())
		if hint == "" {
			hint = "the views are " + strings.Join(view.Names(), ", ")
		}
		return k.wrongUsage(withHint(fmt.Sprintf("there is no view `%s`", b.view), hint))
	}
	workers, err := b.mostWorkers()
	if err != nil {
		return k.wrongUsage(err.Error())
	}
	if len(k.args) == 0 {
		return k.wrongUsage("`build` needs the path of a record or a folder")
	}
	if err := b.pdf.ready(); err != nil {
		return k.complain(err)
	}
	theme, err := b.theme()
	if err != nil {
		return k.complain(err)
	}
	b.options = options(theme)
	b.options.View = shown
	var skip []string
	if b.dir != "" {
		skip = append(skip, b.dir)
	}
	if b.records, err = targets(k.args, skip...); err != nil {
		return k.complain(err)
	}
	list, err := b.targets()
	if err != nil {
		return k.complain(err)
	}
	if b.dir != "" {
		// Found out once, not for every record.
		if err := os.MkdirAll(b.dir, 0o777); err != nil {
			return k.complain(err)
		}
	}
	return b.all(list, &build.Batch{Options: b.options, Keep: keep(b.themeSum), Anew: b.anew, Workers: workers})
}

// batchMemory is how much memory, in bytes, many records may take before the
// garbage of those that are done is collected: as much for a thousand as for
// ten thousand. A record that needs more gets more.
const batchMemory = 64 << 20

// all builds the records and tells what came of each, in their order.
func (b *builder) all(list []build.Target, batch *build.Batch) int {
	if len(b.records) > 1 && os.Getenv("GOMEMLIMIT") == "" {
		defer debug.SetMemoryLimit(debug.SetMemoryLimit(batchMemory))
	}
	ctx, signals := untilSignal()
	defer signals.stop()
	sum := &outcome{}
	line := newProgress(b.err, "records", len(list))
	told := batch.Run(ctx, list, func(m *build.Made) bool {
		line.clear()
		err := b.tell(m)
		if err == nil {
			err = b.pdf.print(ctx, b.call, m)
		}
		sum.add(b.call, m, err)
		line.step()
		return !sum.isDiskFault
	})
	line.clear()
	switch {
	case sum.same == 1 && len(list) == 1:
		fmt.Fprintf(b.err, "%s is up to date\n", slashed(list[0].Page))
	case sum.same > 0:
		fmt.Fprintf(b.err, "%d of %d pages are up to date\n", sum.same, len(list))
	}
	if sum.isDiskFault || told < len(list) {
		fmt.Fprintf(b.err, "taut: stopped: %d of %d records have their pages\n", sum.paged, len(list))
	}
	signals.pass()
	return sum.code
}

// outcome is what came of all records of a build together.
type outcome struct {
	code        int // to exit with
	same        int // pages that were up to date
	paged       int // records whose pages are as they should be
	isDiskFault bool
}

// add takes one record in, and what went wrong with its files.
func (o *outcome) add(k *call, m *build.Made, err error) {
	if m.Unchanged {
		o.same++
	}
	for _, f := range m.Findings {
		if f.Severity == finding.Error {
			o.code = max(o.code, exitErrors)
		}
	}
	disk := build.IsDiskFault(err)
	switch {
	case err == nil:
		o.paged++
	case disk && o.isDiskFault: // the others that were begun have the same to say
	default:
		o.code = max(o.code, k.complain(err))
		o.isDiskFault = disk
	}
}

// tell prints what came of a record, and returns what went wrong.
func (b *builder) tell(m *build.Made) error {
	for _, f := range m.Findings {
		if _, err := io.WriteString(b.err, f.Text); err != nil {
			return err
		}
	}
	if m.Err != nil || m.Unchanged {
		return m.Err
	}
	_, err := fmt.Fprintln(b.out, slashed(m.Page))
	return err
}

// mostWorkers is the number of processors of the option, 0 for all.
func (b *builder) mostWorkers() (int, error) {
	if b.workers == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(b.workers)
	if err != nil || n < 1 {
		return 0, fmt.Errorf("`-j` can't be `%s`: it is a whole number of 1 or more", b.workers)
	}
	return n, nil
}

// theme is that of the option, nil where it is left to the record. Its sum is
// noted; those that are built in have their names for sums, since they are
// parts of the program.
func (b *builder) theme() (*page.Theme, error) {
	if b.themeName == "" {
		return nil, nil
	}
	if slices.Contains(themes.Names(), b.themeName) {
		b.themeSum = b.themeName
		return themes.Load(b.themeName)
	}
	if isFolder(b.themeName) {
		files := &notedFS{FS: os.DirFS(b.themeName)}
		t, err := page.LoadTheme(files)
		b.themeSum = files.sum()
		return t, err
	}
	hint := finding.DidYouMean(b.themeName, themes.Names())
	if hint == "" {
		hint = "there is " + strings.Join(themes.Names(), ", ") + ", or name a folder"
	}
	return nil, usageError(withHint(fmt.Sprintf("there is no theme `%s`", b.themeName), hint))
}

// pagePath is where the page of a record goes.
func (b *builder) pagePath(t target) string {
	ending := ".html"
	if b.options.View != view.AsRecord {
		ending = "." + b.view + ending
	}
	if b.dir != "" {
		return filepath.Join(b.dir, t.inside+ending)
	}
	return strings.TrimSuffix(t.record, filepath.Ext(t.record)) + ending
}

// resultsPath is where the results file of a record goes; "" for nowhere.
func (b *builder) resultsPath(t target) string {
	switch {
	case b.results == "":
		return ""
	case len(b.records) > 1, strings.HasSuffix(b.results, "/"), isFolder(b.results):
		return filepath.Join(b.results, t.inside+".json")
	}
	return b.results
}

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// targets says where what is made of each record goes. It refuses a call in
// which two records would be written to one file, or one of them over another.
func (b *builder) targets() ([]build.Target, error) {
	var found realFolders
	written := map[string]string{}
	records := map[string]bool{}
	out := make([]build.Target, len(b.records))
	for i, t := range b.records {
		out[i] = build.Target{Record: t.record, Page: b.pagePath(t), Results: b.resultsPath(t)}
		records[found.real(t.record)] = true
	}
	for _, t := range out {
		for _, path := range []string{t.Page, t.Results} {
			if path == "" {
				continue
			}
			real := found.real(path)
			if before, twice := written[real]; twice {
				return nil, usageError(fmt.Sprintf("`%s` would be written twice, for `%s` and `%s`", slashed(path), slashed(before), slashed(t.Record)))
			}
			if records[real] {
				return nil, usageError(fmt.Sprintf("`%s` is a record: a build does not write over it", slashed(path)))
			}
			written[real] = t.Record
		}
	}
	return out, nil
}

// realFolders are folders by their paths without links, each looked up once.
type realFolders map[string]string

// real is an absolute path whose folder has no links in it, as far as the
// folder is there.
func (f *realFolders) real(path string) string {
	dir, base := filepath.Split(absolute(path))
	real, known := (*f)[dir]
	if !known {
		var err error
		if real, err = filepath.EvalSymlinks(dir); err != nil {
			real = dir
		}
		if *f == nil {
			*f = realFolders{}
		}
		(*f)[dir] = real
	}
	return filepath.Join(real, base)
}

func absolute(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.Clean(path)
	}
	return abs
}

func slashed(path string) string { return build.Printable(path) }
