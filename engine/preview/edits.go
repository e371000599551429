package preview

import (
	"bytes"
	"strings"
)

// edit is one change of a page that is open. Of the node that is reached from
// the body by the numbers of the children on the way, either the attributes
// become those of a start tag, or children are taken away and others put in
// their place.
type edit struct {
	At  []int  `json:"at"`
	Tag string `json:"tag,omitempty"` // of the node
	// Of is how many children the node has before; -1 where nobody knows, and
	// all of them are taken away.
	Of   int    `json:"of,omitempty"`
	From int    `json:"from,omitempty"` // the first child that is taken away
	Drop int    `json:"drop,omitempty"` // how many are
	HTML string `json:"html,omitempty"` // of those that come in their place
}

// anew is the edit that makes a body of any other.
func anew(body []byte) []edit { return []edit{{At: []int{}, Of: -1, HTML: string(body)}} }

// edits are those that make the children of one node those of the other. What
// is the same in both is left alone, as are elements that are changed inside
// only. They are in the order in which they are to be made: from the end, so
// that the numbers of what comes before still hold.
func edits(old, next []node) []edit {
	c := &comparing{}
	c.children(old, next)
	return c.out
}

// comparing gathers edits.
type comparing struct {
	at  []int // where it is
	out []edit
}

// children compares the children of two nodes that are the same.
func (c *comparing) children(old, next []node) {
	from := matched(old, next)
	for i, j := len(old), len(next); i > 0 || j > 0; {
		if j > 0 && i > 0 && from[j-1] == i-1 {
			i, j = i-1, j-1
			c.become(i, old[i], next[j])
			continue
		}
		k, l := 0, j // what stands from there on has no match
		for l > 0 && from[l-1] < 0 {
			l--
		}
		if l > 0 {
			k = from[l-1] + 1
		}
		c.out = append(c.out, edit{At: c.here(), Of: i + len(next) - j, From: k, Drop: i - k, HTML: whole(next[l:j])})
		i, j = k, l
	}
}

func (c *comparing) here() []int { return append([]int{}, c.at...) }

// whole is nodes as they stand in the page.
func whole(list []node) string {
	var b strings.Builder
	for _, n := range list {
		b.Write(n.whole())
	}
	return b.String()
}

// become makes the ith child another one of the same kind.
func (c *comparing) become(i int, old, next node) {
	if bytes.Equal(old.whole(), next.whole()) {
		return
	}
	c.at = append(c.at, i)
	c.children(old.children(), next.children())
	if !bytes.Equal(old.tag(), next.tag()) {
		c.out = append(c.out, edit{At: c.here(), Tag: string(next.tag())})
	}
	c.at = c.at[:len(c.at)-1]
}

// kin tells whether one node can become the other.
func kin(a, b node) bool {
	return len(a.tag()) > 0 && len(b.tag()) > 0 && bytes.Equal(nameOf(a.tag()), nameOf(b.tag())) && bytes.Equal(idOf(a.tag()), idOf(b.tag())) && !a.isAtom() && !b.isAtom()
}

// matched finds for each of the next nodes the old one that becomes it, by its
// number, in rising order; -1 for none.
func matched(old, next []node) []int {
	from := make([]int, len(next))
	for j := range from {
		from[j] = -1
	}
	same := func(i, j int) bool { return bytes.Equal(old[i].whole(), next[j].whole()) }
	start := 0
	for start < len(old) && start < len(next) && same(start, start) {
		from[start] = start
		start++
	}
	i, j := len(old), len(next)
	for i > start && j > start && same(i-1, j-1) {
		i, j = i-1, j-1
		from[j] = i
	}
	k, l := start, start // up to there all is matched
	for _, pair := range common(old[start:i], next[start:j]) {
		gap(old, next, from, k, start+pair[0], l, start+pair[1])
		k, l = start+pair[0], start+pair[1]
		from[l] = k
		k, l = k+1, l+1
	}
	gap(old, next, from, k, i, l, j)
	return from
}

// gap matches kin between two nodes that are matched.
func gap(old, next []node, from []int, i, toI, j, toJ int) {
	for ; j < toJ; j++ {
		for k := i; k < toI; k++ {
			if kin(old[k], next[j]) {
				from[j], i = k, k+1
				break
			}
		}
	}
}

// mostCompared bounds the work on children of one node.
const mostCompared = 4_000_000

// common is the longest list of nodes that stand in both lists in that order,
// by their numbers there.
func common(old, next []node) (pairs [][2]int) {
	n, m := len(old), len(next)
	if n == 0 || m == 0 || n*m > mostCompared {
		return nil
	}
	numbers := map[string]int32{}
	x, y := numbered(old, numbers), numbered(next, numbers)
	best := make([]int32, (n+1)*(m+1)) // of what follows
	at := func(i, j int) *int32 { return &best[i*(m+1)+j] }
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			if x[i] == y[j] {
				*at(i, j) = *at(i+1, j+1) + 1
			} else {
				*at(i, j) = max(*at(i+1, j), *at(i, j+1))
			}
		}
	}
	for i, j := 0, 0; i < n && j < m; {
		switch {
		case x[i] == y[j]:
			pairs = append(pairs, [2]int{i, j})
			i, j = i+1, j+1
		case *at(i+1, j) >= *at(i, j+1):
			i++
		default:
			j++
		}
	}
	return pairs
}

// numbered gives the same number to what is the same.
func numbered(list []node, numbers map[string]int32) []int32 {
	out := make([]int32, len(list))
	for i, n := range list {
		number, ok := numbers[string(n.whole())]
		if !ok {
			number = int32(len(numbers))
			numbers[string(n.whole())] = number
		}
		out[i] = number
	}
	return out
}
