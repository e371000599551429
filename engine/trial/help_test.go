package trial

import (
	"math"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

var inf = math.Inf(1)

// from returns the value v that rests on one source of its own.
func from(id string, v float64, dist quantity.Dist, u, dof float64) quantity.Q {
	s := quantity.Source{ID: id, Label: id, Dist: dist, Value: v, U: u, DOF: dof}.New()
	return quantity.Uncertain(v, unit.Dim{}, quantity.Term{Source: s, C: 1})
}

func normal(id string, v, u float64) quantity.Q { return from(id, v, quantity.Normal, u, inf) }

// limits returns the value v with rectangular limits ±a.
func limits(id string, v, a float64) quantity.Q {
	return from(id, v, quantity.Rectangular, a/math.Sqrt(3), inf)
}

// reading returns the value v with a source that is the reading's own and a
// normal one that is common to all.
func reading(id string, v, ownU float64, common *quantity.Source) quantity.Q {
	own := quantity.Source{ID: id, Label: id, Dist: quantity.Rectangular, U: ownU, Own: quantity.Resolution}.New()
	return quantity.Uncertain(v, unit.Dim{}, quantity.Term{Source: own, C: 1}, quantity.Term{Source: common, C: 1})
}

func source(id string, u float64) *quantity.Source {
	return quantity.Source{ID: id, Label: id, U: u}.New()
}

// coefficients returns the coefficients of a fit with the given covariance.
func coefficients(id string, v []float64, cov [][]float64, dof float64) []quantity.Q {
	g := &quantity.Group{ID: id, Label: id, Cov: cov, DOF: dof}
	out := make([]quantity.Q, len(v))
	for i := range v {
		s := quantity.Source{
			ID: id + "/" + string(rune('0'+i)), Label: id, Dist: quantity.StudentT,
			U: math.Sqrt(cov[i][i]), DOF: dof, TypeA: true, Group: g, Index: i,
		}.New()
		g.Sources = append(g.Sources, s)
		out[i] = quantity.Uncertain(v[i], unit.Dim{}, quantity.Term{Source: s, C: 1})
	}
	return out
}

func square(q quantity.Q) quantity.Q { return q.Mul(q) }

func apply(op quantity.Op, q quantity.Q) quantity.Q { return q.Apply(op, unit.Dim{}) }

func run(t testing.TB, q quantity.Q, expanded float64, o Options) *Result {
	t.Helper()
	r, err := Run(q, expanded, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func draws(t testing.TB, q quantity.Q, o Options) []float64 {
	t.Helper()
	o, err := o.complete()
	if err != nil {
		t.Fatal(err)
	}
	p, err := compile(q)
	if err != nil {
		t.Fatal(err)
	}
	values := make([]float64, o.Trials)
	p.run(values, o)
	return values
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g ± %.2g", what, got, want, tolerance)
	}
}

func sameBits(t testing.TB, what string, a, b []float64) {
	t.Helper()
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			t.Fatalf("%s: draw %d is %v and %v", what, i, a[i], b[i])
		}
	}
}
