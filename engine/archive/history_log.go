package archive

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/taut/engine/results"
	"example.org/taut/engine/unit"
)

// dueSoon is how many days before its due date a calibration is called due
// soon.
const dueSoon = 60

// instrumentLine is one instrument of an apparatus, as its latest record has
// it. Instruments of one name are told apart by their serial numbers.
type instrumentLine struct {
	name    string
	in      results.Instrument
	last    *kept
	current bool // the latest record names it
}

// instrumentLines lists the instruments: those of the latest record first.
func instrumentLines(records []*kept) []*instrumentLine {
	by := map[string]*instrumentLine{}
	var latest *kept
	for _, k := range records {
		if !k.counts() || len(k.file.Instruments) == 0 {
			continue
		}
		latest = k
		for name, in := range k.file.Instruments {
			by[name+"\x00"+in.Serial] = &instrumentLine{name: name, in: in, last: k}
		}
	}
	var out []*instrumentLine
	for _, key := range sortedKeys(by) {
		l := by[key]
		l.current = l.last == latest
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, b *instrumentLine) int {
		switch {
		case a.current != b.current && a.current:
			return -1
		case a.current != b.current:
			return 1
		}
		return cmp.Compare(a.name, b.name)
	})
	return out
}

// due is how a calibration stands on a day.
type due int

const (
	dueUnknown due = iota // no due date
	dueLater
	dueShortly
	overdue
)

// state says how the calibration stands on a day, in words.
func (l *instrumentLine) state(today string) (due, string) {
	at, err := time.Parse(time.DateOnly, l.in.Due)
	now, bad := time.Parse(time.DateOnly, today)
	switch {
	case !l.current:
		return dueUnknown, "no longer in use: last record of " + l.last.Date
	case err != nil || bad != nil:
		return dueUnknown, "no due date given"
	}
	switch days := int(math.Round(at.Sub(now).Hours() / 24)); {
	case days < 0:
		return overdue, "OVERDUE by " + counted(-days, "day")
	case days == 0:
		return dueShortly, "DUE today"
	case days <= dueSoon:
		return dueShortly, "DUE SOON: in " + counted(days, "day")
	}
	return dueLater, "in date"
}

// specimenLine is one specimen that was fitted to an apparatus.
type specimenLine struct {
	results.Specimen
	first, last *kept // nil where no record was made with it
	records     int
	loads       map[string]float64 // the greatest load, dead load included, by its unit
}

// specimenLines lists the specimens by the day of fitting. What is said of one
// is what the latest record says; the loads are those of all records made with
// it, amended ones too: the specimen has borne them.
func specimenLines(records []*kept) []*specimenLine {
	by := map[string]*specimenLine{}
	line := func(s *results.Specimen) *specimenLine {
		key := s.Fitted + " " + s.Name
		l := by[key]
		if l == nil {
			l = &specimenLine{loads: map[string]float64{}}
			by[key] = l
		}
		l.Specimen = *s
		return l
	}
	for _, k := range records {
		if k.file == nil {
			continue
		}
		for _, s := range k.file.Specimens {
			if s != nil { // a file may hold null
				line(s)
			}
		}
		if k.file.Specimen == nil {
			continue
		}
		l := line(k.file.Specimen)
		if l.first == nil {
			l.first = k
		}
		l.last = k
		l.records++
		for un, v := range loadsOf(k.file) {
			l.loads[un] = math.Max(l.loads[un], v)
		}
	}
	var out []*specimenLine
	for _, key := range sortedKeys(by) {
		out = append(out, by[key])
	}
	return out
}

// loadsOf is the greatest load of a record by its unit: of the columns that are
// called load, with the value dead_load beside them.
func loadsOf(f *results.File) map[string]float64 {
	out := map[string]float64{}
	for name, c := range f.Columns {
		scope := strings.TrimSuffix(name, "load")
		if lastName(name) != "load" || c.Unit != "kg" && c.Unit != "N" {
			continue
		}
		dead := 0.0
		if v, ok := f.Values[scope+"dead_load"]; ok && v.Unit == c.Unit && isNumber(v.Value) {
			dead = float64(v.Value)
		}
		for _, v := range c.Values {
			if isNumber(v) {
				out[c.Unit] = math.Max(out[c.Unit], float64(v)+dead)
			}
		}
	}
	return out
}

// load is the greatest load ever, in words.
func (l *specimenLine) load() string {
	var parts []string
	for _, name := range sortedKeys(l.loads) {
		if un, err := unit.Parse(name); err == nil {
			parts = append(parts, number(l.loads[name], l.loads[name]/100, un)+unitTail(un))
		}
	}
	return strings.Join(parts, ", ")
}

// certified is what the certificate gives, in words.
func (l *specimenLine) certified() string {
	var parts []string
	for _, name := range sortedKeys(l.Certified) {
		parts = append(parts, name+" = "+l.Certified[name].Display)
	}
	return strings.Join(parts, "; ")
}
