package blocks

import (
	"sort"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var specimenKeys = []string{"name", "what", "material", "temper", "fitted", "removed", "reason", "certified"}

// specimenList is `specimens:` of an apparatus file: what was fitted to the
// apparatus, and when.
type specimenList struct {
	list []*specimenEntry // by the day on which they were fitted
	date string           // of the record
	set  *finding.Set
}

type specimenEntry struct {
	instrument.Specimen
	keys *record.Setting
}

// readSpecimens reads the list. One without its dates is passed over: what it
// lacks is a finding.
func readSpecimens(r *block.Reader, s *record.Setting) *specimenList {
	l := &specimenList{date: r.Settings.Date, set: r.Set}
	for _, item := range s.List() {
		if item.Kind != record.MapSetting {
			if !item.Broken {
				r.Set.Add(badValue(item.At, "specimens", item.Text, "a list of maps, each with `name:` and `fitted: 2026-01-20`"))
			}
			continue
		}
		checkKeys(item, "a specimen", specimenKeys, r.Set)
		if e := l.entry(item); e != nil {
			l.list = append(l.list, e)
		}
	}
	sort.SliceStable(l.list, func(i, j int) bool { return l.list[i].Fitted < l.list[j].Fitted })
	for i := 1; i < len(l.list); i++ {
		if before, next := l.list[i-1], l.list[i]; before.Removed == "" || before.Removed > next.Fitted {
			r.Set.Add(specimensOverlap(before, next))
		}
	}
	return l
}

func (l *specimenList) entry(s *record.Setting) *specimenEntry {
	e := &specimenEntry{keys: s}
	for key, to := range map[string]*string{"name": &e.Name, "what": &e.What, "material": &e.Material, "temper": &e.Temper,
		"fitted": &e.Fitted, "removed": &e.Removed, "reason": &e.Reason} {
		scalar(s, key, l.set)
		*to = stated(s, key)
	}
	ok := true
	for _, key := range []string{"name", "fitted"} {
		if stated(s, key) == "" {
			if v := s.Get(key); s.Lacks(key) || v != nil && v.Kind == record.ScalarSetting && !v.Broken {
				l.set.Add(missingKey(s.At, key, "a specimen"))
			}
			ok = false
		}
	}
	for _, key := range []string{"fitted", "removed"} {
		if text := stated(s, key); text != "" && !isDate(text) {
			l.set.Add(badValue(s.Get(key).At, key, text, "a date such as 2026-01-20"))
			ok = false
		}
	}
	if ok && e.Removed != "" && e.Removed < e.Fitted {
		l.set.Add(badValue(s.Get("removed").At, "removed", e.Removed, "a day not before it was fitted, "+e.Fitted))
		ok = false
	}
	if !ok {
		return nil
	}
	return e
}

// specimensOverlap: a second wire while the first is still there.
func specimensOverlap(before, next *specimenEntry) *finding.Finding {
	message := "`" + next.Name + "` was fitted while `" + before.Name + "` was still there"
	hint := "say when that was removed: `removed: " + next.Fitted + "`"
	if before.Removed != "" {
		message = "`" + next.Name + "` was fitted on " + next.Fitted + ", before `" + before.Name + "` was removed on " + before.Removed
		hint = "one specimen is fitted at a time: mend one of the two days"
	}
	f := errorAt(next.keys.Get("fitted").At, "specimens-overlap", message, hint)
	f.Also = []finding.Place{{At: before.keys.Get("fitted").At, What: "that one is here"}}
	return f
}

// inForce returns the specimen that was fitted at the record's date: the last
// one fitted by then, unless it had been removed.
func (l *specimenList) inForce() *specimenEntry {
	if l == nil {
		return nil
	}
	var best *specimenEntry
	for _, e := range l.list {
		if l.date == "" || e.Fitted <= l.date {
			best = e
		}
	}
	if best == nil || l.date != "" && best.Removed != "" && best.Removed < l.date {
		return nil
	}
	return best
}

// check reads the values of the certificates and says where no specimen was
// fitted.
func (l *specimenList) check(c *block.Computing, at *record.Setting) {
	for _, e := range l.list {
		e.certificates(c, l.set)
	}
	if l.inForce() == nil && len(l.list) > 0 {
		c.Report(cautionAt(at.At, "no-specimen", "no specimen was fitted at the record's date, "+l.date, "add the one that was, or mend the record's date"))
	}
}

func (e *specimenEntry) certificates(c *block.Computing, set *finding.Set) {
	m := e.keys.Get("certified")
	if m == nil || m.Broken || unreadSetting(m) {
		return
	}
	if m.Kind != record.MapSetting {
		set.Add(badValue(m.At, "certified", m.Text, "a map of values by the names of results, such as `{E: 205 GPa ± 3 GPa k=2}`"))
		return
	}
	for _, p := range m.Pairs {
		if !record.IsName(p.Key) {
			set.Add(errorAt(p.KeyAt, "bad-name", "`"+p.Key+"` cannot be the name of a result", "write the name that the result has in the record, such as `E`"))
			continue
		}
		if unreadSetting(p.Value) {
			continue
		}
		if p.Value.Kind != record.ScalarSetting {
			set.Add(badValue(p.Value.At, p.Key, "a list or map", "a single quantity such as `205 GPa ± 3 GPa k=2`"))
			continue
		}
		at, ok := scalarSpan(p.Value, set)
		if !ok {
			continue
		}
		lit, negative := formula.ParseLiteral(at, false, set)
		if lit == nil {
			continue
		}
		if v, ok := c.Eval("specimen "+e.Name+" "+p.Key).Literal(lit, negative).(eval.Scalar); ok {
			line, _ := p.KeyAt.Position()
			e.Certified = append(e.Certified, instrument.Certified{Name: p.Key, Value: v.Q, Unit: eval.UnitOf(v), Text: p.Value.Text, Line: line})
		}
	}
}

// show is the table of the specimen that was measured. A blank sheet does not
// tell what is certified: it is what the readings should give.
func (l *specimenList) show(id string, blank bool) []view.Node {
	e := l.inForce()
	if e == nil {
		return nil
	}
	t := &view.Table{ID: id + "-specimen", Ledger: true, Caption: view.Text{view.Plain("Specimen fitted to the apparatus")}}
	var certified []string
	for _, c := range e.Certified {
		certified = append(certified, c.Name+" = "+inWords(c.Text))
	}
	if blank {
		certified = nil
	}
	row := view.Row{}
	for _, c := range [][2]string{{"specimen", e.Name}, {"what", e.What}, {"material", strings.TrimSpace(e.Material + " " + e.Temper)},
		{"fitted", e.Fitted}, {"certified", strings.Join(certified, "; ")}} {
		t.Columns = append(t.Columns, view.Column{Quantity: view.Text{view.Plain(c[0])}})
		row.Cells = append(row.Cells, view.Cell{Text: view.Text{view.Plain(strings.ReplaceAll(c[1], "-", "\u2011"))}, Hole: c[1] == ""})
	}
	t.Rows = []view.Row{row}
	return []view.Node{t}
}
