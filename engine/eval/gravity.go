package eval

import (
	"math"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// places holds the functions of where a measurement was made.
var places = []function{
	{name: "gravity", usage: "gravity(latitude, height)", least: 1, most: 2, f: localGravity,
		what: "the acceleration of free fall there, by the normal gravity formula of WGS 84 with a free-air term; local anomalies are limits of ± 0.001 m/s²"},
}

// Normal gravity on the ellipsoid by Somigliana's formula with the constants of
// WGS 84 (NIMA TR8350.2, 3rd edition), and its first-order decrease with
// height.
const (
	equatorGravity = 9.7803253359
	gravityK       = 0.00193185265241
	ellipsoidE2    = 0.00669437999013
	freeAir        = -3.086e-6 // s⁻²; from memory
	// Departures of gravity from the formula seldom reach 100 mGal (1e-3 m/s²)
	// outside high mountains and deep basins: common practice.
	anomaly = 1e-3
)

var metre = unit.MustParse("m")

func localGravity(c *Call) Value {
	phi, bad := c.Scalar(0)
	if bad != nil {
		return bad
	}
	if !phi.Q.Dim().IsOne() || math.Abs(phi.Q.Value()) > math.Pi/2 {
		return c.E.fail(wrongKind(c.at(0), "gravity(latitude, height)", "a latitude from −90° to 90°, such as `51.5°`", c.Args[0]))
	}
	height := quantity.Exact(0, metre.Dim())
	if len(c.Args) == 2 {
		h, bad := c.Scalar(1)
		if bad != nil {
			return bad
		}
		if h.Q.Dim() != metre.Dim() || math.Abs(h.Q.Value()) > 10000 {
			return c.E.fail(wrongKind(c.at(1), "gravity(latitude, height)", "a height above the sea of at most 10 km", c.Args[1]))
		}
		height = h.Q
	}
	one := quantity.Number(1)
	s := phi.Q.Apply(quantity.Sin, unit.Dim{})
	s2 := s.Mul(s)
	root := one.Sub(s2.Mul(quantity.Number(ellipsoidE2))).Apply(quantity.Sqrt, unit.Dim{})
	normal := quantity.Exact(equatorGravity, acceleration).Mul(one.Add(s2.Mul(quantity.Number(gravityK)))).Div(root)
	decrease := height.Mul(quantity.Exact(freeAir, acceleration.Div(metre.Dim())))
	local := quantity.Source{ID: c.E.Owner + " gravity", Label: "local departure of gravity from the formula", Dist: quantity.Rectangular,
		Unit: metrePerSecond2, U: anomaly / math.Sqrt(3), Half: anomaly, Origin: c.X.At}
	g := normal.Add(decrease).Add(quantity.Uncertain(0, acceleration, quantity.Term{Source: local.New(), C: 1}))
	return c.result(g, Scalar{Q: g, Unit: &metrePerSecond2})
}

var metrePerSecond2 = unit.MustParse("m/s^2")

// remarkGravity notes a bare 9.8 or 9.81 m/s²: it is local nowhere, and it
// carries no uncertainty.
func (e *Eval) remarkGravity(x *formula.Literal, un unit.Unit) {
	if un.Dim() != acceleration || len(x.Limits) > 0 || x.Number.Paren != "" || x.Instrument != "" {
		return
	}
	if t := x.Number.Text; t == "9.8" || t == "9.81" || t == "9.80" || t == "10" {
		e.Report(&finding.Finding{Severity: finding.Note, Slug: "bare-g", At: x.At,
			Message: "a bare " + t + " m/s² for the acceleration of free fall carries no uncertainty; between equator and poles it changes by 0.5 %",
			Hint:    "write the local value with its uncertainty, or `gravity(51.5°, 40 m)` with your latitude and height"})
	}
}
