package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "vary", args: "RECORD --count N --seed S -o DIR", what: "make a set of readings for each student, and the key to them",
	more: "RECORD binds a practical; the simulation of its method makes the readings, each student's\n" +
		"with a specimen and instruments of its own. DIR, a new or empty folder, receives for each\n" +
		"student a folder with a record laid out as by `taut new`, the readings in it, places for the\n" +
		"student's own results with their marks, and the questions of RECORD that print no value; and\n" +
		"a folder key, with key.json and key.html, which are not for students: true values, expected\n" +
		"results with their tolerances, faults, and what is marked: the claims of RECORD on the\n" +
		"practical, `?[young.E = marks=3]`, and its questions (`taut help mark`).\n\n" +
		"The same seed gives the same bytes. Who knows the seed can make the key, so let it be a\n" +
		"phrase that is not guessed. A fault is one of the method's own or a slip in writing a reading\n" +
		"down; a student has one at most.",
	setup: func(f *flags) func(*call) int {
		v := &varying{rate: "0.2"}
		f.text(&v.count, "count", "N", "how many students")
		f.text(&v.seed, "seed", "S", "the phrase or number from which all chance comes")
		f.text(&v.dir, "o", "DIR", "the folder for all that is made")
		f.text(&v.rate, "faults", "RATE", "the probability of a fault, from 0 to 1 (0.2)")
		f.text(&v.practical, "practical", "NAME", "which practical of RECORD, where it has several")
		f.text(&v.themeName, "theme", "NAME|DIR", "how the page of the key looks")
		f.text(&v.workers, "j", "N", "use at most N processors; it changes no byte")
		return v.run
	},
})

// varying is one call of `taut vary`.
type varying struct {
	*call
	count, seed, dir, rate, practical, themeName, workers string

	class variant.Class
	theme *page.Theme
}

// mostStudents bounds a set.
const mostStudents = 10000

func (v *varying) run(k *call) int {
	v.call = k
	if len(k.args) != 1 {
		return k.wrongUsage("`vary` needs one record")
	}
	if err := v.settle(); err != nil {
		return k.wrongUsage(err.Error())
	}
	var err error
	if v.theme, err = (&builder{call: k, themeName: v.themeName}).theme(); err == nil && v.theme == nil {
		v.theme, err = themes.Load("")
	}
	if err == nil {
		err = v.free()
	}
	if err != nil {
		return k.complain(err)
	}
	rec, all, findings, err := build.Practicals(k.args[0], blocks.All(), blocks.Built())
	if err != nil {
		return k.complain(err)
	}
	if len(findings) > 0 {
		return v.faulty(findings)
	}
	if err := v.choose(rec, all); err != nil {
		return k.complain(err)
	}
	return v.make()
}

// settle reads the options.
func (v *varying) settle() error {
	switch {
	case v.count == "":
		return errors.New("`vary` needs `--count N`, how many students")
	case v.seed == "":
		return errors.New("`vary` needs `--seed S`, a phrase or a number")
	case v.dir == "":
		return errors.New("`vary` needs `-o DIR`, a folder for what it makes")
	}
	n, err := strconv.Atoi(v.count)
	if err != nil || n < 1 || n > mostStudents {
		return fmt.Errorf("`--count` can't be `%s`: it is a whole number from 1 to %d", v.count, mostStudents)
	}
	rate, err := strconv.ParseFloat(v.rate, 64)
	if err != nil || !(rate >= 0 && rate <= 1) {
		return fmt.Errorf("`--faults` can't be `%s`: it is a probability from 0 to 1, such as 0.2", v.rate)
	}
	workers, err := (&builder{workers: v.workers}).mostWorkers()
	if err != nil {
		return err
	}
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	v.class = variant.Class{Count: n, Seed: v.seed, Rate: rate, Workers: workers, Kinds: blocks.All(), Library: blocks.Built(), Version: version}
	return nil
}

// free refuses a folder that is not empty: old variants among new ones would
// not fit the key.
func (v *varying) free() error {
	entries, err := os.ReadDir(v.dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err == nil && len(entries) > 0:
		return usageError(fmt.Sprintf("the folder `%s` is not empty, and nothing was written; name another", slashed(v.dir)))
	case err != nil && !isFolder(v.dir):
		return usageError(fmt.Sprintf("`%s` is no folder; name another", slashed(v.dir)))
	}
	return err
}

