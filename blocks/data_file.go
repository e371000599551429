package blocks

import (
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// readFile reads a table from a file. The body may map headings of the file,
// `up / mm @screw = loading_mm`, and strike its rows, `~4 # reason`; columns
// that are not mapped keep their own headings.
func (t *dataTable) readFile(r *block.Reader, b *record.Block, o record.Option, decimal byte) *record.Table {
	f := r.Open(o.Value, o.ValueAt)
	if f == nil {
		return nil
	}
	table := record.ReadTable(f.Span(0, len(f.Text)), record.Lines(f), decimal, r.Set)
	if len(table.Head) == 0 {
		r.Set.Add(emptyTable(o.ValueAt))
		return nil
	}
	for _, line := range b.Body.Lines {
		t.fileLine(r, table, line)
	}
	return table
}

func (t *dataTable) fileLine(r *block.Reader, table *record.Table, line source.Span) {
	text := line.Text()
	body, reason, _ := strings.Cut(text, " #")
	body = strings.TrimSpace(body)
	if strings.HasPrefix(strings.TrimSpace(text), "#") || body == "" {
		return
	}
	if n, ok := strings.CutPrefix(body, "~"); ok {
		t.strikeFileRow(r, table, line, strings.TrimSpace(n), strings.TrimSpace(reason))
		return
	}
	i := strings.LastIndex(body, "=")
	if i < 0 {
		r.Set.Add(badMapping(line))
		t.lost = true
		return
	}
	head, theirs := strings.TrimSpace(body[:i]), strings.TrimSpace(body[i+1:])
	for k := range table.Head {
		if table.Head[k].Text == theirs {
			start := strings.Index(text, head)
			table.Head[k] = record.TableCell{Text: head, At: line.Sub(start, start+len(head))}
			return
		}
	}
	t.lost = true
	start := strings.LastIndex(text, theirs)
	r.Set.Add(noSuchHeading(line.Sub(start, start+len(theirs)), theirs, table.Head))
}

func (t *dataTable) strikeFileRow(r *block.Reader, table *record.Table, line source.Span, number, reason string) {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > len(table.Rows) {
		r.Set.Add(noSuchRow(line, number, len(table.Rows)))
		return
	}
	row := &table.Rows[n-1]
	row.Struck, row.Reason, row.ReasonAt = true, reason, line
	if reason == "" {
		row.At = line // the strike that lacks a reason stands here
	}
}
