package view

import (
	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/record"
)

// BlankSheet turns a page into the sheet that is handed out before the
// practical: what the author sets stays; readings, computed values and answers
// are absent, and in their place is room to write. Nothing of them is left in
// the page to be found: a node that this function does not know is left out.
func BlankSheet(p *Page) {
	var b blanker
	p.Front = b.nodes(p.Front)
	b.prose(p.Body)
	p.Back = nil // the files, and the findings about them
	p.Author, p.Date, p.Facts = "", "", blankHead(p.Facts)
	p.Sheet, p.Marks = true, b.marks
}

// blankHead leaves out what names a file: whoever fills the sheet in has none.
func blankHead(facts []Fact) []Fact {
	var out []Fact
	for _, f := range facts {
		file := false
		for _, r := range f.Text {
			_, code := r.(Code)
			file = file || code
		}
		if !file {
			out = append(out, f)
		}
	}
	return out
}

// blanker takes a page's nodes through; marks counts those of its questions
// and of its claims.
type blanker struct{ marks int }

func (b *blanker) prose(p *Prose) {
	if p == nil {
		return
	}
	for k, nodes := range p.Blocks {
		p.Blocks[k] = b.nodes(nodes)
	}
	for in := range p.Inlines {
		p.Inlines[in] = blankInline(in, p.Inlines[in])
		if in.Claim && in.Insert != nil {
			b.marks += in.Insert.Marks
			p.Inlines[in] = append(p.Inlines[in], MarksOf(in.Insert.Marks)...)
		}
	}
}

// blankInline leaves a place for a computed number, whatever its text was.
// What is given stays.
func blankInline(in *record.Inline, t Text) Text {
	if !in.Claim && isGiven(t) {
		return t
	}
	var out Text
	for _, r := range t {
		switch r := r.(type) {
		case Blank:
			return append(out, r)
		case Formula: // the symbol before a claim
			out = append(out, r, Plain(" = "))
		}
	}
	if in.Claim && in.Insert != nil && in.Insert.Claim != nil {
		return append(out, Blank{Unit: in.Insert.Claim.Unit.Text})
	}
	return append(out, placeFor(t)...)
}

// placeFor is the place of a number; of one that is stated with its expanded
// uncertainty, of both.
func placeFor(t Text) Text {
	for _, r := range t {
		if n, ok := r.(Number); ok && n.Display.PlusMinus != "" {
			return Text{Blank{}, Plain("\u00a0±\u00a0"), Blank{Unit: n.Display.Unit}}
		}
	}
	return Text{Blank{Unit: unitOf(t)}}
}

// isGiven reports whether a text holds numbers, and every one of them is
// given.
func isGiven(t Text) bool {
	numbers := false
	for _, r := range t {
		switch r := r.(type) {
		case Number:
			if r.Standing != Given {
				return false
			}
			numbers = true
		case Missing, Blank:
			return false
		}
	}
	return numbers
}

// deferred leaves out what rests on readings, whole paragraphs of it: a caution
// with gaps in it says nothing, or the wrong thing. It reports whether any was.
func (p *Prose) deferred() bool {
	for n := p.Doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		if p.rests(n) {
			if p.Without == nil {
				p.Without = map[ast.Node]bool{}
			}
			p.Without[n] = true
		}
	}
	return len(p.Without) > 0
}

// rests reports whether a place for a result or a number that is not given
// stands within n.
func (p *Prose) rests(n ast.Node) bool {
	found := false
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if in, ok := n.(*record.InlineNode); ok && entering {
			found = found || in.Inline.Claim || !isGiven(p.Inlines[in.Inline])
		}
		return ast.WalkContinue, nil
	})
	return found
}

func (b *blanker) nodes(nodes []Node) []Node {
	out := []Node{} // never nil: a block that shows nothing is not shown as source
	for _, n := range nodes {
		if n = b.node(n); n != nil {
			out = append(out, n)
		}
	}
	return out
}

