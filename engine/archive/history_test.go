package archive

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/results"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

func float(v float64) *results.Float { f := results.Float(v); return &f }

// aRecord is a record of a method with a result E, in pascals.
func aRecord(n int, value, u float64, specimen *results.Specimen) *kept {
	v := results.Value{Value: results.Float(value), Unit: "Pa", Display: fmt.Sprintf("(%.1f ± %.1f) GPa", value/1e9, u/1e9)}
	if u > 0 {
		v.Expanded = float(u)
	}
	return &kept{Entry: &Entry{N: n, Apparatus: "wf-7", Bag: fmt.Sprintf("bag-%d", n), Date: fmt.Sprintf("2025-%02d-%02d", (n-1)/28+1, (n-1)%28+1), Title: "a wire"},
		page: true, file: &results.File{Taut: "0", Values: map[string]results.Value{"p.E": v}, Specimen: specimen,
			Practicals: map[string]results.Practical{"p": {Method: "stretched-wire", Results: []string{"E"}, Material: "steel"}}}}
}

func near(t *testing.T, what string, have, want, within float64) {
	t.Helper()
	if !(math.Abs(have-want) <= within) {
		t.Errorf("%s is %.9g, not %.9g", what, have, want)
	}
}

// TestHistoryPublished carries the worked example of an individuals chart of
// the NIST/SEMATECH e-Handbook, 6.3.2.2 (figures from memory), through the
// records of an archive: read as gigapascals, it gives the same limits.
func TestHistoryPublished(t *testing.T) {
	var records []*kept
	for i, v := range []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1} {
		records = append(records, aRecord(i+1, v*1e9, 1e9, nil))
	}
	all := resultHistories(records, 0)
	if len(all) != 1 || len(all[0].segments) != 1 || all[0].unit.String() != "GPa" || !all[0].counts() {
		t.Fatalf("%+v", all)
	}
	c := all[0].segments[0].control
	near(t, "the mean", c.Mean/1e9, 50.81, 1e-9)
	near(t, "the mean moving range", c.MeanRange/1e9, 1.8778, 0.00005)
	near(t, "the upper limit", c.Upper/1e9, 55.8041, 0.00005)
	near(t, "the lower limit", c.Lower/1e9, 45.8159, 0.00005)
	if all[0].speaks() || all[0].segments[0].standing() != "PROVISIONAL: they rest on 10 values" {
		t.Errorf("%+v", all[0].segments[0])
	}
	// Records in another order are the same history.
	for i := range records {
		j := (i*7 + 3) % len(records)
		records[i], records[j] = records[j], records[i]
	}
	if again := resultHistories(records, 0)[0]; again.segments[0].control.Mean != c.Mean || again.segments[0].control.MeanRange != c.MeanRange {
		t.Error("the order of the records counts")
	}
}

// TestHistorySegments: a new specimen begins a segment, the same one fitted
// anew another; what is amended or can't be read is left out.
func TestHistorySegments(t *testing.T) {
	w1 := &results.Specimen{Name: "W-1", Fitted: "2025-01-01"}
	w2 := &results.Specimen{Name: "W-2", Fitted: "2025-01-04"}
	back := &results.Specimen{Name: "W-1", Fitted: "2025-01-06"}
	var records []*kept
	for i, s := range []*results.Specimen{w1, w1, w1, w2, w2, back} {
		records = append(records, aRecord(i+1, float64(200+i)*1e9, 4e9, s))
	}
	gone, unread := aRecord(7, 300e9, 1e9, back), aRecord(8, 300e9, 1e9, back)
	gone.AmendedBy, unread.file = "wf-7/bag-9", nil
	other := aRecord(9, 3, 1, back)
	v := other.file.Values["p.E"]
	v.Unit = "m"
	other.file.Values["p.E"] = v
	h := resultHistories(append(records, gone, unread, other), 2)[0]
	var got []string
	for _, s := range h.segments {
		got = append(got, fmt.Sprintf("%s %d %d %d %v", s.name, s.from, s.to, s.control.Base, s.control.HasLimits()))
	}
	if want := "W-1 0 3 2 true; W-2 3 5 2 true; W-1 5 6 1 false"; strings.Join(got, "; ") != want {
		t.Errorf("%s, not %s", strings.Join(got, "; "), want)
	}
	if h.rangeText(0) != "" || h.rangeText(1) != "1.00 GPa" || h.rangeText(3) != "" {
		t.Errorf("%q %q %q", h.rangeText(0), h.rangeText(1), h.rangeText(3))
	}
}

