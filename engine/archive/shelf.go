package archive

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// ShelfOptions are what the pages of an archive are made with.
type ShelfOptions struct {
	Theme   *page.Theme
	Version string
	Today   string // the day for which calibrations are judged, of ISO 8601
	// Baseline is on how many values of each segment limits rest, the first
	// ones; 0 for all.
	Baseline int
	// Records is the address of the archive's folder, or of a copy of its
	// pages, as seen from the folder of the shelf: "../archive".
	Records string
}

// ShelfPage is one page of a shelf. Path is below the folder of the shelf, with
// forward slashes.
type ShelfPage struct {
	Path string
	HTML []byte
}

// Shelf is the pages of an archive.
type Shelf struct {
	Pages []ShelfPage
	// Findings are what can't be read. The pages show them, and hold
	// everything else. Whether what can be read is as it was sealed, Verify
	// tells.
	Findings []*Finding
	// Linked are the paths, below the archive, of the records' pages that
	// the shelf leads to.
	Linked []string
}

// shelving is the making of a shelf.
type shelving struct {
	ShelfOptions
	apparatus []*shelved
	findings  []*Finding
	shelf     *Shelf
}

// shelved is an apparatus with all that its page tells.
type shelved struct {
	*Apparatus
	records     []*kept // by time
	by          map[string]*kept
	about       results.Apparatus // as the latest record has it
	instruments []*instrumentLine
	specimens   []*specimenLine
	results     []*history
	zeros       []*history
	findings    []*Finding // about its ledger and its bags
}

// Shelve makes the pages of the archive. Nothing is written. The same archive
// and options give the same bytes.
func (a *Archive) Shelve(o ShelfOptions) (*Shelf, error) {
	w := &shelving{ShelfOptions: o, shelf: &Shelf{}, findings: a.Findings()}
	for _, p := range a.Apparatus() {
		w.apparatus = append(w.apparatus, w.gather(a, p))
	}
	w.shelf.Findings = w.findings
	for _, make := range []func() error{w.indexPage, w.apparatusPages, w.methodsPage, w.materialsPage, w.titlesPage} {
		if err := make(); err != nil {
			return nil, err
		}
	}
	slices.Sort(w.shelf.Linked)
	w.shelf.Linked = slices.Compact(w.shelf.Linked)
	return w.shelf, nil
}

// gather reads the records of an apparatus. Of each results file only what the
// pages need is kept.
func (w *shelving) gather(a *Archive, p *Apparatus) *shelved {
	s := &shelved{Apparatus: p, by: map[string]*kept{}}
	for _, f := range a.Findings() {
		if within(f.Path, p.Folder) {
			s.findings = append(s.findings, f)
		}
	}
	for _, e := range p.Entries {
		k := &kept{Entry: e}
		for _, f := range k.read(a) {
			s.findings = append(s.findings, f)
			w.findings = append(w.findings, f)
		}
		s.records = append(s.records, k)
		s.by[e.Path()] = k
	}
	slices.SortStableFunc(s.records, byTime)
	for _, k := range s.records {
		if k.file != nil && k.file.Apparatus != nil {
			s.about = *k.file.Apparatus
		}
	}
	if p.Identity != "" { // records without an apparatus have no common history
		s.instruments, s.specimens = instrumentLines(s.records), specimenLines(s.records)
		s.results, s.zeros = resultHistories(s.records, w.Baseline), zeroHistories(s.records, w.Baseline)
	}
	return s
}

func within(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, folder+"/")
}

// read reads the results file of the record and looks whether its page is
// there.
func (k *kept) read(a *Archive) (wrong []*Finding) {
	bag, err := a.Bag(k.Entry)
	if err == nil {
		k.file, err = bag.Results()
	}
	if err != nil {
		var f *Finding
		if !errors.As(err, &f) {
			f = fault(k.Path(), slugUnreadable, err.Error(), "")
		}
		k.why, wrong = f, append(wrong, f)
	}
	if k.file != nil {
		lean(k.file)
	}
	if bag == nil {
		return wrong
	}
	info, err := a.root.Lstat(bag.Page())
	if err == nil && !info.Mode().IsRegular() {
		err = &notRegular{info.Mode()}
	}
	if err != nil {
		return append(wrong, unreadable(bag.Page(), err))
	}
	k.page = true
	return wrong
}

