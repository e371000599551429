package variant

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// newPage is a page without prose.
func (m *Marked) newPage(title string) *view.Page {
	empty := &view.Prose{Doc: record.Parse(source.NewFile("marking", nil), nil, &finding.Set{}).Doc}
	return &view.Page{Title: title, Version: m.Version, Body: empty}
}

func say(format string, args ...any) *view.Paragraph {
	return &view.Paragraph{Text: words(fmt.Sprintf(format, args...)), Standing: view.Computed}
}

// Page is the marking of one student as a page.
func (m *Marked) Page(s *Sheet, theme *page.Theme) ([]byte, error) {
	p := m.newPage("Marking: student " + s.Student.ID)
	got, of := s.Marks()
	total := fmt.Sprintf("%d of %d for the values", got, of)
	if s.Refused != "" {
		total = "not marked: " + s.Refused
	}
	p.Facts = []view.Fact{
		{Term: words("Method"), Text: view.Text{view.Code(m.Key.Method)}},
		{Term: words("Handed in"), Text: view.Text{view.Code(s.From)}},
		{Term: words("Marks"), Text: view.Text{view.Emph(total)}},
	}
	if n := s.Pending(); n > 0 {
		p.Facts = append(p.Facts, view.Fact{Term: words("For the teacher"), Text: words(fmt.Sprintf("questions __ / %d, in all __ / %d", n, of+n))})
	}
	for _, r := range s.Remarks {
		p.Front = append(p.Front, say("%s", r))
	}
	p.Back = append(p.Back, m.marksTable(s), m.reasonsTable(s))
	if t := readingsTable(s); len(t.Rows) > 0 {
		p.Back = append(p.Back, t)
	}
	for i, q := range s.Questions {
		p.Back = append(p.Back, questionTable(i, q))
	}
	if len(s.Findings) > 0 {
		p.Back = append(p.Back, say("What was found in what was handed in:"), &view.Notice{Findings: s.Findings})
	}
	return page.Render(p, theme)
}

// marksTable is the marks point by point.
func (m *Marked) marksTable(s *Sheet) *view.Table {
	t := table("marks", "Marks, point by point", "step", "marks", "handed in", "own data give", "right from … to", "value", "unit", "figures")
	for _, j := range s.Values {
		shares := map[string]string{}
		for _, p := range j.Parts {
			shares[p.What] = unbroken(fmt.Sprintf("%d / %d", p.Got, p.Of))
		}
		value := shares["value"]
		if value == "" {
			value = shares["value with unit"]
		}
		addTexts(t, m.symbol(j.Point), words(unbroken(fmt.Sprintf("%d / %d", j.Got, j.Point.Marks))), j.claim, j.expectedText(), j.limitsText(),
			words(value), words(orDash(shares["unit"])), words(orDash(shares["figures"])))
	}
	got, of := s.Marks()
	addRow(t, "sum", unbroken(fmt.Sprintf("%d / %d", got, of)), "", "", "", "", "", "")
	t.Rows[len(t.Rows)-1].Sum = true
	t.Notes = []view.Text{words("Right is what lies within the expanded uncertainty of the student's own data and half a unit of the last digit handed in, a fifth of the value at most. Marks for the unit and the figures go with a right value.")}
	return t
}

func addTexts(t *view.Table, cells ...view.Text) {
	row := view.Row{}
	for _, c := range cells {
		row.Cells = append(row.Cells, view.Cell{Text: c, Standing: view.Computed})
	}
	t.Rows = append(t.Rows, row)
}

func (m *Marked) symbol(p Point) view.Text {
	return view.Text{view.Formula{Math: block.Symbol(m.Key.short(p.Name))}}
}

func (j *Judged) expectedText() view.Text {
	if j.want == nil {
		return words("–")
	}
	return view.Text{view.Number{Value: j.want.value(), Display: j.want.shown, Standing: view.Computed}}
}

func (j *Judged) limitsText() view.Text {
	if j.Low == "" || j.want == nil {
		return words("–")
	}
	low, high := quantity.Typed(j.Low, unit.Of(unit.Dim{})), quantity.Typed(j.High, j.want.unit)
	return view.Text{view.Number{Display: low, Standing: view.Computed}, view.Plain(" … "), view.Number{Display: high, Standing: view.Computed}}
}

// reasonsTable gives the reasons for the marks.
func (m *Marked) reasonsTable(s *Sheet) *view.Table {
	t := table("reasons", "Reasons", "step", "why")
	for _, j := range s.Values {
		addTexts(t, m.symbol(j.Point), coded(strings.Join(j.Words, "; ")))
	}
	return t
}

// readingsTable tells of what was struck and of the faults.
func readingsTable(s *Sheet) *view.Table {
	t := table("readings", "Readings: faults and what was struck", "reading", "what", "judgement")
	for _, f := range s.Faults {
		what := f.What
		if f.Was != "" {
			what += ": " + f.Is + " for " + f.Was
		}
		addRow(t, orDash(f.Place), what, f.Words)
	}
	apparatus := false
	for _, f := range s.Faults {
		apparatus = apparatus || f.Kind != "recording" || !single(f.Name)
	}
	for _, st := range s.Struck {
		if st.Wrong {
			continue
		}
		judgement := "an honest reading, struck without a cause in the key"
		if apparatus {
			judgement = "an honest reading of a faulty apparatus: for the teacher"
		}
		reason := "struck without a reason"
		if st.Reason != "" {
			reason = "struck: “" + st.Reason + "”"
		}
		addRow(t, st.Where, reason, judgement)
	}
	return t
}

// questionTable lays a question out for the teacher's pen: a row for each
// paragraph of the answers.
func questionTable(i int, q Answered) *view.Table {
	t := table(fmt.Sprintf("question-%d", i+1), "", "the student's answer", "the model answer")
	t.Caption = append(words("Question "+q.Name+": "), joined(paragraphs(q.Question))...)
	t.Ledger = false
	given, model := paragraphs(q.Given), paragraphs(q.Answer)
	for k := range max(1, len(given), len(model)) {
		addTexts(t, paragraphAt(given, k), paragraphAt(model, k))
	}
	t.Notes = []view.Text{words(fmt.Sprintf("For the teacher: ____ / %d", q.Marks))}
	return t
}

func joined(list []view.Text) view.Text {
	var out view.Text
	for i, p := range list {
		if i > 0 {
			out = append(out, view.Plain(" "))
		}
		out = append(out, p...)
	}
	return out
}

func paragraphAt(list []view.Text, k int) view.Text {
	switch {
	case k < len(list):
		return list[k]
	case k == 0:
		return words("–")
	}
	return nil
}
