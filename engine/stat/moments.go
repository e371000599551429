package stat

import "math"

// Moments accumulates mean and variance over blocks of values. Blocks merged
// in a fixed order give the same bytes, whoever computed them.
type Moments struct {
	n         int
	mean, low float64 // their sum is the mean
	m2        float64 // sum of squared deviations
}

// Add takes in a block.
func (m *Moments) Add(block []float64) {
	if len(block) == 0 {
		return
	}
	n := float64(len(block))
	first := block[0]
	mean := first + deviationSum(block, first)/n
	rest, squares := deviationSums(block, mean)
	m.Merge(Moments{n: len(block), mean: mean, low: rest / n, m2: squares - float64(rest*rest)/n})
}

// deviationSum sums x − c in four lanes, which is quicker than one and rounds less.
func deviationSum(x []float64, c float64) float64 {
	var s0, s1, s2, s3 float64
	for ; len(x) >= 4; x = x[4:] {
		s0 += x[0] - c
		s1 += x[1] - c
		s2 += x[2] - c
		s3 += x[3] - c
	}
	for _, v := range x {
		s0 += v - c
	}
	return (s0 + s1) + (s2 + s3)
}

// deviationSums sums x − c and its squares.
func deviationSums(x []float64, c float64) (sum, squares float64) {
	var s0, s1, q0, q1 float64
	for ; len(x) >= 2; x = x[2:] {
		d, e := x[0]-c, x[1]-c
		s0 += d
		s1 += e
		q0 += float64(d * d)
		q1 += float64(e * e)
	}
	for _, v := range x {
		d := v - c
		s0 += d
		q0 += float64(d * d)
	}
	return s0 + s1, q0 + q1
}

// Merge takes in what o has accumulated (Chan, Golub and LeVeque, Am. Stat. 37
// (1983) 242).
func (m *Moments) Merge(o Moments) {
	if o.n == 0 {
		return
	}
	if m.n == 0 {
		*m = o
		return
	}
	a, b := float64(m.n), float64(o.n)
	d := (o.mean - m.mean) + (o.low - m.low)
	m.mean, m.low = twoSum(m.mean, m.low+d*(b/(a+b)))
	m.m2 += o.m2 + float64(d*d)*(a*b/(a+b))
	m.n += o.n
}

// N returns the number of values.
func (m *Moments) N() int { return m.n }

// Mean returns the mean, NaN if there are no values.
func (m *Moments) Mean() float64 {
	if m.n == 0 {
		return math.NaN()
	}
	return m.mean + m.low
}

// Variance returns the variance (n − 1), NaN below two values.
func (m *Moments) Variance() float64 {
	if m.n < 2 {
		return math.NaN()
	}
	return m.m2 / float64(m.n-1)
}

// SD returns the standard deviation (n − 1), NaN below two values.
func (m *Moments) SD() float64 { return math.Sqrt(m.Variance()) }
