package variant

import (
	"math"
	"slices"

	"example.org/taut/engine/block"
	"example.org/taut/engine/source"
)

// mark marks what one student handed in.
func (k *marker) mark(s *Student, e *entry) *Sheet {
	sheet := &Sheet{Student: s, From: e.from}
	for _, f := range e.findings {
		k.report(sheet, f)
	}
	for _, p := range k.Key.Points {
		if p.Kind == PointQuestion {
			sheet.Questions = append(sheet.Questions, Answered{p, e.answers[p.Name]})
		}
	}
	if e.program == nil {
		k.markNumbers(s, e, sheet)
		return sheet
	}
	on, c := k.sheetReadings(s, e, sheet)
	if on == nil {
		sheet.Values = k.nothing(sheet.Refused)
		return sheet
	}
	sheet.Struck = strikes(c, k.given(on))
	sheet.Faults = faults(on, e, sheet.Struck, c)
	plain := k.newWork(memoryOf(on))
	k.checkKey(on, plain)
	w := plain
	if out := c.out(); len(out) > 0 { // the places are those of the plain files
		w = k.newWork(strikeOut(plain.files, out))
	}
	if len(c.edited)+len(c.added)+len(c.lost)+len(c.lacking) == 0 {
		k.checkRecord(sheet, e, w)
	}
	sheet.Values = w.judge(k.Key, e.claims)
	k.withoutWrong(on, e, sheet, plain.files, c.out(), func(cell block.Reading) bool { return c.lacks(placeOf(cell)) })
	k.hintStrike(on, sheet, plain, e)
	return sheet
}

// nothing is the marking of values of which none is marked.
func (k *marker) nothing(why string) []*Judged {
	var out []*Judged
	for _, p := range k.Key.Points {
		if p.Kind == PointValue {
			out = append(out, &Judged{Point: p, Parts: partsOf(p.Marks), Words: []string{"not marked: " + why}, Ratio: math.NaN(), Spread: math.NaN(), Claimed: math.NaN()})
		}
	}
	return out
}

// markNumbers marks a list of numbers on the readings that were given out.
func (k *marker) markNumbers(s *Student, e *entry, sheet *Sheet) {
	w := k.newWork(memoryOf(s))
	k.checkKey(s, w)
	sheet.Faults = faults(s, e, nil, nil)
	sheet.Values = w.judge(k.Key, e.claims)
	k.withoutWrong(s, e, sheet, w.files, nil, func(block.Reading) bool { return true })
}

// withoutWrong marks anew without the wrong readings of the key of which it
// can't be seen whether they were struck, as in a list of numbers or a table
// that is gone; out are those that are. Numbers without them are as right as numbers with them, and
// those count that earn more.
func (k *marker) withoutWrong(s *Student, e *entry, sheet *Sheet, files memory, out []block.Reading, unseen func(block.Reading) bool) {
	cells := slices.DeleteFunc(k.wrongCells(s), func(r block.Reading) bool { return !unseen(r) })
	if len(cells) == 0 {
		return
	}
	other := k.newWork(strikeOut(files, append(out, cells...))).judge(k.Key, e.claims)
	if better(other, sheet.Values) {
		sheet.Values = other
		sheet.Remarks = append(sheet.Remarks, "Marked as if the wrong reading, "+placeOf(cells[0])+", were struck: the numbers go with that.")
	}
}

// better reports whether a earns more than b, or the same with more that is
// right by itself.
func better(a, b []*Judged) bool {
	sum := func(list []*Judged) (got, right int) {
		for _, j := range list {
			got += j.Got
			if j.way == direct {
				right++
			}
		}
		return got, right
	}
	gotA, rightA := sum(a)
	gotB, rightB := sum(b)
	return gotA > gotB || gotA == gotB && rightA > rightB
}

// wrongCells are the readings that a fault of recording spoils, one for each.
func (k *marker) wrongCells(s *Student) []block.Reading {
	var out []block.Reading
	for _, f := range s.Faults {
		if f.Kind == "recording" && single(f.Name) {
			out = append(out, cellsAt(k.given(s), f.Place)...)
		}
	}
	return out
}

// hintStrike says of a wrong value that it would be right if the wrong reading
// were struck in the record too.
func (k *marker) hintStrike(s *Student, sheet *Sheet, plain *work, e *entry) {
	cells := k.wrongCells(s)
	if len(cells) == 0 || slices.ContainsFunc(sheet.Struck, func(st Strike) bool { return st.Wrong }) {
		return
	}
	other := k.newWork(strikeOut(plain.files, cells)).judge(k.Key, e.claims)
	for i, j := range sheet.Values {
		if j.way == wrong && other[i].way == direct {
			j.say("it is what comes once " + placeOf(cells[0]) + " is struck: strike it in the record, with the reason")
		}
	}
}

// sameValue is how well a value agrees with itself, worked out again.
const sameValue = 1e-9

func near(a, b float64) bool {
	return math.Abs(a-b) <= sameValue*math.Max(math.Abs(a), math.Abs(b))
}

// checkRecord compares what the record gives as it was handed in with what the
// given files give.
func (k *marker) checkRecord(sheet *Sheet, e *entry, w *work) {
	for _, p := range w.points {
		want, ok := w.want[p.Name]
		now, there := expectationOf(e.program, p.Name)
		if !ok || there && near(now.value(), want.value()) && near(now.u, want.u) {
			continue
		}
		shown := "nothing"
		if there {
			shown = now.shown.String()
			if shown == want.shown.String() {
				shown += " with another uncertainty"
			}
		}
		k.report(sheet, otherRecord(e.at, k.Key.short(p.Name), shown, want.shown.String()))
		return // one is enough: what rests on it differs too
	}
}

// checkKey compares the key's own results with those of its files.
func (k *marker) checkKey(s *Student, w *work) {
	at := source.Span{}
	if k.KeyFile != nil {
		at = k.KeyFile.Span(0, 0)
	}
	for _, p := range w.points {
		short := k.Key.short(p.Name)
		r, ok := s.Results[short]
		want, there := w.want[p.Name]
		if ok && there && !near(float64(r.Value), want.value()) {
			k.set.Add(keyDiffers(at, s.ID, short, r.Shown, want.shown.String()))
			return
		}
	}
}
