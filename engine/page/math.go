package page

import (
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

// math writes mathematics of the view within a line.
func (w *writer) math(m view.Math) {
	if m != nil {
		w.markup(tex.Options{Comma: w.page.Comma}.MathML(settle(m)))
	}
}

// settle returns mathematics without links: within a formula, assistive
// technology does not reach them.
func settle(m view.Math) view.Math {
	switch m := m.(type) {
	case view.Linked:
		return settle(m.Body)
	case view.Valued:
		m.Link, m.Body = "", settle(m.Body)
		return m
	case view.Seq:
		m.Items = settleAll(m.Items)
		return m
	case view.Frac:
		m.Num, m.Den = settle(m.Num), settle(m.Den)
		return m
	case view.Root:
		m.Body, m.Index = settle(m.Body), settle(m.Index)
		return m
	case view.Script:
		m.Base, m.Sub, m.Sup = settle(m.Base), settle(m.Sub), settle(m.Sup)
		return m
	case view.Limits:
		m.Base, m.Under, m.Over = settle(m.Base), settle(m.Under), settle(m.Over)
		return m
	case view.Grid:
		rows := make([][]view.Math, len(m.Rows))
		for i, r := range m.Rows {
			rows[i] = settleAll(r)
		}
		m.Rows = rows
		return m
	case view.Styled:
		m.Body = settle(m.Body)
		return m
	}
	return m
}

func settleAll(list []view.Math) []view.Math {
	out := make([]view.Math, len(list))
	for i, m := range list {
		out[i] = settle(m)
	}
	return out
}