// choose takes the practical.
func (v *varying) choose(rec *record.Record, all []build.Practical) error {
	var names []string
	var fits []build.Practical
	for _, p := range all {
		names = append(names, p.Name)
		if v.practical == "" || p.Name == v.practical {
			fits = append(fits, p)
		}
	}
	name := slashed(v.args[0])
	switch {
	case len(all) == 0:
		return usageError(fmt.Sprintf("`%s` has no block `practical`, whose method could make readings; `taut new` lays out a record with one", name))
	case len(fits) == 0:
		return usageError(withHint(fmt.Sprintf("`%s` has no practical `%s`", name, v.practical), orList(finding.DidYouMean(v.practical, names), "it has ", names)))
	case len(fits) > 1:
		return usageError(fmt.Sprintf("`%s` has several practicals; choose one of %s with `--practical`", name, strings.Join(names, ", ")))
	}
	if fits[0].Own == "record.md" || fits[0].Own == "apparatus.yaml" || filepath.Ext(fits[0].Own) == ".csv" {
		return usageError(fmt.Sprintf("the method file has the name of one that is to be written, `%s`; give it another", fits[0].Own))
	}
	v.class.Method, v.class.Own, v.class.Record, v.class.Bound = fits[0].Method, fits[0].Own, rec, fits[0].Name
	return nil
}

func orList(hint, before string, names []string) string {
	if hint != "" {
		return hint
	}
	return before + strings.Join(names, ", ")
}

func (v *varying) faulty(list []*finding.Finding) int {
	if err := finding.WriteText(v.err, list); err != nil {
		return v.complain(err)
	}
	fmt.Fprintln(v.err, "taut: nothing was written")
	return exitErrors
}

// make makes the variants and writes them.
func (v *varying) make() int {
	live := isTerminal(v.err)
	if live {
		v.class.Progress = func(done int) { fmt.Fprintf(v.err, "\r%d of %d", done, v.class.Count) }
	}
	made, findings := variant.Vary(v.class)
	if live {
		fmt.Fprint(v.err, "\r\x1b[K")
	}
	if made == nil {
		return v.faulty(findings)
	}
	if err := v.write(made); err != nil {
		return v.complain(err)
	}
	if left := variant.BesideThePractical(v.class.Record, v.class.Bound); len(left) > 0 {
		fmt.Fprintf(v.err, "note: no student is asked for %s: only claims on the practical `%s` are, as `?[%s.NAME = marks=2]`\n", quotedList(left), v.class.Bound, v.class.Bound)
	}
	fmt.Fprintf(v.err, "%s of %s, %d with a fault\n", counted(len(made.Files), "variant"), made.Key.Method, made.Key.WithFaults())
	return exitOK
}

func quotedList(names []string) string {
	return "`" + strings.Join(names, "`, `") + "`"
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// isTerminal reports whether a line that is written over and over can be
// watched.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&fs.ModeCharDevice != 0 && os.Getenv("TERM") != "dumb"
}

// write writes the students' folders and the key, all or nothing.
func (v *varying) write(made *variant.Variants) error {
	text, err := made.Key.Bytes()
	if err != nil {
		return err
	}
	html, err := made.Key.Page(made.Title, v.theme)
	if err != nil {
		return err
	}
	err = build.Together(v.dir, func(dir string) error {
		for i, files := range made.Files {
			if err := writeAll(filepath.Join(dir, made.Key.Students[i].Folder), files); err != nil {
				return err
			}
		}
		return writeAll(filepath.Join(dir, "key"), map[string]string{"key.json": string(text), "key.html": string(html)})
	})
	if err != nil {
		return err
	}
	for _, name := range []string{"key.json", "key.html"} {
		if _, err := fmt.Fprintln(v.out, slashed(filepath.Join(v.dir, "key", name))); err != nil {
			return err
		}
	}
	return nil
}

// writeAll writes files into a new folder. Nobody reads a part of what was
// there.
func writeAll(dir string, files map[string]string) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			return err
		}
	}
	return nil
}