func (b *blanker) node(n Node) Node {
	switch n := n.(type) {
	case *Group:
		g := *n
		if g.Nodes = b.nodes(n.Nodes); len(g.Nodes) == 0 {
			return nil
		}
		return &g
	case *Prose:
		if n.Standing == Answer {
			return &Ruled{Label: "room for the answer", Lines: answerRoom(n)}
		}
		b.prose(n)
		return n
	case *Warning:
		n.Deferred = n.Body.deferred()
		b.prose(n.Body)
		return n
	case *Table:
		return blankTable(n)
	case *Steps:
		return blankSteps(n)
	case *Facts:
		return blankFacts(n)
	case *Figure:
		return blankFigure(n)
	case *Paragraph:
		if n.Standing == Given {
			return n
		}
	case *Marks:
		b.marks += n.Of
		return n
	case *Ruled:
		return n
	}
	return nil // notices, bar charts, computed sentences, sources
}

// Handwriting takes about sixty letters to a line; room comes in lots of
// three lines, so that the length of an answer is not given away.
const (
	lettersPerLine = 60
	lotOfLines     = 3
)

// answerRoom is how many ruled lines an answer needs.
func answerRoom(p *Prose) int {
	letters := 0
	if p.Doc != nil {
		_ = ast.Walk(p.Doc.Root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
			if entering && n.Type() == ast.TypeBlock && n.FirstChild() != nil && n.FirstChild().Type() == ast.TypeInline {
				for i := 0; i < n.Lines().Len(); i++ {
					line := n.Lines().At(i)
					letters += line.Len()
				}
			}
			return ast.WalkContinue, nil
		})
	}
	return lotOfLines * (1 + letters/(lotOfLines*lettersPerLine))
}

// blankTable keeps headings, labels and the number of rows of a table of
// readings; of a computed one it keeps headings and rows.
func blankTable(t *Table) *Table {
	if t.Standing == Given {
		return t
	}
	out := &Table{ID: t.ID, Caption: t.Caption, Columns: t.Columns, Standing: Given, Ledger: t.Ledger, Fill: true}
	if t.Standing != Read {
		for range t.Rows {
			out.Rows = append(out.Rows, Row{Cells: make([]Cell, len(t.Columns))})
		}
		return out
	}
	for _, r := range t.Rows {
		row := Row{Cells: make([]Cell, len(t.Columns))}
		for i := range row.Cells {
			if i < len(r.Cells) && !t.Columns[i].Numeric {
				row.Cells[i] = Cell{Text: r.Cells[i].Text, Standing: Given}
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// blankSteps leaves each quantity's symbol and label, and room to work it out.
func blankSteps(s *Steps) *Steps {
	if s.Standing == Given {
		return s
	}
	out := &Steps{ID: s.ID, Title: s.Title, Standing: Given}
	for _, st := range s.Steps {
		if st.Standing == Given {
			out.Steps = append(out.Steps, st)
			continue
		}
		out.Steps = append(out.Steps, Step{ID: st.ID, Symbol: st.Symbol, Label: st.Label, Result: blankText(st.Result), Room: st.Room, Standing: Given})
	}
	return out
}

// blankText is a place for a text, in its unit.
func blankText(t Text) Text {
	for _, r := range t {
		if b, ok := r.(Blank); ok {
			return Text{b}
		}
	}
	return Text{Blank{Unit: unitOf(t)}}
}

func unitOf(t Text) string {
	for i := len(t) - 1; i >= 0; i-- {
		if n, ok := t[i].(Number); ok && n.Display.Unit != "" {
			return n.Display.Unit
		}
	}
	return ""
}

func blankFacts(f *Facts) *Facts {
	if f.Standing == Given {
		return f
	}
	out := &Facts{ID: f.ID, Title: f.Title, Standing: Given}
	for _, item := range f.Items {
		out.Items = append(out.Items, Fact{Term: item.Term, Text: blankText(item.Text)})
	}
	return out
}

// sheetPaper is the paper of an empty grid for which none was chosen.
var sheetPaper = Paper{Width: 14, Height: 12}

func blankFigure(f *Figure) *Figure {
	paper := sheetPaper
	if f.Paper != nil {
		paper = *f.Paper
	}
	return &Figure{ID: f.ID, Title: f.Title, Desc: "An empty grid to plot on.", X: f.X, Y: f.Y, Grid: true, Paper: &paper, Standing: Given}
}
