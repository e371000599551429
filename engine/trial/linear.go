package trial

import (
	"math"

	"example.org/taut/engine/quantity"
)

// fanIn is the number of values that one pass adds up.
const fanIn = 4

// sum gathers a linear combination. Affine nodes are not computed for
// themselves: their terms join those of the whole, where much cancels.
type sum struct {
	b       *builder
	own     bool
	c       float64
	args    []operand
	factors []float64
	lists   [][]quantity.Term
}

// sum returns k·args[0] + l·args[1].
func (b *builder) sum(k, l float64, args []*quantity.Node, own bool) operand {
	s := sum{b: b, own: own}
	s.add(k, args[0])
	s.add(l, args[1])
	return s.done()
}

// include takes in k·terms as far as they act here.
func (s *sum) include(k float64, terms []quantity.Term) {
	if len(terms) == 0 || k == 0 {
		return
	}
	s.lists = append(s.lists, collect([]float64{1}, [][]quantity.Term{terms}, s.own))
	s.factors = append(s.factors, k)
}

// add takes in k times a node.
func (s *sum) add(k float64, n *quantity.Node) {
	if n.Op == quantity.Affine {
		s.c += float64(k * n.V)
		s.include(k, n.Terms)
		return
	}
	v := s.b.value(n, s.own)
	v.k *= k
	s.operand(v)
}

// operand takes in a value. Passes are emitted on the way, so that a mean of
// many readings does not hold all of them at once.
func (s *sum) operand(v operand) {
	if v.isNumber() {
		s.c += v.k
		return
	}
	s.args = append(s.args, v)
	if len(s.args) == fanIn {
		s.args = []operand{s.b.emit(step{op: opLinear, args: s.args})}
	}
}

func (s *sum) done() operand {
	terms := collect(s.factors, s.lists, true)
	switch {
	case len(s.args) == 0 && len(terms) == 0:
		return number(s.c)
	case len(s.args) == 1 && len(terms) == 0 && s.c == 0:
		return s.args[0]
	}
	return s.b.emit(step{op: opLinear, c: s.c, args: s.args, terms: terms})
}

// collect returns Σ k·terms, sorted by source, one term for each source that
// is drawn. What cancels is left out: the zero of a screw acts on every
// reading and leaves the slope alone.
func collect(k []float64, lists [][]quantity.Term, own bool) []quantity.Term {
	var all []quantity.Term
	for i, list := range lists {
		for _, t := range list {
			if isDrawn(t.Source) && (own || t.Source.Own == quantity.Common) {
				all = append(all, quantity.Term{Source: t.Source, C: k[i] * t.C})
			}
		}
	}
	if len(lists) < 2 {
		return all
	}
	sortBySource(all)
	out := all[:0]
	for i := 0; i < len(all); {
		sum, size, j := 0.0, 0.0, i
		for ; j < len(all) && all[j].Source.Same(all[i].Source); j++ {
			sum += all[j].C
			size += math.Abs(all[j].C)
		}
		if j == i+1 || math.Abs(sum) > 1e-13*float64(j-i)*size {
			out = append(out, quantity.Term{Source: all[i].Source, C: sum})
		}
		i = j
	}
	return out
}
