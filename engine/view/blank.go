package view

import (
	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/record"
)

// BlankSheet turns a page into the sheet that is handed out before the
// practical: what the author sets stays; readings, computed values and answers
// are absent, and in their place is room to write. Nothing of them is left in
// the page to be found.
func BlankSheet(p *Page) {
	p.Front = blankNodes(p.Front)
	blankProse(p.Body)
	p.Back = nil // the files, and the findings about them
	p.Author, p.Date = "", ""
	p.Sheet = true
}

func blankProse(p *Prose) {
	for b, nodes := range p.Blocks {
		p.Blocks[b] = blankNodes(nodes)
	}
	for in := range p.Inlines {
		p.Inlines[in] = blankInline(in, p.Inlines[in])
	}
}

// blankInline leaves a place for a computed number, whatever its text was.
func blankInline(in *record.Inline, t Text) Text {
	var out Text
	for _, r := range t {
		switch r := r.(type) {
		case Blank:
			return Text{r}
		case Number:
			return append(out, Blank{Unit: r.Display.Unit})
		case Formula: // the symbol before a claim
			out = append(out, r, Plain(" = "))
		}
	}
	if in.Claim && in.Insert != nil && in.Insert.Claim != nil {
		return append(out, Blank{Unit: in.Insert.Claim.Unit.Text})
	}
	return Text{Blank{}}
}

func blankNodes(nodes []Node) []Node {
	var out []Node
	for _, n := range nodes {
		if b := blankNode(n); b != nil {
			out = append(out, b)
		}
	}
	return out
}

// ruledLines is the room that is left for one line of a calculation and for an
// answer.
const (
	stepLines   = 3
	answerLines = 4
	budgetRows  = 6
)

func blankNode(n Node) Node {
	switch n := n.(type) {
	case *Group:
		g := *n
		g.Nodes = blankNodes(n.Nodes)
		if len(g.Nodes) == 0 {
			return nil
		}
		return &g
	case *Prose:
		if n.Standing == Answer {
			return &Ruled{Label: "answer", Lines: linesOf(n)}
		}
		blankProse(n)
		return n
	case *Warning:
		blankProse(n.Body)
		return n
	case *Table:
		return blankTable(n)
	case *Steps:
		return blankSteps(n)
	case *Facts:
		return blankFacts(n)
	case *Figure:
		return &Figure{ID: n.ID, Title: n.Title, Desc: "an empty grid to plot on", X: n.X, Y: n.Y, Grid: true, Standing: Given}
	case *Paragraph:
		if n.Standing == Given {
			return n
		}
	}
	return nil // notices, bar charts, computed sentences, sources
}

// linesOf is the room for an answer: more for a longer one, in coarse steps so
// that its length is not given away.
func linesOf(p *Prose) int {
	n := 0
	if p.Doc != nil {
		_ = ast.Walk(p.Doc.Root, func(n2 ast.Node, entering bool) (ast.WalkStatus, error) {
			if entering && n2.Kind() == ast.KindParagraph {
				n += n2.Lines().Len()
			}
			return ast.WalkContinue, nil
		})
	}
	return answerLines * (1 + n/answerLines)
}

// blankTable keeps headings, labels and the number of rows of a table of
// readings; of a computed one it keeps the headings.
func blankTable(t *Table) *Table {
	if t.Standing == Given {
		return t
	}
	out := &Table{ID: t.ID, Caption: t.Caption, Columns: t.Columns, Standing: Given, Ledger: t.Ledger}
	if t.Standing == Computed {
		for range budgetRows {
			out.Rows = append(out.Rows, Row{Cells: make([]Cell, len(t.Columns))})
		}
		return out
	}
	for _, r := range t.Rows {
		row := Row{Cells: make([]Cell, len(t.Columns))}
		for i := range row.Cells {
			if i < len(r.Cells) && !t.Columns[i].Numeric && !r.Struck {
				row.Cells[i] = Cell{Text: r.Cells[i].Text, Standing: Given}
			}
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// blankSteps leaves each quantity's symbol and label, and room to work it out.
func blankSteps(s *Steps) Node {
	if s.Standing == Given {
		return s
	}
	out := &Steps{ID: s.ID, Title: s.Title, Standing: Given}
	for _, st := range s.Steps {
		out.Steps = append(out.Steps, Step{ID: st.ID, Symbol: st.Symbol, Label: st.Label, Result: Text{Blank{Unit: unitOf(st.Result)}}, Room: stepLines, Standing: Given})
	}
	return out
}

func unitOf(t Text) string {
	for i := len(t) - 1; i >= 0; i-- {
		if n, ok := t[i].(Number); ok {
			return n.Display.Unit
		}
	}
	return ""
}

func blankFacts(f *Facts) Node {
	if f.Standing == Given {
		return f
	}
	out := &Facts{ID: f.ID, Title: f.Title, Standing: Given}
	for _, item := range f.Items {
		out.Items = append(out.Items, Fact{Term: item.Term, Text: Text{Blank{Unit: unitOf(item.Text)}}})
	}
	return out
}
