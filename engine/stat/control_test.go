package stat

import (
	"math"
	"slices"
	"testing"
)

// TestControlConstants derives the constants from the range R = √2 σ|Z| of two
// normal values: its mean is d₂ σ with d₂ = 2/√π, its standard deviation d₃ σ
// with d₃ = √(2 − 4/π), and D₄ = 1 + 3 d₃/d₂. ISO 7870-2 prints them with three
// decimals.
func TestControlConstants(t *testing.T) {
	d2 := 2 / math.Sqrt(math.Pi)
	d3 := math.Sqrt(2 - 4/math.Pi)
	for _, c := range []struct{ have, want float64 }{{rangeMean, d2}, {rangeUpper, 1 + 3*d3/d2}} {
		if math.Abs(c.have-c.want) > 0.0005 {
			t.Errorf("%g, not %g", c.have, c.want)
		}
	}
	// The factor for limits of individual values is printed as 2.66.
	if e2 := 3 / rangeMean; math.Round(e2*100) != 266 {
		t.Errorf("3/d₂ = %g", e2)
	}
}

// flowRate is the worked example of an individuals chart in the NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.2; its numbers are quoted from
// memory.
var flowRate = []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}

// moisture is the worked example of an individuals chart in ISO 8258:1991, the
// moisture of ten lots of skim milk powder in %; its numbers are quoted from
// memory. The printed limits are made of the mean range 3.4/9 rounded to 0.38,
// and rounded in turn: they may be off by 0.005 and 3.27 · 0.0022.
var moisture = []float64{2.9, 3.2, 3.6, 4.3, 3.8, 3.5, 3.0, 3.1, 3.6, 3.5}

func TestControlPublished(t *testing.T) {
	for _, c := range []struct {
		name                                       string
		values                                     []float64
		mean, meanRange, lower, upper, above, half float64
	}{
		{"flow rate", flowRate, 50.81, 1.8778, 45.8159, 55.8041, math.NaN(), 0.00005},
		{"moisture", moisture, 3.45, 0.38, 2.44, 4.46, 1.24, 0.0123},
	} {
		k := NewControl(c.values, 0)
		for _, n := range []struct {
			what       string
			have, want float64
		}{{"mean", k.Mean, c.mean}, {"mean range", k.MeanRange, c.meanRange}, {"lower limit", k.Lower, c.lower}, {"upper limit", k.Upper, c.upper}, {"range limit", k.RangeUpper, c.above}} {
			if math.Abs(n.have-n.want) > c.half {
				t.Errorf("%s: %s is %.6f, not %g", c.name, n.what, n.have, n.want)
			}
		}
		// Both examples find their process in control.
		if s := k.Signals(); len(s) > 0 || len(k.RangeSignals()) > 0 {
			t.Errorf("%s: %v", c.name, s)
		}
		if !k.Provisional() || !k.HasLimits() || k.Base != 10 {
			t.Errorf("%s: %+v", c.name, k)
		}
	}
}

// TestControlMoves: a shift moves the mean and the limits, a change of unit
// scales all of them, and neither touches the signals; so does turning the
// chart upside down.
func TestControlMoves(t *testing.T) {
	s := NewStream(7, "control", 0)
	for range 200 {
		values := make([]float64, 40)
		for i := range values {
			values[i] = 10 + float64(uniform(s)) + float64(i)*0.01
		}
		a := NewControl(values, 0)
		for _, m := range []struct{ shift, scale float64 }{{100, 1}, {0, 1e-3}, {-7, 2.5}, {0, -1}} {
			moved := make([]float64, len(values))
			for i, v := range values {
				moved[i] = float64(v*m.scale) + m.shift
			}
			b := NewControl(moved, 0)
			to := func(v float64) float64 { return float64(v*m.scale) + m.shift }
			low, high := to(a.Lower), to(a.Upper)
			if m.scale < 0 {
				low, high = high, low
			}
			for _, p := range [][2]float64{{b.Mean, to(a.Mean)}, {b.Lower, low}, {b.Upper, high}, {b.RangeUpper, a.RangeUpper * math.Abs(m.scale)}} {
				if math.Abs(p[0]-p[1]) > 1e-9*(math.Abs(m.scale)+math.Abs(m.shift)) {
					t.Fatalf("%+v: %v", m, p)
				}
			}
			if !slices.Equal(a.Signals(), b.Signals()) || !slices.Equal(a.RangeSignals(), b.RangeSignals()) {
				t.Fatalf("%+v: %v, %v", m, a.Signals(), b.Signals())
			}
		}
	}
}

