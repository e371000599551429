package stat

import (
	"math"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

// Student's t is handled in the variable u, u² = ν·ln(1 + t²/ν), in which its
// density, up to a factor, is
//
//	g(u) = exp(−u²/2)·√s(u²/ν),  s(w) = w/(1 − e^−w),
//
// for every ν from small ones to infinity (where u = t and s = 1). g is smooth
// and, for ν ≥ ½, log-concave: its integrals come from Gauss–Legendre panels to
// the last digits without special functions, in the far tail too.

// uOf returns u for t ≥ 0.
func uOf(t, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return t
	}
	r := t / math.Sqrt(nu)
	if r > 1e8 {
		return math.Sqrt(2 * nu * math.Log(r))
	}
	return math.Sqrt(nu * math.Log1p(r*r))
}

// tOf inverts uOf.
func tOf(u, nu float64) float64 {
	if math.IsInf(nu, 1) {
		return u
	}
	w := u * u / nu
	if w > 700 {
		return math.Exp(w/2 + math.Log(nu)/2)
	}
	return math.Sqrt(nu * math.Expm1(w))
}

// sOf returns s(w) = w/(1 − e^−w).
func sOf(w float64) float64 {
	if w == 0 {
		return 1
	}
	return -w / math.Expm1(-w)
}

// gauss is the Gauss–Legendre rule on (−1, 1) of the panels.
var gauss = func() (rule struct{ x, w [16]float64 }) {
	quad.Legendre{}.FixedLocations(rule.x[:], rule.w[:], -1, 1)
	return rule
}()

// panels integrates g(u)/g(from) over from … to.
func panels(from, to, nu float64) float64 {
	// A panel is short against the distance √(2πν) of the nearest pole, and g
	// falls by less than a factor e^14 over it.
	width := 1.5 * min(1, math.Sqrt(nu))
	n := max(1, math.Ceil((to-from)/width), math.Ceil((to-from)*(to+from)/28))
	half := (to - from) / n / 2
	s0 := sOf(from * from / nu)
	total := 0.0
	for k := n - 1; k >= 0; k-- { // small contributions first
		middle := float64((2*k+1)*half) + from
		part := 0.0
		for i, x := range gauss.x {
			u := float64(half*x) + middle
			f := math.Exp(-(u-from)*(u+from)/2) * math.Sqrt(sOf(u*u/nu)/s0)
			part += float64(gauss.w[i] * f)
		}
		total += part * half
	}
	return total
}

// tailRatio returns the integral of g from u to infinity, over g(u).
func tailRatio(u, nu float64) float64 {
	return panels(u, math.Sqrt(float64(u*u)+84), nu)
}

// logG returns ln g(u).
func logG(u, nu float64) float64 {
	return math.Log(sOf(u*u/nu))/2 - u*u/2
}

// halfArea returns the integral of g from 0 to infinity.
func halfArea(nu float64) float64 { return tailRatio(0, nu) }

// upperTail returns P(T > t) for t ≥ 0.
func upperTail(t, nu float64) float64 {
	if math.IsInf(t, 1) {
		return 0
	}
	if t == 0 {
		return 0.5
	}
	u := uOf(t, nu)
	return math.Exp(logG(u, nu)) * tailRatio(u, nu) / halfArea(nu) / 2
}

// TCDF returns the probability that a Student t value of nu degrees of freedom
// (> 0; +Inf is the normal distribution) is at most t.
func TCDF(t, nu float64) float64 {
	switch {
	case !(nu > 0) || math.IsNaN(t):
		return math.NaN()
	case t > 0:
		return 1 - upperTail(t, nu)
	}
	return upperTail(-t, nu)
}

// TTail returns the two-sided tail probability P(|T| > |t|).
func TTail(t, nu float64) float64 {
	if !(nu > 0) || math.IsNaN(t) {
		return math.NaN()
	}
	return 2 * upperTail(math.Abs(t), nu)
}

// TQuantile returns the t that a Student t value of nu degrees of freedom (> 0;
// +Inf is the normal distribution) does not exceed with probability p. It is
// antisymmetric about p = ½.
func TQuantile(p, nu float64) float64 {
	switch {
	case !(nu > 0) || !(p >= 0 && p <= 1):
		return math.NaN()
	case p < 0.5:
		return -upperQuantile(p, nu)
	}
	return upperQuantile(1-p, nu)
}

// upperQuantile returns the t ≥ 0 with P(T > t) = q, q ≤ ½.
func upperQuantile(q, nu float64) float64 {
	if q == 0 {
		return math.Inf(1)
	}
	if q == 0.5 {
		return 0
	}
	area := halfArea(nu)
	u := -mathext.NormalQuantile(q) // near: g is close to the normal density
	for range 60 {
		var step float64
		if q < 0.25 {
			ratio := tailRatio(u, nu)
			step = (logG(u, nu) + math.Log(ratio/area/2) - math.Log(q)) * ratio
		} else {
			step = ((1-2*q)*area - panels(0, u, nu)) / math.Exp(logG(u, nu))
		}
		u = max(u+step, u/4)
		if math.Abs(step) <= 4e-16*u {
			break
		}
	}
	return tOf(u, nu)
}

// NormalCDF returns the probability that a standard normal value is at most z.
func NormalCDF(z float64) float64 { return TCDF(z, math.Inf(1)) }

// NormalQuantile inverts NormalCDF.
func NormalQuantile(p float64) float64 { return TQuantile(p, math.Inf(1)) }

// CoverageFactor returns the coverage factor k of coverage probability p: the
// two-sided t at the effective degrees of freedom truncated to the next lower
// integer (GUM G.4.1), at least 1. A guard of 0.01 takes 18.9987, which is 19
// but for rounding, as 19. +Inf gives the normal distribution.
func CoverageFactor(p, nuEff float64) float64 {
	if math.IsNaN(nuEff) || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	k := factorKey{p, max(1, math.Floor(nuEff+0.01))}
	if v, ok := factors.Load(k); ok {
		return v.(float64)
	}
	v := upperQuantile((1-p)/2, k.nu)
	if kept.Add(1) <= maxKept {
		factors.Store(k, v)
	}
	return v
}

// factors keeps coverage factors, up to a number: a record asks for the same few
// again and again.
var (
	factors sync.Map
	kept    atomic.Int64
)

const maxKept = 4096

type factorKey struct{ p, nu float64 }
