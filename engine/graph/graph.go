// Package graph puts definitions into the order in which they can be computed
// and finds the circles among them. It knows no values.
package graph

import (
	"math/bits"
	"slices"

	"example.org/taut/engine/source"
)

// Def is a definition and what it uses. Name is the full name.
type Def struct {
	Name string
	At   source.Span
	Uses []Use
}

// Use is one use of a name. Target is the index of the definition that the
// caller found for it; a negative one, or one beyond the last definition, is
// no dependency.
type Use struct {
	Name   string
	At     source.Span
	Target int
}

// Order returns the indices of the definitions in the order of computation:
// again and again the first definition, in the order given, of which all that
// it uses has been computed. Definitions that use themselves, directly or
// through others, and all that depend on those, are not in it.
//
// Each circle in cycles is told step by step: every definition uses the next,
// the last one the first, and the first is the one given earliest. The circles
// have no definition in common and come in the order of their first ones.
// Wherever definitions depend on each other, at least one circle among them is
// told, the shortest that is easily had; the rest of them only wait for it.
//
// Time is linear in the number of definitions and uses; nothing recurs.
func Order(defs []Def) (order []int, cycles [][]int) {
	g := newNet(defs)
	order = g.settle()
	if len(order) < len(defs) {
		cycles = g.circles()
	}
	return order, cycles
}

// net is the graph as two flat lists: the targets of definition i are
// to[start[i]:start[i+1]], its dependents from[users[i]:users[i+1]].
type net struct {
	n            int
	start, to    []int
	users, from  []int
	waits        []int // uses that are not computed yet; -1 once computed itself
	state        []int // of the search for circles: stacked or done
	place        []int // place on the stack
	told, parent []int
}

func newNet(defs []Def) *net {
	n := len(defs)
	g := &net{n: n, start: make([]int, n+1), users: make([]int, n+1), waits: make([]int, n)}
	for i, d := range defs {
		for _, u := range d.Uses {
			if 0 <= u.Target && u.Target < n {
				g.to = append(g.to, u.Target)
				g.users[u.Target+1]++
				g.waits[i]++
			}
		}
		g.start[i+1] = len(g.to)
	}
	for i := range n {
		g.users[i+1] += g.users[i]
	}
	g.from = make([]int, len(g.to))
	fill := slices.Clone(g.users)
	for i := range n {
		for _, t := range g.targets(i) {
			g.from[fill[t]] = i
			fill[t]++
		}
	}
	return g
}

func (g *net) targets(i int) []int { return g.to[g.start[i]:g.start[i+1]] }

// settle computes what can be computed.
func (g *net) settle() []int {
	order := make([]int, 0, g.n)
	ready := newQueue(g.n)
	for i, w := range g.waits {
		if w == 0 {
			ready.add(i)
		}
	}
	for i := ready.first(); i >= 0; i = ready.first() {
		order = append(order, i)
		g.waits[i] = -1
		for _, d := range g.from[g.users[i]:g.users[i+1]] {
			if g.waits[d]--; g.waits[d] == 0 {
				ready.add(d)
			}
		}
	}
	return order
}

// circles searches what settle left, in depth. A use of a definition on the
// stack closes a circle; it is told unless it touches one told before.
func (g *net) circles() (out [][]int) {
	const stacked, done = 1, 2
	g.state, g.place = make([]int, g.n), make([]int, g.n)
	g.told, g.parent = make([]int, g.n), make([]int, g.n)
	next := slices.Clone(g.start[:g.n])
	var stack, lastTold []int // lastTold: the highest told place at or below each
	push := func(i int) {
		g.state[i], g.place[i] = stacked, len(stack)
		below := -1
		if len(stack) > 0 {
			below = lastTold[len(stack)-1]
		}
		stack, lastTold = append(stack, i), append(lastTold, below)
	}
	for root := range g.n {
		if g.waits[root] < 0 || g.state[root] != 0 {
			continue
		}
		push(root)
		for len(stack) > 0 {
			top := len(stack) - 1
			i := stack[top]
			if next[i] == g.start[i+1] {
				g.state[i] = done
				stack, lastTold = stack[:top], lastTold[:top]
				continue
			}
			t := g.to[next[i]]
			next[i]++
			switch {
			case g.waits[t] < 0:
			case g.state[t] == 0:
				push(t)
			case g.state[t] == stacked && lastTold[top] < g.place[t]:
				for k := g.place[t]; k <= top; k++ {
					g.told[stack[k]] = len(out) + 1
					lastTold[k] = k
				}
				out = append(out, g.shortest(stack[g.place[t]:], len(out)+1))
			}
		}
	}
	slices.SortFunc(out, func(a, b []int) int { return a[0] - b[0] })
	return out
}

// shortest returns the shortest circle through the first definition of a
// circle that uses no others than that circle's, which are told under mark.
func (g *net) shortest(circle []int, mark int) []int {
	first := slices.Min(circle)
	for _, i := range circle {
		g.parent[i] = -1
	}
	queue := []int{first}
	for k := 0; ; k++ {
		i := queue[k]
		for _, t := range g.targets(i) {
			if t == first {
				return g.path(first, i)
			}
			if g.told[t] == mark && g.parent[t] < 0 {
				g.parent[t] = i
				queue = append(queue, t)
			}
		}
	}
}

// path follows parents back from last to first and returns them in the order
// of use.
func (g *net) path(first, last int) []int {
	out := []int{last}
	for i := last; i != first; {
		i = g.parent[i]
		out = append(out, i)
	}
	slices.Reverse(out)
	return out
}

// queue is a set of numbers below n that gives back its least. Each level has
// one bit for each word of the level below that is not zero.
type queue [][]uint64

func newQueue(n int) queue {
	var q queue
	for {
		n = (n + 63) / 64
		q = append(q, make([]uint64, n))
		if n <= 1 {
			return q
		}
	}
}

func (q queue) add(i int) {
	for _, level := range q {
		level[i/64] |= 1 << (i % 64)
		i /= 64
	}
}

// first takes the least number out and returns it; -1 if there is none.
func (q queue) first() int {
	top := q[len(q)-1]
	if len(top) == 0 || top[0] == 0 {
		return -1
	}
	i := 0
	for k := len(q) - 1; k >= 0; k-- {
		i = i*64 + bits.TrailingZeros64(q[k][i])
	}
	for j, k := i, 0; k < len(q); k++ {
		q[k][j/64] &^= 1 << (j % 64)
		if q[k][j/64] != 0 {
			break
		}
		j /= 64
	}
	return i
}
