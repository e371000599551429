package stat

import (
	"math"
	"slices"
)

// covered returns q, the number of values that an interval of coverage
// probability p spans beyond its first (JCGM 101, 7.7.2): pM rounded.
func covered(m int, p float64) int {
	return min(m-1, max(0, int(math.Floor(float64(p*float64(m))+0.5))))
}

// ShortestInterval returns the shortest interval that holds the share p of the
// Monte Carlo values in data (JCGM 101, 5.3.4 and 7.7.2), the first of several.
// It needs the sorted ends alone: a share 1 − p of the values at each end. data
// is left as it is; where it is empty or holds NaN the ends are NaN.
func ShortestInterval(data []float64, p float64) (low, high float64) {
	m := len(data)
	if m == 0 || !(p > 0 && p <= 1) {
		return math.NaN(), math.NaN()
	}
	q := covered(m, p)
	ends := max(1, m-q)
	lower, upper, ok := sortedEnds(data, ends)
	if !ok {
		return math.NaN(), math.NaN()
	}
	best := 0
	for r := range lower {
		if upper[r]-lower[r] < upper[best]-lower[best] {
			best = r
		}
	}
	return lower[best], upper[best]
}

// SymmetricInterval returns the probabilistically symmetric interval of
// coverage probability p (JCGM 101, 5.3.3 and 7.7.2). data is left as it is;
// where it is empty or holds NaN the ends are NaN.
func SymmetricInterval(data []float64, p float64) (low, high float64) {
	m := len(data)
	if m == 0 || !(p > 0 && p <= 1) {
		return math.NaN(), math.NaN()
	}
	q := covered(m, p)
	r := max(1, (m-q+1)/2) // JCGM 101 counts from 1
	// From below the interval begins at r, from above it ends at M − r − q + 1.
	lower, upper, ok := sortedEnds(data, max(r, m-r-q+1))
	if !ok {
		return math.NaN(), math.NaN()
	}
	return lower[r-1], upper[len(upper)-1-(m-r-q)]
}

// sortedEnds returns the n least and the n greatest values of data, sorted; ok
// is false if data holds NaN.
func sortedEnds(data []float64, n int) (lower, upper []float64, ok bool) {
	m := len(data)
	if lower, upper, ok = endsBySample(data, n); ok {
		return lower, upper, true
	}
	if slices.ContainsFunc(data, math.IsNaN) {
		return nil, nil, false
	}
	all := slices.Clone(data)
	sortFloats(all)
	return all[:n], all[m-n:], true
}

// endsBySample finds the ends in one pass: a sample tells two bounds beyond
// which a little more than n values should lie. ok is false if it does not
// pay, or if by bad luck too few values lie there, or if there is a NaN.
func endsBySample(data []float64, n int) (lower, upper []float64, ok bool) {
	const size = 2048
	m := len(data)
	share := float64(n) / float64(m)
	if m < 8*size || share > 0.2 {
		return nil, nil, false
	}
	sample := make([]float64, size)
	for i := range sample {
		sample[i] = data[i*m/size]
	}
	slices.Sort(sample) // a NaN comes first
	// Four standard deviations of the count beyond the bound, and a few for small shares.
	rank := int(share*size + 4*math.Sqrt(share*size) + 4)
	lowBound, highBound := sample[rank], sample[size-1-rank]
	room := int(float64(m) * (float64(rank)/size + 4*math.Sqrt(float64(rank))/size))
	lower, upper = make([]float64, 0, room), make([]float64, 0, room)
	for _, v := range data {
		if v <= lowBound {
			lower = append(lower, v)
		} else if !(v < highBound) { // NaN goes here
			upper = append(upper, v)
		}
	}
	if len(lower) < n || len(upper) < n || slices.ContainsFunc(upper, math.IsNaN) {
		return nil, nil, false
	}
	sortFloats(lower)
	sortFloats(upper)
	return lower[:n], upper[len(upper)-n:], true
}

// sortFloats sorts x, which must not hold NaN: large blocks by radix, six
// passes of 11 bits over the bit patterns made monotonic.
func sortFloats(x []float64) {
	const digit, passes = 11, 6
	if len(x) < 2048 {
		slices.Sort(x)
		return
	}
	from, to := make([]uint64, len(x)), make([]uint64, len(x))
	var count [passes][1 << digit]int
	for i, v := range x {
		b := math.Float64bits(v)
		b ^= uint64(int64(b)>>63) | 1<<63
		from[i] = b
		for p := range count {
			count[p][b>>(p*digit)&(1<<digit-1)]++
		}
	}
	for p := range count {
		c := &count[p]
		if c[from[0]>>(p*digit)&(1<<digit-1)] == len(x) {
			continue // all alike in this digit
		}
		at := 0
		for d, n := range c {
			c[d] = at
			at += n
		}
		for _, b := range from {
			d := b >> (p * digit) & (1<<digit - 1)
			to[c[d]] = b
			c[d]++
		}
		from, to = to, from
	}
	for i, b := range from {
		b ^= ^uint64(int64(b)>>63) | 1<<63
		x[i] = math.Float64frombits(b)
	}
}
