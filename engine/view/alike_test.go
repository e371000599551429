package view_test

import (
	"testing"

	"example.org/taut/engine/view"
)

func TestAlike(t *testing.T) {
	n := func(digits string) view.Math { return view.Num{Digits: digits} }
	row := func(items ...view.Math) view.Math { return view.Seq{Items: items} }
	two := func(m view.Math) view.Math {
		return row(view.Frac{Num: m, Den: n("2")}, view.Root{Body: m}, view.Script{Base: m, Sup: n("2")}, view.Limits{Base: m, Over: n("3")},
			view.Styled{Style: "bold", Body: m}, view.Grid{Rows: [][]view.Math{{m}}}, view.Measure{Number: m, Unit: "mm"})
	}
	behind := view.Linked{ID: "q-x", Body: view.Valued{Value: 0.004, Link: "x", Body: n("4")}}
	if !view.Alike(two(behind), two(n("4"))) {
		t.Error("a value and a link make it read otherwise")
	}
	for _, other := range []view.Math{two(n("5")), two(view.Words{Text: "4"}), two(row(n("4"))), row(), n("4"), nil,
		row(view.Frac{Num: n("4"), Den: n("2"), NoBar: true})} {
		if view.Alike(two(behind), other) {
			t.Errorf("reads like %#v", other)
		}
	}
	if view.Alike(view.Measure{Number: n("4"), Unit: "mm"}, view.Measure{Number: n("4"), Unit: "m"}) {
		t.Error("units are not told apart")
	}
}
