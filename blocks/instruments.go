package blocks

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(instruments{})

// instruments is the kind `instruments`: what is known of the measuring
// instruments. It also reads the apparatus file that the front matter names.
type instruments struct{}

// Info implements block.Kind.
func (instruments) Info() block.Info {
	return block.Info{Name: "instruments", Naming: block.Labelled, Options: []string{"given"}, What: "the instruments: resolution, zero, calibration", Keys: []block.Keys{
		{Of: "an instrument", Names: instrumentKeys}, {Of: "a calibration", Names: calibrationKeys},
		{Of: "an apparatus file", Names: apparatusKeys}, {Of: "a specimen", Names: specimenKeys},
	}}
}

// FrontKeys implements block.FrontReader.
func (instruments) FrontKeys() []string { return []string{"apparatus"} }

var _ block.FrontReader = instruments{}

var instrumentKeys = []string{"what", "resolution", "pitch", "divisions", "zero", "calibration", "calibrations", "scale", "each",
	"serial", "calibrated", "due", "certificate", "maker", "range", "note"}

var (
	calibrationKeys = []string{"date", "calibration", "scale", "due", "certificate"}
	apparatusKeys   = []string{"apparatus", "what", "place", "identity", "note", "instruments", "specimens"}
)

type instrumentList struct {
	list    []*instrumentEntry
	title   string
	caption view.Text
	given   bool // a blank sheet tells the zero readings too

	apparatus   *instrument.Apparatus // nil outside an apparatus file
	specimens   *specimenList         // nil where the file has none
	specimensAt *record.Setting
}

type instrumentEntry struct {
	name   string
	at     source.Span
	keys   *record.Setting
	set    *finding.Set
	result *instrument.Instrument
	date   string
	// certificate is the map in which the calibration in force stands: one of
	// the dated list, or that of the instrument itself; nil where none is.
	certificate *record.Setting
}

// Read implements block.Kind.
func (instruments) Read(r *block.Reader, b *record.Block) block.Instance {
	l := readInstruments(r, b.ReadSettings(r.Set))
	l.given = readGiven(r, b)
	return l
}

// ReadFront implements block.FrontReader.
func (instruments) ReadFront(r *block.Reader, _ string, value *record.Setting) block.Instance {
	if value.Kind != record.ScalarSetting {
		r.Set.Add(badValue(value.At, "apparatus", "a list or map", "the path of an apparatus file"))
		return nil
	}
	f := r.Open(value.Text, value.At)
	if f == nil {
		return nil
	}
	s := record.ParseSettings(f, r.Set)
	if s == nil {
		return nil
	}
	if s.Kind != record.MapSetting {
		r.Set.Add(badValue(s.At, "instruments", "this file", "a file with a map `instruments:`"))
		return nil
	}
	checkKeys(s, "an apparatus file", apparatusKeys, r.Set)
	m := s.Get("instruments")
	if m == nil || m.Kind != record.MapSetting {
		r.Set.Add(missingKey(s.At, "instruments", "an apparatus file"))
		return nil
	}
	l := readInstruments(r, m)
	a := &instrument.Apparatus{Path: f.Name}
	for key, to := range map[string]*string{"apparatus": &a.Name, "identity": &a.Identity, "place": &a.Place} {
		scalar(s, key, r.Set)
		*to = stated(s, key)
	}
	l.apparatus, l.title = a, a.Name
	switch {
	case a.Name == "":
		l.title = a.Identity
	case a.Identity != "" && a.Identity != a.Name:
		l.title += " (" + a.Identity + ")"
	}
	if t := scalar(s, "what", r.Set); t != nil {
		l.caption = view.Text{view.Plain(t.Text)}
	}
	if t := s.Get("specimens"); t != nil && !unreadSetting(t) {
		l.specimens, l.specimensAt = readSpecimens(r, t), t
	}
	return l
}

// Check implements block.Checker.
func (l *instrumentList) Check(c *block.Computing) {
	if l.specimens != nil {
		l.specimens.check(c, l.specimensAt)
	}
}

// Equipment implements block.Equipped. Instruments that could not be read are
// left out.
func (l *instrumentList) Equipment() instrument.Equipment {
	out := instrument.Equipment{Apparatus: l.apparatus}
	for _, e := range l.list {
		if e.result != nil {
			out.Instruments = append(out.Instruments, e.result)
		}
	}
	if l.specimens == nil {
		return out
	}
	if s := l.specimens.inForce(); s != nil {
		out.Specimen = &s.Specimen
	}
	for _, s := range l.specimens.list {
		out.Specimens = append(out.Specimens, &s.Specimen)
	}
	return out
}