// lean leaves away what no page of a shelf tells: an archive may hold very many
// records.
func lean(f *results.File) {
	f.Fits, f.MonteCarlo, f.Inputs = nil, nil, nil
	told := map[string]bool{}
	for scope, p := range f.Practicals {
		for _, name := range p.Results {
			told[scope+"."+name] = true
		}
	}
	if f.Specimen != nil {
		for name := range f.Specimen.Certified {
			told[name] = true
		}
	}
	for name := range f.Values {
		if !told[name] && lastName(name) != "dead_load" {
			delete(f.Values, name)
		}
	}
	for name := range f.Columns {
		if lastName(name) != "load" {
			delete(f.Columns, name)
		}
	}
	for i := range f.Findings {
		f.Findings[i] = finding.JSON{Severity: f.Findings[i].Severity}
	}
}

// lastName is a name without the scopes before it.
func lastName(name string) string { return name[strings.LastIndexByte(name, '.')+1:] }

// title is what an apparatus is called.
func (s *shelved) title() string {
	switch {
	case s.Identity == "":
		return "Records without an apparatus"
	case s.about.Name != "" && s.about.Identity != "" && s.about.Name != s.about.Identity:
		return s.about.Name + " " + s.about.Identity
	case s.about.Name != "":
		return s.about.Name
	}
	return s.Identity
}

// lines counts the lines of the ledger.
func (s *shelved) lines() int {
	n := 0
	for _, e := range s.Entries {
		n = max(n, e.N)
	}
	return n
}

func (s *shelved) page() string { return "apparatus/" + s.Folder + ".html" }

// add renders a page. Up leads from it to the folder of the shelf.
func (w *shelving) add(path, up, title string, facts []view.Fact, nodes []view.Node) error {
	nav := view.Text{view.Link{Text: "Apparatus", To: up + "index.html"}, view.Plain(" · "), view.Link{Text: "Methods", To: up + "methods.html"}, view.Plain(" · "),
		view.Link{Text: "Materials", To: up + "materials.html"}, view.Plain(" · "), view.Link{Text: "Titles A–Z", To: up + "titles.html"}}
	empty := &view.Prose{Doc: record.Parse(source.NewFile("shelf", nil), nil, &finding.Set{}).Doc}
	p := &view.Page{Title: title, Version: w.Version, Body: empty, Facts: append([]view.Fact{fact("As of", w.Today)}, facts...),
		Front: append([]view.Node{&view.Paragraph{Text: nav}}, nodes...)}
	html, err := page.Render(p, w.Theme)
	if err != nil {
		return err
	}
	w.shelf.Pages = append(w.shelf.Pages, ShelfPage{Path: path, HTML: html})
	return nil
}

func fact(term, text string) view.Fact { return view.Fact{Term: plain(term), Text: plain(text)} }

func plain(text string) view.Text { return view.Text{view.Plain(text)} }

// link leads to the page of a record, if it is there.
func (w *shelving) link(up string, k *kept, text string) view.Run {
	if text == "" {
		text = k.Bag
	}
	if !k.page {
		return view.Plain(text)
	}
	path := k.Path() + "/" + pageFile
	w.shelf.Linked = append(w.shelf.Linked, path)
	return view.Link{Text: text, To: up + w.Records + "/" + path}
}

// notices shows findings about the archive.
func notices(list []*Finding) []view.Node {
	if len(list) == 0 {
		return nil
	}
	n := &view.Notice{}
	for _, f := range list {
		at := f.Path
		if f.Line > 0 {
			at = fmt.Sprintf("%s:%d", f.Path, f.Line)
		}
		n.Findings = append(n.Findings, &finding.Finding{Severity: f.Severity, Slug: f.Slug, Message: at + ": " + f.Message, Hint: f.Hint})
	}
	return []view.Node{n}
}

// table makes a table; numeric columns are named with a leading #.
func table(id, caption string, head ...string) *view.Table {
	t := &view.Table{ID: id, Caption: plain(caption), Ledger: true, Standing: view.Computed}
	for _, h := range head {
		c := view.Column{}
		if h[0] == '#' {
			c.Numeric, h = true, h[1:]
		}
		c.Quantity = plain(h)
		t.Columns = append(t.Columns, c)
	}
	return t
}

// addRow adds a row of texts; an empty one is a dash.
func addRow(t *view.Table, cells ...any) {
	row := view.Row{}
	for _, c := range cells {
		cell := view.Cell{Standing: view.Computed}
		switch c := c.(type) {
		case view.Text:
			cell.Text = c
		case view.Run:
			cell.Text = view.Text{c}
		case string:
			if c == "" {
				c = "–"
			}
			cell.Text = plain(c)
		}
		row.Cells = append(row.Cells, cell)
	}
	t.Rows = append(t.Rows, row)
}

func heading(id, text string) view.Node {
	return &view.Heading{ID: id, Level: 2, Text: plain(text)}
}

func words(text string) view.Node { return &view.Paragraph{Text: plain(text), Standing: view.Computed} }
