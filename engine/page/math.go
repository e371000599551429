package page

import (
	"slices"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"

	"example.org/taut/engine/record"
	"example.org/taut/engine/tex"
	"example.org/taut/engine/view"
)

// mathematics writes the author's TeX. What cannot be read is shown as its own
// text; the finding about it is made where the record is checked.
func (w *writer) mathematics(_ util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkSkipChildren, nil
	}
	m := n.(*record.MathNode)
	tree, _ := tex.Parse(m.Span)
	if m.Display {
		w.markup(`<span class="equation">`)
		w.markup(tex.MathML(tree, true))
		w.markup(`</span>`)
	} else {
		w.markup(tex.MathML(tree, false))
	}
	return ast.WalkSkipChildren, nil
}

// math writes mathematics of the view within a line and adds to sources,
// unless it is nil, the IDs that the mathematics links to.
func (w *writer) math(m view.Math, sources *[]string) {
	if m != nil {
		w.markup(tex.Options{Comma: w.page.Comma}.MathML(settle(m, sources)))
	}
}

// settle returns mathematics without links: within a formula, assistive
// technology does not reach them. They are gathered in sources, where it asks
// for them.
func settle(m view.Math, sources *[]string) view.Math {
	switch m := m.(type) {
	case view.Linked:
		note(sources, m.ID)
		return settle(m.Body, sources)
	case view.Valued:
		note(sources, m.Link)
		m.Link, m.Body = "", settle(m.Body, sources)
		return m
	case view.Seq:
		m.Items = settleAll(m.Items, sources)
		return m
	case view.Frac:
		m.Num, m.Den = settle(m.Num, sources), settle(m.Den, sources)
		return m
	case view.Root:
		m.Body, m.Index = settle(m.Body, sources), settle(m.Index, sources)
		return m
	case view.Script:
		m.Base, m.Sub, m.Sup = settle(m.Base, sources), settle(m.Sub, sources), settle(m.Sup, sources)
		return m
	case view.Limits:
		m.Base, m.Under, m.Over = settle(m.Base, sources), settle(m.Under, sources), settle(m.Over, sources)
		return m
	case view.Grid:
		rows := make([][]view.Math, len(m.Rows))
		for i, r := range m.Rows {
			rows[i] = settleAll(r, sources)
		}
		m.Rows = rows
		return m
	case view.Styled:
		m.Body = settle(m.Body, sources)
		return m
	}
	return m
}

func settleAll(list []view.Math, sources *[]string) []view.Math {
	out := make([]view.Math, len(list))
	for i, m := range list {
		out[i] = settle(m, sources)
	}
	return out
}

// note adds a link to a list unless it is there.
func note(list *[]string, link string) {
	if list == nil || link == "" || slices.Contains(*list, link) {
		return
	}
	*list = append(*list, link)
}
