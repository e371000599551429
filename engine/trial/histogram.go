package trial

import (
	"sync"
	"sync/atomic"

	"example.org/taut/engine/stat"
)

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

// summarise takes the coverage intervals and the histogram of values, which it
// reorders.
func (r *Result) summarise(values []float64, o Options) {
	r.Low, r.High = stat.ShortestInterval(values, o.Coverage)
	r.SymLow, r.SymHigh = stat.SymmetricInterval(values, o.Coverage)
	r.Histogram = histogram(values, r.Low, r.High, o.Workers)
}

func histogram(values []float64, low, high float64, workers int) Histogram {
	margin := (high - low) / 2
	h := Histogram{
		Low:  max(stat.Min(values), low-margin),
		High: min(stat.Max(values), high+margin),
	}
	var next atomic.Int64
	var mu sync.Mutex
	chunks := (len(values) + chunk - 1) / chunk
	parallel(min(workers, chunks), func() {
		part := Histogram{Low: h.Low, High: h.High}
		for {
			i := int(next.Add(1)) - 1
			if i >= chunks {
				break
			}
			part.count(values[i*chunk : min((i+1)*chunk, len(values))])
		}
		mu.Lock()
		defer mu.Unlock()
		for i, n := range part.Counts {
			h.Counts[i] += n
		}
		h.Below += part.Below
		h.Above += part.Above
	})
	return h
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
