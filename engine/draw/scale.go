package draw

import (
	"math"
	"strconv"
	"strings"
)

// extent is the least and the greatest of some numbers.
type extent struct {
	lo, hi float64
	any    bool
}

func (e *extent) add(v float64) {
	if !e.any {
		e.lo, e.hi, e.any = v, v, true
		return
	}
	e.lo, e.hi = math.Min(e.lo, v), math.Max(e.hi, v)
}

func (e extent) with(f extent) extent {
	if f.any {
		e.add(f.lo)
		e.add(f.hi)
	}
	return e
}

// magnitude returns the power of ten of the greatest of the numbers v, which
// are finite: 10^n ≤ |v| < 10^(n+1). It is 0 if all are zero.
func magnitude(v float64) int {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	s := strconv.FormatFloat(v, 'e', -1, 64)
	n, err := strconv.Atoi(s[strings.IndexByte(s, 'e')+1:])
	if err != nil {
		return 0
	}
	return n
}

// over10 returns v / 10^n without overflow on the way.
func over10(v float64, n int) float64 {
	const step = 300
	for ; n > step; n -= step {
		v /= 1e300
	}
	for ; n < -step; n += step {
		v *= 1e300
	}
	if n < 0 {
		return v * math.Pow10(-n)
	}
	return v / math.Pow10(n)
}

// scale is one axis. Its numbers are the data divided by 10^pow, so that they
// lie about 1 whatever the data; ticks stand at whole multiples of a step of
// 1, 2 or 5 times a power of ten, the first and the last at its ends.
type scale struct {
	pow         int
	mant        int64 // a step is mant × 10^exp
	exp         int
	first, last int64 // in steps
	every       int64 // every so manieth tick has its number; 0: none has
	fine        int64 // small squares to a step
	comma       bool
}

// at returns where tick i stands.
func (s scale) at(i int64) float64 {
	n := float64(i * s.mant)
	if s.exp < 0 {
		return n / math.Pow10(-s.exp)
	}
	return n * math.Pow10(s.exp)
}

func (s scale) lo() float64 { return s.at(s.first) }
func (s scale) hi() float64 { return s.at(s.last) }

// steps is how many steps the scale is long.
func (s scale) steps() int64 { return s.last - s.first }

// factor returns the power of ten that goes into the label of the axis: none
// for numbers of everyday size, else a multiple of three.
func (s scale) factor() int {
	most := max(abs(s.first), abs(s.last)) * s.mant
	n := s.exp + s.pow + len(strconv.FormatInt(most, 10)) - 1
	if n >= -2 && n < 5 {
		return 0
	}
	return int(math.Floor(float64(n)/3)) * 3
}

func abs(n int64) int64 { return max(n, -n) }

// number prints tick i, with as many decimals as every other.
func (s scale) number(i int64) string {
	exp := s.exp + s.pow - s.factor()
	digits := len(strconv.FormatInt(max(abs(s.first), abs(s.last))*s.mant, 10))
	return tickNumber(i*s.mant, exp, s.comma, digits+exp > 4)
}

// numbered reports whether tick i has its number.
func (s scale) numbered(i int64) bool { return s.every > 0 && i%s.every == 0 }

// widest returns the width in px of the widest number of the axis.
func (s scale) widest() float64 {
	w := 0.0
	for i := s.first; i <= s.last; i++ {
		w = math.Max(w, plainLabel(s.number(i), labelSize).px())
	}
	return w
}

// room says how much there is for an axis.
type room struct {
	px          float64
	least, most int64   // of steps
	margin      float64 // in px, kept between the data and the ends
	along       bool    // the numbers stand side by side
	comma       bool
}

// fill returns the part of the scale that e takes up.
func (s scale) fill(e extent) float64 { return (e.hi - e.lo) / (s.hi() - s.lo()) }

// half is the part of the paper that the data must fill, in either direction.
const half = 0.5

// newScale returns a scale that holds data and fills more than half of the
// paper with them. It begins at zero, and holds more (the ends of lines), where
// that costs little paper.
func newScale(data, more extent, pow int, r room) scale {
	data = opened(data)
	plain := tightScale(data, data, pow, r)
	zero := data
	zero.add(0)
	for _, want := range []extent{zero.with(more), data.with(more), zero} {
		s, ok := bestScale(want, data, pow, r.margin, r)
		if ok && s.fill(data) > math.Max(half, dear*plain.fill(data)) {
			return s.spaced(r)
		}
	}
	return plain.spaced(r)
}

