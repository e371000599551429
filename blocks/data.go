package blocks

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(data{})

// data is the kind `data`: a table of readings.
type data struct{}

// Info implements block.Kind.
func (data) Info() block.Info {
	return block.Info{Name: "data", Naming: block.Named, Options: []string{"from", "decimal", "given"},
		What: "a table of readings, typed in or from a file"}
}

// dataTable is one data block, read.
type dataTable struct {
	name    string
	id      string
	at      source.Span
	columns []*dataColumn
	rows    []*dataRow
	given   bool
	from    string
	// lost says that there are, or should be, columns that are not known by
	// name; unsure, that some row fits none of them. What needs them waits: the
	// finding has been made.
	lost, unsure bool
}

// dataColumn is one column: a heading `name / unit @instrument`.
type dataColumn struct {
	name    string
	at      source.Span
	head    source.Span
	unit    unit.Unit
	hasUnit bool
	instr   string
	instrAt source.Span
	bad     bool
	twice   bool
	faults  int  // cells that could not be read
	text    bool // a column of labels
	index   int
	value   eval.Value
}

type dataRow struct {
	record.TableRow
	cells []dataCell
}

// out reports whether the row takes no part.
func (r *dataRow) out() bool { return r.Struck || r.Broken }

// dataCell is one cell, read as a number.
type dataCell struct {
	text   string
	at     source.Span
	hole   bool
	struck bool
	typed  string
	split  bool // main scale + divisions
	divs   float64
	limits *formula.Literal
	bad    bool
}

// Read implements block.Kind.
func (data) Read(r *block.Reader, b *record.Block) block.Instance {
	t := &dataTable{name: norm.NFC.String(b.Name), id: r.ID(), at: b.NameAt, given: readGiven(r, b)}
	decimal := byte('.')
	if o, ok := b.Option("decimal"); ok {
		switch o.Value {
		case "comma":
			decimal = ','
		case "point":
		default:
			r.Set.Add(badValue(o.ValueAt, "decimal", o.Value, "point or comma"))
		}
	}
	var table *record.Table
	if o, ok := b.Option("from"); ok {
		t.from = o.Value
		table = t.readFile(r, b, o, decimal)
	} else {
		table = record.ReadTable(b.Body.Span, b.Body.Lines, decimal, r.Set)
	}
	if table == nil {
		t.lost = true
		return t
	}
	if len(table.Head) == 0 {
		r.Set.Add(emptyTable(b.KindAt))
		t.lost = true
		return t
	}
	t.readHeads(r, table)
	t.readRows(r, table)
	return t
}

func (t *dataTable) readHeads(r *block.Reader, table *record.Table) {
	seen := map[string]source.Span{}
	for i, h := range table.Head {
		c := readHeading(h, table.Decimal, r.Set)
		c.index = i
		if at, twice := seen[c.name]; twice && c.name != "" {
			r.Set.Add(columnTwice(c.at, c.name, at))
			c.twice = true
		} else {
			seen[c.name] = c.at
		}
		t.lost = t.lost || c.name == ""
		t.columns = append(t.columns, c)
	}
}

// readHeading reads `name / unit @instrument`. The unit follows the last ` / `.
func readHeading(h record.TableCell, decimal byte, set *finding.Set) *dataColumn {
	c := &dataColumn{head: h.At, at: h.At}
	text, at := h.Text, h.At
	if i := strings.LastIndexByte(text, '@'); i >= 0 {
		c.instr = norm.NFC.String(strings.TrimSpace(text[i+1:]))
		c.instrAt = at.Sub(i, len(text))
		text = text[:i]
	}
	if i := strings.LastIndex(text, " / "); i >= 0 {
		u := strings.TrimSpace(text[i+3:])
		j := i + 3 + strings.Index(text[i+3:], u)
		var s finding.Set
		un, ok := eval.ParseUnit(u, at.Sub(j, j+len(u)), &eval.Eval{Report: s.Add})
		for _, f := range s.Sorted() {
			set.Add(f)
		}
		c.unit, c.hasUnit, c.bad = un, true, !ok
		text = text[:i]
	}
	c.name = norm.NFC.String(strings.TrimSpace(text))
	c.at = at.Sub(0, len(strings.TrimRight(text, " ")))
	if !record.IsName(c.name) || reserved(c.name) {
		if !c.bad { // else the unit was complained of
			set.Add(badHeading(h.At, h.Text, decimal))
		}
		c.bad, c.name = true, ""
	} else if c.instr != "" && !record.IsName(c.instr) {
		set.Add(badHeading(c.instrAt, h.Text, decimal))
		c.bad = true
	}
	return c
}

func reserved(name string) bool {
	switch name {
	case "in", "as", "and", "or", "not", "if", "pi":
		return true
	}
	return false
}

