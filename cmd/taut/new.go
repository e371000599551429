package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

var _ = add(&command{
	name: "new", args: "METHOD [DIR]", what: "lay out a ready-to-fill record, its apparatus file and data files",
	more: "METHOD is a name that `taut methods` lists, or the path of a method file, of which a copy\n" +
		"is put beside the record. DIR is a folder, new or not; without it one named after the\n" +
		"method. No file is written over. The paths of the files go to the standard output, what\n" +
		"to do next to the standard error.",
	setup: plain(runNew),
})

func runNew(k *call) int {
	if len(k.args) == 0 || len(k.args) > 2 {
		return k.wrongUsage("`new` needs a method, and takes one folder")
	}
	n := &newRecord{call: k}
	if err := n.open(k.args[0]); err != nil {
		return k.complain(err)
	}
	if n.faulty() {
		return exitErrors
	}
	n.dir = n.method.Name
	if len(k.args) == 2 {
		n.dir = k.args[1]
	}
	if err := n.write(); err != nil {
		return k.complain(err)
	}
	n.tell()
	return exitOK
}

// unreadLine is a line of a record that waits for what is to be read.
var unreadLine = regexp.MustCompile(`(?m)^[^#\n]*= –`)

// newRecord is one call of `taut new`.
type newRecord struct {
	*call
	method *method.Method
	path   string // of the method's file; "" where it is built in
	dir    string
	set    finding.Set
	names  []string // of the files, in order
	waits  []string // those in which readings are due
}

// open reads the method.
func (n *newRecord) open(name string) error {
	f, ok := blocks.Built().Method(name)
	if !ok {
		if !strings.ContainsAny(name, `/\.`) {
			return usageError(withHint(fmt.Sprintf("there is no method `%s`", name), methodHint(name)))
		}
		var err error
		if f, err = build.MethodFile(name); err != nil {
			return err
		}
		n.path = name
	}
	n.method = read(f, &n.set)
	return nil
}

func read(f *source.File, set *finding.Set) *method.Method {
	return method.Read(f, block.KindNames(blocks.All()), set)
}

func methodHint(name string) string {
	if h := finding.DidYouMean(name, blocks.Built().MethodNames()); h != "" {
		return h
	}
	return "`taut methods` lists them; a method of your own is named by its path"
}

// faulty reports a method from which no record can be laid out.
func (n *newRecord) faulty() bool {
	if n.set.Count(finding.Error) == 0 {
		return false
	}
	if err := finding.WriteText(n.err, n.set.Sorted()); err != nil {
		return true
	}
	fmt.Fprintf(n.err, "taut: the method has errors, so nothing was written; `taut check %s` tells more\n", slashed(n.path))
	return true
}

// files are the files to be written, by their names.
func (n *newRecord) files() (map[string]string, error) {
	as := n.method.Name
	own := ""
	if n.path != "" {
		own = filepath.Base(n.path)
		as = "./" + own
	}
	files := n.method.Scaffold(as, nil)
	if own == "" {
		return files, nil
	}
	if _, taken := files[own]; taken {
		return nil, usageError(fmt.Sprintf("the method file has the name of one that is to be written, `%s`; give it another", own))
	}
	if there := filepath.Join(n.dir, own); !build.SamePath(there, n.path) {
		files[own] = string(n.method.File.Text)
	}
	return files, nil
}

func (n *newRecord) write() error {
	files, err := n.files()
	if err != nil {
		return err
	}
	for name, text := range files {
		n.names = append(n.names, name)
		if filepath.Ext(name) == ".csv" || name == method.RecordName && unreadLine.MatchString(text) {
			n.waits = append(n.waits, name)
		}
	}
	slices.Sort(n.names)
	slices.Sort(n.waits)
	for _, name := range n.names {
		path := filepath.Join(n.dir, name)
		if _, err := os.Lstat(path); err == nil {
			return usageError(fmt.Sprintf("`%s` is there already, and nothing was written; name another folder", slashed(path)))
		} else if !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	for _, name := range n.names {
		path := filepath.Join(n.dir, name)
		if err := write(path, []byte(files[name])); err != nil {
			return err
		}
		if _, err := fmt.Fprintln(n.out, slashed(path)); err != nil {
			return err
		}
	}
	return nil
}

// tell says what is to be done next.
func (n *newRecord) tell() {
	fmt.Fprintf(n.err, "Laid out for: %s\n", n.method.Title)
	fmt.Fprintf(n.err, "1. In %s write what each instrument resolves.\n", method.ApparatusName)
	if len(n.waits) > 0 {
		fmt.Fprintf(n.err, "2. Put the readings in the place of – in %s.\n", strings.Join(n.waits, ", "))
	} else {
		fmt.Fprintf(n.err, "2. Bind in %s what the practical is to use.\n", method.RecordName)
	}
	fmt.Fprintf(n.err, "3. taut build %s, now and whenever you like: what is not yet read waits.\n", shellWord(slashed(filepath.Join(n.dir, method.RecordName))))
}

// shellWord puts a path into quotes where a shell would split it.
func shellWord(path string) string {
	if strings.ContainsAny(path, " '\"$&|;()<>*?#~`") {
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
	return path
}
