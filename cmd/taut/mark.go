package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "mark", args: "KEY SUBMISSION…", what: "mark what a class handed in, by the key of `taut vary`",
	more: "KEY is key.json or a folder that holds it. A SUBMISSION is a student's record, a folder with\n" +
		"such records below it, or a list of numbers, NAME.csv or NAME.json. The class table goes to\n" +
		"the screen; with `-o` DIR receives a page for each student with the reasons, and class.html\n" +
		"and class.csv with the table and a plot of the class's results. Free text is never marked:\n" +
		"answers are laid out for the teacher's pen, beside the model answers.\n" +
		"\n" +
		"What is marked: the claims of the teacher's record on its practical, `?[young.E = marks=3]`,\n" +
		"and its questions. Where none of its claims says how many marks, the first result counts 3,\n" +
		"others 2; where none of its questions says it, each counts 1; where some do, the others are\n" +
		"not marked. Where it claims nothing, marked are the method's first result, those with a known\n" +
		"truth and those on which the first rests.\n" +
		"\n" +
		"A list in CSV has a column `id`, and a column for each value, its unit in the heading or in\n" +
		"the cells:\n" +
		"\n" +
		"  id, d / mm, E\n" +
		"  001, 0.497(3), 197 GPa ± 6 GPa\n" +
		"\n" +
		"or the columns `id`, `name`, `value` and perhaps `unit`:\n" +
		"\n" +
		"  id, name, value\n" +
		"  001, d, 0.497(3) mm\n" +
		"\n" +
		"In JSON it is one of these, or a list of such in [ ]:\n\n" +
		"  {\"id\": \"001\", \"values\": {\"d\": \"0.497 mm\", \"E\": \"197 GPa\"}}\n\n" +
		"Numbers are read as the record language reads quantities, with a decimal point;\n" +
		"one with a comma is told and not read.\n" +
		"\n" +
		"Whose: by the name of the folder or by `id`, held against the readings themselves. The\n" +
		"readings that were given out count, less those that the student struck: edited ones are\n" +
		"told. Another student's readings earn nothing, unless --lenient is given.\n" +
		"\n" +
		"Right is a value within the expanded uncertainty of the student's own data and half a unit\n" +
		"of its last digit. That half unit counts up to half a unit of the first digit of the\n" +
		"expanded uncertainty, or 0.5 % of the value, so that few figures make nothing right; and no\n" +
		"more than a fifth of the value is allowed on either side, so that slips as of 2 or 4/pi are\n" +
		"wrong however rough the readings; next to zero, where a fifth is nothing, what is rounded\n" +
		"rightly is right. A value is right too if it follows from the student's own earlier results,\n" +
		"as far as the record's formulas take them in: these are then put in the place of the computed\n" +
		"ones, uncertain by their rounding alone. Slips such as a factor of 1000 or of 4 are named in\n" +
		"words and earn nothing.\n" +
		"\n" +
		"How marks split: of 1, for the value with its unit; of 2, one for the value and one for the\n" +
		"unit; of n from 3 on, n - 2 for the value, one for the unit, one for the figures. A wrong or\n" +
		"missing unit loses its mark, and the number is judged in the unit that was expected. Figures\n" +
		"are right where the last digit stands at the first or second significant digit of the\n" +
		"uncertainty (GUM 7.2.6), or one further. Without a right value neither earns anything.\n" +
		"\n" +
		"A reading spoilt by a fault of recording is noticed where it is struck with a reason; honest\n" +
		"readings that were struck are named. Neither changes the marks. In a list, strikes can't be\n" +
		"seen: it is marked with the wrong reading or without, whichever the numbers go with.\n" +
		"\n" +
		"What can't be marked is told with its place; the exit code is then 1.",
	setup: func(f *flags) func(*call) int {
		m := &marking{}
		f.text(&m.dir, "o", "DIR", "the folder for the pages and class.csv")
		f.yes(&m.lenient, "lenient", "mark a record that holds another student's readings, on those")
		f.text(&m.themeName, "theme", "NAME|DIR", "how the pages look")
		return m.run
	},
})

// marking is one call of `taut mark`.
type marking struct {
	*call
	dir, themeName string
	lenient        bool

	key      *variant.Key
	keyFile  *source.File
	found    []variant.Submission
	findings []*finding.Finding // of what is no submission at all
	open     []*build.Opened
}

func (m *marking) run(k *call) int {
	m.call = k
	if len(k.args) < 2 {
		return k.wrongUsage("`mark` needs a key and what was handed in")
	}
	theme, err := (&builder{call: k, themeName: m.themeName}).theme()
	if err == nil && theme == nil {
		theme, err = themes.Load("")
	}
	if err == nil {
		err = m.readKey(k.args[0])
	}
	defer func() {
		for _, o := range m.open {
			o.Close()
		}
	}()
	for i := 1; err == nil && i < len(k.args); i++ {
		err = m.find(filepath.Clean(k.args[i]))
	}
	if err != nil {
		return k.complain(err)
	}
	marked := variant.Mark(variant.Marking{Key: m.key, KeyFile: m.keyFile, Submissions: m.found, Kinds: blocks.All(), Library: blocks.Built(), Version: version, Lenient: m.lenient})
	marked.Findings = append(marked.Findings, m.findings...)
	finding.Sort(marked.Findings)
	return m.show(marked, theme)
}