func (t *dataTable) readRows(r *block.Reader, table *record.Table) {
	ragged := 0
	for _, row := range table.Rows {
		d := &dataRow{TableRow: row}
		t.rows = append(t.rows, d)
		if row.Struck && row.Reason == "" {
			r.Set.Add(noReason(row.At, "row"))
		}
		if len(row.Cells) != len(t.columns) && !d.out() {
			if ragged++; ragged <= maxFaults {
				r.Set.Add(raggedRow(row.At, len(row.Cells), len(t.columns)))
			}
			d.Broken = true // it cannot be used; it is shown as it stands
		}
		t.unsure = t.unsure || d.Broken
		for i, cell := range row.Cells {
			c := dataCell{text: cell.Text, at: cell.At, struck: cell.Struck}
			if cell.Struck && row.Reason == "" {
				r.Set.Add(noReason(cell.At, "cell"))
			}
			if i < len(t.columns) && !d.out() && !cell.Struck {
				t.readCell(t.columns[i], &c, table.Decimal)
			} else if cell.Struck {
				c.hole = true
			}
			d.cells = append(d.cells, c)
		}
	}
	if ragged > maxFaults {
		r.Set.Add(moreFaults(t.at, countOf(ragged-maxFaults, "further row")+" with a wrong number of cells"))
	}
	t.findLabels(r, table.Decimal)
}

// maxFaults is how many faults of one sort are told one by one in a table.
const maxFaults = 10

// readCell reads a cell as a number. Text is let pass here: whether the column
// is one of labels is known at the end.
func (t *dataTable) readCell(col *dataColumn, c *dataCell, decimal byte) {
	text := c.text
	switch text {
	case "–", "-", "—", "−":
		c.hole = true
		return
	case "":
		c.bad = true
		return
	}
	if decimal == ',' {
		if strings.ContainsRune(text, '.') {
			c.bad = true // 1.234 may be meant for a thousand
			return
		}
		text = strings.ReplaceAll(text, ",", ".")
	}
	if main, divs, ok := strings.Cut(text, "+"); ok && col.instr != "" && isDigits(divs) && isNumber(main) {
		c.split, c.typed = true, hyphened(main)
		fmt.Sscanf(divs, "%g", &c.divs)
		return
	}
	if isNumber(text) {
		c.typed = hyphened(text)
		return
	}
	t.readLiteralCell(c, text, decimal)
}

// hyphened writes a plain number with a hyphen for its minus.
func hyphened(number string) string {
	return strings.ReplaceAll(strings.TrimPrefix(strings.TrimSpace(number), "+"), "−", "-")
}

// readLiteralCell reads a cell with an uncertainty, such as 3.12(2).
func (t *dataTable) readLiteralCell(c *dataCell, text string, decimal byte) {
	at := c.at
	if decimal == ',' {
		// The text that is read is not the text of the file, but as long.
		at = source.NewFile(c.at.File.Name, []byte(text)).Span(0, len(text))
	}
	var s finding.Set
	lit, negative := formula.ParseLiteral(at, true, &s)
	if s.Len() > 0 || lit == nil {
		c.bad = true
		return
	}
	c.limits, c.typed = lit, lit.Number.Text
	if negative {
		c.typed = "-" + c.typed
	}
}

// isNumber reports whether a cell holds a plain decimal number.
func isNumber(s string) bool {
	s = strings.TrimSpace(s)
	s = strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(s, "+"), "-"), "−")
	mantissa, exp, has := strings.Cut(strings.ToLower(s), "e")
	if has {
		exp = strings.TrimPrefix(strings.TrimPrefix(exp, "+"), "-")
		if !isDigits(exp) || len(exp) > 4 {
			return false
		}
	}
	whole, frac, point := strings.Cut(mantissa, ".")
	return isDigits(whole) && (!point || isDigits(frac))
}

func isDigits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// findLabels finds the columns of text: those without unit and instrument in
// which no cell is a number. A cell that is no number in any other column is
// an error, and the column waits.
func (t *dataTable) findLabels(r *block.Reader, decimal byte) {
	for i, col := range t.columns {
		numbers, words := 0, 0
		for _, row := range t.rows {
			switch {
			case row.out() || row.cells[i].hole:
			case row.cells[i].bad && row.cells[i].text != "" && !numberWord(row.cells[i].text):
				words++
			case row.cells[i].text != "":
				numbers++
			}
		}
		col.text = words > 0 && numbers == 0 && !col.hasUnit && col.instr == ""
		for _, row := range t.rows {
			if row.out() || !row.cells[i].bad || col.text && row.cells[i].text != "" {
				continue
			}
			if col.faults++; col.faults > maxFaults || col.bad {
				continue
			}
			if c := row.cells[i]; c.text == "" {
				r.Set.Add(emptyCell(c.at, col.name))
			} else {
				r.Set.Add(badCell(c.at, c.text, col.name, decimal, words > 0 && !col.hasUnit))
			}
		}
		if col.faults > maxFaults && !col.bad {
			r.Set.Add(moreFaults(col.at, countOf(col.faults-maxFaults, "further cell")+" of `"+col.name+"` that can't be read"))
		}
	}
}

