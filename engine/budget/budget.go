// Package budget works out uncertainty budgets: the contributions of the
// sources (GUM clause 8, EA-4/02 clause 4), the effective degrees of freedom by
// Welch and Satterthwaite and the coverage factor (GUM annex G), and the
// school's maximum error by logarithmic differentiation.
package budget

import (
	"math"
	"sort"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// Coverage is a coverage factor and what it gives.
type Coverage struct {
	U        float64 // combined standard uncertainty
	DOF      float64 // effective degrees of freedom, unrounded; +Inf where not limited
	K        float64 // coverage factor: t at the truncated degrees of freedom
	Expanded float64
}

// Expand returns the expanded uncertainty of a quantity for a coverage
// probability p (GUM G.6.4).
func Expand(q quantity.Q, p float64) Coverage {
	u, nu := q.UDOF()
	k := stat.CoverageFactor(p, nu)
	return Coverage{U: u, DOF: nu, K: k, Expanded: k * u}
}

// Line is one line of a budget.
type Line struct {
	Label    string
	Value    float64 // estimate of the source
	Unit     unit.Unit
	Dist     string
	U        float64 // standard uncertainty of the source
	DOF      float64
	C        float64 // sensitivity coefficient; 0 with HasC false for several coefficients of one fit
	HasC     bool
	Contrib  float64 // |c|·u
	Share    float64 // of the variance
	Limit    float64 // |c|·(greatest error), of the maximum error
	TypeA    bool
	Origin   any
	SourceID string
	// Instrument is that of the readings behind the source; "" where there is
	// none.
	Instrument string
}

// Budget is an uncertainty budget.
type Budget struct {
	Coverage
	Value float64
	Dim   unit.Dim
	Lines []Line // the greatest contribution first
	// Maximum is the sum of the greatest errors: the school's maximum error.
	Maximum float64
}

// New works out the budget of a quantity for a coverage probability p.
func New(q quantity.Q, p float64) *Budget {
	b := &Budget{Coverage: Expand(q, p), Value: q.Value(), Dim: q.Dim()}
	factor := func(dof float64) float64 { return stat.CoverageFactor(p, dof) }
	for _, c := range q.Contributions() {
		l := line(c, factor)
		l.Share = 0
		if b.U > 0 {
			r := l.Contrib / b.U
			l.Share = r * r
		}
		b.Lines = append(b.Lines, l)
		b.Maximum += l.Limit
	}
	sort.SliceStable(b.Lines, func(i, j int) bool {
		x, y := b.Lines[i], b.Lines[j]
		if math.Abs(x.Contrib-y.Contrib) > 1e-12*math.Max(x.Contrib, y.Contrib) {
			return x.Contrib > y.Contrib
		}
		return x.SourceID < y.SourceID
	})
	return b
}

func line(c quantity.Contribution, factor func(float64) float64) Line {
	l := Line{Contrib: c.U, DOF: c.DOF}
	if s := c.Source; s != nil {
		l.Label, l.Value, l.Unit, l.Dist, l.U = s.Label, s.Value, s.Unit, s.Dist.String(), s.U
		l.C, l.HasC, l.TypeA, l.Origin, l.SourceID = c.C, true, s.TypeA, s.Origin, s.ID
		l.Instrument = s.Instrument
		l.Limit = math.Abs(c.C) * s.Limit(factor)
		if s.Dist == quantity.Normal && !math.IsInf(s.DOF, 1) {
			l.Dist = quantity.StudentT.String()
		}
		return l
	}
	g := c.Group
	l.Label, l.SourceID, l.TypeA = g.Label, g.ID, true
	l.Dist = quantity.StudentT.String()
	if math.IsInf(g.DOF, 1) {
		l.Dist = quantity.Normal.String()
	}
	l.Limit = factor(g.DOF) * c.U
	return l
}
