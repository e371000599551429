package variant

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/view"
)

// ClassPage is the class table as a page, with a plot of the class's results.
func (m *Marked) ClassPage(title string, theme *page.Theme) ([]byte, error) {
	p := m.newPage("Class: " + title)
	p.Facts = []view.Fact{
		{Term: words("Method"), Text: view.Text{view.Code(m.Key.Method)}},
		{Term: words("For"), Text: words("the teacher")},
	}
	p.Back = []view.Node{m.classTable()}
	for _, s := range m.sentences() {
		p.Back = append(p.Back, say("%s.", upper(s)))
	}
	if f, far := m.figure(); f != nil {
		p.Back = append(p.Back, f)
		if far != "" {
			p.Back = append(p.Back, say("%s", far))
		}
	}
	if list := m.loose(); len(list) > 0 {
		p.Back = append(p.Back, say("What concerns no one student's marking:"), &view.Notice{Findings: list})
	}
	return page.Render(p, theme)
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// PageName names the page of one student, which stands beside that of the
// class.
func (s *Sheet) PageName() string { return s.Student.Folder + ".html" }

// unbroken keeps a short cell on one line.
func unbroken(cell string) string { return strings.ReplaceAll(cell, " ", "\u00a0") }

// classTable is the table of the class. The students' numbers lead to their
// pages.
func (m *Marked) classTable() *view.Table {
	head := m.head()
	for i, p := range m.values() {
		head[2+i] += fmt.Sprintf(" [%d]", p.Marks)
	}
	t := table("class", "Marks of the class", head...)
	t.Columns[0].Numeric = true // short, unlike the names of other ledgers' rows
	for i, row := range m.rows() {
		cells := []view.Text{{view.Link{Text: row[0], To: m.Sheets[i].PageName()}}}
		last := len(row) - 1
		for _, cell := range row[1:last] {
			cells = append(cells, words(unbroken(cell)))
		}
		addTexts(t, append(cells, words(row[last]))...)
	}
	t.Notes = []view.Text{words("f: right by the student's own earlier result. fault: whether a reading that is wrong by a fault of recording was struck with a reason; “by hand” where only an answer can show it. The numbers in brackets are the marks that can be had.")}
	return t
}

// farthest is the ratio, up and down, beyond which a claim is named and not
// drawn.
const farthest = 1.5

// longest is the longest bar that is drawn.
const longest = 0.5

// figure draws the claims of the first result divided by their references,
// with the expanded uncertainties of the students' own data; far names those
// that are too far off to be drawn.
func (m *Marked) figure() (f *view.Figure, far string) {
	p, _ := m.first()
	list := m.ratios()
	if len(list) == 0 {
		return nil, ""
	}
	name := m.Key.short(p.Name)
	right := view.Series{Name: "right", Marks: true, Bars: true}
	off := view.Series{Name: "wrong", Marks: true, Bars: true}
	var beyond, bare []string
	number := map[string]int{}
	for i, s := range m.Key.Students {
		number[s.ID] = i + 1
	}
	for _, r := range list {
		if r.Ratio > farthest || r.Ratio < 1/farthest {
			beyond = append(beyond, fmt.Sprintf("%s (%s)", r.ID, strconv.FormatFloat(r.Ratio, 'g', 3, 64)))
			continue
		}
		at := view.Point{X: float64(number[r.ID]), Y: r.Ratio, UY: r.Spread, Note: fmt.Sprintf("student %s: %s ± %s", r.ID, decimals(r.Ratio, 3), decimals(r.Spread, 3))}
		if math.IsNaN(r.Spread) || r.Spread > longest {
			at.UY = 0
			bare = append(bare, r.ID)
		}
		if r.Right {
			right.Points = append(right.Points, at)
		} else {
			off.Points = append(off.Points, at)
		}
	}
	if len(beyond) > 0 {
		far = "Too far off to be drawn: " + strings.Join(beyond, ", ") + ". "
	}
	if len(bare) > 0 {
		far += "Drawn without the uncertainty, which is more than half of the value: " + strings.Join(bare, ", ") + "."
	}
	f = &view.Figure{ID: "plot", Title: fmt.Sprintf("%s of each student by its %s value", name, m.reference(p)),
		Desc: fmt.Sprintf("For each student the claimed %s divided by its %s value, with the expanded uncertainty of the student's own data; 1 is agreement.", name, m.reference(p)),
		X:    view.Axis{Quantity: "student"}, Y: view.Axis{Quantity: name + " / " + m.reference(p)}, Standing: view.Computed}
	for _, s := range []view.Series{right, off} {
		if len(s.Points) > 0 {
			f.Series = append(f.Series, s)
		}
	}
	if len(f.Series) == 0 {
		return nil, far
	}
	f.Lines = []view.Line{{Name: "agreement", Points: []view.Point{{X: 0.5, Y: 1}, {X: float64(len(m.Key.Students)) + 0.5, Y: 1}}}}
	return f, far
}

// loose are the findings that stand on no student's page.
func (m *Marked) loose() []*finding.Finding {
	on := map[*finding.Finding]bool{}
	for _, s := range m.Sheets {
		for _, f := range s.Findings {
			on[f] = true
		}
	}
	var out []*finding.Finding
	for _, f := range m.Findings {
		if !on[f] {
			out = append(out, f)
		}
	}
	return out
}
