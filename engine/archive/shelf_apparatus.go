package archive

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/view"
)

const up = "../" // from the page of an apparatus to the folder of the shelf

func (w *shelving) apparatusPages() error {
	for _, s := range w.apparatus {
		facts := []view.Fact{}
		if s.Identity != "" {
			facts = append(facts, fact("Identity", s.Identity))
		}
		if s.about.Place != "" {
			facts = append(facts, fact("Place", s.about.Place))
		}
		facts = append(facts, fact("Records", fmt.Sprint(len(s.records))))
		nodes := append(notices(s.findings), s.remarks(w.Today)...)
		if s.Identity == "" {
			nodes = append(nodes, words("These records name no apparatus, or one whose file gives no identity; so they have no history. With an identity in the apparatus file, what is sealed from then on has one."))
		}
		if len(s.instruments) > 0 {
			nodes = append(nodes, heading("instruments", "Instruments"), w.instrumentsTable(s))
		}
		if len(s.specimens) > 0 {
			nodes = append(nodes, heading("specimens", "Specimens"), w.specimensTable(s))
		}
		nodes = append(nodes, w.histories(s)...)
		nodes = append(nodes, heading("records", "Records"), w.recordsTable(s))
		if err := w.add(s.page(), up, s.title(), facts, nodes); err != nil {
			return err
		}
	}
	return nil
}

