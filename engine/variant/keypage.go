package variant

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Page is the key as a page for the teacher; title is that of the method.
func (k *Key) Page(title string, theme *page.Theme) ([]byte, error) {
	empty := &view.Prose{Doc: record.Parse(source.NewFile("key", nil), nil, &finding.Set{}).Doc}
	p := &view.Page{Title: "Answer key: " + title, Version: k.Taut, Body: empty}
	p.Facts = []view.Fact{
		{Term: words("Method"), Text: view.Text{view.Code(k.Method)}},
		{Term: words("Seed"), Text: view.Text{view.Code(k.Seed)}},
		{Term: words("For"), Text: words("the teacher; it holds what the students are to find")},
	}
	p.Back = []view.Node{k.faultsTable(), k.resultsTable()}
	if t := k.struckTable(); len(t.Rows) > 0 {
		p.Back = append(p.Back, t)
	}
	p.Back = append(p.Back, k.truthsTable(), k.pointsTable())
	return page.Render(p, theme)
}

func words(text string) view.Text { return view.Text{view.Plain(text)} }

func table(id, caption string, head ...string) *view.Table {
	t := &view.Table{ID: id, Caption: words(caption), Ledger: true, Standing: view.Computed}
	for _, h := range head {
		t.Columns = append(t.Columns, view.Column{Quantity: words(h)})
	}
	return t
}

func addRow(t *view.Table, cells ...string) {
	row := view.Row{}
	for _, c := range cells {
		row.Cells = append(row.Cells, view.Cell{Text: words(c), Standing: view.Computed})
	}
	t.Rows = append(t.Rows, row)
}

func (k *Key) faultsTable() *view.Table {
	t := table("key-faults", "Faults in the readings", "student", "fault", "size", "place", "reading", "what", "found by the engine")
	for _, s := range k.Students {
		found := orDash(strings.Join(s.Noticed, ", "))
		if len(s.Faults) == 0 {
			addRow(t, s.ID, "none", "–", "–", "–", "–", found)
		}
		for _, f := range s.Faults {
			reading := ""
			if f.Was != "" {
				reading = f.Is + " for " + f.Was
			}
			addRow(t, s.ID, f.Name, orDash(f.Shown), orDash(f.Place), orDash(reading), f.What, found)
		}
	}
	t.Notes = []view.Text{words("Found by the engine: the cautions that it makes on the student's readings as they are, by their names; a caution can also be made where nothing is wrong.")}
	return t
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

func (k *Key) resultsTable() *view.Table {
	t := table("key-results", "Results that the readings give, with their expanded uncertainties as tolerances", append([]string{"student"}, k.Order...)...)
	for _, s := range k.Students {
		addRow(t, append([]string{s.ID}, k.displays(s.Results)...)...)
	}
	return t
}

func (k *Key) struckTable() *view.Table {
	t := table("key-struck", "Results once the wrong reading is struck", append([]string{"student"}, k.Order...)...)
	for _, s := range k.Students {
		if s.Struck != nil {
			addRow(t, append([]string{s.ID}, k.displays(s.Struck)...)...)
		}
	}
	return t
}

func (k *Key) displays(of map[string]Expected) []string {
	var out []string
	for _, name := range k.Order {
		out = append(out, orDash(of[name].Shown))
	}
	return out
}

// truthsTable shows the truths that are single values; the columns stand in
// the file.
func (k *Key) truthsTable() *view.Table {
	names := map[string]bool{}
	for _, s := range k.Students {
		for name := range s.Truth {
			if strings.HasSuffix(name, TrueSuffix) {
				names[name] = true
			}
		}
	}
	sorted := slices.Sorted(maps.Keys(names))
	t := table("key-truths", "True values", append([]string{"student"}, sorted...)...)
	for _, s := range k.Students {
		cells := []string{s.ID}
		for _, name := range sorted {
			cells = append(cells, orDash(s.Truth[name].Shown))
		}
		addRow(t, cells...)
	}
	t.Notes = []view.Text{words("All other truths of the simulation stand in key.json.")}
	return t
}

// pointsTable shows what is marked.
func (k *Key) pointsTable() *view.Table {
	t := table("key-points", "Marking points, in the order in which one works them out", "point", "what", "marks")
	sum := 0
	for _, p := range k.Points {
		addRow(t, k.short(p.Name), p.Kind, fmt.Sprint(p.Marks))
		sum += p.Marks
	}
	addRow(t, "sum", "", fmt.Sprint(sum))
	t.Rows[len(t.Rows)-1].Sum = true
	t.Notes = []view.Text{coded("`taut help mark` tells how marks split and what is right.")}
	return t
}
