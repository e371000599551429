package plan

import (
	"math"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Page is the report as a page.
func (r *Report) Page(theme *page.Theme, version string) ([]byte, error) {
	empty := &view.Prose{Doc: record.Parse(source.NewFile("plan", nil), nil, &finding.Set{}).Doc}
	p := &view.Page{Title: "Plan: " + r.Method.Title, Version: version, Front: r.Warnings, Body: empty}
	p.Facts = []view.Fact{{Term: words("Method"), Text: view.Text{view.Code(r.Method.Name)}}, {Term: words("Note"), Text: words(Permits)}}
	if len(r.Findings) > 0 {
		p.Back = append(p.Back, &view.Notice{Findings: r.Findings})
	}
	p.Back = append(p.Back, r.settingsTable())
	if r.Of != nil {
		p.Back = append(p.Back, r.resultsTable())
		p.Back = append(p.Back, r.Part...)
		p.Back = append(p.Back, r.budgetTable(), &view.Paragraph{Text: words(r.dominates()), Standing: view.Computed})
		if len(r.Of.Lines) > 1 {
			p.Back = append(p.Back, r.bars())
		}
		if r.Of.U > 0 {
			p.Back = append(p.Back, r.changesTable())
		}
	}
	p.Back = append(p.Back, &view.Paragraph{Text: view.Text{view.Emph(Permits)}})
	return page.Render(p, theme)
}

func words(text string) view.Text { return view.Text{view.Plain(text)} }

func table(id, caption string, head []string, numeric ...bool) *view.Table {
	t := &view.Table{ID: id, Caption: words(caption), Ledger: true, Standing: view.Computed}
	for i, h := range head {
		t.Columns = append(t.Columns, view.Column{Quantity: words(h), Numeric: i < len(numeric) && numeric[i]})
	}
	return t
}

func addRow(t *view.Table, cells ...string) {
	row := view.Row{}
	for _, c := range cells {
		row.Cells = append(row.Cells, view.Cell{Text: words(c), Standing: view.Computed})
	}
	t.Rows = append(t.Rows, row)
}

func (r *Report) settingsTable() *view.Table {
	t := table("plan-values", "Values that the plan rests on", []string{"name", "value", "origin", "what"})
	for _, s := range r.settings() {
		mark := "of the method"
		if s.Proposed {
			mark = "proposed"
		}
		addRow(t, s.Name, s.Text(), mark, s.Comment)
	}
	return t
}

func (r *Report) resultsTable() *view.Table {
	t := table("plan-results", "Expected results", []string{"result", "value", "standard uncertainty", "relative", "k"}, false, true, true, true, true)
	for _, e := range r.Results {
		addRow(t, e.Name, "", "", percentText(e.Rel()), e.kText())
		cells := t.Rows[len(t.Rows)-1].Cells
		cells[1].Text = view.Text{view.Number{Value: e.Value.Q.Value(), Display: e.value(), Standing: view.Computed}}
		cells[2].Text = words("–")
		if e.U > 0 {
			cells[2].Text = view.Text{view.Number{Value: e.U, Display: e.spread(), Standing: view.Computed}}
		}
	}
	t.Notes = []view.Text{words("Values without noise and rounding; uncertainties from the mean variance of simulated records with the noise of the method's own simulation.")}
	return t
}

func (r *Report) budgetTable() *view.Table {
	t := table("plan-budget", "What makes the uncertainty of "+r.Of.Name, []string{"source", "measurement", "relative contribution", "share of the variance"}, false, false, true, true)
	for _, l := range r.Of.Lines {
		addRow(t, r.label(l.Label), l.Of, percentText(l.Contrib/math.Abs(r.Of.Value.Q.Value())), shareText(l.Share))
	}
	return t
}

func (r *Report) bars() *view.Bars {
	out := &view.Bars{ID: "plan-bars", Title: "Shares of the variance of " + r.Of.Name + " by measurement", Desc: r.dominates(), Standing: view.Computed}
	for _, s := range r.Shares {
		out.Items = append(out.Items, view.Bar{Label: s.Of, Share: s.Share, Text: shareText(s.Share)})
	}
	return out
}

func (r *Report) changesTable() *view.Table {
	t := table("plan-changes", "What one change alone would bring: relative standard uncertainty of "+r.Of.Name+", now "+percentText(r.Of.Rel()),
		[]string{"change", "then", "difference", "checks that would speak"}, false, true, true)
	for _, c := range r.Changes {
		addRow(t, r.changeText(c), percentText(c.Rel), c.effect(), c.warning())
	}
	if text := r.littleText(); text != "" {
		t.Notes = []view.Text{words(text)}
	}
	return t
}
