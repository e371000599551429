package stat

import "math"

// The constants of control charts for ranges of two values (ISO 7870-2, table
// of factors; the test derives them from the normal distribution).
const (
	rangeMean  = 1.128 // d₂: the mean range, in standard deviations
	rangeUpper = 3.267 // D₄: the upper limit of the range chart, in mean ranges
)

// LimitsSettled is how many values limits should rest on; with fewer they are
// provisional (common practice).
const LimitsSettled = 20

// Control is a control chart for individual values with the chart of their
// moving ranges (ISO 7870-2). All numbers are in the unit of the values; NaN
// where the values are too few to give them.
type Control struct {
	Values []float64 // as given; NaN where there is none
	Ranges []float64 // |value − the one before|; NaN for the first one and beside a hole

	Base      int     // how many values the limits rest on
	Mean      float64 // centre line
	MeanRange float64
	Sigma     float64 // MeanRange/d₂, the scatter from value to value
	// Lower and Upper are Mean ∓ 3 Sigma, which is 2.66 mean moving ranges;
	// RangeUpper is 3.267 of them. The lower limit of the range chart is 0.
	Lower, Upper, RangeUpper float64
}

// NewControl works out a control chart of values in the order of time. Limits
// rest on the first base values that there are, on all for base 0. Values that
// are not finite are holes: no moving range reaches across one.
func NewControl(values []float64, base int) *Control {
	c := &Control{Values: make([]float64, len(values)), Ranges: make([]float64, len(values))}
	before := math.NaN()
	var taken, ranges []float64
	for i, v := range values {
		if math.IsInf(v, 0) {
			v = math.NaN()
		}
		c.Values[i], c.Ranges[i] = v, math.Abs(v-before)
		before = v
		if math.IsNaN(v) || base > 0 && len(taken) == base {
			continue
		}
		taken = append(taken, v)
		if !math.IsNaN(c.Ranges[i]) {
			ranges = append(ranges, c.Ranges[i])
		}
	}
	c.Base = len(taken)
	c.Mean, c.MeanRange = meanOrNaN(taken), meanOrNaN(ranges)
	c.Sigma = c.MeanRange / rangeMean
	c.Lower, c.Upper = c.Mean-float64(3*c.Sigma), c.Mean+float64(3*c.Sigma)
	c.RangeUpper = rangeUpper * c.MeanRange
	return c
}

func meanOrNaN(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return Mean(x)
}

// HasLimits reports whether there are limits: two values in a row at least.
func (c *Control) HasLimits() bool { return !math.IsNaN(c.MeanRange) }

// Provisional reports whether the limits rest on fewer than LimitsSettled
// values.
func (c *Control) Provisional() bool { return c.Base < LimitsSettled }

// deviation is value i above the centre line, in Sigma; 0 where it lies on the
// line within rounding, NaN in a hole.
func (c *Control) deviation(i int) float64 {
	d := c.Values[i] - c.Mean
	if math.Abs(d) <= 1e-12*math.Max(math.Abs(c.Mean), math.Abs(c.Values[i])) {
		return 0
	}
	return d / c.Sigma
}

// NormalizedError returns E_n of ISO 13528 and ISO/IEC 17043: the difference
// of a value from a reference value, over the root sum of squares of their
// expanded uncertainties. It is NaN where either is missing, that is not above
// 0.
func NormalizedError(value, expanded, reference, expandedReference float64) float64 {
	if !(expanded > 0) || !(expandedReference > 0) {
		return math.NaN()
	}
	return (value - reference) / math.Hypot(expanded, expandedReference)
}
