// Package trial propagates distributions by the Monte Carlo method of
// JCGM 101:2008, over values that were computed before.
//
// A [quantity.Q] carries the way in which it was computed. That graph is
// compiled into a straight list of passes over blocks of draws; each source of
// uncertainty is drawn from its distribution about its estimate, and the
// graph is evaluated anew. The readings' own sources do not act through a mean
// or a fit: there the scatter stands for them.
//
// The draws of a source depend on the seed, on the source's ID and on the
// number of the draw, and on nothing else: neither other sources nor the
// number of processors change a bit of them.
package trial

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
)

// The limits and the defaults of the number of trials. The default is what
// JCGM 101, 7.2.2 recommends for a coverage probability of 95 %.
const (
	MinTrials     = 1000
	MaxTrials     = 10_000_000
	DefaultTrials = 200_000
)

// ErrExact is returned for a value on which no uncertain source acts.
var ErrExact = errors.New("the value rests on no uncertain source: there is nothing to draw")

// Options says how to run.
type Options struct {
	Trials   int     // number of trials; 0 for DefaultTrials
	Seed     uint64  // of all streams
	Coverage float64 // coverage probability; 0 for 0.95
	Workers  int     // goroutines; 0 for all processors; changes no result
	Digits   int     // significant digits of u that are meaningful, for the numerical tolerance; 0 for 2
}

// Result is the outcome of one run. Numbers are in the coherent SI unit of the
// quantity.
type Result struct {
	Mean float64 // of the draws; NaN where a t distribution has ν ≤ 1
	U    float64 // their standard deviation; NaN where a t distribution has ν ≤ 2

	Low, High       float64 // shortest coverage interval (JCGM 101, 5.3.4 and 7.7)
	SymLow, SymHigh float64 // probabilistically symmetric one (5.3.3)

	Coverage  float64
	Trials    int
	Seed      uint64
	NonFinite int // draws without a finite value, left out of all other figures

	Tolerance   float64 // δ of JCGM 101, 7.9.2, from U; NaN where that is
	DLow, DHigh float64 // |y − U − Low| and |y + U − High| of clause 8
	Verdict     Verdict // on the first-order evaluation
	Reason      string  // why it is not assessable; else ""

	Histogram Histogram
}

// Run draws q and compares the outcome with y ± expanded, the coverage interval
// of the first-order evaluation for the same coverage probability.
func Run(q quantity.Q, expanded float64, o Options) (*Result, error) {
	o, err := o.complete()
	if err != nil {
		return nil, err
	}
	if v := q.Value(); math.IsNaN(v) || math.IsInf(v, 0) {
		return nil, errors.New("the value is not a finite number at the estimates")
	}
	p, err := compile(q)
	if err != nil {
		return nil, err
	}
	values := make([]float64, o.Trials)
	all := p.run(values, o)
	finite := all.N()
	if finite < MinTrials {
		return nil, fmt.Errorf("only %d of %d trials gave a finite value: the formula is outside its domain for most values of its inputs", finite, o.Trials)
	}
	if finite < len(values) {
		values = keepFinite(values)
	}
	r := &Result{
		Mean: all.Mean(), U: all.SD(),
		Coverage: o.Coverage, Trials: o.Trials, Seed: o.Seed,
		NonFinite: o.Trials - finite,
	}
	r.intervals(values, o)
	r.histogram(values, all, o)
	r.undefined(p)
	r.judge(q.Value(), expanded, o.Digits)
	return r, nil
}

// complete checks the options and fills in the defaults.
func (o Options) complete() (Options, error) {
	if o.Trials == 0 {
		o.Trials = DefaultTrials
	}
	if o.Coverage == 0 {
		o.Coverage = 0.95
	}
	if o.Digits == 0 {
		o.Digits = 2
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	switch {
	case o.Trials < MinTrials:
		return o, fmt.Errorf("%d trials are too few to find a coverage interval: take at least %d, better %d", o.Trials, MinTrials, DefaultTrials)
	case o.Trials > MaxTrials:
		return o, fmt.Errorf("%d trials are more than can be held: take at most %d", o.Trials, MaxTrials)
	case !(o.Coverage > 0 && o.Coverage < 1):
		return o, fmt.Errorf("the coverage probability is %v: it must lie between 0 and 1", o.Coverage)
	case float64(o.Trials)*(1-o.Coverage) < 2:
		return o, fmt.Errorf("%d trials are too few for a coverage probability of %v: take at least %.0f", o.Trials, o.Coverage, math.Ceil(2/(1-o.Coverage)))
	case o.Digits < 1 || o.Digits > 9:
		return o, fmt.Errorf("%d significant digits of the standard uncertainty: take 1 or 2", o.Digits)
	case o.Workers < 0:
		return o, fmt.Errorf("%d workers: take 0 for all processors", o.Workers)
	}
	return o, nil
}

// spread is what is known of a block of draws: moments and extremes of the
// finite ones.
type spread struct {
	stat.Moments
	least, greatest float64
}

// run fills values with draws and returns their spread.
func (p *program) run(values []float64, o Options) spread {
	parts := make([]spread, chunks(values))
	parallel(o.Workers, len(parts), func() func(int) {
		m := p.machine()
		return func(i int) {
			out := chunkOf(values, i)
			m.chunk(out, o.Seed, i)
			parts[i] = spreadOf(out)
		}
	})
	all := parts[0]
	for _, part := range parts[1:] {
		all.Merge(part.Moments)
		all.least = min(all.least, part.least)
		all.greatest = max(all.greatest, part.greatest)
	}
	return all
}

func chunks(values []float64) int { return (len(values) + chunk - 1) / chunk }

func chunkOf(values []float64, i int) []float64 {
	return values[i*chunk : min((i+1)*chunk, len(values))]
}

// parallel does the jobs 0 to n−1 in several goroutines, each of which gets
// its own worker.
func parallel(workers, n int, worker func() func(job int)) {
	var next atomic.Int64
	work := func() {
		do := worker()
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			do(i)
		}
	}
	var wg sync.WaitGroup
	for range min(workers, n) - 1 {
		wg.Go(work)
	}
	work()
	wg.Wait()
}

// spreadOf returns the spread of the finite values of x.
func spreadOf(x []float64) spread {
	var s spread
	s.Add(x)
	if !isFinite(s.Mean()) || !isFinite(s.Variance()) {
		x = keepFinite(append([]float64(nil), x...))
		s = spread{}
		s.Add(x)
	}
	s.least, s.greatest = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		if v < s.least {
			s.least = v
		}
		if v > s.greatest {
			s.greatest = v
		}
	}
	return s
}

// keepFinite moves the finite values of x to its front, in order, and returns
// them.
func keepFinite(x []float64) []float64 {
	n := 0
	for _, v := range x {
		if isFinite(v) {
			x[n] = v
			n++
		}
	}
	return x[:n]
}

func isFinite(x float64) bool { return x-x == 0 }