func readInstruments(r *block.Reader, m *record.Setting) *instrumentList {
	l := &instrumentList{}
	for _, p := range m.Pairs {
		if !record.IsName(p.Key) {
			r.Set.Add(badInstrument(p.KeyAt, p.Key))
			continue
		}
		if p.Value.Kind != record.MapSetting {
			r.Set.Add(badValue(p.Value.At, p.Key, p.Value.Text, "a map with `resolution:` and what else is known"))
			continue
		}
		checkKeys(p.Value, "an instrument", instrumentKeys, r.Set)
		l.list = append(l.list, &instrumentEntry{name: norm.NFC.String(p.Key), at: p.KeyAt, keys: p.Value, set: r.Set, date: r.Settings.Date})
	}
	return l
}

// badInstrument: `screw gauge:`.
func badInstrument(at source.Span, name string) *finding.Finding {
	return errorAt(at, "bad-name", "`"+name+"` cannot be the name of an instrument", "a name is a letter followed by letters, digits and `_`; what it is goes under `what:`")
}

// Defs implements block.Definer.
func (l *instrumentList) Defs() []*block.Def {
	var out []*block.Def
	for _, e := range l.list {
		out = append(out, &block.Def{Name: "@" + e.name, At: e.at, Quiet: true, Compute: func(c *block.Computing) eval.Value {
			in, ok := e.compute(c)
			if !ok {
				return eval.Waiting{}
			}
			e.result = in
			return &eval.Space{What: "instrument", Name: e.name, Data: in, Get: func(string) (eval.Value, bool) { return nil, false }}
		}})
	}
	return out
}

// compute makes the instrument of its settings.
func (e *instrumentEntry) compute(c *block.Computing) (*instrument.Instrument, bool) {
	in := &instrument.Instrument{Name: e.name, What: e.name}
	ev := c.Eval("@" + e.name)
	if s := scalar(e.keys, "what", e.set); s != nil {
		in.What = s.Text
	}
	e.certificate = e.inForce(ev)
	e.identity(in, c)
	if !e.resolution(in, ev) {
		return nil, false
	}
	if in.Unread {
		return in, true
	}
	ok := e.zero(in, ev) && e.calibration(in, ev) && e.scale(in, ev) && e.each(in, ev)
	return in, ok
}

// identity reads what tells the instrument from others of its kind, and the
// dates of its calibration.
func (e *instrumentEntry) identity(in *instrument.Instrument, c *block.Computing) {
	for _, key := range []string{"serial", "calibrated", "due", "certificate", "maker", "range", "note"} {
		s := scalar(e.keys, key, e.set)
		if s != nil && (key == "due" || key == "calibrated") && !unreadSetting(s) && !isDate(s.Text) {
			c.Report(badValue(s.At, key, s.Text, "a date such as 2027-01-20"))
		}
	}
	in.Serial, in.Certificate = stated(e.keys, "serial"), stated(e.certificate, "certificate")
	in.Calibrated, in.Due = e.calibrated(), e.dated("due").Text
	if due := e.dated("due"); in.Due != "" && isDate(e.date) && e.date > in.Due {
		c.Report(cautionAt(due.At, "calibration-overdue", "the calibration of `"+e.name+"` was due on "+in.Due+", before this record of "+e.date,
			"have it calibrated, or say in the record why it may still be used"))
	}
}

// calibrated is the day of the calibration in force.
func (e *instrumentEntry) calibrated() string {
	if t := e.dated("date").Text; t != "" {
		return t
	}
	return e.dated("calibrated").Text
}

// dated is a date of the calibration in force; an empty setting where there is
// none that can be read.
func (e *instrumentEntry) dated(key string) *record.Setting {
	if s := e.certificate.Get(key); s != nil && s.Kind == record.ScalarSetting && isDate(s.Text) {
		return s
	}
	return &record.Setting{}
}

func isDate(s string) bool {
	_, err := time.Parse("2006-01-02", s)
	return err == nil
}

