package view_test

import (
	"reflect"
	"testing"

	"example.org/taut/engine/view"
)

// TestInline: a label is one line of Markdown, whatever it begins with.
func TestInline(t *testing.T) {
	for _, c := range []struct {
		label string
		want  view.Text
	}{
		{"", nil},
		{"load at **each** end", view.Text{view.Plain("load at "), view.Strong("each"), view.Plain(" end")}},
		{"such as `2 * m * table.r^2`", view.Text{view.Plain("such as "), view.Code("2 * m * table.r^2")}},
		{"*one* of rest_k_1", view.Text{view.Emph("one"), view.Plain(" of rest_k_1")}},
		{"1. the `first`", view.Text{view.Plain("1. the "), view.Code("first")}},
		{"# `a`", view.Text{view.Plain("# "), view.Code("a")}},
		{`a \* b &amp; [c](http://d) <b>`, view.Text{view.Plain("a * b & c <b>")}},
		{"a ` that nothing closes", view.Text{view.Plain("a ` that nothing closes")}},
	} {
		if got := view.Inline(c.label); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%q: %#v, want %#v", c.label, got, c.want)
		}
	}
}
