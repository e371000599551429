package variant

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
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
	t := table("marks", "Marks, point by point", "step", "handed in", "the own data give", "right from … to", "value", "unit", "figures", "marks")
	for _, j := range s.Values {
		right := "–"
		if j.Low != "" {
			right = j.Low + " … " + j.High
		}
		row := []string{m.Key.short(j.Point.Name), orDash(j.Claim), orDash(j.Expected), right, "–", "–", "–", fmt.Sprintf("%d / %d", j.Got, j.Point.Marks)}
		for _, p := range j.Parts {
			cell := fmt.Sprintf("%d / %d", p.Got, p.Of)
			switch p.What {
			case "unit":
				row[5] = cell
			case "figures":
				row[6] = cell
			default:
				row[4] = cell
			}
		}
		addRow(t, row...)
	}
	got, of := s.Marks()
	addRow(t, "sum", "", "", "", "", "", "", fmt.Sprintf("%d / %d", got, of))
	t.Rows[len(t.Rows)-1].Sum = true
	t.Notes = []view.Text{words("Right is what lies within the expanded uncertainty of the own data, and half a unit of the last digit handed in. Marks for the unit and the figures go with a right value.")}
	return t
}

// reasonsTable gives the reasons for the marks.
func (m *Marked) reasonsTable(s *Sheet) *view.Table {
	t := table("reasons", "Reasons", "step", "why")
	for _, j := range s.Values {
		addRow(t, m.Key.short(j.Point.Name), strings.Join(j.Words, "; "))
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

// questionTable lays a question out for the teacher's pen.
func questionTable(i int, q Answered) *view.Table {
	t := table(fmt.Sprintf("question-%d", i+1), "", "the student's answer", "the model answer")
	t.Caption = words(fmt.Sprintf("Question %s: %s", q.Name, oneParagraph(q.Question)))
	t.Ledger = false
	addRow(t, orDash(oneParagraph(q.Given)), orDash(oneParagraph(q.Answer)))
	t.Notes = []view.Text{words(fmt.Sprintf("For the teacher: ____ / %d", q.Marks))}
	return t
}

// oneParagraph is a text in one line.
func oneParagraph(text string) string { return strings.Join(strings.Fields(text), " ") }