// TestHistorySignals: indices are those of the history, and a chart says a
// rule once while it holds on.
func TestHistorySignals(t *testing.T) {
	w1, w2 := &results.Specimen{Name: "W-1", Fitted: "2025-01-01"}, &results.Specimen{Name: "W-2", Fitted: "2025-01-11"}
	var records []*kept
	for i := range 30 {
		s, v := w1, 200.0+float64(i%2)
		if i >= 10 {
			s, v = w2, 190+float64(i%2)
		}
		if i >= 28 {
			v = 210
		}
		records = append(records, aRecord(i+1, v*1e9, 4e9, s))
	}
	h := resultHistories(records, 10)[0]
	if got := h.remarkable(); got != "beyond a control limit: no. 29, 30; two of three beyond 2 σ on one side: no. 30; moving range beyond its limit: no. 29" {
		t.Error(got)
	}
	a, b, before := h.chartPoint(28, &h.segments[1]), h.chartPoint(29, &h.segments[1]), h.chartPoint(27, &h.segments[1])
	if a.Words != "beyond a limit" || !a.Marked || a.RangeWords != "beyond" || b.Words != "" || !b.Marked || before.Marked {
		t.Errorf("%+v\n%+v\n%+v", before, a, b)
	}
	if got := stretches([]int{1, 2, 3, 5, 7, 8}); got != "1 to 3, 5, 7, 8" {
		t.Error(got)
	}
}

// TestHistoryLong: of very many values the last are drawn, under their own
// numbers; the limits rest on all.
func TestHistoryLong(t *testing.T) {
	var records []*kept
	for i := range 300 {
		v := 200.0 + float64(i%2)
		if i == 10 || i == 290 {
			v = 300
		}
		records = append(records, aRecord(i+1, v*1e9, 4e9, &results.Specimen{Name: fmt.Sprintf("W-%d", i/280), Fitted: "2025-01-01"}))
	}
	h := resultHistories(records, 0)[0]
	c := h.chart("c", "t", "E").(*view.Chart)
	if c.Before != 180 || len(c.Points) != mostDrawn || len(c.Segments) != 2 || c.Segments[0].From != 0 || c.Segments[0].To != 100 || c.Segments[1].From != 100 || c.Segments[1].To != 120 {
		t.Errorf("%d %d %+v", c.Before, len(c.Points), c.Segments)
	}
	near(t, "the value before the last", c.Points[110].Value, 300, 1e-9)
	if got := h.segments[0].control.Base; got != 280 {
		t.Errorf("the limits rest on %d", got)
	}
	if got := h.remarkable(); !strings.HasPrefix(got, "beyond a control limit: no. 291") || strings.Contains(got, "no. 11") {
		t.Error(got)
	}
	if got := h.summary(); !strings.HasPrefix(got, "among the last 120 values: beyond a control limit (1 time)") {
		t.Error(got)
	}
	table := (&shelving{shelf: &Shelf{}}).valuesTable(h, "v", "E").(*view.Table)
	if len(table.Rows) != mostDrawn || !strings.HasPrefix(string(table.Rows[0].Cells[0].Text[0].(view.Plain)), "181.") {
		t.Errorf("%d rows, the first %v", len(table.Rows), table.Rows[0].Cells[0])
	}
}

