package archive

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"
	"unicode/utf8"
)

// WriteText writes a report as a terminal shows it: the ledgers, each record
// that is not identical with a table of what changed, the findings and how
// many there are.
func (r *Report) WriteText(w io.Writer) error {
	var b bytes.Buffer
	for _, a := range r.Archives {
		for _, u := range a.Units {
			u.write(&b, a)
		}
	}
	s := r.Sum()
	if r.Part != "" {
		fmt.Fprintf(&b, "part %s: ", r.Part)
	}
	fmt.Fprintf(&b, "%s; %s\n", s.records(), s.findings())
	_, err := w.Write(b.Bytes())
	return err
}

// records tells how many bags have which status: "3 records: 2 identical, 1
// changed".
func (s Sum) records() string {
	var parts []string
	for _, p := range []struct {
		n    int
		what Status
	}{{s.Identical, Identical}, {s.Rounding, Rounding}, {s.Changed, Changed}, {s.Unchecked, Unchecked}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	if len(parts) == 0 {
		return counted(s.Bags, "record")
	}
	return counted(s.Bags, "record") + ": " + strings.Join(parts, ", ")
}

func (s Sum) findings() string {
	var parts []string
	for _, p := range []struct {
		n    int
		what string
	}{{s.Errors, "error"}, {s.Cautions, "caution"}, {s.Notes, "note"}} {
		if p.n > 0 {
			parts = append(parts, counted(p.n, p.what))
		}
	}
	if len(parts) == 0 {
		return "no findings"
	}
	return strings.Join(parts, ", ")
}

// place is a path below an archive as the reader would type it.
func (a *ArchiveReport) place(p string) string { return path.Join(a.Path, p) }

func (u *Unit) write(b *bytes.Buffer, a *ArchiveReport) {
	switch {
	case u.Ledger != nil:
		u.Ledger.write(b, a.place(u.Path))
	case u.Bag != nil && u.Bag.Status != Identical && (u.Bag.Status != Unchecked || len(u.Findings) > 0):
		fmt.Fprintf(b, "%s (%s): %s\n", a.place(u.Path), u.Bag.Title, u.Bag.Status)
		writeChanges(b, u.Bag.Changes, u.Bag.More)
	}
	for _, f := range u.Findings {
		shown := *f
		shown.Path = a.place(f.Path)
		fmt.Fprintln(b, shown.String())
	}
}

func (l *LedgerReport) write(b *bytes.Buffer, at string) {
	name := at
	if l.Identity != "" {
		name += " (" + l.Identity + ")"
	}
	fmt.Fprintf(b, "%s: %s, head %s\n", name, counted(l.Lines, "line"), firstOf(l.Head, "none"))
	for _, k := range l.Keys {
		fmt.Fprintf(b, "  signed by the key %s\n", k)
	}
	if l.Signed > 0 && l.Signed < l.Lines {
		fmt.Fprintf(b, "  %d of %s signed\n", l.Signed, counted(l.Lines, "line"))
	}
}

// widestCell is the width of the widest cell of the table, in characters.
const widestCell = 40

func writeChanges(b *bytes.Buffer, list []Change, more int) {
	if len(list) == 0 {
		return
	}
	rows := [][]string{{"what", "sealed", "run again", "relative"}}
	for _, c := range list {
		relative := ""
		if c.Relative != nil {
			relative = fmt.Sprintf("%.1e", *c.Relative)
		}
		rows = append(rows, []string{cell(c.What), cell(firstOf(c.Sealed, "–")), cell(firstOf(c.Again, "–")), relative})
	}
	width := make([]int, len(rows[0]))
	for _, r := range rows {
		for i, c := range r {
			width[i] = max(width[i], utf8.RuneCountInString(c))
		}
	}
	for _, r := range rows {
		var line strings.Builder
		for i, c := range r {
			line.WriteString("  " + c + strings.Repeat(" ", width[i]-utf8.RuneCountInString(c)))
		}
		fmt.Fprintln(b, strings.TrimRight(line.String(), " "))
	}
	if more > 0 {
		fmt.Fprintf(b, "  and %s more\n", counted(more, "change"))
	}
}

func cell(s string) string {
	if r := []rune(s); len(r) > widestCell {
		return string(slices.Concat(r[:widestCell-1], []rune("…")))
	}
	return s
}