// literal evaluates a setting as a quantity without uncertainty of its own.
func (e *instrumentEntry) literal(ev *eval.Eval, s *record.Setting) (eval.Scalar, bool) {
	if s.Kind != record.ScalarSetting && !s.Broken {
		e.set.Add(badValue(s.At, e.name, "a list or map", "a single quantity such as `0.01 mm`"))
		return eval.Scalar{}, false
	}
	at, ok := scalarSpan(s, e.set)
	if !ok {
		return eval.Scalar{}, false
	}
	lit, negative := formula.ParseLiteral(at, false, e.set)
	if lit == nil {
		return eval.Scalar{}, false
	}
	v, ok := ev.Literal(lit, negative).(eval.Scalar)
	if ok && eval.UnitOf(v).IsTemperature() { // 0.1 °C is the temperature 273.25 K
		e.set.Add(badValue(s.At, e.name, s.Text, "a difference of temperatures, in K: for a thermometer to a tenth of a degree `0.1 K`"))
		return eval.Scalar{}, false
	}
	return v, ok
}

func (e *instrumentEntry) resolution(in *instrument.Instrument, ev *eval.Eval) bool {
	s := e.keys.Get("resolution")
	pitch, divs := e.keys.Get("pitch"), e.keys.Get("divisions")
	if unreadSetting(s) || s == nil && (unreadSetting(pitch) || unreadSetting(divs)) {
		in.Unread = true
		return true
	}
	if pitch != nil {
		v, ok := e.literal(ev, pitch)
		if !ok {
			return false
		}
		if in.Pitch = v.Q.Value(); !(in.Pitch > 0) {
			e.set.Add(badValue(pitch.At, "pitch", pitch.Text, "above 0"))
			return false
		}
		in.Dim, in.Unit = v.Q.Dim(), eval.UnitOf(v)
	}
	if divs != nil {
		v, ok := e.literal(ev, divs)
		if !ok {
			return false
		}
		if in.Divisions = v.Q.Value(); !(in.Divisions >= 1) || !v.Q.Dim().IsOne() || in.Divisions != math.Floor(in.Divisions) {
			e.set.Add(badValue(divs.At, "divisions", divs.Text, "a whole number"))
			return false
		}
	}
	switch {
	case s != nil:
		v, ok := e.literal(ev, s)
		if !ok {
			return false
		}
		if in.Resolution = v.Q.Value(); in.Resolution < 0 {
			e.set.Add(badValue(s.At, "resolution", s.Text, "0 or more"))
			return false
		}
		if pitch != nil && v.Q.Dim() != in.Dim {
			e.set.Add(badValue(s.At, "resolution", s.Text, "in the dimension of the pitch"))
			return false
		}
		in.Dim, in.Unit = v.Q.Dim(), eval.UnitOf(v)
		return e.pitchAgrees(in, s)
	case in.Pitch > 0 && in.Divisions > 0:
		in.Resolution = in.Pitch / in.Divisions
		return true
	}
	e.set.Add(missingKey(e.at, "resolution", "the instrument `"+e.name+"`"))
	return false
}

// pitchAgrees checks a stated resolution against pitch and divisions.
func (e *instrumentEntry) pitchAgrees(in *instrument.Instrument, s *record.Setting) bool {
	if in.Pitch == 0 || in.Divisions == 0 {
		return true
	}
	if lc := in.Pitch / in.Divisions; math.Abs(lc-in.Resolution) > 1e-6*lc {
		e.set.Add(errorAt(s.At, "screw-disagrees", "the resolution is not the pitch divided by the divisions", "leave `resolution` out, or mend one of the three"))
		return false
	}
	return true
}

func unreadSetting(s *record.Setting) bool {
	return s != nil && s.Kind == record.ScalarSetting && (s.Text == "–" || s.Text == "-" || s.Text == "—")
}

func (e *instrumentEntry) sameDim(in *instrument.Instrument, d unit.Dim, s *record.Setting, key string) bool {
	if d != in.Dim {
		e.set.Add(badValue(s.At, key, s.Text, "in the dimension of the resolution ("+in.Unit.String()+")"))
		return false
	}
	return true
}

