package view

import "reflect"

// Alike reports whether two pieces of mathematics read alike, whatever values
// and links are behind them.
func Alike(a, b Math) bool { return reflect.DeepEqual(unlinked(a), unlinked(b)) }

// unlinked is a piece without values and links.
func unlinked(m Math) Math {
	switch m := m.(type) {
	case Valued:
		return unlinked(m.Body)
	case Linked:
		return unlinked(m.Body)
	case Measure:
		return Measure{Number: unlinked(m.Number), Unit: m.Unit}
	case Seq:
		return Seq{Items: unlinkedAll(m.Items)}
	case Frac:
		return Frac{Num: unlinked(m.Num), Den: unlinked(m.Den), NoBar: m.NoBar}
	case Root:
		return Root{Body: unlinked(m.Body), Index: unlinked(m.Index)}
	case Script:
		return Script{Base: unlinked(m.Base), Sub: unlinked(m.Sub), Sup: unlinked(m.Sup)}
	case Limits:
		return Limits{Base: unlinked(m.Base), Under: unlinked(m.Under), Over: unlinked(m.Over), Accent: m.Accent}
	case Grid:
		rows := make([][]Math, len(m.Rows))
		for i, r := range m.Rows {
			rows[i] = unlinkedAll(r)
		}
		return Grid{Rows: rows, Align: m.Align}
	case Styled:
		return Styled{Style: m.Style, Body: unlinked(m.Body)}
	}
	return m
}

func unlinkedAll(list []Math) []Math {
	out := make([]Math, len(list))
	for i, m := range list {
		out[i] = unlinked(m)
	}
	return out
}
