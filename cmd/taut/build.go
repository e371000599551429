package main

import (
	"fmt"
	"os"
	"path/filepath"
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
		"of the pages go to the standard output, findings to the standard error.\n\n" +
		"`record` is the record as it is written; `worked` shows every step of its calculations\n" +
		"with the numbers put in, and the answers; `blank` is the sheet to be filled in: empty\n" +
		"tables, ruled space and a grid to plot on, with no reading, result or answer in it. What\n" +
		"is computed, the findings and the results file are the same for every view.",
	setup: func(f *flags) func(*call) int {
		b := &builder{view: view.AsRecord.String()}
		f.text(&b.dir, "o", "DIR", "write the pages below this folder")
		f.text(&b.view, "view", "VIEW", "what the page shows: "+strings.Join(view.Names(), ", "))
		f.text(&b.themeName, "theme", "NAME|DIR", "how the page looks: "+strings.Join(themes.Names(), ", ")+", or a folder of your own")
		f.text(&b.results, "results", "FILE", "write the results file too; with several records, a folder for theirs")
		f.text(&b.workers, "j", "N", "use at most N processors; it changes no byte")
		return b.run
	},
})

// builder is one call of `taut build`.
type builder struct {
	*call
	dir, view, themeName, results, workers string

	records []target
	options build.Options
	sum     tally
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
	theme, err := b.theme()
	if err != nil {
		return k.complain(err)
	}
	b.options = options(theme)
	b.options.View, b.options.Workers = shown, workers
	var skip []string
	if b.dir != "" {
		skip = append(skip, b.dir)
	}
	if b.records, err = targets(k.args, skip...); err != nil {
		return k.complain(err)
	}
	if err := b.collisions(); err != nil {
		return k.complain(err)
	}
	code := exitOK
	for _, t := range b.records {
		if err := b.one(t); err != nil {
			code = max(code, k.complain(err))
		}
	}
	return max(code, b.sum.exit())
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

// theme is that of the option, nil where it is left to the record.
func (b *builder) theme() (*page.Theme, error) {
	if b.themeName == "" {
		return nil, nil
	}
	for _, n := range themes.Names() {
		if n == b.themeName {
			return themes.Load(n)
		}
	}
	if info, err := os.Stat(b.themeName); err == nil && info.IsDir() {
		return page.LoadTheme(os.DirFS(b.themeName))
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

// collisions refuses a call in which two records would be written to one file,
// or one of them over another.
func (b *builder) collisions() error {
	written := map[string]string{}
	records := map[string]bool{}
	for _, t := range b.records {
		records[absolute(t.record)] = true
	}
	for _, t := range b.records {
		for _, path := range []string{b.pagePath(t), b.resultsPath(t)} {
			if path == "" {
				continue
			}
			abs := absolute(path)
			if before, twice := written[abs]; twice {
				return usageError(fmt.Sprintf("`%s` would be written twice, for `%s` and `%s`", slashed(path), slashed(before), slashed(t.record)))
			}
			if records[abs] {
				return usageError(fmt.Sprintf("`%s` is a record: a build does not write over it", slashed(path)))
			}
			written[abs] = t.record
		}
	}
	return nil
}

func absolute(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.Clean(path)
	}
	return abs
}

func slashed(path string) string { return filepath.ToSlash(path) }

// one builds a record and writes what comes of it.
func (b *builder) one(t target) error {
	out, err := build.Record(t.record, b.options)
	if err != nil {
		return err
	}
	if err := finding.WriteText(b.err, out.Findings); err != nil {
		return err
	}
	b.sum.add(out)
	page, res := b.pagePath(t), b.resultsPath(t)
	if err := sparesInputs(out, page, res); err != nil {
		return err
	}
	if res != "" {
		text, err := out.Results.Bytes()
		if err != nil {
			return err
		}
		if err := write(res, text); err != nil {
			return err
		}
	}
	if err := write(page, out.HTML); err != nil {
		return err
	}
	_, err = fmt.Fprintln(b.out, slashed(page))
	return err
}

// sparesInputs refuses to write over a file that the record was made from.
func sparesInputs(out *build.Output, paths ...string) error {
	for _, path := range paths {
		for _, in := range out.Files() {
			if path != "" && build.SamePath(path, in) {
				return usageError(fmt.Sprintf("`%s` is a file that the record reads: a build does not write over it", slashed(path)))
			}
		}
	}
	return nil
}

func write(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return build.WriteFile(path, text)
}
