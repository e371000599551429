package stat

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// ChiSquaredTail returns the probability that a chi-squared value of nu
// degrees of freedom exceeds x.
func ChiSquaredTail(x, nu float64) float64 {
	switch {
	case !(nu > 0) || math.IsInf(nu, 1) || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(nu/2, x/2)
}

// ChiSquaredQuantile returns the value that a chi-squared value of nu degrees
// of freedom does not exceed with probability p.
func ChiSquaredQuantile(p, nu float64) float64 {
	switch {
	case !(nu > 0) || math.IsInf(nu, 1) || !(p >= 0 && p <= 1):
		return math.NaN()
	case p == 0:
		return 0
	case p == 1:
		return math.Inf(1)
	}
	a := nu / 2
	var y float64
	if p < 0.5 {
		y = mathext.GammaIncRegInv(a, p)
	} else {
		y = mathext.GammaIncRegCompInv(a, 1-p)
	}
	lg, _ := math.Lgamma(a)
	if !(y > 1e-6) { // the library gives up: begin with the leading term of the series
		y = math.Exp((math.Log(p) + lg + math.Log(a)) / a)
	}
	for range 4 { // Newton steps on the smaller tail
		density := math.Exp(float64((a-1)*math.Log(y)) - y - lg)
		var step float64
		if p < 0.5 {
			step = (p - mathext.GammaIncReg(a, y)) / density
		} else {
			step = (mathext.GammaIncRegComp(a, y) - (1 - p)) / density
		}
		if !(math.Abs(step) > 1e-16*y && math.Abs(step) < 1e-3*y) {
			break
		}
		y += step
	}
	return 2 * y
}