// numberWord reports whether a cell holds what computers write for no number;
// it is never a label.
func numberWord(text string) bool {
	switch strings.ToLower(strings.TrimLeft(text, "+-−")) {
	case "nan", "inf", "infinity":
		return true
	}
	return false
}

// Defs implements block.Definer.
func (t *dataTable) Defs() []*block.Def {
	if t.name == "" {
		return nil
	}
	out := []*block.Def{{Name: t.name, At: t.at, Compute: func(*block.Computing) eval.Value { return t.space() }}}
	for _, c := range t.columns {
		if c.name == "" || c.twice {
			continue
		}
		d := &block.Def{Name: t.name + "." + c.name, At: c.at, Anchor: t.id + "-" + c.name, Compute: func(x *block.Computing) eval.Value {
			c.value = t.compute(x, c)
			return c.value
		}}
		if c.instr != "" && record.IsName(c.instr) {
			d.Uses = []block.Use{{Name: c.instr, At: c.instrAt, Instrument: true}}
		}
		out = append(out, d)
	}
	return out
}

func (t *dataTable) space() *eval.Space {
	s := &eval.Space{What: "table", Name: t.name, Data: t, Get: func(string) (eval.Value, bool) { return eval.Waiting{}, t.lost }}
	for _, c := range t.columns {
		if c.name != "" {
			s.Names = append(s.Names, c.name)
		}
	}
	return s
}

// compute makes the column: rows close up over struck ones.
func (t *dataTable) compute(x *block.Computing, c *dataColumn) eval.Value {
	if c.bad || c.faults > 0 || t.unsure {
		return eval.Waiting{}
	}
	if c.text {
		return t.labels(c)
	}
	in, wait, ok := t.instrument(x, c)
	if !ok {
		return wait
	}
	full := x.Full(t.name + "." + c.name)
	un := c.unit
	if !c.hasUnit {
		un = unit.Of(unit.Dim{})
	}
	col := &eval.Column{Dim: un.Dim(), Instrument: in, Name: full}
	raw := &eval.Column{Dim: un.Dim(), Instrument: in, Name: full + ".raw"}
	if c.hasUnit {
		col.Unit, raw.Unit = &un, &un
	}
	e := x.Eval(full)
	n := 0
	for _, row := range t.rows {
		if row.out() {
			continue
		}
		n++
		cell := row.cells[c.index]
		out := eval.Cell{Hole: cell.hole, Struck: cell.struck, Row: row.Number, At: cell.at}
		rawOut := out
		if !cell.hole {
			rd, ok := t.reading(x, e, in, un, c, cell, fmt.Sprintf("%s[%d]", full, n))
			if !ok {
				return eval.Waiting{}
			}
			out.Q, rawOut.Q = rd.Corrected, rd.Raw
			typed := cell.typed
			if cell.split {
				typed = inDigits(rd.Raw.Value(), in, un)
			}
			out.Typed, rawOut.Typed = typed, typed
		}
		col.Cells = append(col.Cells, out)
		raw.Cells = append(raw.Cells, rawOut)
	}
	col.Raw = raw
	return col
}

// inDigits writes a reading of main scale and divisions as one number, to the
// last digit of the instrument.
func inDigits(v float64, in *instrument.Instrument, un unit.Unit) string {
	_, places, _ := strings.Cut(quantity.RoundFigures(un.Difference().FromSI(in.Resolution), 6), ".")
	return quantity.RoundPlaces(un.FromSI(v), len(strings.TrimRight(places, "0")))
}

func (t *dataTable) labels(c *dataColumn) eval.Labels {
	out := eval.Labels{Name: t.name + "." + c.name}
	for _, row := range t.rows {
		if !row.out() {
			out.Cells = append(out.Cells, row.cells[c.index].text)
		}
	}
	return out
}

func (t *dataTable) instrument(x *block.Computing, c *dataColumn) (*instrument.Instrument, eval.Waiting, bool) {
	if c.instr == "" {
		return nil, eval.Waiting{}, true
	}
	in, wait, ok := x.Eval("").Env.Instrument(c.instr)
	if !ok {
		return nil, wait, false
	}
	if in.Unread {
		return nil, eval.Waiting{On: "@" + c.instr, Unread: true}, false
	}
	un := c.unit
	if !c.hasUnit {
		un = unit.Of(unit.Dim{})
	}
	if f := eval.CheckInstrument(in, un, c.instrAt); f != nil {
		x.Report(f)
		return nil, eval.Waiting{}, false
	}
	return in, eval.Waiting{}, true
}