// zero reads the zero reading: one, which carries the resolution once unless
// an uncertainty is written, or a list of several.
func (e *instrumentEntry) zero(in *instrument.Instrument, ev *eval.Eval) bool {
	s := e.keys.Get("zero")
	if s == nil {
		return true
	}
	if unreadSetting(s) {
		in.Unread = true // a zero that is still to be read: without it the readings would be wrong
		return true
	}
	half := in.Resolution / 2
	res := func(v float64) quantity.Term {
		return quantity.Term{C: 1, Source: quantity.Source{ID: ev.Owner + " zero", Label: "zero of " + e.name, Dist: quantity.Rectangular, Value: v, Unit: in.Unit,
			U: half / math.Sqrt(3), Half: half, Instrument: e.name}.New()}
	}
	if s.Kind == record.ListSetting {
		return e.zeros(in, ev, s, res)
	}
	v, ok := e.literal(ev, s)
	if !ok || !e.sameDim(in, v.Q.Dim(), s, "zero") {
		return false
	}
	q := v.Q
	if !q.IsUncertain() {
		q = quantity.Uncertain(q.Value(), in.Dim, res(q.Value()))
	}
	in.Zero, in.Zeros = &q, []float64{q.Value()}
	return true
}

func (e *instrumentEntry) zeros(in *instrument.Instrument, ev *eval.Eval, s *record.Setting, res func(float64) quantity.Term) bool {
	var vs []float64
	for _, item := range s.Items {
		if unreadSetting(item) {
			continue
		}
		v, ok := e.literal(ev, item)
		if !ok || !e.sameDim(in, v.Q.Dim(), item, "zero") {
			return false
		}
		vs = append(vs, v.Q.Value())
	}
	if len(vs) == 0 {
		return true
	}
	m := stat.Mean(vs)
	terms := []quantity.Term{res(m)}
	if n := float64(len(vs)); n > 1 {
		terms = append(terms, quantity.Term{C: 1, Source: quantity.Source{ID: ev.Owner + " zero scatter", Label: "scatter of the zero readings of " + e.name,
			Dist: quantity.StudentT, Value: m, Unit: in.Unit, U: stat.SD(vs) / math.Sqrt(n), DOF: n - 1, TypeA: true, Instrument: e.name}.New()})
	}
	q := quantity.Uncertain(m, in.Dim, terms...)
	in.Zero, in.Zeros = &q, vs
	return true
}

// inForce returns the map in which the calibration stands that counts at the
// record's date: one of the dated list, else the instrument's own.
func (e *instrumentEntry) inForce(ev *eval.Eval) *record.Setting {
	list := e.keys.Get("calibrations")
	if list == nil {
		return e.keys
	}
	for _, key := range []string{"calibration", "calibrated", "due", "certificate"} {
		if one := e.keys.Get(key); one != nil {
			ev.Report(errorAt(one.At, "repeated-key", "`"+key+"` and `calibrations` cannot both stand", "put it into the dated list"))
		}
	}
	var best *record.Setting
	bestDate := ""
	for _, item := range list.List() {
		d := item.Get("date")
		if item.Kind != record.MapSetting || d == nil || !isDate(d.Text) {
			ev.Report(badValue(item.At, "calibrations", item.Text, "a list of maps, each with `date: 2026-01-20` and `calibration:`"))
			continue
		}
		checkKeys(item, "a calibration", calibrationKeys, e.set)
		if due := scalar(item, "due", e.set); due != nil && !unreadSetting(due) && !isDate(due.Text) {
			ev.Report(badValue(due.At, "due", due.Text, "a date such as 2027-01-20"))
		}
		if (e.date == "" || d.Text <= e.date) && d.Text >= bestDate {
			best, bestDate = item, d.Text
		}
	}
	if best == nil && len(list.List()) > 0 {
		ev.Report(cautionAt(list.At, "no-calibration", "no calibration of `"+e.name+"` was in force at the record's date", "add the certificate that was"))
	}
	return best
}

// calibration reads `± 0.004 mm k=2` or `+0.003 mm ± 0.002 mm`: an error of
// indication whose uncertainty is common to all readings.
func (e *instrumentEntry) calibration(in *instrument.Instrument, ev *eval.Eval) bool {
	s := e.certificate.Get("calibration")
	if s == nil || unreadSetting(s) {
		return true
	}
	v, terms, ok := e.stated(in, ev, s, "calibration", in.Unit, in.Dim)
	if !ok {
		return false
	}
	q := quantity.Uncertain(v, in.Dim, terms...)
	in.Error = &q
	return true
}

