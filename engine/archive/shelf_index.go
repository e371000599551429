package archive

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/view"
)

// indexPage lists the apparatus.
func (w *shelving) indexPage() error {
	n := 0
	t := table("apparatus", "Apparatus of the archive", "apparatus", "calibrations", "history", "specimen", "#last record", "#records", "place")
	for _, s := range w.apparatus {
		n += len(s.records)
		last := ""
		if m := len(s.records); m > 0 {
			last = s.records[m-1].Date
		}
		addRow(t, view.Link{Text: s.title(), To: s.page()}, s.calibrations(w.Today), s.signalsInWords(), s.fitted(w.Today), last, fmt.Sprint(len(s.records)), s.about.Place)
	}
	nodes := notices(w.findings)
	if len(w.findings) > 0 {
		nodes = append(nodes, words("What is listed above can't be read or is not as it was written; all else is on the pages. `taut verify` tells more."))
	}
	if len(w.apparatus) == 0 {
		nodes = append(nodes, words("The archive holds no records yet."))
	} else {
		nodes = append(nodes, t)
	}
	return w.add("index.html", "", "Archive", []view.Fact{fact("Apparatus", fmt.Sprint(len(w.apparatus))), fact("Records", fmt.Sprint(n))}, nodes)
}

// fitted names the specimen that is fitted on a day.
func (s *shelved) fitted(today string) string {
	name := ""
	for _, l := range s.specimens {
		if l.Fitted <= today && (l.Removed == "" || l.Removed > today) {
			name = l.Name
		}
	}
	return name
}

// calibrations counts the calibrations that ask for something.
func (s *shelved) calibrations(today string) string {
	over, soon := 0, 0
	for _, l := range s.instruments {
		switch state, _ := l.state(today); state {
		case overdue:
			over++
		case dueShortly:
			soon++
		}
	}
	var parts []string
	if over > 0 {
		parts = append(parts, fmt.Sprintf("%d OVERDUE", over))
	}
	if soon > 0 {
		parts = append(parts, fmt.Sprintf("%d due soon", soon))
	}
	if len(parts) == 0 && len(s.instruments) > 0 {
		return "in order"
	}
	return strings.Join(parts, ", ")
}

// signalsInWords names the main histories whose charts say something.
func (s *shelved) signalsInWords() string {
	var parts []string
	for _, h := range s.results {
		if h.speaks() && h.counts() {
			parts = append(parts, h.name)
		}
	}
	for _, h := range s.zeros {
		if h.speaks() {
			parts = append(parts, "zero of "+h.name)
		}
	}
	switch {
	case len(parts) > 0:
		return "signals: " + strings.Join(parts, ", ")
	case len(s.results)+len(s.zeros) > 0:
		return "in control"
	}
	return ""
}

// speaks reports whether the chart of a history shows a signal.
func (h *history) speaks() bool {
	return slices.ContainsFunc(h.recent(), func(p point) bool { return p.jump || len(p.signals) > 0 })
}

// shelfItem is a record with what pages that go across apparatus sort it by.
type shelfItem struct {
	group, title string // the group's ID and its heading
	record       *kept
	of           *shelved
}

// groupedPage lists records under the headings of their groups.
func (w *shelving) groupedPage(path, title, what string, items []shelfItem) error {
	slices.SortStableFunc(items, func(a, b shelfItem) int {
		return cmp.Or(cmp.Compare(a.group, b.group), cmp.Compare(a.of.title(), b.of.title()), byTime(a.record, b.record))
	})
	var nodes []view.Node
	var names view.Text
	var t *view.Table
	for i, it := range items {
		if i == 0 || it.group != items[i-1].group {
			id := what + "-" + fmt.Sprint(len(nodes)/2+1)
			if len(names) > 0 {
				names = append(names, view.Plain(" · "))
			}
			names = append(names, view.Ref{Name: it.title, ID: id})
			t = table(id+"-records", "Records: "+it.title, "date", "record", "apparatus", "specimen", "results")
			nodes = append(nodes, heading(id, it.title), t)
		}
		addRow(t, it.record.Date, w.link("", it.record, it.record.Title), view.Link{Text: it.of.title(), To: it.of.page()}, it.record.specimen(), it.record.mainResults())
	}
	if len(items) == 0 {
		nodes = append(nodes, words("The archive holds no records yet."))
	}
	return w.add(path, "", title, nil, append([]view.Node{&view.Paragraph{Text: names}}, nodes...))
}

// specimen names what a record is of.
func (k *kept) specimen() string {
	switch {
	case k.file == nil:
		return ""
	case k.file.Specimen != nil:
		return k.file.Specimen.Name
	}
	return ""
}

