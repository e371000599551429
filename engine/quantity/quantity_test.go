package quantity_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

var one = unit.Dim{}

func source(id string, u, dof float64) *quantity.Source {
	return quantity.Source{ID: id, U: u, DOF: dof}.New()
}

func from(v float64, s *quantity.Source) quantity.Q {
	return quantity.Uncertain(v, one, quantity.Term{Source: s, C: 1})
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Max(1, math.Abs(want))) {
		t.Errorf("%s = %.17g, want %.17g", what, got, want)
	}
}

// TestEndGauge reckons the end gauge of JCGM 100:2008 (GUM), H.1, from the
// inputs of H.1.3 to H.1.6. Printed there: l = 50.000 838 mm, u(d) = 9.7 nm with
// 25.6 degrees of freedom, combined 32 nm (31.66 unrounded) with 16.7.
func TestEndGauge(t *testing.T) {
	ls := from(50000623, source("ls", 25, 18))
	d := from(215, source("dbar", 13/math.Sqrt(5), 24)).
		Add(from(0, source("d1", 10/2.57, 5))).
		Add(from(0, source("d2", 20.0/3, 8)))
	alphaS := from(11.5e-6, source("alpha", 2e-6/math.Sqrt(3), 0))
	theta := from(-0.1, source("theta", 0.2, 0)).Add(from(0, source("cycle", 0.5/math.Sqrt2, 0)))
	dalpha := from(0, source("dalpha", 1e-6/math.Sqrt(3), 50))
	dtheta := from(0, source("dtheta", 0.05/math.Sqrt(3), 2))
	l := ls.Add(d).Sub(ls.Mul(dalpha.Mul(theta).Add(alphaS.Mul(dtheta))))
	near(t, "l", l.Value(), 50000838, 1e-12)
	near(t, "u(d)", d.U(), 9.66357693036, 1e-9)
	near(t, "ν(d)", d.DOF(), 25.6, 0.05/25)
	near(t, "u(l)", l.U(), 31.6582684215, 1e-9)
	near(t, "ν(l)", l.DOF(), 16.7, 0.05/16)
}

func TestIdentity(t *testing.T) {
	s := source("s", 0.5, 0)
	x := from(3, s)
	if u := x.Sub(x).U(); u != 0 {
		t.Errorf("u(x − x) = %g", u)
	}
	near(t, "u(x·x)", x.Mul(x).U(), 2*3*0.5, 1e-15)
	near(t, "u(x/x)", x.Div(x).U(), 0, 1e-15)
	near(t, "r(x, 2x + 1)", quantity.Correlation(x, x.Add(x).Add(quantity.Number(1))), 1, 1e-15)
	y := from(4, source("y", 0.5, 0))
	near(t, "r(x, y)", quantity.Correlation(x, y), 0, 0)
	near(t, "r(x + y, x − y)", quantity.Correlation(x.Add(y), x.Sub(y)), 0, 1e-15)
	// The same source under another pointer is the same source.
	near(t, "u(x − x')", x.Sub(from(3, source("s", 0.5, 0))).U(), 0, 0)
}

// TestFunctions compares sensitivities with central differences.
func TestFunctions(t *testing.T) {
	h := 1e-6
	for _, op := range []quantity.Op{quantity.Abs, quantity.Sqrt, quantity.Exp, quantity.Ln, quantity.Log10, quantity.Sin, quantity.Cos, quantity.Tan, quantity.Asin, quantity.Acos, quantity.Atan} {
		for _, x := range []float64{0.2, 0.45, 0.83} {
			q := from(x, source("x", 1, 0)).Apply(op, one)
			want := (quantity.Eval1(op, x+h) - quantity.Eval1(op, x-h)) / (2 * h)
			near(t, "derivative", q.Terms()[0].C, want, 1e-8)
		}
	}
	for _, y := range []float64{-3, -2, -1, 0, 0.5, 1, 2, 3, 4, 5, 2.5} {
		for _, x := range []float64{0.3, 1.7, 12} {
			q := from(x, source("x", 1, 0)).Pow(from(y, source("y", 1, 0)), one)
			near(t, "power", q.Value(), math.Pow(x, y), 1e-14)
			for _, term := range q.Terms() {
				want := (math.Pow(x+h, y) - math.Pow(x-h, y)) / (2 * h)
				if term.Source.ID == "y" {
					want = (math.Pow(x, y+h) - math.Pow(x, y-h)) / (2 * h)
				}
				near(t, "derivative of a power", term.C, want, 1e-6)
			}
		}
	}
}

