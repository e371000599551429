package block

import (
	"strconv"
	"strings"

	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Wording is how a name is defined, as it was typed, and what its author calls
// it.
type Wording struct {
	At    source.Span
	Label string
}

// Worded tells how each of its names is defined.
type Worded interface {
	Wording(name string) (Wording, bool)
}

// entryID is the ID of a name's entry in the table of quantities.
func entryID(full string) string { return "q-" + strings.ReplaceAll(full, ".", "-") }

// Quantities returns the table of the named values; nil where there are none.
// It is called after Show and ShowFront: what nothing on the page rests on is
// set apart.
func (p *Program) Quantities() *view.Quantities {
	t := p.gathered()
	out := &view.Quantities{ID: "quantities", Coverage: p.Settings.CoverageText}
	for _, d := range p.Values() {
		if t.entries[d] {
			out.Entries = append(out.Entries, t.entry(d))
		}
	}
	if len(out.Entries) == 0 {
		return nil
	}
	return out
}

// gathering finds what has an entry, what uses it and what the page needs.
type gathering struct {
	program *Program
	entries map[*Def]bool
	users   map[*Def][]view.Ref
	needed  map[*Def]bool
}

// gathered returns what is known of all names, once everything is shown.
func (p *Program) gathered() *gathering {
	t := &gathering{program: p, entries: map[*Def]bool{}, users: map[*Def][]view.Ref{}, needed: map[*Def]bool{}}
	t.gather()
	return t
}

func (t *gathering) gather() {
	p := t.program
	uses, used := map[*Def][]*Def{}, map[*Def]bool{}
	for _, d := range p.defs {
		for _, u := range d.Uses {
			if to := p.resolve(u, d.from(), false); to != nil && to != d {
				uses[d] = append(uses[d], to)
				used[to] = true
			}
		}
	}
	for _, d := range p.defs {
		if has := hasEntry(d) && !p.hidden(d); has && d.Quiet && !used[d] {
			continue // one of two columns of a role that is used as a whole
		} else if t.entries[d] = has; has || d.unit != nil {
			for _, to := range uses[d] {
				t.usedBy(to, t.refTo(d, to))
			}
		}
	}
	for _, u := range p.units {
		if x, ok := u.Inst.(User); ok {
			for _, use := range x.Uses() {
				if to := p.resolve(use, u.Scope, false); to != nil {
					t.usedBy(to, view.Ref{Name: strings.TrimSpace(u.Block.Kind + " " + u.Block.Name), ID: u.ID})
					if p.displayed[u] {
						t.need(to, uses)
					}
				}
			}
		}
	}
	for _, in := range p.order {
		if in.node.Insert == nil || in.node.Insert.X == nil {
			continue
		}
		for _, use := range UsesOf(in.node.Insert.X) {
			if to := p.resolve(use, in.scope, false); to != nil {
				t.usedBy(to, view.Ref{Name: inText, ID: p.inlineID(in), Places: true})
				t.need(to, uses)
			}
		}
	}
	for _, d := range p.defs {
		if d.unit != nil && d.unit.Scope == d.scope && p.displayed[d.unit] {
			t.need(d, uses)
		}
	}
}

// hidden reports whether a definition stands in a block of the record of which
// the author has nothing printed, by `print=no`. What lies within a practical
// is told all the same: it is from there that the record's numbers come.
func (p *Program) hidden(d *Def) bool {
	return d.unit != nil && d.unit.hide && d.scope == p.Root && !p.displayed[d.unit]
}

// hasEntry reports whether a definition stands in the table: those with a
// number, a condition or a word, instruments and fits, but not whole tables or
// what only shows.
func hasEntry(d *Def) bool {
	switch v := d.value.(type) {
	case eval.Scalar, *eval.Column, eval.List, eval.Rowwise, eval.Bool, eval.Word:
		return true
	case eval.Waiting:
		return !d.Quiet
	case *eval.Space:
		if strings.HasPrefix(d.Name, "@") {
			return true
		}
		return !d.Quiet && len(uncertainInside(v)) > 0
	}
	return false
}

// uncertainInside lists the names of a thing's numbers that have an
// uncertainty.
func uncertainInside(s *eval.Space) []string {
	var out []string
	for _, name := range s.Names {
		if v, ok := s.Get(name); ok && Uncertain(v) {
			out = append(out, name)
		}
	}
	return out
}

// inText is what a place in the text is called.
const inText = "text"

func (t *gathering) usedBy(d *Def, r view.Ref) {
	for _, u := range t.users[d] {
		if u == r || u.Name == r.Name && !r.Places {
			return
		}
	}
	t.users[d] = append(t.users[d], r)
}

// refTo leads to what uses a name: its entry, or its block where it has none.
func (t *gathering) refTo(d, to *Def) view.Ref {
	if t.entries[d] {
		return view.Ref{Name: strings.TrimPrefix(d.full, to.scope.Prefix), ID: entryID(d.full)}
	}
	if d.unit == nil {
		return view.Ref{Name: d.full}
	}
	return view.Ref{Name: d.unit.Block.Kind + " " + strings.TrimPrefix(d.full, to.scope.Prefix), ID: d.unit.ID}
}

// need marks a definition and all that it rests on.
func (t *gathering) need(d *Def, uses map[*Def][]*Def) {
	if t.needed[d] {
		return
	}
	t.needed[d] = true
	for _, to := range uses[d] {
		t.need(to, uses)
	}
}

func (t *gathering) entry(d *Def) view.Entry {
	c := t.program.computing(d.scope, d.unit)
	e := view.Entry{ID: entryID(d.full), At: d.Anchor, Name: d.full, UsedBy: t.users[d], Place: t.place(d), Behind: !t.needed[d]}
	how := wording(d)
	e.Label, e.How = how.Label, t.how(d, how.At)
	e.Value = c.brief(d.value)
	if sameText(e.How, e.Value) {
		e.How = nil // it is a number that was typed
	}
	if s, ok := d.value.(eval.Scalar); ok {
		e.Sources = t.shares(d, s)
	}
	return e
}

// wording is how a name is defined: as its block tells it, or the whole block
// where the name is that of the block.
func wording(d *Def) Wording {
	if d.unit == nil {
		return Wording{}
	}
	if w, ok := d.unit.Inst.(Worded); ok {
		if how, ok := w.Wording(d.Name); ok {
			return how
		}
	}
	if b := d.unit.Block; b.Name == d.Name && d.unit.Scope == d.scope {
		return Wording{At: b.Body.Span, Label: b.Kind}
	}
	return Wording{}
}

// place says where a name is written: in the record by its line, else with the
// name of the file.
func (t *gathering) place(d *Def) string {
	if d.At.IsZero() {
		return ""
	}
	line, _ := d.At.Position()
	if d.At.File == t.program.Record.File {
		return "line " + strconv.Itoa(line)
	}
	name := d.At.File.Name
	return name[strings.LastIndexByte(name, '/')+1:] + ":" + strconv.Itoa(line)
}

// longestWording is how much of a definition is quoted, in bytes.
const longestWording = 400

// how quotes a definition, with a Ref for each name in it.
func (t *gathering) how(d *Def, at source.Span) view.Text {
	if at.IsZero() {
		return nil
	}
	var out view.Text
	for at.End > at.Start && at.File.Text[at.End-1] == '\n' {
		at.End--
	}
	from := at.Start
	end := min(at.End, at.Start+longestWording)
	plain := func(to int) {
		if s := squeeze(string(at.File.Text[from:to])); s != "" {
			out = append(out, view.Plain(s))
		}
	}
	for _, u := range inOrder(d.Uses) {
		if u.At.File != at.File || u.At.Start < from || u.At.End > end {
			continue
		}
		to := t.program.resolve(u, d.from(), false)
		if to == nil || !t.entries[to] {
			continue
		}
		plain(u.At.Start)
		out = append(out, view.Ref{Name: u.At.Text(), ID: entryID(to.full)})
		from = u.At.End
	}
	plain(end)
	if end < at.End {
		out = append(out, view.Plain("…"))
	}
	return out
}

// sameText reports whether a value is shown as it was typed.
func sameText(how, value view.Text) bool {
	plain := func(t view.Text) string {
		return strings.Join(strings.Fields(strings.ReplaceAll(PlainText(t), "−", "-")), " ")
	}
	for _, r := range how {
		if _, ok := r.(view.Plain); !ok {
			return false
		}
	}
	return plain(how) == plain(value)
}

func inOrder(uses []Use) []Use {
	out := append([]Use(nil), uses...)
	for i := range out { // few, and nearly sorted
		for k := i; k > 0 && out[k].At.Start < out[k-1].At.Start; k-- {
			out[k], out[k-1] = out[k-1], out[k]
		}
	}
	return out
}

// squeeze writes a text of several lines in one: a line is parted from the next
// by a semicolon where both are settings, by a space else.
func squeeze(s string) string {
	var b strings.Builder
	for i, line := range strings.Split(s, "\n") {
		body, _, _ := strings.Cut(line, " #")
		if i > 0 {
			body = strings.TrimLeft(body, " \t")
			if strings.Contains(body, ": ") || strings.HasSuffix(body, ":") {
				b.WriteString(";")
			}
			b.WriteString(" ")
		}
		b.WriteString(strings.Join(strings.FieldsFunc(body, func(r rune) bool { return r == '\t' || r == '\r' }), " "))
	}
	return b.String()
}

// Shares of a variance that are told: the greatest few, and none that is too
// small to matter.
const (
	mostShares = 3
	leastShare = 0.005
)

// shares lists the main sources of a value's uncertainty.
func (t *gathering) shares(d *Def, s eval.Scalar) []view.Share {
	var out []view.Share
	for _, l := range budget.New(s.Q, t.program.Settings.Coverage).Lines {
		if len(out) == mostShares || l.Share < leastShare {
			break
		}
		share := view.Share{Source: view.Ref{Name: l.Label}, Text: quantity.RoundPlaces(100*l.Share, 0) + "\u00a0%"}
		if l.Instrument != "" {
			if to := t.program.names[instrumentKey(d.from(), l.Instrument)]; to != nil {
				share.Source.ID = entryID(to.full)
			} else if to := t.program.names[instrumentKey(t.program.Root, l.Instrument)]; to != nil {
				share.Source.ID = entryID(to.full)
			}
		}
		out = append(out, share)
	}
	return out
}

// brief sets a value in short: a column by its size and range, a fit by what
// is uncertain in it.
func (c *Computing) brief(v eval.Value) view.Text {
	switch v := v.(type) {
	case eval.Scalar:
		n := c.number(v, quantity.Auto, 0, "")
		n.Display.Coverage = "" // the head of the table says it
		return view.Text{n}
	case *eval.Column:
		return c.briefColumn(v)
	case eval.List:
		var out view.Text
		for i, m := range v.Members {
			if i > 0 {
				out = append(out, view.Plain("; "))
			}
			out = append(out, c.brief(m)...)
		}
		return out
	case *eval.Space:
		if in, ok := v.Data.(*instrument.Instrument); ok {
			return c.briefInstrument(in)
		}
		var out view.Text
		for _, name := range uncertainInside(v) {
			in, _ := v.Get(name)
			if len(out) > 0 {
				out = append(out, view.Plain("; "))
			}
			out = append(append(out, view.Plain(name+" ")), c.brief(in)...)
		}
		return out
	case eval.Rowwise:
		return view.Text{view.Plain("a value for each row")}
	}
	return c.Text(v, quantity.Auto, 0, "")
}

func (c *Computing) briefInstrument(in *instrument.Instrument) view.Text {
	if in.Unread || in.Resolution == 0 {
		return nil
	}
	un := in.Unit
	return view.Text{view.Plain("resolution "), c.number(eval.Scalar{Q: quantity.Exact(in.Resolution, in.Dim), Unit: &un}, quantity.Auto, 0, "")}
}

// briefColumn is the size of a column and its range; of readings, as they were
// typed.
func (c *Computing) briefColumn(v *eval.Column) view.Text {
	if v.Raw != nil {
		v = v.Raw
	}
	var least, most *eval.Cell
	n := 0
	for i := range v.Cells {
		if cell := &v.Cells[i]; !cell.Hole {
			n++
			if least == nil || cell.Q.Value() < least.Q.Value() {
				least = cell
			}
			if most == nil || cell.Q.Value() > most.Q.Value() {
				most = cell
			}
		}
	}
	if n == 0 {
		return view.Text{view.Missing{Why: "not yet read"}}
	}
	of := func(cell *eval.Cell) view.Number {
		s := eval.Scalar{Q: cell.Q, Unit: v.Unit, Typed: cell.Typed}
		if cell.Typed != "" {
			return c.number(s, quantity.Auto, 0, "")
		}
		return c.number(s, quantity.Rounded, 0, "")
	}
	if n == 1 {
		return view.Text{view.Plain("1 value, "), of(least)}
	}
	low, high := of(least), of(most)
	if low.Display.String() == high.Display.String() {
		return view.Text{view.Plain(strconv.Itoa(n) + " values, all "), high}
	}
	low.Display.Unit = ""
	return view.Text{view.Plain(strconv.Itoa(n) + " values, "), low, view.Plain(" to "), high}
}