func uniform(s *Stream) float64 { return float64(s.Uint64()>>11) / (1 << 53) }

// TestControlHard: all values equal, one value, two, none, and holes.
func TestControlHard(t *testing.T) {
	nan := math.NaN()
	equal := NewControl([]float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, 0)
	if equal.Sigma != 0 || math.Abs(equal.Upper-0.1) > 1e-16 || len(equal.Signals()) > 0 || len(equal.RangeSignals()) > 0 {
		t.Errorf("%+v %v", equal, equal.Signals())
	}
	one := NewControl([]float64{5}, 0)
	if one.Mean != 5 || one.HasLimits() || !math.IsNaN(one.Upper) || len(one.Signals()) > 0 {
		t.Errorf("%+v", one)
	}
	two := NewControl([]float64{4, 6}, 0)
	if two.Mean != 5 || two.MeanRange != 2 || !two.HasLimits() || !two.Provisional() || len(two.Signals()) > 0 {
		t.Errorf("%+v", two)
	}
	none := NewControl(nil, 0)
	if none.HasLimits() || !math.IsNaN(none.Mean) || len(none.Signals()) > 0 {
		t.Errorf("%+v", none)
	}
	holes := NewControl([]float64{1, nan, 2, 4, math.Inf(1), 5}, 0)
	if holes.Base != 4 || holes.Mean != 3 || holes.MeanRange != 2 || !math.IsNaN(holes.Ranges[2]) || !math.IsNaN(holes.Values[4]) {
		t.Errorf("%+v", holes)
	}
	apart := NewControl([]float64{1, nan, 2, nan, 3}, 0)
	if apart.HasLimits() || apart.Mean != 2 {
		t.Errorf("%+v", apart)
	}
}

// TestControlBaseline: what comes after the baseline moves no limit, and is
// held to them.
func TestControlBaseline(t *testing.T) {
	values := append(slices.Clone(moisture), 4.6, 9)
	k := NewControl(values, 10)
	if ref := NewControl(moisture, 0); k.Upper != ref.Upper || k.Mean != ref.Mean || k.RangeUpper != ref.RangeUpper {
		t.Errorf("%+v", k)
	}
	want := []Signal{{Beyond, 10, 10}, {Beyond, 11, 11}, {TwoOfThree, 9, 11}}
	if got := k.Signals(); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
	if got := k.RangeSignals(); !slices.Equal(got, []int{11}) {
		t.Errorf("%v", got)
	}
	// A baseline of equal values: whatever differs lies beyond.
	if got := NewControl([]float64{1, 1, 1, 2}, 3).Signals(); !slices.Equal(got, []Signal{{Beyond, 3, 3}}) {
		t.Errorf("%v", got)
	}
}

