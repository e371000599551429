package plaintext

import (
	"strings"

	"github.com/yuin/goldmark/ast"
	east "github.com/yuin/goldmark/extension/ast"

	"example.org/taut/engine/view"
)

// grid of a table: its first row is the head.
type layout struct {
	rows  [][]string
	right []bool // the columns set to the right
}

// gap is what stands between two columns.
const gap = "  "

// write sets the table in columns. Where it is too wide for the page, the
// widest columns are narrowed and their cells wrapped.
func (l *layout) write(width int) string {
	wide, least := make([]int, len(l.rows[0])), make([]int, len(l.rows[0]))
	for _, r := range l.rows {
		for i, c := range r {
			wide[i] = max(wide[i], columns(c))
			for _, word := range wordsOf(c) {
				for _, piece := range breakable(word, 0) {
					least[i] = max(least[i], columns(piece))
				}
			}
		}
	}
	if !fit(wide, least, width-len(gap)*(len(wide)-1)) {
		return l.list(width)
	}
	var out []string
	for n, r := range l.rows {
		out = append(out, l.row(r, wide)...)
		if n == 0 {
			rule := make([]string, len(wide))
			for i, w := range wide {
				rule[i] = strings.Repeat("-", w)
			}
			out = append(out, strings.Join(rule, gap))
		}
	}
	return strings.Join(out, "\n")
}

// fit narrows the widest columns, none below its longest word, until their sum
// is no more than room; false where that cannot be.
func fit(wide, least []int, room int) bool {
	for {
		sum, widest := 0, -1
		for i, w := range wide {
			sum += w
			if w > least[i] && (widest < 0 || w > wide[widest]) {
				widest = i
			}
		}
		if sum <= room {
			return true
		}
		if widest < 0 {
			return false
		}
		wide[widest]--
	}
}

// list sets a table that has no room: each row is an item, with the headings
// before its cells.
func (l *layout) list(width int) string {
	var out []string
	for _, r := range l.rows[1:] {
		var rest []string
		for i, c := range r[1:] {
			if c != "" {
				rest = append(rest, strings.TrimSpace(l.rows[0][i+1]+" "+c))
			}
		}
		out = append(out, indent(wrap(r[0], width-2), "- ", "  "))
		if len(rest) > 0 {
			out = append(out, indent(wrap(strings.Join(rest, "; "), width-4), "    ", "    "))
		}
	}
	return strings.Join(out, "\n")
}

// row is one row as lines.
func (l *layout) row(cells []string, wide []int) []string {
	parts := make([][]string, len(wide))
	height := 0
	for i, c := range cells {
		parts[i] = strings.Split(wrap(c, wide[i]), "\n")
		height = max(height, len(parts[i]))
	}
	var out []string
	for n := range height {
		var b strings.Builder
		for i, w := range wide {
			piece := ""
			if n < len(parts[i]) {
				piece = parts[i][n]
			}
			pad := strings.Repeat(" ", max(w-columns(piece), 0))
			if l.right[i] {
				piece, pad = pad+piece, ""
			}
			b.WriteString(piece + pad)
			if i+1 < len(wide) {
				b.WriteString(gap)
			}
		}
		out = append(out, strings.TrimRight(b.String(), " "))
	}
	return out
}

// pipeTable shows a table of the prose; where only is set, of its rows that
// alone.
func (w *writer) pipeTable(t *east.Table, only ast.Node) {
	l := &layout{}
	for _, a := range t.Alignments {
		l.right = append(l.right, a == east.AlignRight)
	}
	for _, r := range children(t) {
		if r.Kind() == east.KindTableRow && only != nil && r != only {
			continue
		}
		cells := make([]string, len(l.right))
		for i, c := range children(r) {
			cells[i] = w.inline(c)
		}
		l.rows = append(l.rows, cells)
	}
	w.add(l.write(w.width))
}

// table shows a table of the view.
func (w *writer) table(t *view.Table) {
	l := &layout{}
	var head []string
	remarks := false
	for _, c := range t.Columns {
		h := runs(c.Quantity)
		if c.Unit != "" {
			h += " / " + c.Unit
		}
		if c.Note != "" {
			h += " (" + c.Note + ")"
		}
		head = append(head, h)
		l.right = append(l.right, c.Numeric)
	}
	for _, r := range t.Rows {
		remarks = remarks || r.Reason != "" || r.Struck
	}
	if remarks {
		head, l.right = append(head, "remark"), append(l.right, false)
	}
	l.rows = append(l.rows, head)
	for _, r := range t.Rows {
		cells := make([]string, len(head))
		for i, c := range r.Cells {
			cells[i] = cell(c, r.Struck)
		}
		if remarks && r.Struck {
			cells[len(head)-1] = "struck: " + r.Reason
		}
		l.rows = append(l.rows, cells)
	}
	w.add(wrap(runs(t.Caption), w.width))
	w.add(l.write(w.width))
	for _, n := range t.Notes {
		w.add(wrap(runs(n), w.width))
	}
}

func cell(c view.Cell, struck bool) string {
	s := runs(c.Text)
	switch {
	case c.Hole && s == "":
		s = "–"
	case c.Struck || struck:
		s = "~" + s
	}
	return s
}
