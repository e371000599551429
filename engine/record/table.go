package record

import (
	"bytes"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Table is a body or a file of rows and columns, read but not interpreted.
type Table struct {
	At      source.Span
	Head    []TableCell
	Rows    []TableRow
	Decimal byte // '.' or ','
}

// TableRow is one row. Number counts the rows of the text from 1, struck ones
// too.
type TableRow struct {
	At       source.Span
	Number   int
	Cells    []TableCell
	Struck   bool
	Broken   bool   // it can't be read: a finding has been made
	Reason   string // the comment at its end
	ReasonAt source.Span
}

// TableCell is one cell, without the space around it and the `~` that strikes
// it.
type TableCell struct {
	Text   string
	At     source.Span
	Struck bool
}

// MaxRows bounds the rows of one table.
const MaxRows = 100000

// ReadTable reads lines as CSV, TSV or a pipe table. A comma is the decimal
// sign where decimal is ','; cells are then separated by `;` or tabs.
func ReadTable(whole source.Span, lines []source.Span, decimal byte, set *finding.Set) *Table {
	t := &Table{At: whole, Decimal: decimal}
	sep := separator(lines, decimal)
	number := 0
	for i := 0; i < len(lines); i++ {
		line := lines[i]
		text, comment := cutComment(line)
		if text = trim(text); text.Text() == "" {
			continue
		}
		if len(t.Head) == 0 {
			t.Head, _ = splitCells(text, sep)
			continue
		}
		if sep == '|' && isPipeRule(text.Text()) {
			continue
		}
		number++
		if number > MaxRows {
			set.Add(tooManyRows(line))
			break
		}
		row := TableRow{At: text, Number: number, Reason: trim(comment).Text(), ReasonAt: trim(comment)}
		var open source.Span
		if row.Cells, open = splitCells(text, sep); !open.IsZero() {
			set.Add(unclosedQuote(open))
			row.Broken = true
			i = quoteEnd(lines, i)
		}
		row.strike()
		row.Cells = withoutTail(row.Cells, len(t.Head))
		t.Rows = append(t.Rows, row)
	}
	t.dropTail()
	return t
}

// longestQuote is how many lines are looked through for the end of a quote.
const longestQuote = 50

// quoteEnd returns the index of the line that closes a quote left open in line
// i; i where none does.
func quoteEnd(lines []source.Span, i int) int {
	for j := i + 1; j < min(i+longestQuote, len(lines)); j++ {
		if strings.Count(lines[j].Text(), `"`)%2 == 1 {
			return j
		}
	}
	return i
}

// withoutTail drops empty cells beyond the headings: separators at the end of
// a line, as spreadsheets write them.
func withoutTail(cells []TableCell, n int) []TableCell {
	for len(cells) > n && cells[len(cells)-1].Text == "" {
		cells = cells[:len(cells)-1]
	}
	return cells
}

// dropTail drops columns at the right that have neither a heading nor a cell.
func (t *Table) dropTail() {
	for n := len(t.Head); n > 1 && t.Head[n-1].Text == ""; n-- {
		for _, r := range t.Rows {
			if len(r.Cells) >= n && r.Cells[n-1].Text != "" {
				return
			}
		}
		t.Head = t.Head[:n-1]
		for i := range t.Rows {
			t.Rows[i].Cells = withoutTail(t.Rows[i].Cells, n-1)
		}
	}
}

// Lines splits a whole file into its lines.
func Lines(f *source.File) []source.Span { return lineSpans(f.Span(bom(f.Text), len(f.Text))) }

func bom(t []byte) int {
	if bytes.HasPrefix(t, []byte("\uFEFF")) {
		return len("\uFEFF")
	}
	return 0
}

// strike takes the `~` of the row, or of single cells, away.
func (r *TableRow) strike() {
	for i := range r.Cells {
		c := &r.Cells[i]
		if !strings.HasPrefix(c.Text, "~") {
			continue
		}
		if i == 0 {
			r.Struck = true
		} else {
			c.Struck = true
		}
		c.At = trim(c.At.Sub(1, len(c.At.Text())))
		c.Text = strings.Trim(c.Text[1:], blank)
	}
}

// separator finds what separates the cells, from the first line that holds
// any.
func separator(lines []source.Span, decimal byte) byte {
	for _, line := range lines {
		text, _ := cutComment(line)
		t := strings.TrimSpace(text.Text())
		switch {
		case t == "":
			continue
		case strings.HasPrefix(t, "|") || strings.Contains(t, " | "):
			return '|'
		case tabbed(t):
			return '\t'
		case decimal == ',' || strings.Contains(t, ";") && !strings.Contains(t, ","):
			return ';'
		}
		return ','
	}
	return ','
}

// tabbed reports whether tabs separate cells, and do not just stand behind the
// separator.
func tabbed(t string) bool {
	for i := strings.IndexByte(t, '\t'); i >= 0; {
		before := strings.TrimRight(t[:i], " \t")
		if before == "" || strings.IndexByte(",;", before[len(before)-1]) < 0 {
			return true
		}
		k := strings.IndexByte(t[i+1:], '\t')
		if k < 0 {
			break
		}
		i += 1 + k
	}
	return false
}

// cutComment cuts a line at a `#` that begins a comment: at the start or after
// a space or separator, not within quotes.
func cutComment(line source.Span) (text, comment source.Span) {
	t := line.Text()
	quoted := false
	for i := 0; i < len(t); i++ {
		switch t[i] {
		case '"':
			quoted = !quoted
		case '#':
			if !quoted && (i == 0 || strings.IndexByte(" \t,;|", t[i-1]) >= 0) {
				return line.Sub(0, i), line.Sub(i+1, len(t))
			}
		}
	}
	return line, line.Sub(len(t), len(t))
}

// blank is the space that may stand around a cell.
const blank = " \t\r\u00a0"

func trim(s source.Span) source.Span {
	t := s.Text()
	a := len(t) - len(strings.TrimLeft(t, blank))
	b := len(strings.TrimRight(t, blank))
	return s.Sub(a, max(a, b))
}

// splitCells splits a row at its separators; a cell in double quotes may hold
// them, and two quotes within it are one. Open is the place of a quote that is
// not closed.
func splitCells(row source.Span, sep byte) (out []TableCell, open source.Span) {
	t := row.Text()
	if sep == '|' {
		if strings.HasPrefix(t, "|") {
			row = row.Sub(1, len(t))
			t = row.Text()
		}
		if strings.HasSuffix(t, "|") && !strings.HasSuffix(t, `\|`) {
			row = row.Sub(0, len(t)-1)
			t = row.Text()
		}
	}
	start, quoted := 0, false
	for i := 0; i <= len(t); i++ {
		if i == len(t) && quoted {
			open = trim(row.Sub(start, i))
		}
		if i < len(t) {
			if t[i] == '"' && (quoted || strings.TrimSpace(t[start:i]) == "") {
				quoted = !quoted
			}
			if quoted || t[i] != sep || sep == '|' && i > 0 && t[i-1] == '\\' {
				continue
			}
		}
		at := trim(row.Sub(start, i))
		cell := TableCell{Text: at.Text(), At: at}
		if n := len(cell.Text); n >= 2 && cell.Text[0] == '"' && cell.Text[n-1] == '"' {
			cell.Text = strings.ReplaceAll(cell.Text[1:n-1], `""`, `"`)
			cell.At = at.Sub(1, n-1)
		} else if sep == '|' {
			cell.Text = strings.ReplaceAll(cell.Text, `\|`, `|`)
		}
		out = append(out, cell)
		start = i + 1
	}
	return out, open
}

func isPipeRule(t string) bool {
	return strings.Trim(t, "|-: \t") == "" && strings.Contains(t, "-") && strings.Contains(t, "--")
}

// unclosedQuote: `"top, 0.57`.
func unclosedQuote(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "unclosed-quote", At: at,
		Message: "this quote is not closed on its line: the row is not read", Hint: "write the cell in one line, its quote closed before the next separator"}
}

// tooManyRows: a table beyond all measure.
func tooManyRows(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "too-large", At: at,
		Message: "the table has more than 100000 rows; the rest is not read", Hint: "split the data"}
}
