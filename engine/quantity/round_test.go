package quantity

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func TestRoundPlaces(t *testing.T) {
	for _, c := range []struct {
		v      float64
		places int
		want   string
	}{
		// ISO 80000-1:2009, annex B, rule A (from memory; unchanged from ISO 31-0).
		{12.223, 1, "12.2"},
		{12.251, 1, "12.3"},
		{12.275, 1, "12.3"},
		{12.25, 1, "12.2"},
		{12.35, 1, "12.4"},
		{1222.3, -1, "1220"},
		{1225.0, -1, "1220"},
		{1235.0, -1, "1240"},
		// GUM (JCGM 100:2008) 4.4.3: 100.145 is rounded to 100.14.
		{100.145, 2, "100.14"},
		// GUM 7.2.6: 10.057 62 at u = 27 mΩ.
		{10.05762, 3, "10.058"},
		// The same annex: round once; 12.254 is not 12.25 is not 12.3.
		{12.254, 1, "12.3"},
		{12.2499999, 1, "12.2"},

		{0.5, 0, "0"},
		{1.5, 0, "2"},
		{2.5, 0, "2"},
		{0.5000001, 0, "1"},
		{-0.5, 0, "0"},
		{-1.5, 0, "-2"},
		{-0.04, 1, "0.0"},
		{9.995, 2, "10.00"},
		{99.5, 0, "100"},
		{0.95, 1, "1.0"},
		{5, -1, "0"},
		{15, -1, "20"},
		{6, -1, "10"},
		{4, -2, "0"},
		{0, 2, "0.00"},
		{0, -2, "0"},
		{math.Copysign(0, -1), 1, "0.0"},
		{1e21, 0, "1000000000000000000000"},
		{5e-324, 3, "0.000"},
		{math.MaxFloat64, -308, "2" + strings.Repeat("0", 308)},
		{1, 1 << 40, "1." + strings.Repeat("0", maxPlaces)},
		{1, -1 << 40, "0"},
		{math.NaN(), 2, NoNumber},
		{math.Inf(-1), 2, NoNumber},
	} {
		if got := RoundPlaces(c.v, c.places); got != c.want {
			t.Errorf("RoundPlaces(%v, %d) = %q, want %q", c.v, c.places, got, c.want)
		}
	}
}

func TestRoundFigures(t *testing.T) {
	for _, c := range []struct {
		v       float64
		figures int
		want    string
	}{
		{197.3, 3, "197"},
		{12.25, 3, "12.2"},
		{1225, 3, "1220"},
		{0.0996, 2, "0.10"},
		{9.996, 3, "10.0"},
		{999.6, 3, "1000"},
		{0.00001234, 2, "0.000012"},
		{2.26215716274, 3, "2.26"},
		{-0.5, 1, "-0.5"},
		{2, 3, "2.00"},
		{0, 3, "0.00"},
		{3.7, 0, "4"},
		{0.1, 99, "0.10000000000000000"},
		{math.Inf(1), 3, NoNumber},
	} {
		if got := RoundFigures(c.v, c.figures); got != c.want {
			t.Errorf("RoundFigures(%v, %d) = %q, want %q", c.v, c.figures, got, c.want)
		}
	}
}

func TestUncertaintyPlaces(t *testing.T) {
	for _, c := range []struct {
		u      float64
		digits int
		want   int
	}{
		// JCGM 101:2008, 7.9.2: 0.000 35 is 35 × 10^-5 with two digits,
		// 4 × 10^-4 with one (a tie, to the even 4); u = 2 is 2 × 10^0.
		{0.00035, 2, 5},
		{0.00035, 1, 4},
		{2, 1, 0},

		{0.0996, 2, 2},
		{0.0994, 2, 3},
		{0.95, 1, 0}, // a tie, to the even 1.0, which is 1
		{0.96, 1, 0},
		{27e-3, 2, 3},
		{4.1e9, 2, -8},
		{996, 2, -2},
		{994, 2, -1},
		{0, 2, 0},
		{math.NaN(), 2, 0},
		{math.Inf(1), 2, 0},
		{5e-324, 1, 324},
	} {
		if got := UncertaintyPlaces(c.u, c.digits); got != c.want {
			t.Errorf("UncertaintyPlaces(%v, %d) = %d, want %d", c.u, c.digits, got, c.want)
		}
	}
}

