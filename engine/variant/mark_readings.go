package variant

import (
	"fmt"
	"math"
	"path"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Strike is a reading that a student struck, or a whole row of them.
type Strike struct {
	Where  string // "pull.up, row 4"; a row as "pull, row 4"
	Reason string // "" where none is given
	// Wrong says that the key has a fault of recording there.
	Wrong bool

	cells []block.Reading
}

// FaultSeen is a fault of a student's readings, and whether it was noticed.
type FaultSeen struct {
	Injected
	Noticed bool
	Words   string
}

// sameReading is how well two readings agree that are the same number in two
// units.
const sameReading = 1e-9

func sameText(a, b block.Reading) bool {
	if a.Number && b.Number {
		return math.Abs(a.Value-b.Value) <= sameReading*math.Max(math.Abs(a.Value), math.Abs(b.Value))
	}
	return a.Text == b.Text || isHole(a.Text) && isHole(b.Text)
}

func isHole(text string) bool { return strings.Trim(text, "–-—−") == "" }

// memoryOf holds the files that a student was given.
func memoryOf(s *Student) memory {
	files := memory{}
	for name, text := range s.Files {
		files[path.Clean(name)] = source.NewFile(name, []byte(text))
	}
	return files
}

// program reads the record among files.
func (k *marker) program(files memory, set *finding.Set) *block.Program {
	rec := files[method.RecordName]
	if rec == nil {
		rec = source.NewFile(method.RecordName, nil)
	}
	return block.New(record.Parse(rec, block.KindNames(k.Kinds), set), k.Kinds, files, k.Library, defaults, set)
}

// given are the readings that a student was given.
func (k *marker) given(s *Student) []block.Reading {
	out, ok := k.handed[s.ID]
	if !ok {
		out = k.program(memoryOf(s), &finding.Set{}).Readings()
		k.handed[s.ID] = out
	}
	return out
}

// comparison is what was handed in beside what was given.
type comparison struct {
	cells   int // that were given
	gone    int // of these, those that are not there
	edited  []pair
	struck  []block.Reading // as handed in, with the places of those given
	at      []block.Reading // the given ones that are struck
	removed []block.Reading // first cells of rows that are gone, of a table that is not lacking
	lacking []lack          // tables of which most rows are gone
	added   []block.Reading // first cells of rows that nobody gave
	lost    []string        // columns that are gone
}

type pair struct{ given, now block.Reading }

// lack is a table of which most rows are gone.
type lack struct {
	first    block.Reading // of those given
	gone, of int           // rows
}

// odd counts the readings that are others than were given, or gone.
func (c *comparison) odd() int { return len(c.edited) + c.gone }

// tableRow is one row of a table, by its columns.
type tableRow struct {
	number int
	cells  []block.Reading
}

func (r *tableRow) cell(column string) (block.Reading, bool) {
	i := slices.IndexFunc(r.cells, func(c block.Reading) bool { return c.Column == column })
	if i < 0 {
		return block.Reading{}, false
	}
	return r.cells[i], true
}

// tables sorts readings into the rows of their tables; names are in order.
func tables(list []block.Reading) (names []string, rows map[string][]tableRow) {
	rows = map[string][]tableRow{}
	for _, r := range list {
		t, known := rows[r.Table]
		if !known {
			names = append(names, r.Table)
		}
		if len(t) == 0 || t[len(t)-1].number != r.Row {
			t = append(t, tableRow{number: r.Row})
		}
		t[len(t)-1].cells = append(t[len(t)-1].cells, r)
		rows[r.Table] = t
	}
	return names, rows
}

// compare sets readings beside those given, row by row. Where rows are gone or
// new, rows that agree belong together.
func compare(given, now []block.Reading) *comparison {
	c := &comparison{}
	names, old := tables(given)
	_, new := tables(now)
	for _, name := range names {
		mates := pairRows(old[name], new[name])
		used := map[int]bool{}
		var gone []block.Reading
		for i, row := range old[name] {
			c.cells += len(row.cells)
			if mates[i] < 0 {
				gone = append(gone, row.cells[0])
				c.gone += len(row.cells)
				continue
			}
			used[mates[i]] = true
			c.row(row, new[name][mates[i]])
		}
		if 2*len(gone) > len(old[name]) {
			c.lacking = append(c.lacking, lack{old[name][0].cells[0], len(gone), len(old[name])})
		} else {
			c.removed = append(c.removed, gone...)
		}
		for j, row := range new[name] {
			if !used[j] {
				c.added = append(c.added, row.cells[0])
			}
		}
	}
	return c
}

func (c *comparison) row(old, new tableRow) {
	for _, r := range old.cells {
		n, ok := new.cell(r.Column)
		if !ok {
			c.gone++
			if name := r.Table + "." + r.Column; !slices.Contains(c.lost, name) {
				c.lost = append(c.lost, name)
			}
			continue
		}
		if n.Struck {
			c.struck, c.at = append(c.struck, n), append(c.at, r)
		}
		if !sameText(r, n) {
			c.edited = append(c.edited, pair{r, n})
		}
	}
}

// pairRows finds for each old row the new one that it became; -1 for none.
func pairRows(old, new []tableRow) []int {
	out := make([]int, len(old))
	if len(old) == len(new) {
		for i := range out {
			out[i] = i
		}
		return out
	}
	next := 0
	for i, row := range old {
		out[i] = -1
		for j := next; j < len(new); j++ {
			if sameRow(row, new[j]) {
				out[i], next = j, j+1
				break
			}
		}
	}
	return out
}

func sameRow(a, b tableRow) bool {
	for _, r := range a.cells {
		if n, ok := b.cell(r.Column); ok && !sameText(r, n) {
			return false
		}
	}
	return true
}

// fewOdd is the share of readings that may be edited in what is still taken
// for the readings of one student.
const fewOdd = 4 // one in four

// whose finds the student whose readings these are; "" where they are nobody's
// or of several.
func (k *marker) whose(now []block.Reading) string {
	best, least, ties := "", math.MaxInt, 0
	for i := range k.Key.Students {
		s := &k.Key.Students[i]
		c := compare(k.given(s), now)
		switch n := c.odd(); {
		case n*fewOdd > c.cells || c.cells == 0:
		case n < least:
			best, least, ties = s.ID, n, 0
		case n == least:
			ties++
		}
	}
	if ties > 0 {
		return ""
	}
	return best
}

// sheetReadings compares the readings of an entry with those given to its
// student. It returns the student on whose readings the entry is to be marked;
// nil where it is not to be marked.
func (k *marker) sheetReadings(s *Student, e *entry, sheet *Sheet) (*Student, *comparison) {
	c := compare(k.given(s), e.readings)
	if c.odd() > 0 {
		if other := k.whose(e.readings); other != "" && other != s.ID {
			sheet.Refused = fmt.Sprintf("the readings are those of student %s", other)
			k.report(sheet, notYours(e.at, s.ID, other, k.Lenient))
			if !k.Lenient {
				return nil, c
			}
			sheet.Refused = ""
			sheet.Remarks = append(sheet.Remarks, fmt.Sprintf("Marked on the readings of student %s, which this record holds.", other))
			s = k.students[other]
			c = compare(k.given(s), e.readings)
		}
	}
	if c.odd()*fewOdd > c.cells && !k.decides(s, e) {
		sheet.Refused = "the readings are nobody's in this key"
		k.report(sheet, foreign(e.at, s.ID, c.odd(), c.cells))
		return nil, c
	}
	k.sayEdited(sheet, c, e)
	return s, c
}

// mostEdits is how many edited readings of one record are told.
const mostEdits = 10

func (k *marker) sayEdited(sheet *Sheet, c *comparison, e *entry) {
	var list []*finding.Finding
	for i, p := range c.edited {
		if i == mostEdits {
			list = append(list, moreEdited(p.now.At, len(c.edited)-mostEdits))
			break
		}
		list = append(list, edited(p))
	}
	for i := 0; i < len(c.removed); {
		j := i
		for j < len(c.removed) && c.removed[j].Table == c.removed[i].Table {
			j++
		}
		list = append(list, removed(e.placeOf(c.removed[i]), c.removed[i:j]))
		i = j
	}
	for _, l := range c.lacking {
		list = append(list, lacking(e.placeOf(l.first), l))
	}
	for _, r := range c.added {
		list = append(list, added(r))
	}
	for _, name := range c.lost {
		list = append(list, lost(e.program.Record.File.Span(0, 0), name))
	}
	for _, f := range e.shown(list) {
		k.report(sheet, f)
	}
}

// strikes groups what was struck: a whole row is one strike.
func strikes(c *comparison, given []block.Reading) []Strike {
	_, rows := tables(given)
	var out []Strike
	for i := 0; i < len(c.at); {
		r := c.at[i]
		j := i
		for j < len(c.at) && c.at[j].Table == r.Table && c.at[j].Row == r.Row {
			j++
		}
		whole := 0
		for _, row := range rows[r.Table] {
			if row.number == r.Row {
				whole = len(row.cells)
			}
		}
		if j-i == whole {
			out = append(out, Strike{Where: fmt.Sprintf("%s, row %d", r.Table, r.Row), Reason: c.struck[i].Reason, cells: c.at[i:j]})
		} else {
			for ; i < j; i++ {
				out = append(out, Strike{Where: placeOf(c.at[i]), Reason: c.struck[i].Reason, cells: c.at[i : i+1]})
			}
		}
		i = j
	}
	return out
}

func placeOf(r block.Reading) string { return fmt.Sprintf("%s.%s, row %d", r.Table, r.Column, r.Row) }

// strikeOut strikes readings in the files that a student was given: cells in
// their places, rows at their first cell.
func strikeOut(files memory, cells []block.Reading) memory {
	by := map[string][]int{}
	for _, r := range cells {
		by[path.Clean(r.At.File.Name)] = append(by[path.Clean(r.At.File.Name)], r.At.Start)
	}
	out := memory{}
	for name, f := range files {
		out[name] = f
		at := by[name]
		if len(at) == 0 {
			continue
		}
		slices.Sort(at)
		text, from := []byte(nil), 0
		for _, i := range slices.Compact(at) {
			text = append(append(text, f.Text[from:i]...), '~')
			from = i
		}
		out[name] = source.NewFile(f.Name, append(text, f.Text[from:]...))
	}
	return out
}

// out lists the readings that take no part: those struck, and the rows that
// are gone of a table that still has most of its own.
func (c *comparison) out() []block.Reading {
	out := slices.Clone(c.at)
	return append(out, c.removed...)
}

// cellsAt are the given readings at a place of the key: "pull.up, row 4".
func cellsAt(given []block.Reading, place string) []block.Reading {
	var out []block.Reading
	for _, r := range given {
		if placeOf(r) == place {
			out = append(out, r)
		}
	}
	return out
}

// lacks reports whether the table of a place of the key is one of which most
// rows are gone.
func (c *comparison) lacks(place string) bool {
	table, _, _ := strings.Cut(place, ".")
	return c != nil && slices.ContainsFunc(c.lacking, func(l lack) bool { return l.first.Table == table })
}

// faults tells of each fault in the readings whether it was noticed; c is nil
// for a list of numbers.
func faults(s *Student, e *entry, list []Strike, c *comparison) []FaultSeen {
	var out []FaultSeen
	for _, f := range s.Faults {
		seen := FaultSeen{Injected: f}
		i := slices.IndexFunc(list, func(st Strike) bool {
			return slices.ContainsFunc(st.cells, func(r block.Reading) bool { return placeOf(r) == f.Place })
		})
		switch {
		case e.program == nil:
			seen.Words = "a list of numbers does not show whether it was noticed"
		case f.Kind != "recording" || !single(f.Name):
			seen.Words = "for the teacher: is it spoken of in the answers?"
		case i < 0 && c.lacks(f.Place):
			seen.Words = "most of the table is gone, and does not show whether it was noticed"
		case i < 0:
			seen.Words = "not noticed: the reading is not struck"
		case list[i].Reason == "":
			list[i].Wrong = true
			seen.Words = "struck, but without a reason"
		default:
			list[i].Wrong = true
			seen.Noticed = true
			seen.Words = "noticed: struck with the reason “" + list[i].Reason + "”"
		}
		out = append(out, seen)
	}
	return out
}
