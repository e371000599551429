package variant

import (
	"path"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// readList reads a list of numbers.
func (k *marker) readList(f *source.File) []*entry {
	var set finding.Set
	l := &list{marker: k, file: f, set: &set, by: map[string]*entry{}}
	if strings.EqualFold(path.Ext(f.Name), ".json") {
		l.json()
	} else {
		l.csv()
	}
	k.keep(set.Sorted())
	return l.entries
}

// list is a list in the making.
type list struct {
	*marker
	file    *source.File
	set     *finding.Set
	entries []*entry
	by      map[string]*entry
}

// entry returns a new entry for a student.
func (l *list) entry(id string, at source.Span) *entry {
	e := &entry{id: l.identity(id), at: at, from: l.file.Name, claims: map[string]*claim{}, answers: map[string]string{},
		shown: func(list []*finding.Finding) []*finding.Finding { return list }}
	l.entries = append(l.entries, e)
	return e
}

// identity is a student's number as the key has it: a folder's name stands for
// its student, and zeros at the front may be missing, as spreadsheets take them
// away.
func (k *marker) identity(id string) string {
	id = strings.TrimSpace(id)
	for _, s := range k.Key.Students {
		if id == s.ID || id == s.Folder || id != "" && strings.TrimLeft(id, "0") == strings.TrimLeft(s.ID, "0") {
			return s.ID
		}
	}
	return id
}

// add reads one number of an entry; what is wrong with it goes with the entry.
func (l *list) add(e *entry, name string, nameAt, at source.Span, unit string) {
	var own finding.Set
	c := readClaim(at, unit, &own)
	l.claimed(e, name, nameAt, c, &own)
	e.findings = append(e.findings, own.Sorted()...)
}

// csv reads a table: wide, with a column for each value, or long, with the
// columns id, name and value.
func (l *list) csv() {
	whole := l.file.Span(0, len(l.file.Text))
	t := record.ReadTable(whole, record.Lines(l.file), '.', l.set)
	heads := map[string]int{}
	for i, h := range t.Head {
		name, _ := headed(h.Text)
		if _, twice := heads[name]; twice {
			l.set.Add(headTwice(h.At, name))
			continue
		}
		heads[name] = i
	}
	id, ok := heads["id"]
	if !ok {
		l.set.Add(noID(whole.Sub(0, 0)))
		return
	}
	name, hasName := heads["name"]
	value, hasValue := heads["value"]
	unit, hasUnit := heads["unit"]
	if !hasUnit {
		unit = -1
	}
	long := hasName && hasValue
	for i, h := range t.Head {
		known := i == id || long && (i == name || i == value || i == unit)
		if n, _ := headed(h.Text); !known && (long || l.point(n) == nil) {
			l.set.Add(notAsked(h.At, n, l.pointNames()))
		}
	}
	for _, row := range t.Rows {
		switch {
		case row.Broken || row.Struck:
		case len(row.Cells) != len(t.Head):
			l.set.Add(raggedList(row.At, len(row.Cells), len(t.Head)))
		case long:
			l.longRow(row, id, name, value, unit)
		default:
			l.wideRow(t, row, id, heads)
		}
	}
	if len(t.Rows) == 0 {
		l.set.Add(emptyList(whole.Sub(0, 0)))
	}
}

// headed splits a heading `E / GPa`.
func headed(text string) (name, unit string) {
	if i := strings.LastIndex(text, " / "); i >= 0 {
		return strings.TrimSpace(text[:i]), strings.TrimSpace(text[i+3:])
	}
	return strings.TrimSpace(text), ""
}

func (l *list) wideRow(t *record.Table, row record.TableRow, id int, heads map[string]int) {
	if strings.TrimSpace(row.Cells[id].Text) == "" {
		l.set.Add(noIDInRow(row.At))
		return
	}
	e := l.entry(row.Cells[id].Text, row.Cells[id].At)
	for i, h := range t.Head {
		name, unit := headed(h.Text)
		if i != id && heads[name] == i && l.point(name) != nil && !row.Cells[i].Struck {
			l.add(e, name, h.At, row.Cells[i].At, unit)
		}
	}
}

func (l *list) longRow(row record.TableRow, id, name, value, unit int) {
	who := l.identity(row.Cells[id].Text)
	if who == "" {
		l.set.Add(noIDInRow(row.At))
		return
	}
	e := l.by[who]
	if e == nil {
		e = l.entry(who, row.Cells[id].At)
		l.by[who] = e
	}
	u := ""
	if unit >= 0 {
		u = row.Cells[unit].Text
	}
	n := row.Cells[name]
	l.add(e, n.Text, n.At, row.Cells[value].At, u)
}
