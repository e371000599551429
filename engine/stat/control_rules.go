package stat

import "math"

// Rule is a pattern of points that a process in control hardly ever shows. The
// rules are tests 1, 2, 3, 5 and 6 for assignable causes of ISO 8258:1991,
// clause 7 (Shewhart control charts, the forerunner of ISO 7870-2), quoted from
// memory.
type Rule int

// The rules, in the order in which they are told.
const (
	// Beyond: one point beyond a control limit, 3 σ (test 1).
	Beyond Rule = iota
	// OneSide: nine points in a row on one side of the centre line (test 2).
	OneSide
	// Trend: six points in a row steadily rising or falling (test 3).
	Trend
	// TwoOfThree: two of three points in a row beyond 2 σ on one side (test 5).
	TwoOfThree
	// FourOfFive: four of five points in a row beyond 1 σ on one side (test 6).
	FourOfFive
)

// Rules lists all rules.
func Rules() []Rule { return []Rule{Beyond, OneSide, Trend, TwoOfThree, FourOfFive} }

// String says what the rule looks for.
func (r Rule) String() string {
	switch r {
	case Beyond:
		return "beyond a control limit"
	case OneSide:
		return "nine in a row on one side of the mean"
	case Trend:
		return "six in a row steadily rising or falling"
	case TwoOfThree:
		return "two of three beyond 2 σ on one side"
	case FourOfFive:
		return "four of five beyond 1 σ on one side"
	}
	return "unknown rule"
}

// Signal is a rule that points fulfil: those from First up to Last, at which
// the pattern is complete. Indices are those of the values.
type Signal struct {
	Rule        Rule
	First, Last int
}

// Signals looks for patterns among the values, in the order of their last
// points and, for one point, of the rules. A hole ends a pattern. There are
// none without limits.
func (c *Control) Signals() []Signal {
	if !c.HasLimits() {
		return nil
	}
	z := make([]float64, len(c.Values))
	for i := range z {
		z[i] = c.deviation(i)
	}
	var out []Signal
	for i := range z {
		for _, r := range Rules() {
			if first, found := c.pattern(r, z, i); found {
				out = append(out, Signal{Rule: r, First: first, Last: i})
			}
		}
	}
	return out
}

// RangeSignals lists the moving ranges above their upper limit.
func (c *Control) RangeSignals() []int {
	var out []int
	for i, r := range c.Ranges {
		if c.HasLimits() && r > c.RangeUpper*(1+1e-12) {
			out = append(out, i)
		}
	}
	return out
}

// pattern reports whether a pattern is complete at point i, and where it
// begins.
func (c *Control) pattern(r Rule, z []float64, i int) (first int, found bool) {
	switch r {
	case Beyond:
		return i, math.Abs(z[i]) > 3*(1+1e-12)
	case OneSide:
		return i - 8, sameSide(z, i, 9, 9, 0)
	case Trend:
		return i - 5, c.steady(i, 6)
	case TwoOfThree:
		return i - 2, sameSide(z, i, 3, 2, 2)
	case FourOfFive:
		return i - 4, sameSide(z, i, 5, 4, 1)
	}
	return 0, false
}

// sameSide reports whether point i and enough of the n points that end with it
// lie beyond a distance on its side, with no hole between.
func sameSide(z []float64, i, n, enough int, beyond float64) bool {
	if i < n-1 {
		return false
	}
	side, count := math.Copysign(1, z[i]), 0
	for _, v := range z[i-n+1 : i+1] {
		if math.IsNaN(v) {
			return false
		}
		if v*side > beyond*(1+1e-12) {
			count++
		}
	}
	return z[i]*side > beyond*(1+1e-12) && count >= enough
}

// steady reports whether the n values that end with value i all rise, or all
// fall.
func (c *Control) steady(i, n int) bool {
	if i < n-1 {
		return false
	}
	way := c.Values[i] - c.Values[i-1]
	for k := i - n + 2; k <= i; k++ {
		if step := c.Values[k] - c.Values[k-1]; !(step*way > 0) {
			return false
		}
	}
	return true
}
