package trial

import (
	"math"
	"slices"

	"example.org/taut/engine/stat"
)

// intervals takes both coverage intervals of values, which must be finite.
func (r *Result) intervals(values []float64, o Options) {
	values, p := tails(values, o)
	parallel(o.Workers, 2, func() func(int) {
		return func(which int) {
			if which == 0 {
				r.Low, r.High = stat.ShortestInterval(values, p)
			} else {
				r.SymLow, r.SymHigh = stat.SymmetricInterval(values, p)
			}
		}
	})
}

// tails returns the values among which the ends of the intervals lie, and the
// coverage probability that leaves as many of them outside. Of M values an
// interval spans q, so that its ends are among the M − q least and greatest
// ones: what lies between does not matter. A sample tells where to cut; where
// that does not pay or goes wrong, all values are returned.
func tails(values []float64, o Options) ([]float64, float64) {
	const size = 2048
	m := len(values)
	outside := m - int(math.Floor(float64(o.Coverage*float64(m))+0.5)) + 1
	share := float64(outside) / float64(m)
	if m < 16*size || share > 0.2 {
		return values, o.Coverage
	}
	sample := make([]float64, size)
	for i := range sample {
		sample[i] = values[i*m/size]
	}
	slices.Sort(sample)
	// Four standard deviations of the count further in, and a few for small shares.
	rank := int(share*size + 4*math.Sqrt(share*size) + 4)
	low, high := sample[rank], sample[size-1-rank]
	lower, upper := make([][]float64, chunks(values)), make([][]float64, chunks(values))
	parallel(o.Workers, len(lower), func() func(int) {
		var space [2][chunk]float64
		return func(i int) {
			nl, nu := cut(chunkOf(values, i), low, high, &space)
			lower[i], upper[i] = slices.Clone(space[0][:nl]), slices.Clone(space[1][:nu])
		}
	})
	all := slices.Concat(lower...)
	nl := len(all)
	all = append(all, slices.Concat(upper...)...)
	if nu := len(all) - nl; nl < outside || nu < outside || low >= high {
		return values, o.Coverage
	}
	return all, float64(len(all)-outside+1) / float64(len(all))
}

// cut copies what is at most low and what is at least high, without branches
// that nobody could foretell.
func cut(values []float64, low, high float64, space *[2][chunk]float64) (nl, nu int) {
	lower, upper := &space[0], &space[1]
	for _, v := range values {
		lower[nl&(chunk-1)], upper[nu&(chunk-1)] = v, v
		if v <= low {
			nl++
		}
		if v >= high {
			nu++
		}
	}
	return nl, nu
}
