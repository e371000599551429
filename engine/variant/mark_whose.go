package variant

import (
	"path"
	"slices"

	"example.org/taut/engine/block"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

// decides reports whether the student whom the folder or the id names is taken
// for the one whose readings these are, although many of them are others or
// gone: the table that lost most is set aside, the others are mostly what that
// student was given, and no other student was given as many of the readings.
func (k *marker) decides(s *Student, e *entry) bool {
	tell := k.telling()
	own, holds := k.share(s, e.readings, tell)
	if !holds {
		return false
	}
	for i := range k.Key.Students {
		if other := &k.Key.Students[i]; other.ID != s.ID {
			if n, _ := k.share(other, e.readings, tell); n >= own {
				return false
			}
		}
	}
	return true
}

// telling finds the columns whose readings tell students apart: loads that all
// were given alike say nothing. In a class of one all do.
func (k *marker) telling() map[[2]string]bool {
	first, out := map[[2]string][]block.Reading{}, map[[2]string]bool{}
	for i := range k.Key.Students {
		for name, list := range columns(k.given(&k.Key.Students[i])) {
			if _, known := first[name]; !known {
				first[name] = list
			}
			if len(k.Key.Students) == 1 || !slices.EqualFunc(first[name], list, sameText) {
				out[name] = true
			}
		}
	}
	return out
}

func columns(list []block.Reading) map[[2]string][]block.Reading {
	out := map[[2]string][]block.Reading{}
	for _, r := range list {
		name := [2]string{r.Table, r.Column}
		out[name] = append(out[name], r)
	}
	return out
}

// tableShare counts the readings of one table that tell students apart.
type tableShare struct{ given, now, same int }

// holds reports whether most of a table is what was given.
func (t tableShare) holds() bool { return 2*t.same > max(t.given, t.now) }

func (t tableShare) odd() int { return max(t.given, t.now) - t.same }

// share counts the readings that are as they were given to a student. It holds
// where they are the student's but for one table; where there is only one, what
// is left of it has to be.
func (k *marker) share(s *Student, now []block.Reading, tell map[[2]string]bool) (same int, holds bool) {
	var list []tableShare
	names, old := tables(k.given(s))
	_, new := tables(now)
	for _, name := range names {
		if t := shareOf(old[name], new[name], name, tell); t.given > 0 {
			list = append(list, t)
			same += t.same
		}
	}
	if len(list) == 0 {
		return 0, false
	}
	if len(list) == 1 {
		return same, 2*same > list[0].now
	}
	worst := 0
	for i, t := range list {
		if t.odd() > list[worst].odd() {
			worst = i
		}
	}
	list = slices.Delete(list, worst, worst+1)
	return same, !slices.ContainsFunc(list, func(t tableShare) bool { return !t.holds() })
}

func shareOf(old, new []tableRow, table string, tell map[[2]string]bool) tableShare {
	var t tableShare
	told := func(r block.Reading) bool { return tell[[2]string{table, r.Column}] }
	for _, row := range new {
		for _, r := range row.cells {
			if told(r) {
				t.now++
			}
		}
	}
	mates := pairRows(old, new)
	for i, row := range old {
		for _, r := range row.cells {
			if !told(r) {
				continue
			}
			t.given++
			if mates[i] < 0 {
				continue
			}
			if n, ok := new[mates[i]].cell(r.Column); ok && sameText(r, n) {
				t.same++
			}
		}
	}
	return t
}

// placeOf is the place of the table of a reading that was given out: its file;
// where the record itself holds it, or has lost the file, its block there.
func (e *entry) placeOf(r block.Reading) source.Span {
	rec := e.program.Record
	if name := path.Clean(r.At.File.Name); name != method.RecordName {
		if f, err := e.files.Open(rec.File, name); err == nil {
			return f.Span(0, 0)
		}
	}
	for _, b := range rec.Blocks {
		if b.Name == r.Table {
			return b.Head
		}
	}
	return rec.File.Span(0, 0)
}