// TestEn: 210 ± 3 beside 205 ± 4 is 5/5; without an uncertainty it cannot be
// assessed, and a certified value in another unit is none.
func TestEn(t *testing.T) {
	specimen := func(u *results.Float, un string) *results.Specimen {
		return &results.Specimen{Name: "W", Fitted: "2025-01-01", Certified: map[string]results.Value{"E": {Value: 205e9, Unit: un, Expanded: u}}}
	}
	for _, c := range []struct {
		u        float64
		specimen *results.Specimen
		want     string
	}{
		{3e9, specimen(float(4e9), "Pa"), "1.00"},
		{1e9, specimen(float(1e9), "Pa"), "3.54 beyond ±1"},
		{0, specimen(float(4e9), "Pa"), "not assessable: the result has no uncertainty"},
		{3e9, specimen(nil, "Pa"), "not assessable: the certified value has no uncertainty"},
		{3e9, specimen(float(4e9), "m"), "no certified value"},
		{3e9, nil, "no certified value"},
	} {
		h := resultHistories([]*kept{aRecord(1, 210e9, c.u, c.specimen)}, 0)[0]
		if got := h.points[0].enText(); got != c.want {
			t.Errorf("%s, not %s", got, c.want)
		}
	}
}

// TestHandWritten: of a record without a method, what is certified counts.
func TestHandWritten(t *testing.T) {
	k := aRecord(1, 200e9, 3e9, &results.Specimen{Name: "W", Fitted: "2025-01-01", Certified: map[string]results.Value{"E": {Value: 205e9, Unit: "Pa"}, "G": {}}})
	k.file.Practicals = nil
	k.file.Values["E"], k.file.Values["d"] = k.file.Values["p.E"], k.file.Values["p.E"]
	h := resultHistories([]*kept{k}, 0)
	if len(h) != 1 || h[0].name != "E" || h[0].method != "" || !h[0].counts() {
		t.Errorf("%+v", h)
	}
}

func zeroed(n int, mm float64, serial, calibrated string) *kept {
	k := aRecord(n, 1, 1, nil)
	k.file.Instruments = map[string]results.Instrument{"gauge": {Serial: serial, Calibrated: calibrated,
		Resolution: &results.Resolution{Value: 1e-5, Unit: "m", Display: "0.01 mm"},
		Zero:       &results.Zero{Value: results.Float(mm / 1000), U: float(2e-6), Unit: "m"}}}
	return k
}

// TestZeroHistory: a calibration and another instrument begin segments; limits
// closer than half a division say nothing.
func TestZeroHistory(t *testing.T) {
	var records []*kept
	for i := range 12 {
		records = append(records, zeroed(i+1, 0.01*float64(i%2), "A", "2025-01-01"))
	}
	records = append(records, zeroed(13, 0.05, "A", "2025-06-01"), zeroed(14, 0.05, "B", "2025-06-01"))
	h := zeroHistories(records, 0)[0]
	if len(h.segments) != 3 || h.unit.String() != "mm" || h.points[0].shown != "0.0000 mm" || h.steady() {
		t.Errorf("%+v", h)
	}
	near(t, "the bar", h.points[0].u, 4e-6, 1e-18)
	// One division once in twelve readings: the mean moving range is 2/11 of
	// it, and 2.66 of these are less than half a division.
	var still []*kept
	for i := range 24 {
		mm := 0.02
		if i == 7 {
			mm = 0.03
		}
		still = append(still, zeroed(i+1, mm, "A", ""))
	}
	h = zeroHistories(still, 0)[0]
	if s := h.segments[0]; !s.coarse || h.speaks() || !strings.Contains(s.standing(), "half the resolution") {
		t.Errorf("%+v", s)
	}
	for _, k := range still {
		k.file.Instruments["gauge"].Zero.Value = 2e-5
	}
	if h := zeroHistories(still, 0)[0]; !h.steady() || h.speaks() {
		t.Errorf("%+v", h)
	}
}