func (t *dataTable) reading(x *block.Computing, e *eval.Eval, in *instrument.Instrument, un unit.Unit, c *dataColumn, cell dataCell, id string) (instrument.Reading, bool) {
	v, err := un.ToSI(cell.typed)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		x.Report(cellRange(cell.at, cell.text, c.name))
		return instrument.Reading{}, false
	}
	if cell.split {
		if v, err = in.MainAndDivisions(v, cell.divs); err != nil {
			x.Report(badDivisions(cell.at, cell.text, err))
			return instrument.Reading{}, false
		}
	}
	var own []instrument.Own
	if cell.limits != nil {
		s, ok := e.Stated(cell.limits, un, v)
		if !ok {
			return instrument.Reading{}, false
		}
		own = s
	}
	return in.Read(id, v, un.Dim(), un, own...), true
}

// Show implements block.Instance.
func (t *dataTable) Show(s *block.Shower) []view.Node {
	if len(t.columns) == 0 {
		return nil
	}
	out := &view.Table{ID: s.ID() + "-table", Standing: view.Read, Caption: view.Text{view.Plain("Readings "), view.Code(s.Full(t.name))}}
	if t.given {
		out.Standing = view.Given
		out.Caption[0] = view.Plain("Given values ")
	}
	blank := s.View() == view.AsBlank && !t.given
	if t.from != "" && !blank {
		out.Caption = append(out.Caption, view.Plain(", from the file "), view.Code(t.from))
	}
	for _, c := range t.columns {
		col := view.Column{Quantity: headingText(c.name), Numeric: !c.text}
		if c.name != "" && !c.twice {
			col.ID = t.id + "-" + c.name
		}
		if c.hasUnit {
			col.Unit = c.unit.String()
		}
		if c.instr != "" {
			col.Note, col.NoteLink = c.instr, s.Anchor("@"+c.instr)
		}
		if blank {
			col.Note = t.expected(s, c)
		}
		out.Columns = append(out.Columns, col)
	}
	found := map[source.Span]*finding.Finding{}
	for _, f := range s.Found() {
		if found[f.At] == nil {
			found[f.At] = f
		}
	}
	for i, row := range t.rows {
		if !blank || !t.readAgain(i) {
			out.Rows = append(out.Rows, t.showRow(row, out.Standing, found))
		}
	}
	if n := t.zeroNote(); n != nil {
		out.Notes = append(out.Notes, n)
	}
	return []view.Node{out}
}

func (t *dataTable) showRow(row *dataRow, st view.Standing, found map[source.Span]*finding.Finding) view.Row {
	r := view.Row{Struck: row.Struck, Reason: row.Reason}
	for i, c := range row.cells {
		cell := view.Cell{Standing: st, Hole: c.hole && !c.struck && !c.bad, Struck: c.struck, Found: found[c.at]}
		if c.struck {
			cell.Reason = row.Reason
		}
		switch {
		case cell.Hole:
		case i < len(t.columns) && !t.columns[i].text && c.typed != "" && c.limits == nil && !c.split:
			cell.Text = view.Text{view.Number{Value: cellValue(t.columns[i], c.typed), Display: quantity.Typed(c.typed, unit.Of(unit.Dim{})), Standing: st}}
		default:
			cell.Text = view.Text{view.Plain(c.text)}
		}
		r.Cells = append(r.Cells, cell)
	}
	if !row.Struck && row.Reason != "" {
		r.Reason = row.Reason
	}
	return r
}

func cellValue(c *dataColumn, typed string) float64 {
	un := c.unit
	if !c.hasUnit {
		un = unit.Of(unit.Dim{})
	}
	v, err := un.ToSI(typed)
	if err != nil {
		return math.NaN()
	}
	return v
}

// zeroNote says that what is shown is as read, where instruments correct it.
func (t *dataTable) zeroNote() view.Text {
	var names []string
	seen := map[string]bool{}
	for _, c := range t.columns {
		col, ok := c.value.(*eval.Column)
		if !ok || col.Instrument == nil || seen[c.instr] {
			continue
		}
		in := col.Instrument
		if in.Zero != nil && in.Zero.Value() != 0 || in.Error != nil && in.Error.Value() != 0 {
			seen[c.instr] = true
			names = append(names, strings.ReplaceAll(c.instr, "_", " "))
		}
	}
	if len(names) == 0 {
		return nil
	}
	return view.Text{view.Plain("As read; calculations use the values corrected for the zero of the " + strings.Join(names, " and of the ") + ".")}
}

// headingText sets a name as a heading: one letter is a symbol, a word is
// text.
func headingText(name string) view.Text {
	if utf8.RuneCountInString(name) == 1 {
		return view.Text{view.Formula{Math: block.Symbol(name)}}
	}
	return view.Text{view.Plain(name)}
}
