package page

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/view"
)

// mostTogether is how many rows of a table are kept on one page of paper.
const mostTogether = 14

func (w *writer) table(t *view.Table) {
	w.markup(`<div class="table `, standing(t.Standing))
	if t.Ledger {
		w.markup(" ledger")
	}
	if t.Fill {
		w.markup(" fill")
	}
	if len(t.Rows) <= mostTogether {
		w.markup(" short")
	}
	w.markup(`"`)
	w.id(t)
	w.markup(">\n", `<section class="scroll"`)
	w.region(orElse(textOf(t.Caption), "table"))
	w.markup(">\n<table>\n")
	if len(t.Caption) > 0 {
		w.markup("<caption>")
		w.runs(t.Caption)
		w.markup("</caption>\n")
	}
	remarks := hasRemarks(t)
	w.tableHead(t.Columns, remarks)
	w.markup("<tbody>\n")
	places := decimalPlaces(t)
	for i := range t.Rows {
		w.row(t, &t.Rows[i], places, remarks)
	}
	w.markup("</tbody>\n</table>\n</section>\n")
	for _, n := range t.Notes {
		w.markup(`<p class="below">`)
		w.runs(n)
		w.markup("</p>\n")
	}
	w.markup("</div>\n")
}

// tableHead writes headings of the form quantity / unit (SI Brochure 5.4.1).
func (w *writer) tableHead(cols []view.Column, remarks bool) {
	w.markup("<thead>\n<tr>\n")
	for i := range cols {
		c := &cols[i]
		w.markup(`<th scope="col"`)
		switch slim := c.Unit == "" && utf8.RuneCountInString(textOf(c.Quantity)) == 1; {
		case c.Numeric && slim:
			w.markup(` class="number slim"`)
		case c.Numeric:
			w.markup(` class="number"`)
		}
		w.id(c)
		w.markup(`>`)
		if id := w.target(w.names.entries[legal(c.ID)]); id != "" {
			w.markup(`<a class="from" href="#`)
			w.text(id)
			w.markup(`"`)
			w.attr("title", w.names.called[id])
			w.markup(`>`)
			w.runs(c.Quantity)
			w.markup(`</a>`)
		} else {
			w.runs(c.Quantity)
		}
		if c.Unit != "" {
			w.markup(` <span class="per">/ `)
			w.unit(c.Unit)
			w.markup(`</span>`)
		}
		if c.Note != "" {
			w.markup(` <span class="with">`)
			w.ref(view.Ref{Name: c.Note, ID: c.NoteLink})
			w.markup(`</span>`)
		}
		w.markup("</th>\n")
	}
	if remarks {
		w.markup(`<th scope="col" class="remark">remark</th>`, "\n")
	}
	w.markup("</tr>\n</thead>\n")
}

func (w *writer) row(t *view.Table, r *view.Row, places []int, remarks bool) {
	w.markup("<tr")
	w.id(r)
	switch {
	case r.Sum:
		w.markup(` class="sum"`)
	case r.Struck:
		w.markup(` class="struck"`)
	}
	w.markup(">")
	var why []string
	if r.Struck {
		why = append(why, struckRemark("", r.Reason))
	}
	for i := range r.Cells {
		c := &r.Cells[i]
		numeric := i < len(t.Columns) && t.Columns[i].Numeric
		head := t.Ledger && i == 0
		w.cell(c, numeric, head, r.Struck || c.Struck, padding(c, i, places))
		if c.Struck && !r.Struck {
			name := ""
			if i < len(t.Columns) {
				name = textOf(t.Columns[i].Quantity)
			}
			why = append(why, struckRemark(name, c.Reason))
		}
	}
	if remarks {
		for i := len(r.Cells); i < len(t.Columns); i++ {
			w.markup("<td></td>")
		}
		w.markup(`<td class="remark">`)
		w.text(strings.Join(why, "; "))
		w.markup(`</td>`)
	}
	w.markup("</tr>\n")
}

