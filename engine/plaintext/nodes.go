package plaintext

import (
	"strings"

	"example.org/taut/engine/view"
)

// nodes shows what the blocks of a record show.
func (w *writer) nodes(list []view.Node) {
	for _, n := range list {
		w.node(n)
	}
}

func (w *writer) node(n view.Node) {
	switch n := n.(type) {
	case *view.Prose:
		in := &writer{doc: n, width: w.width}
		in.blocks(children(n.Doc.Root))
		w.add(in.done())
	case *view.Group:
		w.nodes(n.Nodes)
	case *view.Paragraph:
		w.add(wrap(runs(n.Text), w.width))
	case *view.Fold:
		w.add(wrap(runs(n.Text), w.width))
	case *view.Table:
		w.table(n)
	case *view.Steps:
		w.steps(n)
	case *view.Facts:
		w.facts(n)
	case *view.Figure:
		w.figure(n.Title, n.Desc)
	case *view.Chart:
		w.figure(n.Title, n.Desc)
	case *view.Bars:
		w.bars(n)
	case *view.Heading:
		w.title(runs(n.Text), n.Level)
	case *view.Notice:
		for _, f := range n.Findings {
			w.add(wrap(f.Severity.String()+": "+f.Slug+": "+f.Full(), w.width))
		}
	case *view.Warning:
		w.add(indent("Safety\n"+w.inner(2, func(in *writer) { in.node(n.Body) }), "! ", "! "))
	case *view.Source:
		w.add(indent(n.Text, "    ", "    "))
	case *view.Marks, *view.Ruled: // of a sheet on paper
	default:
		w.add("(shown on the page only)")
	}
}

func (w *writer) figure(title, desc string) {
	if title != "" {
		title += ": "
	}
	w.add(wrap("[graph] "+title+desc, w.width))
}

func (w *writer) bars(b *view.Bars) {
	l := &layout{rows: [][]string{{b.Title, ""}}, right: []bool{false, true}}
	for _, i := range b.Items {
		l.rows = append(l.rows, []string{i.Label, i.Text})
	}
	w.add(l.write(w.width))
}

func (w *writer) facts(f *view.Facts) {
	w.add(wrap(runs(f.Title), w.width))
	wide := 0
	for _, i := range f.Items {
		wide = max(wide, columns(runs(i.Term)))
	}
	var out []string
	for _, i := range f.Items {
		term := runs(i.Term)
		pad := strings.Repeat(" ", wide-columns(term)+2)
		out = append(out, indent(wrap(runs(i.Text), max(w.width-wide-4, 20)), "  "+term+pad, strings.Repeat(" ", wide+4)))
	}
	w.add(strings.Join(out, "\n"))
}

// steps shows a calculation, a line for each stage.
func (w *writer) steps(s *view.Steps) {
	w.add(wrap(s.Title, w.width))
	var out []string
	for i := range s.Steps {
		st := &s.Steps[i]
		symbol := formula(st.Symbol)
		var sides []string
		for _, m := range st.Stages {
			sides = append(sides, formula(m))
		}
		if len(st.Result) > 0 {
			sides = append(sides, runs(st.Result))
		}
		lead := "  " + symbol + " = "
		for n, side := range sides {
			if n > 0 {
				lead = strings.Repeat(" ", columns(symbol)+2) + " = "
			}
			if n+1 == len(sides) && st.Label != "" {
				side += "    (" + runs(view.Inline(st.Label)) + ")"
			}
			out = append(out, lead+side)
		}
	}
	w.add(strings.Join(out, "\n"))
}
