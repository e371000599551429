package stat

import (
	"math"
	"slices"
)

// Sum returns the sum of x, correctly rounded and therefore the same in every
// order of the values. It keeps the exact sum as a list of floats that do not
// overlap (J. R. Shewchuk, Discrete Comput. Geom. 18 (1997) 305).
func Sum(x []float64) float64 {
	plain, largest := 0.0, 0.0
	for _, v := range x {
		plain += v
		largest = max(largest, math.Abs(v))
	}
	if math.IsInf(largest, 0) || math.IsNaN(largest) {
		return plain
	}
	if largest > math.MaxFloat64/float64(2*len(x)) { // a partial sum might overflow
		scaled := make([]float64, len(x))
		for i, v := range x {
			scaled[i] = math.Ldexp(v, -64)
		}
		return math.Ldexp(Sum(scaled), 64)
	}
	var room [16]float64
	parts := room[:0]
	for _, v := range x {
		kept := parts[:0]
		for _, p := range parts {
			var low float64
			if v, low = twoSum(v, p); low != 0 {
				kept = append(kept, low)
			}
		}
		parts = append(kept, v)
	}
	return roundParts(parts)
}

// twoSum returns a + b rounded, and its rounding error (Knuth).
func twoSum(a, b float64) (sum, err float64) {
	sum = a + b
	t := sum - a
	return sum, (a - (sum - t)) + (b - t)
}

// roundParts rounds a sum of floats that do not overlap, in increasing order.
func roundParts(parts []float64) float64 {
	total, low := 0.0, 0.0
	i := len(parts) - 1
	for ; i >= 0 && low == 0; i-- {
		total, low = twoSum(total, parts[i])
	}
	// A tie was rounded to even: what lies below decides it.
	if i >= 0 && low != 0 && (low > 0) == (parts[i] > 0) {
		if up := total + 2*low; up-total == 2*low {
			return up
		}
	}
	return total
}

// Mean returns the arithmetic mean of x, NaN if x is empty. The order of the
// values does not matter.
func Mean(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	n := float64(len(x))
	if s := Sum(x); !math.IsInf(s, 0) {
		return s / n
	}
	scaled := make([]float64, len(x)) // the sum overflows, the mean does not
	for i, v := range x {
		scaled[i] = v / 2
	}
	half := Sum(scaled)
	for k := 1; math.IsInf(half, 0) && k < 64; k++ {
		for i := range scaled {
			scaled[i] /= 2
		}
		if half = Sum(scaled); !math.IsInf(half, 0) {
			return math.Ldexp(half/n, k+1)
		}
	}
	return half / n * 2
}

// SD returns the experimental standard deviation of x, n − 1 in the
// denominator (GUM 4.2.2), NaN below two values. It works on deviations from
// the mean, corrected for the rounding of the mean.
func SD(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	m := Mean(x)
	dev := make([]float64, len(x))
	largest := 0.0
	for i, v := range x {
		dev[i] = v - m
		largest = max(largest, math.Abs(dev[i]))
	}
	if largest == 0 || math.IsNaN(largest) || math.IsInf(largest, 0) {
		return largest - largest // 0, or NaN
	}
	_, exp := math.Frexp(largest) // scaled, so that no square leaves the range
	for i := range dev {
		dev[i] = math.Ldexp(dev[i], -exp)
	}
	rest := Sum(dev)
	for i, d := range dev {
		dev[i] = d * d
	}
	n := float64(len(x))
	ss := Sum(dev) - float64(rest*rest)/n
	return math.Ldexp(math.Sqrt(ss/(n-1)), exp)
}

// Min returns the least value of x, NaN if x is empty or holds a NaN.
func Min(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return slices.Min(x)
}

// Max returns the greatest value of x, NaN if x is empty or holds a NaN.
func Max(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	return slices.Max(x)
}
