// Package build turns a record into its page and its results file: the whole
// way from the file to the bytes. It holds no state between records but the
// caches that it is given, it prints nothing and it ends nothing.
//
// The bytes depend on the record, on the files that it reads, on the theme and
// on the version of the engine, and on nothing else: not on the folder in
// which the build was started, on the clock or on the number of processors.
package build

import (
	"bytes"
	"path/filepath"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Options are what a build is given beside the record.
type Options struct {
	Kinds   []block.Kind
	Library block.Library
	Themes  Themes
	Theme   *page.Theme // instead of the one that the record names; nil for none
	View    view.View   // what the page shows; it changes nothing in Results and Findings
	Version string
	Workers int        // for Monte Carlo draws; 0 for all processors; changes no byte
	Trials  TrialCache // nil for none
	Texts   *Texts     // nil for none
}

// Themes are the looks that a record can name.
type Themes interface {
	Names() []string
	Load(name string) (*page.Theme, error) // "" for the default
}

// Output is all that a build makes.
type Output struct {
	Title    string
	HTML     []byte
	Results  *results.File
	Findings []*finding.Finding // in order; their files are named as the reader would type them
	Inputs   []results.Input    // the record and every file that it read, by path
	// Path is that of the record, relative to its root.
	Path string
	// Root is the absolute path of the folder below which the record's files
	// were read. It stands in no page and no results file.
	Root string

	findings []*finding.Finding // the same with their files as the door names them
	sought   []string
}

// Files returns the paths by which the record's files can be opened.
func (o *Output) Files() []string {
	out := make([]string, len(o.Inputs))
	for i, in := range o.Inputs {
		out[i] = filepath.Join(o.Root, filepath.FromSlash(in.Path))
	}
	return out
}

// Record builds the record at a path. The error is a *ReadError where the
// record cannot be read and a *MethodError where the file is no record; what
// is wrong within the record is a finding.
func Record(path string, o Options) (*Output, error) {
	files, text, err := openDoor(path)
	if err != nil {
		return nil, err
	}
	defer files.close()
	return recordBehind(files, text, o)
}

// worked is a record that was worked out, and what is to be shown of it.
type worked struct {
	record   *record.Record
	front    Front
	program  *block.Program
	opening  []view.Node // before the body
	body     *view.Prose
	pictures map[string]string  // data by address
	findings []*finding.Finding // in order
}

// workOut works a record out whose door is open.
func workOut(files *door, text *source.File, o Options) (*worked, error) {
	set := &finding.Set{}
	rec := record.Parse(text, block.KindNames(o.Kinds), set)
	if rec.Front.Get("method") != nil {
		return nil, &MethodError{files.shown(text)}
	}
	if len(bytes.TrimSpace(text.Text)) == 0 {
		set.Add(emptyRecord(text))
	}
	front := readFront(rec, o.Kinds, o.Themes.Names(), set)

	files.texts = o.Texts
	program := block.New(rec, o.Kinds, files, o.Library, front.Settings, set)
	program.Evaluate()
	program.CheckProse(front.Comma)
	shown := pictures(program, files, set)
	runTrials(program, o)
	program.View = o.View
	front.nameApparatus(program)
	w := &worked{record: rec, front: front, program: program, pictures: shown, opening: append(program.Warnings(), program.ShowFront()...), body: program.Show()}
	if front.Title != "" {
		w.body.Shift = underTitle(rec.Doc)
	}
	if f := program.Elsewhere(); len(f) > 0 {
		w.opening = append(w.opening, &view.Notice{Findings: f})
	}
	w.findings = set.Sorted()
	return w, nil
}

// recordBehind builds a record whose door is open.
func recordBehind(files *door, text *source.File, o Options) (*Output, error) {
	w, err := workOut(files, text, o)
	if err != nil {
		return nil, err
	}
	front := w.front
	out := &Output{Title: front.title(w.record), Inputs: files.inputs, Findings: renamed(w.findings, files.shown), findings: w.findings, sought: files.sought(), Path: text.Name, Root: files.root.Name()}
	theme, err := chosen(o, front.Theme)
	if err != nil {
		return nil, err
	}
	shown := &view.Page{
		Title: front.Title, Name: out.Title, Author: front.Author, Date: front.Date, Facts: front.facts, Comma: front.Comma,
		Front: w.opening, Body: w.body, Back: append(quantities(w.program), after(w.findings, files.inputs)...), Version: o.Version, Images: w.pictures,
	}
	if o.View == view.AsBlank {
		view.BlankSheet(shown)
	}
	if out.HTML, err = page.Render(shown, theme); err != nil {
		return nil, err
	}
	out.Results = results.Gather(w.program)
	out.Results.Taut = o.Version
	out.Results.Record = results.Record{Title: out.Title, Author: front.Author, Date: front.Date, Coverage: results.Float(front.Coverage)}
	out.Results.Findings = finding.ToJSON(w.findings)
	out.Results.Inputs = files.inputs
	return out, nil
}

func chosen(o Options, name string) (*page.Theme, error) {
	if o.Theme != nil {
		return o.Theme, nil
	}
	return o.Themes.Load(name)
}

// underTitle is how many levels deeper the headings of a document with a title
// are set: the title is the page's first heading, so that its own begin with the
// second level.
func underTitle(doc *record.Document) int {
	least := 2
	_ = ast.Walk(doc.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if h, ok := n.(*ast.Heading); ok && entering {
			least = min(least, h.Level)
		}
		return ast.WalkContinue, nil
	})
	return 2 - least
}

// quantities is the table of the named values, where there are any.
func quantities(p *block.Program) []view.Node {
	if q := p.Quantities(); q != nil {
		q.OnScreen = p.View == view.AsWorked
		return []view.Node{q}
	}
	return nil
}

// after is what stands after the body: the files that were read, by their
// sums, and an overview of the findings.
func after(findings []*finding.Finding, inputs []results.Input) []view.Node {
	t := &view.Table{ID: "files", Caption: view.Text{view.Plain("Files that this page was made from")},
		Columns: []view.Column{{Quantity: view.Text{view.Plain("File")}}, {Quantity: view.Text{view.Plain("SHA-256")}}}}
	for _, in := range inputs {
		t.Rows = append(t.Rows, view.Row{Cells: []view.Cell{
			{Text: view.Text{view.Code(in.Path)}}, {Text: view.Text{view.Code(in.SHA256)}}}})
	}
	nodes := []view.Node{t}
	if len(findings) > 0 {
		nodes = append(nodes, &view.Notice{Findings: findings, Overview: true})
	}
	return nodes
}

// Count returns how many findings have that severity.
func (o *Output) Count(s finding.Severity) int {
	n := 0
	for _, f := range o.Findings {
		if f.Severity == s {
			n++
		}
	}
	return n
}