// stated reads a value that may be missing before its ±.
func (e *instrumentEntry) stated(in *instrument.Instrument, ev *eval.Eval, s *record.Setting, key string, un unit.Unit, dim unit.Dim) (float64, []quantity.Term, bool) {
	if s.Kind != record.ScalarSetting {
		e.set.Add(badValue(s.At, key, "a list or map", "a single line such as `± 0.004 mm k=2`"))
		return 0, nil, false
	}
	if t := strings.TrimSpace(s.Text); !strings.HasPrefix(t, "±") && !strings.HasPrefix(t, "+/-") {
		v, ok := e.literal(ev, s)
		if !ok || v.Q.Dim() != dim {
			if ok {
				e.set.Add(badValue(s.At, key, s.Text, "in "+un.String()))
			}
			return 0, nil, false
		}
		if v.Q.U() == 0 && v.Q.Value() != 0 {
			e.set.Add(exactCorrection(s.At, key, s.Text))
		}
		return v.Q.Value(), relabel(v.Q.Terms(), key+" of "+e.name, e.name), true
	}
	at, ok := scalarSpan(s, e.set)
	if !ok {
		return 0, nil, false
	}
	lim := formula.ParseLimit(at, e.set)
	if lim == nil {
		return 0, nil, false
	}
	o, ok := ev.Limit(lim, un, 0)
	if !ok {
		return 0, nil, false
	}
	src := quantity.Source{ID: ev.Owner + " " + key, Label: key + " of " + e.name + ": " + o.Label, Dist: o.Dist, Unit: un, U: o.U, Half: o.Half, DOF: o.DOF, Instrument: e.name}
	return 0, []quantity.Term{{Source: src.New(), C: 1}}, true
}

// exactCorrection: `scale: 0.1 %`, where `± 0.1 %` is meant.
func exactCorrection(at source.Span, key, text string) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "exact-correction", At: at,
		Message: fmt.Sprintf("`%s: %s` corrects every reading by that much, without uncertainty", key, text),
		Hint:    fmt.Sprintf("write `± %s` if it is a limit, or add the uncertainty of the correction", strings.TrimPrefix(text, "+"))}
}

// relabel names sources for the budget by what they are of.
func relabel(terms []quantity.Term, label, instr string) []quantity.Term {
	out := make([]quantity.Term, len(terms))
	for i, t := range terms {
		s := *t.Source
		s.Label, s.Instrument = label, instr
		out[i] = quantity.Term{Source: s.New(), C: t.C}
	}
	return out
}

// scaleSetting is that of the calibration in force, else the instrument's own.
func (e *instrumentEntry) scaleSetting() *record.Setting {
	if s := e.certificate.Get("scale"); s != nil {
		return s
	}
	return e.keys.Get("scale")
}

// scale reads a relative source common to all readings.
func (e *instrumentEntry) scale(in *instrument.Instrument, ev *eval.Eval) bool {
	s := e.scaleSetting()
	if s == nil || unreadSetting(s) {
		return true
	}
	one := unit.Of(unit.Dim{})
	v, terms, ok := e.stated(in, ev, s, "scale", one, unit.Dim{})
	if !ok {
		return false
	}
	q := quantity.Uncertain(1+v, unit.Dim{}, terms...)
	in.Scale = &q
	return true
}

// each reads what is independent at every reading.
func (e *instrumentEntry) each(in *instrument.Instrument, ev *eval.Eval) bool {
	s := e.keys.Get("each")
	if s == nil || unreadSetting(s) {
		return true
	}
	if s.Kind != record.ScalarSetting {
		e.set.Add(badValue(s.At, "each", "a list or map", "a single line such as `± 0.002 mm`"))
		return false
	}
	at, ok := scalarSpan(s, e.set)
	if !ok {
		return false
	}
	lim := formula.ParseLimit(at, e.set)
	if lim == nil {
		return false
	}
	o, ok := ev.Limit(lim, in.Unit, 0)
	if !ok {
		return false
	}
	o.Label = "each reading of " + e.name + ": " + o.Label
	in.Each = append(in.Each, o)
	return true
}

// Show implements block.Instance.
func (l *instrumentList) Show(s *block.Shower) []view.Node {
	if len(l.list) == 0 {
		return nil
	}
	t := &view.Table{ID: s.ID() + "-table", Ledger: true, Caption: view.Text{view.Plain("Instruments")}}
	if l.title != "" {
		t.Caption = view.Text{view.Plain("Instruments of " + l.title)}
	}
	if len(l.caption) > 0 {
		t.Caption = append(append(t.Caption, view.Plain(": ")), l.caption...)
	}
	for _, h := range []string{"instrument", "resolution", "zero reading", "calibration", "identity"} {
		t.Columns = append(t.Columns, view.Column{Quantity: view.Text{view.Plain(h)}})
	}
	for _, e := range l.list {
		t.Rows = append(t.Rows, e.show(s, s.View() == view.AsBlank && !l.given))
	}
	return append([]view.Node{t}, l.specimens.show(s.ID(), s.View() == view.AsBlank)...)
}