func randomNumber(r *rand.Rand) float64 {
	v := math.Float64frombits(r.Uint64())
	if !finite(v) || r.IntN(2) == 0 {
		// Short decimals, so that ties come up.
		v = float64(r.IntN(200001)-100000) / math.Pow(10, float64(r.IntN(6)))
	}
	return v
}

// reference rounds by rational arithmetic: the nearest multiple of 10^-places to
// the shortest decimal, the even one of two.
func reference(v float64, places int) *big.Rat {
	x, _ := new(big.Rat).SetString(strconv.FormatFloat(v, 'g', -1, 64))
	ten := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(places, -places))), nil))
	if places < 0 {
		ten.Inv(ten)
	}
	x.Mul(x, ten)
	floor := new(big.Int).Div(x.Num(), x.Denom()) // toward −∞, the divisor being positive
	rest := new(big.Rat).Sub(x, new(big.Rat).SetInt(floor))
	c := rest.Cmp(big.NewRat(1, 2))
	if c > 0 || c == 0 && floor.Bit(0) == 1 {
		floor.Add(floor, big.NewInt(1))
	}
	return new(big.Rat).Quo(new(big.Rat).SetInt(floor), ten)
}

func TestRoundProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	for range 20000 {
		v, places := randomNumber(r), r.IntN(12)-5
		s := RoundPlaces(v, places)
		got, ok := new(big.Rat).SetString(s)
		if !ok || got.Cmp(reference(v, places)) != 0 {
			t.Fatalf("RoundPlaces(%v, %d) = %q", v, places, s)
		}
		if strings.HasPrefix(s, "-") && got.Sign() == 0 {
			t.Fatalf("RoundPlaces(%v, %d) = %q", v, places, s)
		}
		if _, f, _ := strings.Cut(s, "."); len(f) != max(places, 0) {
			t.Fatalf("RoundPlaces(%v, %d) = %q", v, places, s)
		}
		if minus := RoundPlaces(-v, places); strings.TrimPrefix(minus, "-") != strings.TrimPrefix(s, "-") {
			t.Fatalf("RoundPlaces(%v, %d) = %q, of the opposite %q", v, places, s, minus)
		}
		again, err := strconv.ParseFloat(s, 64)
		if err == nil && math.Abs(v) < 1e15 && RoundPlaces(again, places) != s {
			t.Fatalf("RoundPlaces(%v, %d) = %q is rounded again to %q", v, places, s, RoundPlaces(again, places))
		}
		if w := randomNumber(r); w > v {
			upper, _ := new(big.Rat).SetString(RoundPlaces(w, places))
			if upper.Cmp(got) < 0 {
				t.Fatalf("%v < %v, but rounded %s > %s", v, w, s, RoundPlaces(w, places))
			}
		}
	}
}

// At the place that UncertaintyPlaces names, u has that many digits.
func TestUncertaintyPlacesProperty(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for range 20000 {
		u, digits := math.Abs(randomNumber(r)), 1+r.IntN(3)
		if u == 0 {
			continue
		}
		places := UncertaintyPlaces(u, digits)
		units := reference(u, places)
		scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(places, -places))), nil))
		if places < 0 {
			scale.Inv(scale)
		}
		n := units.Mul(units, scale)
		if !n.IsInt() || len(n.Num().String()) != digits {
			t.Fatalf("UncertaintyPlaces(%v, %d) = %d, where it is %s", u, digits, places, n)
		}
	}
}

func FuzzRound(f *testing.F) {
	f.Add(12.25, 1)
	f.Add(1225.0, -1)
	f.Add(-math.MaxFloat64, 500)
	f.Add(5e-324, 324)
	f.Fuzz(func(t *testing.T, v float64, n int) {
		for _, s := range []string{RoundPlaces(v, n), RoundFigures(v, n)} {
			if s == NoNumber && !finite(v) {
				continue
			}
			if x, ok := new(big.Rat).SetString(s); !ok || x.Sign() == 0 && s[0] == '-' {
				t.Fatalf("%v, %d: %q", v, n, s)
			}
		}
		if n > 0 && n < 20 && finite(v) && v != 0 {
			UncertaintyPlaces(v, n)
		}
	})
}

func BenchmarkRoundPlaces(b *testing.B) {
	for b.Loop() {
		_ = RoundPlaces(12.25, 1)
	}
}

func ExampleRoundPlaces() {
	fmt.Println(RoundPlaces(12.25, 1), RoundPlaces(12.35, 1), RoundPlaces(1225, -1))
	// Output: 12.2 12.4 1220
}
