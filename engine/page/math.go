package page

import (
	"strings"

	"example.org/taut/engine/view"
)

// settle returns mathematics as this page shows it: links only where they lead
// somewhere, numbers with the decimal sign of the page.
func (w *writer) settle(m view.Math) view.Math {
	switch m := m.(type) {
	case nil:
		return nil
	case view.Num:
		if w.page.Comma {
			m.Digits = strings.Replace(m.Digits, ".", ",", 1)
		}
		return m
	case view.Linked:
		if id := w.target(m.ID); id != "" {
			return view.Linked{ID: id, Body: w.settle(m.Body)}
		}
		return w.settle(m.Body)
	case view.Valued:
		return view.Valued{Value: m.Value, Link: w.target(m.Link), Body: w.settle(m.Body)}
	case view.Seq:
		return view.Seq{Items: w.settleAll(m.Items)}
	case view.Frac:
		return view.Frac{Num: w.settle(m.Num), Den: w.settle(m.Den), NoBar: m.NoBar}
	case view.Root:
		return view.Root{Body: w.settle(m.Body), Index: w.settle(m.Index)}
	case view.Script:
		return view.Script{Base: w.settle(m.Base), Sub: w.settle(m.Sub), Sup: w.settle(m.Sup)}
	case view.Limits:
		return view.Limits{Base: w.settle(m.Base), Under: w.settle(m.Under), Over: w.settle(m.Over), Accent: m.Accent}
	case view.Grid:
		rows := make([][]view.Math, len(m.Rows))
		for i, r := range m.Rows {
			rows[i] = w.settleAll(r)
		}
		return view.Grid{Rows: rows, Align: m.Align}
	case view.Styled:
		return view.Styled{Style: m.Style, Body: w.settle(m.Body)}
	}
	return m
}

func (w *writer) settleAll(list []view.Math) []view.Math {
	out := make([]view.Math, len(list))
	for i, m := range list {
		out[i] = w.settle(m)
	}
	return out
}
