package trial

import (
	"fmt"
	"math"
	"strconv"

	"example.org/taut/engine/quantity"
)

// Verdict is the outcome of the comparison of JCGM 101, clause 8.
type Verdict int

// The verdicts.
const (
	// NotAssessable: the draws have no standard uncertainty, or some of them
	// no finite value.
	NotAssessable Verdict = iota
	// Validated: both ends of the first-order interval are within the
	// numerical tolerance of the Monte Carlo ones.
	Validated
	// NotValidated: at least one of them is not.
	NotValidated
)

func (v Verdict) String() string {
	switch v {
	case Validated:
		return "validated"
	case NotValidated:
		return "not validated"
	}
	return "not assessable"
}

// Tolerance returns the numerical tolerance of JCGM 101, 7.9.2: for
// u = c×10^l, c a whole number of the given number of digits, δ = ½·10^l. It
// is 0 for u = 0 and NaN where u is not finite.
func Tolerance(u float64, digits int) float64 {
	if !isFinite(u) {
		return math.NaN()
	}
	if u == 0 {
		return 0
	}
	// Rounded in decimal, so that 0.0996 to two digits is 10×10^−2.
	places := quantity.UncertaintyPlaces(math.Abs(u), digits)
	delta, err := strconv.ParseFloat("5e"+strconv.Itoa(-places-1), 64)
	if err != nil {
		return math.NaN()
	}
	return delta
}

// undefined takes back the moments that a t distribution with few degrees of
// freedom does not have.
func (r *Result) undefined(p *program) {
	for _, v := range p.variates {
		if v.dof > 2 {
			continue
		}
		r.U = math.NaN()
		if v.dof <= 1 {
			r.Mean = math.NaN()
		}
		if r.Reason == "" {
			r.Reason = fmt.Sprintf("%s has %s degrees of freedom: a t distribution with 2 or fewer has no standard deviation",
				v.label, strconv.FormatFloat(v.dof, 'g', 4, 64))
		}
	}
}

// judge compares the interval with y ± expanded.
func (r *Result) judge(y, expanded float64, digits int) {
	r.Tolerance = Tolerance(r.U, digits)
	r.DLow = math.Abs(y - expanded - r.Low)
	r.DHigh = math.Abs(y + expanded - r.High)
	switch {
	case r.Reason != "":
		r.Verdict = NotAssessable
	case r.NonFinite > 0:
		r.Verdict = NotAssessable
		r.Reason = fmt.Sprintf("%d of %d trials gave no finite value", r.NonFinite, r.Trials)
	case !isFinite(r.DLow) || !isFinite(r.DHigh) || !isFinite(r.Tolerance):
		r.Verdict = NotAssessable
		r.Reason = "the first-order evaluation has no finite expanded uncertainty"
	case r.DLow <= r.Tolerance && r.DHigh <= r.Tolerance:
		r.Verdict = Validated
	default:
		r.Verdict = NotValidated
	}
}
