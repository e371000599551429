// Package quantity holds measured values: a number with its dimension, its
// sensitivities to the sources of uncertainty behind it, and the way it was
// computed. A source keeps its identity wherever its influence goes, so what
// two values share is correlated without anyone saying so.
//
// All numbers are in coherent SI units. Everything is immutable.
package quantity

import (
	"hash/fnv"
	"math"

	"example.org/taut/engine/unit"
)

// Dist is the distribution by which a source is described.
type Dist int

// The distributions of the record language.
const (
	Normal Dist = iota
	Rectangular
	Triangular
	Arcsine
	// StudentT is the scaled and shifted t distribution of JCGM 101, 6.4.9: a
	// Type A evaluation with few degrees of freedom.
	StudentT
)

func (d Dist) String() string {
	switch d {
	case Rectangular:
		return "rectangular"
	case Triangular:
		return "triangular"
	case Arcsine:
		return "arcsine"
	case StudentT:
		return "t"
	}
	return "normal"
}

// Own says whether a source belongs to one reading alone.
type Own int

// The ways in which a source may belong to a reading.
const (
	// Common is no reading's own: it may act on many.
	Common Own = iota
	// Resolution is what one reading cannot resolve. It also stands for the
	// identity of the reading, with an uncertainty of zero where the
	// instrument is not known.
	Resolution
	// Independent is any other uncertainty that is a fresh one at every
	// reading.
	Independent
)

// Source is one source of uncertainty. Two sources are the same if they have
// the same ID.
type Source struct {
	ID    string    // stable: no positions, so moving text changes nothing
	Label string    // what it is, for a reader of the budget
	Dist  Dist      //
	Value float64   // the estimate of the quantity that is uncertain
	Unit  unit.Unit // in which Value, U and Half are best shown
	U     float64   // standard uncertainty
	Half  float64   // half-width of the limits; 0 where there are none
	DOF   float64   // degrees of freedom; +Inf where not limited
	TypeA bool      // evaluated from repeated readings (GUM 4.2)

	Own        Own
	Instrument string // of a reading's own source, and of an instrument's

	// Group is the fit of which this source is coefficient Index; nil for a
	// source on its own.
	Group *Group
	Index int

	// Cells are the readings that a mean or a fit rests on.
	Cells []*Source

	// Origin is the place where the source was written, for those who know
	// what it is.
	Origin any

	hash uint64
}

// Group is the scatter of the coefficients of one fit: jointly distributed
// sources with one covariance matrix and one number of degrees of freedom.
type Group struct {
	ID      string
	Label   string
	Cov     [][]float64
	DOF     float64
	Sources []*Source
	Cells   []*Source
}

// New returns a finished copy of the source: its hash is set, and degrees of
// freedom of zero mean that they are not limited.
func (s Source) New() *Source {
	if s.DOF == 0 {
		s.DOF = math.Inf(1)
	}
	h := fnv.New64a()
	h.Write([]byte(s.ID))
	s.hash = h.Sum64()
	return &s
}

// Less orders sources by a hash of their IDs: an order that no block's
// position can change.
func (s *Source) Less(t *Source) bool {
	if s.hash != t.hash {
		return s.hash < t.hash
	}
	return s.ID < t.ID
}

// Same reports whether two sources are one.
func (s *Source) Same(t *Source) bool {
	return s == t || (s.hash == t.hash && s.ID == t.ID)
}

// Limit returns the greatest error that a source is taken to have in the
// school's reckoning of the maximum error: the half-width of its limits, else
// U if normal, t·u if it is of Type A. Factor gives the coverage factor for a
// number of degrees of freedom.
func (s *Source) Limit(factor func(dof float64) float64) float64 {
	if s.Half > 0 {
		return s.Half
	}
	return factor(s.DOF) * s.U
}

// Term is the sensitivity of a value to a source: C = ∂value/∂source.
type Term struct {
	Source *Source
	C      float64
}

// relativeZero is the size, relative to the sum of the magnitudes that went
// into it, below which a sensitivity is taken to have cancelled.
const relativeZero = 1e-13

// combine returns Σ k[i]·terms[i], sorted; sensitivities that cancel are left
// out.
func combine(k []float64, lists [][]Term) []Term {
	switch len(lists) {
	case 0:
		return nil
	case 1:
		return scale(k[0], lists[0])
	}
	n := len(lists)
	if n == 2 {
		return merge(k[0], lists[0], k[1], lists[1])
	}
	half := n / 2
	return merge(1, combine(k[:half], lists[:half]), 1, combine(k[half:], lists[half:]))
}

func scale(k float64, a []Term) []Term {
	if k == 1 || len(a) == 0 {
		return a
	}
	if k == 0 {
		return nil
	}
	out := make([]Term, len(a))
	for i, t := range a {
		out[i] = Term{t.Source, k * t.C}
	}
	return out
}

func merge(ka float64, a []Term, kb float64, b []Term) []Term {
	if len(b) == 0 || kb == 0 {
		return scale(ka, a)
	}
	if len(a) == 0 || ka == 0 {
		return scale(kb, b)
	}
	out := make([]Term, 0, len(a)+len(b))
	i, j := 0, 0
	for i < len(a) && j < len(b) {
		s, t := a[i].Source, b[j].Source
		switch {
		case s.Same(t):
			x, y := ka*a[i].C, kb*b[j].C
			if c := x + y; math.Abs(c) > relativeZero*(math.Abs(x)+math.Abs(y)) {
				out = append(out, Term{s, c})
			}
			i++
			j++
		case s.Less(t):
			out = append(out, Term{s, ka * a[i].C})
			i++
		default:
			out = append(out, Term{t, kb * b[j].C})
			j++
		}
	}
	for ; i < len(a); i++ {
		out = append(out, Term{a[i].Source, ka * a[i].C})
	}
	for ; j < len(b); j++ {
		out = append(out, Term{b[j].Source, kb * b[j].C})
	}
	return out
}
