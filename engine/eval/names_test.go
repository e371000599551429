package eval

import (
	"slices"
	"testing"

	"example.org/taut/engine/unit"
)

// TestNamesOf: columns beside each other are called by what tells them apart.
func TestNamesOf(t *testing.T) {
	second, one := unit.MustParse("s").Dim(), unit.Dim{}
	read := func(name string, d unit.Dim) *Column { return &Column{Name: name, Dim: d} }
	divided := func(a, b *Column) *Column { return &Column{Dim: a.Dim, Of: both(a, b)} }
	zero := read("t.zero", second)
	for _, c := range []struct {
		what string
		cols []*Column
		want []string
	}{
		{"of a table", []*Column{read("w.up", second), read("w.down", second)}, []string{"up", "down"}},
		{"of two tables", []*Column{read("a.up", second), read("b.up", second)}, []string{"a.up", "b.up"}},
		{"counts only scale", []*Column{divided(read("t.first", second), read("t.n", one)), divided(read("t.second", second), read("t.m", one))}, []string{"first", "second"}},
		{"what is shared does not tell", []*Column{divided(read("t.up", second), zero), divided(read("t.down", second), zero)}, []string{"up", "down"}},
		{"nothing to go by", []*Column{{Dim: second}, {Dim: second}}, []string{"", ""}},
		{"nothing to tell apart by", []*Column{divided(zero, zero), divided(zero, zero)}, []string{"", ""}},
		{"one alone", []*Column{divided(read("t.up", second), zero)}, []string{"up, zero"}},
	} {
		if got := NamesOf(c.cols); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, not %q", c.what, got, c.want)
		}
	}
}

// TestPooledNames: a role of several columns goes by its own name.
func TestPooledNames(t *testing.T) {
	a, b := &Column{Name: "w.left_a"}, &Column{Name: "w.left_b"}
	for want, args := range map[string][]Value{"clockwise": {List{Members: []Value{a, b}, Name: "clockwise"}}, "w.left_a w.left_b": {a, b}} {
		c := &Call{Args: args}
		got := ""
		for i, n := range c.pooled() {
			if i > 0 {
				got += " "
			}
			got += n
		}
		if got != want {
			t.Errorf("%q, not %q", got, want)
		}
	}
}