// show is the instrument's row; on a blank sheet with places for the zero
// readings, which are taken at the apparatus.
func (e *instrumentEntry) show(s *block.Shower, blank bool) view.Row {
	name := view.Text{view.Code(e.name)}
	if w := scalarText(e.keys, "what"); w != "" {
		name = append(append(view.Inline(w), view.Plain(" (")), view.Code(e.name), view.Plain(")"))
	}
	res := scalarText(e.keys, "resolution")
	if res == "" && e.result != nil && e.result.Resolution > 0 {
		u := e.result.Unit
		res = block.PlainText(s.Text(eval.Scalar{Q: quantity.Exact(e.result.Resolution, e.result.Dim), Unit: &u}, quantity.Auto, 0, ""))
		res += " (pitch " + scalarText(e.keys, "pitch") + ", " + scalarText(e.keys, "divisions") + " divisions)"
	}
	cal := inWords(scalarText(e.certificate, "calibration"))
	for _, part := range []struct {
		key string
		of  *record.Setting
	}{{"scale", e.scaleSetting()}, {"each", e.keys.Get("each")}} {
		if part.of != nil && part.of.Kind == record.ScalarSetting {
			if cal != "" {
				cal += "; "
			}
			cal += part.key + " " + inWords(part.of.Text)
		}
	}
	var id []string
	for _, part := range [][2]string{{"serial", stated(e.keys, "serial")}, {"calibrated", e.calibrated()}, {"due", e.dated("due").Text},
		{"certificate", stated(e.certificate, "certificate")}} {
		if part[1] != "" {
			id = append(id, part[0]+" "+part[1])
		}
	}
	row := view.Row{Cells: []view.Cell{{Text: name}}}
	for _, t := range []string{res, e.zeroText(), cal, strings.Join(id, ", ")} {
		cell := view.Cell{Text: view.Text{view.Plain(strings.ReplaceAll(t, "-", "\u2011"))}, Hole: t == "" || t == "–"}
		row.Cells = append(row.Cells, cell)
	}
	if zero := &row.Cells[zeroCell]; blank && !zero.Hole {
		zero.Text = e.zeroPlaces()
	}
	return row
}

// zeroCell is the cell of an instrument's row in which its zero readings stand.
const zeroCell = 2

// zeroPlaces are three places for zero readings, one below the other.
func (e *instrumentEntry) zeroPlaces() view.Text {
	un := ""
	if e.result != nil {
		un = axisUnit(e.result.Unit)
	}
	below := view.Blank{Unit: un, Below: true}
	return view.Text{view.Blank{Unit: un}, view.Plain(" "), below, view.Plain(" "), below}
}

func (e *instrumentEntry) zeroText() string {
	z := e.keys.Get("zero")
	if z == nil {
		return ""
	}
	var out []string
	for _, i := range z.List() {
		out = append(out, strings.Replace(i.Text, "-", "−", 1))
	}
	return strings.Join(out, ", ")
}

// qualifiers are how the meaning of what follows a ± is typed, and how it is
// said.
var qualifiers = []struct {
	typed *regexp.Regexp
	said  string
}{
	{regexp.MustCompile(`\+/-`), "±"},
	{regexp.MustCompile(`\s+std\b`), ", standard uncertainty"},
	{regexp.MustCompile(`\s+k=([\d.]*\d)`), ", expanded (k = $1)"},
	{regexp.MustCompile(`\s+dof=([\d.]*\d)`), ", $1 degrees of freedom"},
	{regexp.MustCompile(`\s+(triangular|arcsine)\b`), ", $1 limits"},
}

// inWords is a stated uncertainty with its meaning in words.
func inWords(text string) string {
	for _, q := range qualifiers {
		text = q.typed.ReplaceAllString(text, q.said)
	}
	return text
}

func scalarText(m *record.Setting, key string) string {
	s := m.Get(key)
	if s == nil || s.Kind != record.ScalarSetting {
		return ""
	}
	return s.Text
}

// stated is the text under a key; "" also where it is still to be filled in.
func stated(m *record.Setting, key string) string {
	s := m.Get(key)
	if s == nil || s.Kind != record.ScalarSetting || unreadSetting(s) {
		return ""
	}
	return strings.Join(strings.Fields(s.Text), " ")
}
