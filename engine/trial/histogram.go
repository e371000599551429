package trial

import "sync"

// Bins is the number of classes of a histogram.
const Bins = 60

// Histogram counts the finite draws in Bins classes of equal width over
// [Low, High]: the shortest coverage interval with half its width added at
// either side, as far as there are draws. Below and Above are outside.
type Histogram struct {
	Low, High    float64
	Counts       [Bins]int
	Below, Above int
}

// histogram counts values around the shortest interval.
func (r *Result) histogram(values []float64, all spread, o Options) {
	margin := (r.High - r.Low) / 2
	h := Histogram{
		Low:  max(all.least, r.Low-margin),
		High: min(all.greatest, r.High+margin),
	}
	r.Histogram = h
	var mu sync.Mutex
	parallel(o.Workers, chunks(values), func() func(int) {
		return func(i int) {
			part := h
			part.count(chunkOf(values, i))
			mu.Lock()
			defer mu.Unlock()
			r.Histogram.add(&part)
		}
	})
}

// add takes in what another one has counted over the same range.
func (h *Histogram) add(part *Histogram) {
	for i, n := range part.Counts {
		h.Counts[i] += n
	}
	h.Below += part.Below
	h.Above += part.Above
}

func (h *Histogram) count(values []float64) {
	perUnit := 0.0
	if h.High > h.Low {
		perUnit = Bins / (h.High - h.Low)
	}
	for _, v := range values {
		switch {
		case v < h.Low:
			h.Below++
		case v > h.High:
			h.Above++
		default:
			h.Counts[min(int((v-h.Low)*perUnit), Bins-1)]++
		}
	}
}