// dear is the part of its paper that a graph must keep when it takes in more
// than its points.
const dear = 0.8

// tightScale holds data, with a margin if they then still fill half of it.
func tightScale(want, data extent, pow int, r room) scale {
	if s, ok := bestScale(want, data, pow, r.margin, r); ok && s.fill(data) > half {
		return s
	}
	s, _ := bestScale(want, data, pow, 0, r)
	return s
}

// opened returns e, widened where its ends are too close to be told apart.
func opened(e extent) extent {
	most := math.Max(math.Abs(e.lo), math.Abs(e.hi))
	if e.hi-e.lo > 1e-11*most {
		return e
	}
	if most == 0 {
		return extent{lo: -1, hi: 1, any: true}
	}
	mid := e.lo/2 + e.hi/2
	return extent{lo: mid - most/10, hi: mid + most/10, any: true}
}

// bestScale tries every step that gives a fair number of ticks, and takes the
// one that wastes the least paper and crowds the ticks the least.
func bestScale(want, data extent, pow int, margin float64, r room) (scale, bool) {
	span := want.hi - want.lo
	lo, hi := padded(want, data, margin/r.px*span)
	var best scale
	found, least := false, math.Inf(1)
	top := magnitude(span)
	for exp := top - 2; exp <= top+1; exp++ {
		for _, mant := range []int64{1, 2, 5} {
			s := scale{pow: pow, mant: mant, exp: exp, every: 1, fine: 1, comma: r.comma}
			step := s.at(1)
			s.first = int64(math.Floor(lo/step + 1e-7))
			s.last = int64(math.Ceil(hi/step - 1e-7))
			n := s.steps()
			if n < r.least || n > r.most {
				continue
			}
			cost := 1 - s.fill(data) + s.crowding(r)
			if cost < least-1e-9 {
				best, least, found = s, cost, true
			}
		}
	}
	if !found {
		return looseScale(lo, hi, pow, r), false
	}
	return best, true
}

// padded returns the ends of want, and pad beyond the ends of data; but a scale
// of numbers of one sign does not cross zero for that.
func padded(want, data extent, pad float64) (lo, hi float64) {
	lo, hi = math.Min(want.lo, data.lo-pad), math.Max(want.hi, data.hi+pad)
	if want.lo >= 0 {
		lo = math.Max(lo, 0)
	}
	if want.hi <= 0 {
		hi = math.Min(hi, 0)
	}
	return lo, hi
}

// crowding is how far the ticks are from their best distance, and whether their
// numbers touch.
func (s scale) crowding(r room) float64 {
	each := r.px / float64(s.steps())
	if !r.along {
		return 0.1 * math.Abs(math.Log2(each/32))
	}
	cost := 0.1 * math.Abs(math.Log2(each/64))
	if s.widest()+10 > each {
		cost += 0.3
	}
	return cost
}

// looseScale is what remains if no step gives the wanted number of ticks: the
// largest step that gives at least the least.
func looseScale(lo, hi float64, pow int, r room) scale {
	top := magnitude(hi - lo)
	for exp := top + 1; ; exp-- {
		for _, mant := range []int64{5, 2, 1} {
			s := scale{pow: pow, mant: mant, exp: exp, every: 1, fine: 1, comma: r.comma}
			step := s.at(1)
			s.first = int64(math.Floor(lo/step + 1e-7))
			s.last = int64(math.Ceil(hi/step - 1e-7))
			if s.steps() >= r.least || exp < top-3 {
				return s
			}
		}
	}
}

// spaced leaves out the numbers that would touch and divides the steps into
// small squares.
func (s scale) spaced(r room) scale {
	n := s.steps()
	need := 18.0
	if r.along {
		need = s.widest() + 8
	}
	for float64(s.every)*r.px/float64(n) < need && s.every < n {
		s.every++
	}
	const smallest = 6.5 // px
	for _, fine := range map[int64][]int64{1: {10, 5, 2}, 2: {10, 4, 2}, 5: {10, 5}}[s.mant] {
		if r.px/float64(n*fine) >= smallest {
			s.fine = fine
			break
		}
	}
	return s
}