// show writes the table and, where asked for, the pages.
func (m *marking) show(marked *variant.Marked, theme *page.Theme) int {
	err := finding.WriteText(m.err, marked.Findings)
	if err == nil {
		err = marked.WriteText(m.out)
	}
	if err == nil && m.dir != "" {
		err = m.write(marked, theme)
	}
	if err != nil {
		return m.complain(err)
	}
	for _, f := range marked.Findings {
		if f.Severity == finding.Error {
			return exitErrors
		}
	}
	return exitOK
}

// readKey reads the key, or that in a folder.
func (m *marking) readKey(path string) error {
	if isFolder(path) {
		inside := filepath.Join(path, "key.json")
		if _, err := os.Stat(inside); err != nil {
			if deeper := filepath.Join(path, "key", "key.json"); isThere(deeper) {
				inside = deeper
			} else {
				return usageError(fmt.Sprintf("there is no key.json in `%s`", slashed(path)))
			}
		}
		path = inside
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if m.key, err = variant.ParseKey(text); err != nil {
		return usageError(fmt.Sprintf("`%s` can't be used: %v", slashed(path), err))
	}
	m.keyFile = source.NewFile(slashed(path), text)
	return nil
}

func isThere(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// find takes up what stands at a path.
func (m *marking) find(path string) error {
	if _, err := os.Stat(path); err != nil {
		return err
	}
	if !isFolder(path) {
		switch strings.ToLower(filepath.Ext(path)) {
		case ".md":
			m.record(path)
		case ".csv", ".json":
			m.list(path)
		default:
			return usageError(fmt.Sprintf("`%s` is no submission: a submission is a record NAME.md, a folder of records, or a list NAME.csv or NAME.json", slashed(path)))
		}
		return nil
	}
	before := len(m.found) + len(m.findings)
	var skip []string
	if m.dir != "" {
		skip = append(skip, m.dir)
	}
	records, err := build.Records(path, skip...)
	if err != nil {
		return err
	}
	has := map[string]bool{}
	for _, r := range records {
		has[filepath.Dir(r)] = has[filepath.Dir(r)] || filepath.Base(r) == recordName
	}
	for _, r := range records {
		if filepath.Base(r) == recordName || !has[filepath.Dir(r)] {
			m.record(r)
		}
	}
	if err := m.inFolder(path, has); err != nil {
		return err
	}
	if len(m.found)+len(m.findings) == before {
		m.findings = append(m.findings, variant.EmptyFolder(slashed(path)))
	}
	return nil
}

// recordName is the name of the record in a student's folder.
const recordName = "record.md"

// inFolder takes up the lists that stand in a folder, and says which students'
// folders hold no record.
func (m *marking) inFolder(path string, has map[string]bool) error {
	entries, err := os.ReadDir(path)
	if err != nil {
		return err
	}
	for _, e := range entries {
		inside := filepath.Join(path, e.Name())
		_, holds := has[inside]
		switch ext := strings.ToLower(filepath.Ext(e.Name())); {
		case e.IsDir() && !holds && m.key.Named(e.Name()) != "":
			m.findings = append(m.findings, variant.EmptyFolder(slashed(inside)))
		case !e.IsDir() && (ext == ".csv" || ext == ".json") && e.Name() != "key.json" && !has[path]:
			if _, student := has[path]; !student {
				m.list(inside)
			}
		}
	}
	return nil
}

// opened opens a file; what cannot be opened is a finding, and the others are
// marked all the same.
func (m *marking) opened(path string) *build.Opened {
	o, err := build.Open(path)
	if err != nil {
		m.findings = append(m.findings, variant.Unreadable(slashed(path), err))
		return nil
	}
	m.open = append(m.open, o)
	return o
}

// record takes up a student's record.
func (m *marking) record(path string) {
	o := m.opened(path)
	if o == nil {
		return
	}
	id := m.key.Named(strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)))
	if id == "" {
		id = m.key.Named(filepath.Base(filepath.Dir(absolute(path))))
	}
	m.found = append(m.found, variant.Submission{Name: slashed(path), ID: id, Record: o.File, Files: o.Files, Shown: o.Shown})
}

// list takes up a list of numbers.
func (m *marking) list(path string) {
	if o := m.opened(path); o != nil {
		m.found = append(m.found, variant.Submission{Name: slashed(path), List: source.NewFile(slashed(path), o.File.Text)})
	}
}

// write writes the pages and the class table.
func (m *marking) write(marked *variant.Marked, theme *page.Theme) error {
	html, err := marked.ClassPage(m.key.Method, theme)
	if err != nil {
		return err
	}
	table, err := marked.CSV()
	if err != nil {
		return err
	}
	files := []struct {
		name string
		text []byte
	}{{"class.html", html}, {"class.csv", table}}
	for _, s := range marked.Sheets {
		html, err := marked.Page(s, theme)
		if err != nil {
			return err
		}
		files = append(files, struct {
			name string
			text []byte
		}{s.PageName(), html})
	}
	for _, f := range files {
		if err := write(filepath.Join(m.dir, f.name), f.text); err != nil {
			return err
		}
	}
	fmt.Fprintf(m.err, "%s and class.html, class.csv in %s\n", counted(len(marked.Sheets), "page"), slashed(m.dir))
	return nil
}