// remarks are what the lab manager should look at first.
func (s *shelved) remarks(today string) []view.Node {
	n := &view.Notice{}
	remark := func(severity finding.Severity, slug, message, hint string) {
		n.Findings = append(n.Findings, &finding.Finding{Severity: severity, Slug: slug, Message: message, Hint: hint})
	}
	for _, l := range s.instruments {
		switch state, text := l.state(today); state {
		case overdue:
			remark(finding.Caution, "calibration-overdue", "the calibration of "+l.title()+" was due on "+l.in.Due+": "+text, "have it calibrated before it is used again")
		case dueShortly:
			remark(finding.Note, "calibration-due", "the calibration of "+l.title()+" is due on "+l.in.Due+": "+text, "")
		}
	}
	for _, h := range s.results {
		switch {
		case h.speaks() && h.counts():
			remark(finding.Caution, "history", "the results "+h.name+" of the method "+orDash(h.method)+": "+h.summary(), "look for a cause: a specimen, an instrument, a way of working that changed")
		case h.speaks():
			remark(finding.Note, "further-history", "the further results "+h.name+" of the method "+orDash(h.method)+": "+h.summary(), "")
		}
	}
	for _, h := range s.zeros {
		if h.speaks() {
			remark(finding.Caution, "zero-history", "the zero readings of "+h.name+": "+h.summary(), "see whether the instrument wears or was knocked, and have it looked at")
		}
	}
	for i, l := range s.specimens {
		if i > 0 {
			before := s.specimens[i-1]
			text := "on " + l.Fitted + " " + l.Name + " was fitted in the place of " + before.Name
			if before.Reason != "" {
				text += ": " + before.Reason
			}
			remark(finding.Note, "specimen-replaced", text, "")
		}
	}
	if len(n.Findings) == 0 {
		return nil
	}
	return []view.Node{n}
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

// title names an instrument.
func (l *instrumentLine) title() string {
	name := l.name
	if l.in.What != "" {
		name += " (" + l.in.What + ")"
	}
	if l.in.Serial != "" {
		name += ", " + l.in.Serial
	}
	return name
}

// summary counts the signals among the values that are drawn, by their rules.
func (h *history) summary() string {
	count := map[stat.Rule]int{}
	ranges := 0
	for _, p := range h.recent() {
		if p.jump {
			ranges++
		}
		for _, g := range p.signals {
			count[g.Rule]++
		}
	}
	var parts []string
	for _, r := range stat.Rules() {
		if n := count[r]; n > 0 {
			parts = append(parts, r.String()+" ("+counted(n, "time")+")")
		}
	}
	if ranges > 0 {
		parts = append(parts, "moving range beyond its limit ("+counted(ranges, "time")+")")
	}
	text := strings.Join(parts, "; ")
	if h.drawn() > 0 && text != "" {
		text = fmt.Sprintf("among the last %d values: %s", mostDrawn, text)
	}
	return text
}

func (w *shelving) instrumentsTable(s *shelved) view.Node {
	t := table("instruments-table", "Instruments, as the latest record that names them has them", "instrument", "what", "serial", "#resolution", "#calibrated", "certificate", "#due", "on "+w.Today)
	for _, l := range s.instruments {
		state, text := l.state(w.Today)
		shown := plain(text)
		if state == overdue || state == dueShortly {
			shown = view.Text{view.Emph(text)}
		}
		resolution := ""
		if l.in.Resolution != nil {
			resolution = l.in.Resolution.Display
		}
		addRow(t, view.Code(l.name), l.in.What, l.in.Serial, resolution, l.in.Calibrated, l.in.Certificate, l.in.Due, shown)
	}
	return t
}

func (w *shelving) specimensTable(s *shelved) view.Node {
	t := table("specimens-table", "Specimens fitted to the apparatus", "specimen", "material", "#fitted", "#removed", "why", "#certified", "#records", "#greatest load ever")
	for _, l := range s.specimens {
		removed := l.Removed
		if removed == "" {
			removed = "still fitted"
		}
		name := l.Name
		if l.What != "" {
			name += ", " + l.What
		}
		addRow(t, name, strings.TrimSpace(l.Material+" "+l.Temper), l.Fitted, removed, l.Reason, l.certified(), fmt.Sprint(l.records), l.load())
	}
	t.Notes = []view.Text{plain("Certified values have their uncertainty expanded to the coverage probability of the records. The greatest load is that of the columns called load " +
		"in the records made with the specimen, with the dead load where they give it.")}
	return t
}

// histories are the charts of an apparatus: the results that count, the zero
// readings, and what else the methods give.
func (w *shelving) histories(s *shelved) []view.Node {
	var main, zeros, further []view.Node
	for i, h := range s.results {
		id := fmt.Sprintf("result-%d", i+1)
		title := h.name
		if h.method != "" {
			title += " by the method " + h.method
		}
		if h.counts() {
			main = append(main, h.nodes(id, title, h.name)...)
			main = append(main, w.valuesTable(h, id, title))
		} else {
			further = append(further, h.nodes(id, title, h.name)...)
		}
	}
	for i, h := range s.zeros {
		title := h.name
		if h.title != "" {
			title += ", " + h.title
		}
		zeros = append(zeros, h.nodes(fmt.Sprintf("zero-%d", i+1), title, "zero reading")...)
	}
	var out []view.Node
	add := func(id, title string, nodes []view.Node) {
		if len(nodes) > 0 {
			out = append(append(out, heading(id, title)), nodes...)
		}
	}
	add("history", "History of results", main)
	add("zeros", "Zero readings", zeros)
	add("further", "Further results of the methods", further)
	if len(out) > 0 {
		out = append(out, heading("charts", "How to read the charts"), w.howToRead())
	}
	return out
}

// counts reports whether a history is of the first result of its method, or of
// one that has a certified value.
func (h *history) counts() bool { return h.first || h.certified() }

func (h *history) certified() bool {
	for _, p := range h.points {
		if !math.IsNaN(p.certified) {
			return true
		}
	}
	return false
}

// nodes are the chart of a history, its limits and what is remarkable.
func (h *history) nodes(id, title, quantity string) []view.Node {
	out := []view.Node{&view.Heading{ID: id, Level: 3, Text: plain(title)}}
	if h.steady() {
		return append(out, words(fmt.Sprintf("%s in each of %s.", h.points[0].shown, counted(len(h.points), "record"))))
	}
	out = append(out, h.chart(id+"-chart", title+": each value, and the range from the one before", quantity), h.limitsTable(id+"-limits", title))
	if h.drawn() > 0 {
		out = append(out, words(fmt.Sprintf("The last %d of %d values are drawn; the limits rest on all of their segment.", mostDrawn, len(h.points))))
	}
	if text := h.remarkable(); text != "" {
		out = append(out, words("Signals: "+text+"."))
	}
	return out
}

func (w *shelving) valuesTable(h *history, id, title string) view.Node {
	head := []string{"no., date", "#value"}
	if h.certified() {
		head = append(head, "#Eₙ")
	}
	t := table(id+"-values", "Values: "+title, append(head, "specimen", "#moving range", "remarks", "record")...)
	for i, p := range h.recent() {
		i += h.drawn()
		cells := []any{numbered(i+1, p.record.Date), p.shown}
		if h.certified() {
			cells = append(cells, p.enText())
		}
		addRow(t, append(cells, p.name, h.rangeText(i), p.remarks(), w.link(up, p.record, p.record.Title))...)
	}
	if h.certified() {
		t.Notes = []view.Text{plain("Eₙ is the difference from the certified value over the root sum of squares of both expanded uncertainties (ISO 13528, ISO/IEC 17043); within ±1 the two agree.")}
	}
	return t
}

// numbered is the number of a value and its date, which stay in one line.
func numbered(n int, date string) string {
	return fmt.Sprintf("%d.\u00a0\u00a0%s", n, strings.ReplaceAll(date, "-", "\u2011"))
}

func (p *point) enText() string {
	en, why := p.en()
	if why != "" {
		return why
	}
	text := strings.Replace(quantity.RoundIn(en, one, 2), "-", "−", 1)
	if math.Abs(en) > 1 {
		text += " beyond ±1"
	}
	return text
}

func (w *shelving) howToRead() view.Node {
	text := "Each is a chart for individual values. The line is the mean; the limits are mean ± 2.66 mean moving ranges, and 3.27 of them for the moving ranges (ISO 7870-2). "
	if w.Baseline > 0 {
		text += fmt.Sprintf("They rest on the first %d values of each segment. ", w.Baseline)
	}
	text += fmt.Sprintf("Limits that rest on fewer than %d values are provisional. Another specimen, or a calibration, begins a new segment. Remarkable is (tests 1, 2, 3, 5 and 6 of ISO 8258:1991): ", stat.LimitsSettled)
	var rules []string
	for _, r := range stat.Rules() {
		rules = append(rules, r.String())
	}
	text += strings.Join(rules, "; ") + ". σ is the mean moving range divided by 1.128. A signal is a reason to look, not a verdict: such patterns also come by chance now and then."
	return words(text)
}

func (w *shelving) recordsTable(s *shelved) view.Node {
	t := table("records-table", "All records, by date", "date", "record", "specimen", "results", "findings", "standing")
	for _, k := range s.records {
		addRow(t, k.Date, w.link(up, k, k.Title), k.specimen(), k.mainResults(), k.said(), w.standing(s, k))
	}
	if s.Head != "" {
		t.Notes = []view.Text{{view.Plain(fmt.Sprintf("The ledger has %s; the SHA-256 sum of its last is ", counted(s.lines(), "line"))), view.Code(s.Head),
			view.Plain(". Written into the lab book, it stands for everything above.")}}
	}
	return t
}

// said counts what the engine found in the record.
func (k *kept) said() string {
	if k.file == nil {
		return ""
	}
	count := map[string]int{}
	for _, f := range k.file.Findings {
		count[f.Severity]++
	}
	var parts []string
	for _, sev := range []finding.Severity{finding.Error, finding.Caution, finding.Note} {
		if n := count[sev.String()]; n > 0 {
			parts = append(parts, counted(n, sev.String()))
		}
	}
	if len(parts) == 0 {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// standing says whether a record can be read, and how it stands to others.
func (w *shelving) standing(s *shelved, k *kept) view.Text {
	var out view.Text
	add := func(what, path string) {
		if path == "" {
			return
		}
		if len(out) > 0 {
			out = append(out, view.Plain("; "))
		}
		out = append(out, view.Plain(what))
		if other := s.by[path]; other != nil {
			out = append(out, w.link(up, other, other.Bag))
		} else {
			out = append(out, view.Code(path))
		}
	}
	if k.why != nil {
		out = view.Text{view.Emph("can't be read: " + k.why.Message)}
	}
	add("AMENDED by ", k.AmendedBy)
	add("amends ", k.Amends)
	if len(out) == 0 {
		return plain("as sealed")
	}
	return out
}
