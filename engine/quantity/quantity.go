package quantity

import (
	"math"

	"example.org/taut/engine/unit"
)

// Q is a quantity: a value in coherent SI units with its dimension and
// uncertainty. The zero Q is the exact number 0.
type Q struct {
	dim  unit.Dim
	node *Node
}

var zero = &Node{}

// Exact returns a quantity without uncertainty.
func Exact(v float64, dim unit.Dim) Q { return Q{dim, &Node{V: v}} }

// Number returns an exact pure number.
func Number(v float64) Q { return Q{node: &Node{V: v}} }

// Uncertain returns the value v that rests on sources with the given
// sensitivities, in any order.
func Uncertain(v float64, dim unit.Dim, terms ...Term) Q {
	var lists [][]Term
	var k []float64
	for i := range terms {
		if terms[i].C != 0 {
			lists, k = append(lists, terms[i:i+1]), append(k, 1)
		}
	}
	return Q{dim, &Node{V: v, Terms: combine(k, lists)}}
}

// Node returns how the quantity was computed.
func (q Q) Node() *Node {
	if q.node == nil {
		return zero
	}
	return q.node
}

// Value returns the estimate in coherent SI units.
func (q Q) Value() float64 { return q.Node().V }

// Dim returns the dimension.
func (q Q) Dim() unit.Dim { return q.dim }

// Terms returns the sensitivities, sorted by source. It must not be changed.
func (q Q) Terms() []Term { return q.Node().Terms }

// WithDim returns the same value with another dimension.
func (q Q) WithDim(d unit.Dim) Q { return Q{d, q.Node()} }

// ValueOnly returns the estimate as an exact quantity.
func (q Q) ValueOnly() Q { return Exact(q.Value(), q.dim) }

// IsUncertain reports whether the quantity has an uncertainty.
func (q Q) IsUncertain() bool {
	for _, t := range q.Terms() {
		if t.Source.U > 0 {
			return true
		}
	}
	return false
}

// Finite reports whether the value and its sensitivities are finite numbers.
func (q Q) Finite() bool {
	n := q.Node()
	if math.IsNaN(n.V) || math.IsInf(n.V, 0) {
		return false
	}
	for _, t := range n.Terms {
		if math.IsNaN(t.C) || math.IsInf(t.C, 0) {
			return false
		}
	}
	return true
}

// Contribution is what one source, or the scatter of one fit, contributes.
type Contribution struct {
	Source *Source // nil for a fit of which several coefficients act
	Group  *Group  // nil for a source on its own
	C      float64 // sensitivity; for a Group with one coefficient, to that
	U      float64 // |c|·u, or √(cᵀVc)
	DOF    float64
}

// Contributions lists what each source contributes to the combined standard
// uncertainty, in the order of the sources' IDs' hashes; the coefficients of
// one fit are one contribution. Sources without uncertainty are left out.
func (q Q) Contributions() []Contribution {
	var out []Contribution
	groups := map[string]int{}
	terms := q.Terms()
	for i, t := range terms {
		s := t.Source
		if s.Group == nil {
			if s.U > 0 {
				out = append(out, Contribution{Source: s, C: t.C, U: math.Abs(t.C) * s.U, DOF: s.DOF})
			}
			continue
		}
		if _, done := groups[s.Group.ID]; done {
			continue
		}
		groups[s.Group.ID] = i
		out = append(out, groupContribution(s.Group, terms[i:]))
	}
	kept := out[:0]
	for _, c := range out {
		if c.U > 0 {
			kept = append(kept, c)
		}
	}
	return kept
}

func groupContribution(g *Group, terms []Term) Contribution {
	var of []Term
	for _, t := range terms {
		if t.Source.Group != nil && t.Source.Group.ID == g.ID {
			of = append(of, t)
		}
	}
	v := 0.0
	for _, a := range of {
		for _, b := range of {
			v += float64(a.C*b.C) * g.Cov[a.Source.Index][b.Source.Index]
		}
	}
	c := Contribution{Group: g, U: math.Sqrt(max(v, 0)), DOF: g.DOF}
	if len(of) == 1 {
		c.Source, c.C = of[0].Source, of[0].C
	}
	return c
}

// U returns the combined standard uncertainty (GUM 5.1.2 and, for the
// coefficients of a fit, 5.2.2).
func (q Q) U() float64 {
	u, _ := q.UDOF()
	return u
}

// DOF returns the effective degrees of freedom by Welch and Satterthwaite
// (GUM G.4.1), unrounded; +Inf where no source limits them.
func (q Q) DOF() float64 {
	_, nu := q.UDOF()
	return nu
}

// UDOF returns the combined standard uncertainty and the effective degrees of
// freedom.
func (q Q) UDOF() (u, dof float64) {
	cs := q.Contributions()
	biggest := 0.0
	for _, c := range cs {
		biggest = max(biggest, c.U)
	}
	if biggest == 0 {
		return 0, math.Inf(1)
	}
	sum, quart := 0.0, 0.0
	for _, c := range cs {
		r := c.U / biggest
		sum += float64(r * r)
		if !math.IsInf(c.DOF, 1) {
			quart += float64(r*r*r*r) / c.DOF
		}
	}
	u = biggest * math.Sqrt(sum)
	if quart == 0 {
		return u, math.Inf(1)
	}
	return u, sum * sum / quart
}

// Covariance returns the covariance of two quantities through the sources
// that they share.
func Covariance(a, b Q) float64 {
	sum := 0.0
	for _, s := range a.Terms() {
		for _, t := range b.Terms() {
			switch {
			case s.Source.Group != nil && t.Source.Group != nil:
				if s.Source.Group.ID == t.Source.Group.ID {
					sum += float64(s.C*t.C) * s.Source.Group.Cov[s.Source.Index][t.Source.Index]
				}
			case s.Source.Same(t.Source):
				sum += float64(s.C*t.C) * float64(s.Source.U*s.Source.U)
			}
		}
	}
	return sum
}

// Correlation returns the correlation coefficient of two quantities, 0 where
// one of them has no uncertainty.
func Correlation(a, b Q) float64 {
	ua, ub := a.U(), b.U()
	if ua == 0 || ub == 0 {
		return 0
	}
	return min(1, max(-1, Covariance(a, b)/ua/ub))
}
