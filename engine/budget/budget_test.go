package budget_test

import (
	"math"
	"testing"

	"example.org/taut/engine/budget"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g ± %g", what, got, want, tol)
	}
}

func from(v float64, s quantity.Source) quantity.Q {
	s.Value = v
	return quantity.Uncertain(v, unit.Dim{}, quantity.Term{Source: s.New(), C: 1})
}

func rectangular(id string, half, dof float64) quantity.Source {
	return quantity.Source{ID: id, Label: id, Dist: quantity.Rectangular, Half: half, U: half / math.Sqrt(3), DOF: dof}
}

// TestEndGauge holds a budget to the end gauge of JCGM 100:2008 (GUM), H.1.7,
// table H.1: contributions 25, 9.7, 2.9 and 16.6 nm (the last from the
// unrounded u = 0.05/√3 K), and U99 of 93 nm, where the GUM multiplies rounded
// numbers; unrounded it is 92.5 nm.
func TestEndGauge(t *testing.T) {
	ls := from(50000623, quantity.Source{ID: "standard", U: 25, DOF: 18})
	d := from(215, quantity.Source{ID: "difference", U: math.Sqrt(13*13/5.0 + 100/2.57/2.57 + 400/9.0), DOF: 25.6})
	alphaS := from(11.5e-6, rectangular("expansion", 2e-6, 0))
	theta := from(-0.1, quantity.Source{ID: "temperature", U: math.Hypot(0.2, 0.5/math.Sqrt2)})
	dalpha := from(0, rectangular("difference of expansions", 1e-6, 50))
	dtheta := from(0, rectangular("difference of temperatures", 0.05, 2))
	l := ls.Add(d).Sub(ls.Mul(dalpha.Mul(theta).Add(alphaS.Mul(dtheta))))
	b := budget.New(l, 0.99)
	want := map[string]float64{"standard": 25, "difference": 9.7, "difference of expansions": 2.9, "difference of temperatures": 16.6}
	for _, line := range b.Lines {
		near(t, "contribution of "+line.SourceID, line.Contrib, want[line.SourceID], 0.05)
		delete(want, line.SourceID)
	}
	if len(want) > 0 {
		t.Errorf("no lines for %v", want)
	}
	if b.Lines[0].SourceID != "standard" || b.Lines[1].SourceID != "difference of temperatures" {
		t.Errorf("the greatest contributions do not come first: %s, %s", b.Lines[0].SourceID, b.Lines[1].SourceID)
	}
	near(t, "u", b.U, 32, 0.5)
	near(t, "ν", b.DOF, 16.7, 0.05)
	near(t, "k = t99(16)", b.K, 2.92, 0.005)
	near(t, "U99", b.Expanded, 92.5, 0.1)
	sum := 0.0
	for _, line := range b.Lines {
		sum += line.Share
	}
	near(t, "sum of the shares", sum, 1, 1e-12)
}

// TestMaximumError is the school's reckoning by logarithmic differentiation for
// E = 4gL/(πd²b) (common practice): ΔE/E = Δg/g + ΔL/L + 2Δd/d + Δb/b, a linear
// sum of limits. Limits count in full, a normal source with its U, a Type A one
// with t·u.
func TestMaximumError(t *testing.T) {
	g, L, d, slope := 9.81, 2.5, 0.5e-3, 6.25e-4
	qg := from(g, rectangular("g", 0.02, 0))
	qL := from(L, rectangular("L", 2e-3, 0))
	qd := from(d, rectangular("d", 1e-5, 0))
	qb := from(slope, quantity.Source{ID: "b", Dist: quantity.StudentT, U: 2e-6, DOF: 5, TypeA: true})
	E := quantity.Number(4 / math.Pi).Mul(qg).Mul(qL).Div(qd.Mul(qd)).Div(qb)
	b := budget.New(E, 0.95)
	// t95(5) = 2.57 (GUM table G.2).
	want := 0.02/g + 2e-3/L + 2*1e-5/d + 2.57*2e-6/slope
	near(t, "ΔE/E", b.Maximum/b.Value, want, 0.005*2e-6/slope)
	if b.Maximum < b.Expanded {
		t.Error("the maximum error is less than the expanded uncertainty")
	}
}

// TestCoefficientsTogether: the coefficients of one fit are one line.
func TestCoefficientsTogether(t *testing.T) {
	g := &quantity.Group{ID: "fit", Label: "scatter", DOF: 9, Cov: [][]float64{{4, -1.5}, {-1.5, 1}}}
	for i := range 2 {
		g.Sources = append(g.Sources, quantity.Source{ID: []string{"fit#0", "fit#1"}[i], U: math.Sqrt(g.Cov[i][i]), DOF: 9, Group: g, Index: i}.New())
	}
	q := quantity.Uncertain(1, unit.Dim{}, quantity.Term{Source: g.Sources[0], C: 1}, quantity.Term{Source: g.Sources[1], C: 3})
	b := budget.New(q, 0.95)
	if len(b.Lines) != 1 || b.Lines[0].HasC {
		t.Fatalf("%d lines", len(b.Lines))
	}
	near(t, "contribution", b.Lines[0].Contrib, math.Sqrt(4+9-9), 1e-12)
	near(t, "ν", b.DOF, 9, 1e-12)
}
