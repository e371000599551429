package eval

import (
	"slices"
	"strings"
)

// origins names a column, or what it goes back to.
func (c *Column) origins() []string {
	if c.Name != "" {
		return []string{c.Name}
	}
	return c.Of
}

// both names what two columns go back to that were joined row by row. A column
// of pure numbers, such as counts of swings, only scales the other.
func both(a, b *Column) []string {
	switch {
	case a.Dim.IsOne() && !b.Dim.IsOne():
		return b.origins()
	case b.Dim.IsOne() && !a.Dim.IsOne():
		return a.origins()
	}
	return union(a.origins(), b.origins())
}

func union(a, b []string) []string {
	out := slices.Clone(a)
	for _, n := range b {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// pooled names what the columns of all arguments go back to: a role of several
// columns goes by its own name.
func (c *Call) pooled() []string {
	var out []string
	for _, a := range c.Args {
		switch a := a.(type) {
		case *Column:
			out = union(out, a.origins())
		case List:
			if a.Name != "" {
				out = union(out, []string{a.Name})
				continue
			}
			for _, m := range a.Members {
				if col, ok := m.(*Column); ok {
					out = union(out, col.origins())
				}
			}
		}
	}
	return out
}

// NamesOf names columns that stand beside each other, each by its own name or
// by what it alone goes back to. The tables are named where columns of several
// have one name; "" stands for a column with nothing to call it by, or with
// what others are called by.
func NamesOf(cols []*Column) []string {
	whole, short := make([]string, len(cols)), make([]string, len(cols))
	for i, c := range cols {
		own := c.origins()
		if c.Name == "" && len(cols) > 1 {
			own = slices.DeleteFunc(slices.Clone(own), func(n string) bool { return inAll(n, cols) })
		}
		whole[i] = strings.Join(own, ", ")
		own = slices.Clone(own)
		for k, n := range own {
			own[k] = n[strings.LastIndexByte(n, '.')+1:]
		}
		short[i] = strings.Join(own, ", ")
	}
	for i, c := range cols {
		switch {
		case times(short[i], short) == 1:
			whole[i] = short[i]
		case c.Name == "" && times(whole[i], whole) > 1:
			whole[i] = ""
		}
	}
	return whole
}

func inAll(name string, cols []*Column) bool {
	return !slices.ContainsFunc(cols, func(c *Column) bool { return !slices.Contains(c.origins(), name) })
}

func times(name string, names []string) int {
	n := 0
	for _, s := range names {
		if s == name {
			n++
		}
	}
	return n
}