// TestControlRules makes each pattern alone, at its edge, about a baseline of
// mean 0 and σ = 1.
func TestControlRules(t *testing.T) {
	// 20 values ±a, so that the mean is 0 and the mean moving range 2a = d₂.
	var quiet []float64
	for i := range 20 {
		quiet = append(quiet, rangeMean/2*float64(1-2*(i%2)))
	}
	nan := math.NaN()
	for _, c := range []struct {
		name   string
		points []float64
		want   []Signal // counted from the first of the points
	}{
		{"at the limit", []float64{3, 0}, nil},
		{"beyond", []float64{3.0001}, []Signal{{Beyond, 0, 0}}},
		{"below", []float64{0, -3.0001}, []Signal{{Beyond, 1, 1}}},
		{"eight on one side", []float64{0, .1, .2, .1, .2, .1, .2, .1, .2, -.1}, nil},
		{"nine on one side", []float64{0, .1, .2, .1, .2, .1, .2, .1, .2, .1}, []Signal{{OneSide, 1, 9}}},
		{"ten on one side", []float64{0, .1, .2, .1, .2, .1, .2, .1, .2, .1, .2}, []Signal{{OneSide, 1, 9}, {OneSide, 2, 10}}},
		{"on the mean is no side", []float64{0, .1, .2, .1, .2, 0, .2, .1, .2, .1}, nil},
		{"five rising", []float64{-.6, -.3, 0, .3, .6, .5}, nil},
		{"six rising", []float64{0, -.6, -.3, 0, .3, .6, .9}, []Signal{{Trend, 1, 6}}},
		{"six falling", []float64{0, .9, .6, .3, 0, -.3, -.6}, []Signal{{Trend, 1, 6}}},
		{"level is no trend", []float64{0, -.6, -.3, 0, 0, .6, .9}, nil},
		{"two of three", []float64{0, 2.1, 0, 2.2}, []Signal{{TwoOfThree, 1, 3}}},
		{"two of three, both sides", []float64{0, 2.1, 0, -2.2}, nil},
		{"two of four", []float64{2.1, 0, 0, 2.2}, nil},
		{"four of five", []float64{0, 1.1, 1.2, -1, 1.1, 1.2}, []Signal{{FourOfFive, 1, 5}}},
		{"three of five", []float64{0, 1.1, 1, 0, 1.1, 1.2}, nil},
		{"a hole ends it", []float64{0, 2.1, nan, 2.2}, nil},
		{"a hole ends a run", []float64{0, .1, .2, .1, .2, nan, .1, .2, .1, .2, .1}, nil},
		{"a hole ends a trend", []float64{-.6, -.3, 0, nan, .3, .6, .9}, nil},
	} {
		k := NewControl(append(slices.Clone(quiet), c.points...), len(quiet))
		if math.Abs(k.Sigma-1) > 1e-12 || math.Abs(k.Mean) > 1e-12 || k.Provisional() {
			t.Fatalf("%+v", k)
		}
		var got []Signal
		for _, s := range k.Signals() {
			if s.Last >= len(quiet) {
				got = append(got, Signal{s.Rule, s.First - len(quiet), s.Last - len(quiet)})
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, not %v", c.name, got, c.want)
		}
	}
}

// TestControlFalseAlarms: of independent normal values, held to limits known
// well, 0.27 % lie beyond 3 σ; nine in a row on one side end at 2/2⁹ of the
// points, a rising or falling six at 2/6! of them.
func TestControlFalseAlarms(t *testing.T) {
	const n = 400_000
	s := NewStream(11, "false alarms", 0)
	values := make([]float64, n)
	Normal().Fill(values, s)
	count := map[Rule]int{}
	for _, sig := range NewControl(values, 0).Signals() {
		count[sig.Rule]++
	}
	for r, p := range map[Rule]float64{Beyond: 0.0027, OneSide: 2.0 / 512, Trend: 2.0 / 720} {
		// Overlapping patterns come in bunches, so that their number scatters
		// more than Poisson's.
		if got, want := float64(count[r]), p*n; math.Abs(got-want) > 8*math.Sqrt(want) {
			t.Errorf("%v: %v of %d points, not about %.0f", r, got, n, want)
		}
	}
}

// TestNormalizedError: by hand, 3-4-5; and what is not assessable.
func TestNormalizedError(t *testing.T) {
	if en := NormalizedError(210, 3, 205, 4); math.Abs(en-1) > 1e-15 {
		t.Errorf("%g", en)
	}
	if en := NormalizedError(200e9, 3e9, 205e9, 4e9); math.Abs(en+1) > 1e-15 {
		t.Errorf("%g", en)
	}
	for _, u := range [][2]float64{{0, 4}, {3, 0}, {math.NaN(), 4}, {3, math.NaN()}, {-1, 4}} {
		if en := NormalizedError(210, u[0], 205, u[1]); !math.IsNaN(en) {
			t.Errorf("%v: %g", u, en)
		}
	}
}