// struckRemark says what is struck and why.
func struckRemark(what, reason string) string {
	s := "struck"
	if what != "" {
		s = what + " struck"
	}
	if reason != "" {
		s += ": " + reason
	}
	return s
}

func (w *writer) cell(c *view.Cell, numeric, head, struck bool, pad string) {
	tag := "td"
	if head {
		tag = "th"
	}
	w.markup("<", tag)
	if head {
		w.markup(` scope="row"`)
	}
	w.markup(` class="`, standing(c.Standing))
	if numeric {
		w.markup(" number", pad)
	}
	if c.Hole {
		w.markup(" hole")
	}
	w.markup(`">`)
	w.markFound(c.Found)
	if struck {
		w.markup("<del>")
	}
	if c.Hole {
		w.markup(`<abbr title="not read">–</abbr>`)
	} else {
		w.runs(c.Text)
	}
	if struck {
		w.markup("</del>")
	}
	w.markup("</", tag, ">")
}

// markFound writes a mark before what something was found about, which leads to
// where the page says so. Behind it, it would move the digits.
func (w *writer) markFound(f *finding.Finding) {
	if f == nil {
		return
	}
	id := w.names.of[f]
	if id == "" {
		return
	}
	w.markup(`<sup><a href="#`)
	w.text(id)
	w.markup(`"`)
	w.attr("aria-label", f.Severity.String())
	w.attr("title", f.Severity.String()+": "+strings.ReplaceAll(sentence(f.Message), "`", ""))
	w.markup(`>!</a></sup> `)
}

func hasRemarks(t *view.Table) bool {
	for _, r := range t.Rows {
		if r.Struck {
			return true
		}
		for _, c := range r.Cells {
			if c.Struck {
				return true
			}
		}
	}
	return false
}

// mostPadding is the widest padding that a theme has a class for.
const mostPadding = 9

// padding is the class that moves a number to the left by the digits that it
// lacks at the right, so that decimal signs stand in line: pad3 for three
// digits, pad3p where the decimal sign is lacking too.
func padding(c *view.Cell, col int, places []int) string {
	if col >= len(places) || places[col] <= 0 {
		return ""
	}
	d, ok := placesOf(c)
	if !ok || d >= places[col] {
		return ""
	}
	s := " pad" + strconv.Itoa(min(places[col]-d, mostPadding))
	if d == 0 {
		s += "p"
	}
	return s
}

// decimalPlaces is the largest number of decimal places in each column.
func decimalPlaces(t *view.Table) []int {
	places := make([]int, len(t.Columns))
	for i := range t.Rows {
		for j := range t.Rows[i].Cells {
			if j >= len(places) || !t.Columns[j].Numeric {
				continue
			}
			if d, ok := placesOf(&t.Rows[i].Cells[j]); ok {
				places[j] = max(places[j], d)
			}
		}
	}
	return places
}

// placesOf is the number of decimal places of a cell that is a bare number.
func placesOf(c *view.Cell) (int, bool) {
	if len(c.Text) != 1 {
		return 0, false
	}
	n, ok := c.Text[0].(view.Number)
	d := n.Display
	if !ok || d.Concise != "" || d.PlusMinus != "" || d.Exponent != 0 || d.Unit != "" {
		return 0, false
	}
	_, part, _ := strings.Cut(d.Number, ".")
	return len(part), true
}

// textOf is running text without its markup, for a label.
func textOf(t view.Text) string {
	var b strings.Builder
	for _, r := range t {
		switch r := r.(type) {
		case view.Plain:
			b.WriteString(string(r))
		case view.Code:
			b.WriteString(string(r))
		case view.Emph:
			b.WriteString(string(r))
		case view.Strong:
			b.WriteString(string(r))
		case view.Number:
			fmt.Fprint(&b, r.Display.Number)
			if r.Display.Unit != "" {
				b.WriteString(" " + r.Display.Unit)
			}
		}
	}
	return b.String()
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}