// TestGroup checks the coefficients of a fit: one contribution cᵀVc and one
// term of Welch and Satterthwaite.
func TestGroup(t *testing.T) {
	g := &quantity.Group{ID: "fit", DOF: 9, Cov: [][]float64{{4, -1.5}, {-1.5, 1}}}
	for i := range 2 {
		g.Sources = append(g.Sources, quantity.Source{ID: "fit#" + string(rune('0'+i)), U: math.Sqrt(g.Cov[i][i]), DOF: 9, Group: g, Index: i}.New())
	}
	a, b := from(2, g.Sources[0]), from(5, g.Sources[1])
	sum := a.Add(b.Mul(quantity.Number(3)))
	near(t, "u", sum.U(), math.Sqrt(4+9-2*3*1.5), 1e-15)
	near(t, "ν", sum.DOF(), 9, 1e-15)
	near(t, "r", quantity.Correlation(a, b), -1.5/2, 1e-15)
	if n := len(sum.Contributions()); n != 1 {
		t.Errorf("%d contributions, want 1", n)
	}
}

// TestReduce checks that what is the readings' own is replaced and what they
// share passes through, or cancels.
func TestReduce(t *testing.T) {
	zero := source("zero", 0.3, 0)
	var qs []quantity.Q
	for i := range 4 {
		own := quantity.Source{ID: "r" + string(rune('0'+i)), U: 0.1, Own: quantity.Resolution}.New()
		qs = append(qs, quantity.Uncertain(float64(i), one, quantity.Term{Source: own, C: 1}, quantity.Term{Source: zero, C: -1}))
	}
	scatter := source("scatter", 0.05, 3)
	mean := quantity.Reduce(1.5, one, []float64{0.25, 0.25, 0.25, 0.25}, qs, quantity.Term{Source: scatter, C: 1})
	near(t, "u(mean)", mean.U(), math.Hypot(0.3, 0.05), 1e-15)
	slope := quantity.Reduce(1, one, []float64{-0.3, -0.1, 0.1, 0.3}, qs, quantity.Term{Source: scatter, C: 1})
	near(t, "u(slope)", slope.U(), 0.05, 1e-15)
	for _, term := range slope.Terms() {
		if term.Source.ID == "zero" {
			t.Error("the zero acts on a slope")
		}
	}
}

// TestLaws draws random expressions and checks laws that hold for any: order
// does not matter, scale passes through, and the effective degrees of freedom
// lie between the least and the sum of all.
func TestLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		var qs []quantity.Q
		lo, all := math.Inf(1), 0.0
		for i := range 6 {
			nu := 1 + math.Floor(20*r.Float64())
			lo, all = math.Min(lo, nu), all+nu
			qs = append(qs, from(1+r.Float64(), source(string(rune('a'+i)), r.Float64(), nu)))
		}
		sum, rev := qs[0], qs[5]
		for i := 1; i < 6; i++ {
			sum, rev = sum.Add(qs[i]), rev.Add(qs[5-i])
		}
		near(t, "order", sum.U(), rev.U(), 1e-15)
		near(t, "scale", sum.Mul(quantity.Number(-7)).U(), 7*sum.U(), 1e-14)
		near(t, "scale of ν", sum.Mul(quantity.Number(-7)).DOF(), sum.DOF(), 1e-12)
		if nu := sum.DOF(); nu < lo*(1-1e-12) || nu > all*(1+1e-12) {
			t.Errorf("ν = %g, of sources with %g to %g", nu, lo, all)
		}
		p := qs[0].Mul(qs[1]).Div(qs[2])
		rel := 0.0
		for _, q := range qs[:3] {
			rel = math.Hypot(rel, q.U()/q.Value())
		}
		near(t, "relative uncertainties add in quadrature", p.U()/p.Value(), rel, 1e-14)
	}
}

func TestChoiceAndConditions(t *testing.T) {
	a, b := from(1, source("a", 0.1, 0)), from(2, source("b", 0.2, 0))
	near(t, "max", quantity.Choose(quantity.Max, []quantity.Q{a, b}, 1, 1).U(), 0.2, 1e-15)
	near(t, "median", quantity.Choose(quantity.Median, []quantity.Q{a, b}, 0, 1).U(), math.Hypot(0.1, 0.2)/2, 1e-15)
	near(t, "if", quantity.If(quantity.LessThan(a, b), a, b).Value(), 1, 0)
	near(t, "if not", quantity.If(quantity.LessThan(a, b).Not(), a, b).Value(), 2, 0)
	if quantity.Exact(1, one).Div(quantity.Exact(0, one)).Finite() || from(0, source("z", 1, 0)).Apply(quantity.Sqrt, one).Finite() {
		t.Error("a value or sensitivity that is not finite passes for finite")
	}
}