// mainResults are the first result of each practical of a record and those
// that have a certified value, or why there are none.
func (k *kept) mainResults() string {
	switch {
	case k.file == nil:
		return "can't be read"
	case k.AmendedBy != "":
		return "amended"
	}
	var parts []string
	for _, r := range resultsOf(k.file) {
		if p := resultPoint(k, r); r.order == 0 || !math.IsNaN(p.certified) {
			parts = append(parts, r.name+" = "+r.value.Display)
		}
	}
	return strings.Join(parts, "; ")
}

func (w *shelving) methodsPage() error {
	var items []shelfItem
	for _, s := range w.apparatus {
		for _, k := range s.records {
			found := false
			if k.file != nil {
				seen := map[string]bool{}
				for _, scope := range sortedKeys(k.file.Practicals) {
					p := k.file.Practicals[scope]
					if seen[p.Method] {
						continue
					}
					seen[p.Method], found = true, true
					title := p.Method
					if p.Title != "" {
						title = p.Title + " (" + p.Method + ")"
					}
					items = append(items, shelfItem{p.Method, title, k, s})
				}
			}
			if !found {
				items = append(items, shelfItem{"~", "Without a method", k, s})
			}
		}
	}
	return w.groupedPage("methods.html", "Records by method", "method", sameTitles(items))
}

// sameTitles gives every record of a group the group's first title: a method
// may have got another title since.
func sameTitles(items []shelfItem) []shelfItem {
	first := map[string]string{}
	for i := range items {
		if first[items[i].group] == "" {
			first[items[i].group] = items[i].title
		}
		items[i].title = first[items[i].group]
	}
	return items
}

func (w *shelving) materialsPage() error {
	var items []shelfItem
	for _, s := range w.apparatus {
		for _, k := range s.records {
			names := materialsOf(k)
			for _, m := range names {
				items = append(items, shelfItem{m, m, k, s})
			}
			if len(names) == 0 {
				items = append(items, shelfItem{"~", "Material not given", k, s})
			}
		}
	}
	return w.groupedPage("materials.html", "Records by material", "material", items)
}

// materialsOf lists what a record is of: the material of its specimen, and
// those of its practicals.
func materialsOf(k *kept) []string {
	if k.file == nil {
		return nil
	}
	var out []string
	if s := k.file.Specimen; s != nil && s.Material != "" {
		out = append(out, s.Material)
	}
	for _, p := range k.file.Practicals {
		if p.Material != "" {
			out = append(out, p.Material)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// titlesPage lists every title, so that a browser's own search over one page
// finds a record.
func (w *shelving) titlesPage() error {
	var items []shelfItem
	for _, s := range w.apparatus {
		for _, k := range s.records {
			letter := initial(k.Title)
			items = append(items, shelfItem{letter, letter, k, s})
		}
	}
	slices.SortStableFunc(items, func(a, b shelfItem) int {
		return cmp.Or(cmp.Compare(a.group, b.group), cmp.Compare(folded(a.record.Title), folded(b.record.Title)), cmp.Compare(a.record.Title, b.record.Title),
			byTime(a.record, b.record), cmp.Compare(a.record.Path(), b.record.Path()))
	})
	nodes := []view.Node{words("Every record by its title. Look for a word with your browser's own search (Ctrl+F).")}
	var letters view.Text
	var list []view.Node
	var t *view.Table
	for i, it := range items {
		if i == 0 || it.group != items[i-1].group {
			id := "titles-" + fmt.Sprint(len(list)/2+1)
			letters = append(letters, view.Ref{Name: it.group, ID: id}, view.Plain(" "))
			t = table(id+"-records", "Titles: "+it.group, "title", "#date", "apparatus", "record's file")
			list = append(list, heading(id, it.group), t)
		}
		addRow(t, w.link("", it.record, it.record.Title), it.record.Date, view.Link{Text: it.of.title(), To: it.of.page()}, view.Code(it.record.Record))
	}
	nodes = append(nodes, &view.Paragraph{Text: letters})
	return w.add("titles.html", "", "Titles", []view.Fact{fact("Records", fmt.Sprint(len(items)))}, append(nodes, list...))
}

// folded is a text for sorting: letters without marks, in lower case.
func folded(text string) string {
	return strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFKD.String(spelled.Replace(strings.ToLower(text))))
}

// initial is the letter under which a title stands.
func initial(title string) string {
	for _, r := range folded(title) {
		switch {
		case unicode.IsDigit(r):
			return "0–9"
		case unicode.IsLetter(r):
			return string(unicode.ToUpper(r))
		}
	}
	return "other"
}
