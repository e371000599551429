package draw

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// rooms are the axes of the usual drawings.
var rooms = map[string]room{
	"x":   {px: 490, least: 4, most: 9, margin: 6, along: true},
	"y":   {px: 280, least: 4, most: 9, margin: 6},
	"low": {px: 230, least: 4, most: 9, margin: 6},
}

// TestScale holds random axes to the customs of the teaching laboratory (common
// practice): ticks at 1, 2 or 5 times a power of ten, five to ten of them, the
// data within the axis and filling more than half of it, the same number of
// decimals at every tick, and each number true to its place.
func TestScale(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for range 4000 {
		mid := r.NormFloat64() * math.Pow10(r.IntN(7)-3)
		span := math.Exp(3*r.NormFloat64()) * math.Max(math.Abs(mid)*1e-4, 1e-6)
		pow := r.IntN(40) - 20
		data := extent{lo: mid - span/2, hi: mid + span/2, any: true}
		var more extent
		if r.IntN(2) == 0 {
			more.add(data.lo - span*r.Float64())
			more.add(data.hi + span*r.Float64())
		}
		for name, room := range rooms {
			checkScale(t, name, newScale(data, more, pow, room), data, room)
			if t.Failed() {
				t.Fatalf("%s: data %v, more %v, pow %d", name, data, more, pow)
			}
		}
	}
}

func checkScale(t *testing.T, name string, s scale, data extent, room room) {
	t.Helper()
	if s.mant != 1 && s.mant != 2 && s.mant != 5 {
		t.Errorf("%s: a step of %d", name, s.mant)
	}
	if n := s.steps() + 1; n < 5 || n > 10 {
		t.Errorf("%s: %d ticks", name, n)
	}
	slack := 1e-6 * s.at(1)
	if s.lo() > data.lo+slack || s.hi() < data.hi-slack {
		t.Errorf("%s: from %g to %g does not hold the data", name, s.lo(), s.hi())
	}
	if s.fill(data) <= half {
		t.Errorf("%s: the data fill %g of the axis", name, s.fill(data))
	}
	decimals := -1
	for i := s.first; i <= s.last; i++ {
		text := s.number(i)
		_, part, _ := strings.Cut(strings.ReplaceAll(text, thin, ""), ".")
		if decimals >= 0 && len(part) != decimals {
			t.Errorf("%s: %q has other decimals than the rest", name, text)
		}
		decimals = len(part)
		value := s.at(i) * math.Pow10(s.pow-s.factor())
		if got := number(t, text); math.Abs(got-value) > 1e-9*math.Abs(value) {
			t.Errorf("%s: %q stands at %g", name, text, value)
		}
	}
	if room.along && s.every == 1 && s.widest() > room.px/float64(s.steps()) {
		t.Errorf("%s: the numbers touch", name)
	}
}

func TestScaleBeginsAtZeroWhereItCostsLittle(t *testing.T) {
	s := newScale(extent{lo: 0.5, hi: 4, any: true}, extent{}, 0, rooms["x"])
	if s.first != 0 {
		t.Errorf("data from 0.5 to 4: the axis begins at %g", s.lo())
	}
	s = newScale(extent{lo: 9.1, hi: 9.9, any: true}, extent{}, 0, rooms["x"])
	if s.lo() < 8.9 {
		t.Errorf("data from 9.1 to 9.9: the axis begins at %g", s.lo())
	}
}

func TestTickNumber(t *testing.T) {
	for _, c := range []struct {
		n           int64
		exp         int
		comma, wide bool
		want        string
	}{
		{0, -2, false, false, "0.00"},
		{-5, -1, false, false, "−0.5"},
		{-5, -1, true, false, "−0,5"},
		{25, 2, false, false, "2500"},
		{25, 2, false, true, "2" + thin + "500"},
		{25, 3, false, false, "25" + thin + "000"},
		// SI Brochure 5.4.4: groups of three on both sides of the marker.
		{4327968231, -5, false, false, "43" + thin + "279.682" + thin + "31"},
		{0, 3, false, false, "0"},
	} {
		if got := tickNumber(c.n, c.exp, c.comma, c.wide); got != c.want {
			t.Errorf("tickNumber(%d, %d, %v, %v) = %q, want %q", c.n, c.exp, c.comma, c.wide, got, c.want)
		}
	}
}