// TestDue: the day itself and the days about it.
func TestDue(t *testing.T) {
	k := zeroed(1, 0, "A", "2024-03-01")
	in := k.file.Instruments["gauge"]
	in.Due = "2025-03-01"
	k.file.Instruments["gauge"] = in
	l := instrumentLines([]*kept{k})[0]
	for today, want := range map[string]string{
		"2025-03-02": "OVERDUE by 1 day", "2026-03-01": "OVERDUE by 365 days", "2025-03-01": "DUE today", "2025-02-28": "DUE SOON: in 1 day",
		"2024-12-31": "DUE SOON: in 60 days", "2024-12-30": "in date",
	} {
		if _, got := l.state(today); got != want {
			t.Errorf("%s: %s, not %s", today, got, want)
		}
	}
	// A newer instrument of that name takes its place.
	both := instrumentLines([]*kept{k, zeroed(2, 0, "B", "")})
	if len(both) != 2 || both[0].in.Serial != "B" {
		t.Fatalf("%+v", both)
	}
	if _, got := both[0].state("2026-01-01"); got != "no due date given" {
		t.Error(got)
	}
	if state, got := both[1].state("2026-01-01"); state != dueUnknown || got != "no longer in use: last record of 2025-01-01" {
		t.Error(got)
	}
}

// TestSpecimenLines: the latest record knows best, and the greatest load is
// that of all records, the dead load with it.
func TestSpecimenLines(t *testing.T) {
	now := &results.Specimen{Name: "W-1", Fitted: "2025-01-01"}
	later := &results.Specimen{Name: "W-1", Fitted: "2025-01-01", Removed: "2025-01-03", Reason: "it snapped"}
	next := &results.Specimen{Name: "W-2", Fitted: "2025-01-03"}
	a, b, c := aRecord(1, 1, 1, now), aRecord(2, 1, 1, now), aRecord(3, 1, 1, next)
	a.AmendedBy = "wf-7/x" // it was loaded all the same
	a.file.Columns = map[string]results.Column{"pull.load": {Unit: "kg", Values: []results.Float{1, results.Float(math.NaN()), 7}}, "p.load": {Unit: "kg", Values: []results.Float{6}}, "load": {Unit: "m", Values: []results.Float{99}}}
	a.file.Values["p.dead_load"] = results.Value{Value: 1.5, Unit: "kg"}
	b.file.Columns = map[string]results.Column{"load": {Unit: "N", Values: []results.Float{20}}}
	b.file.Specimens, c.file.Specimens = []*results.Specimen{now}, []*results.Specimen{later, next}
	all := specimenLines([]*kept{a, b, c})
	if len(all) != 2 || all[0].Reason != "it snapped" || all[0].records != 2 || all[1].records != 1 {
		t.Fatalf("%+v", all)
	}
	if got := all[0].load(); got != "20.00 N, 7.500 kg" {
		t.Error(got)
	}
	if got := all[1].load(); got != "" {
		t.Error(got)
	}
}

func TestShownUnit(t *testing.T) {
	for _, c := range [][3]string{{"(197.3 ± 8.8) GPa", "Pa", "GPa"}, {"5 mm", "m", "mm"}, {"0.287", "1", "1"}, {"12", "m", "m"}, {"3 m s^-2", "m s^-2", "m s^-2"}, {"<b> x", "Pa", "Pa"}, {"2 kg", "m", "m"}} {
		if got := shownUnit(results.Value{Display: c[0], Unit: c[1]}); got.String() != unit.MustParse(c[2]).String() {
			t.Errorf("%s: %s", c[0], got)
		}
	}
	if number(math.NaN(), 1, one) != "–" || number(-0.5, 0.01, one) != "−0.500" || number(1234.5678, 0, one) != "1234.57" {
		t.Errorf("%s %s %s", number(math.NaN(), 1, one), number(-0.5, 0.01, one), number(1234.5678, 0, one))
	}
	for _, r := range stat.Rules() {
		h := &history{points: []point{{value: 1}, {value: 2}}}
		if h.brief(stat.Signal{Rule: r, Last: 1}) == "" {
			t.Errorf("no words for %v", r)
		}
	}
}
