package unit

import (
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func within(a, b, relative float64) bool {
	return math.Abs(a-b) <= relative*math.Abs(b)
}

func TestToSI(t *testing.T) {
	for _, c := range []struct {
		number, unit string
		want         float64
	}{
		{"3.12", "mm", 0.00312},
		{"197.3", "GPa", 197.3e9},
		{"1.97e11", "Pa", 1.97e11},
		{"1.97×10^11", "Pa", 1.97e11},
		{"-0.5", "g", -0.0005},
		{"−0.5", "g", -0.0005},
		{"+0.02", "mm", 0.00002},
		{"2E-3", "km", 2},
		{"007", "m", 7},
		{"0", "mm", 0},
		{"-0.0", "mm", 0},
		{"0.1", "mm", 0.0001}, // 0.1 * 0.001 is another float64
		{"12", "%", 0.12},
		{"1", "1", 1},
		{"20", "°C", 293.15},
		{"-273.15", "°C", 0},
		{"0", "°C", 273.15},
		{"180", "°", math.Pi},
		{"360", "°", 2 * math.Pi},
		{"60", "″", math.Pi / 10800},
		{"1", "h", 3600},
		{"1", "kgf", 9.80665},
		{"12", "inch", 0.3048},
		{"5e-324", "m", 5e-324},
	} {
		got, err := MustParse(c.unit).ToSI(c.number)
		if err != nil || got != c.want || math.Signbit(got) != math.Signbit(c.want) {
			t.Errorf("%s %s = %v, %v; want %v", c.number, c.unit, got, err, c.want)
		}
	}
}

// Factors as printed by NIST Special Publication 811 (2008), appendix B.8, to
// the digits printed there (from memory; psi is also 6895 Pa in the tables of
// OpenStax University Physics, volume 1).
func TestPublishedFactors(t *testing.T) {
	for _, c := range []struct {
		unit, factor string
	}{
		{"psi", "6.894757e3"},
		{"lbf", "4.448222"},
		{"lb", "4.535924e-1"},
		{"kgf", "9.80665"},
		{"inch", "2.54e-2"},
		{"ft", "3.048e-1"},
		{"inch^2", "6.4516e-4"},
		{"ft^2", "9.290304e-2"},
		{"inch^4", "4.162314e-7"},
		{"lbf/inch", "1.751268e2"},
		{"lbf ft", "1.355818"},
		{"bar", "1.0e5"},
		{"atm", "1.01325e5"},
		{"kgf/mm^2", "9.80665e6"},
		{"kgf/cm^2", "9.80665e4"},
		{"°", "1.745329e-2"},
		{"′", "2.908882e-4"},
		{"″", "4.848137e-6"},
		{"min", "6.0e1"},
		{"h", "3.6e3"},
		{"d", "8.64e4"},
		{"ha", "1.0e4"},
		{"L", "1.0e-3"},
		{"t", "1.0e3"},
		{"au", "1.495979e11"},
		{"eV", "1.602177e-19"}, // SI Brochure, table 8: 1.602 176 634e-19
		{"Da", "1.660539e-27"}, // SI Brochure, table 8: 1.660 539 066 60(50)e-27
	} {
		digits := len(strings.Replace(strings.Split(c.factor, "e")[0], ".", "", 1))
		got := strconv.FormatFloat(MustParse(c.unit).Factor(), 'e', max(digits, 7)-1, 64)
		want, err := strconv.ParseFloat(c.factor, 64)
		if err != nil {
			t.Fatal(err)
		}
		if got != strconv.FormatFloat(want, 'e', max(digits, 7)-1, 64) {
			t.Errorf("%s = %s, published %s", c.unit, got, c.factor)
		}
	}
}

// exactFactor takes the factor of a symbol by its own road: from the defining
// constants, in rationals; π is not asked for here.
func exactFactor(symbol string) *big.Rat {
	rat := func(s string) *big.Rat {
		r, ok := new(big.Rat).SetString(s)
		if !ok {
			panic(s)
		}
		return r
	}
	mul := func(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
	inch, lb, gn := rat("254/10000"), rat("45359237/100000000"), rat("980665/100000")
	lbf := mul(lb, gn)
	switch symbol {
	case "mm":
		return rat("1/1000")
	case "GPa":
		return rat("1000000000")
	case "inch":
		return inch
	case "ft":
		return mul(rat("12"), inch)
	case "lbf":
		return lbf
	case "kgf":
		return gn
	case "gf":
		return mul(gn, rat("1/1000"))
	case "psi":
		return new(big.Rat).Quo(lbf, mul(inch, inch))
	case "1/min":
		return rat("1/60")
	case "kgf/mm^2":
		return mul(gn, rat("1000000"))
	}
	panic(symbol)
}

// A typed number comes out as the float64 nearest to its exact product.
func TestToSICorrectlyRounded(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for _, symbol := range []string{"mm", "GPa", "inch", "ft", "lbf", "kgf", "gf", "psi", "1/min", "kgf/mm^2"} {
		u, factor := MustParse(symbol), exactFactor(symbol)
		for range 300 {
			number := strconv.FormatInt(r.Int64N(1e12), 10) + "." + strconv.Itoa(r.IntN(1e6)) + "e" + strconv.Itoa(r.IntN(40)-20)
			x, _ := new(big.Rat).SetString(number)
			want, _ := x.Mul(x, factor).Float64()
			if got, err := u.ToSI(number); err != nil || got != want {
				t.Fatalf("%s %s = %v, %v; want %v", number, symbol, got, err, want)
			}
		}
	}
}

// Angles against a product with π to 62 places (from memory) in 300 bits.
func TestDegrees(t *testing.T) {
	pi := new(big.Float).SetPrec(300)
	pi.SetString("3.14159265358979323846264338327950288419716939937510582097494459")
	r := rand.New(rand.NewPCG(9, 10))
	for _, c := range []struct {
		unit string
		per  int64
	}{{"°", 180}, {"′", 10800}, {"″", 648000}} {
		for range 300 {
			n := r.Int64N(1e9)
			x := new(big.Float).SetPrec(300).SetInt64(n)
			x.Mul(x, pi)
			x.Quo(x, new(big.Float).SetInt64(c.per*1000))
			want, _ := x.Float64()
			if got, err := MustParse(c.unit).ToSI(strconv.FormatInt(n, 10) + "e-3"); err != nil || got != want {
				t.Fatalf("%de-3 %s = %v, %v; want %v", n, c.unit, got, err, want)
			}
		}
	}
	if got := MustParse("°^2").Factor(); !within(got, math.Pi*math.Pi/32400, 1e-15) {
		t.Errorf("°^2 = %v", got)
	}
	if got := MustParse("1/°").Factor(); !within(got, 180/math.Pi, 1e-15) {
		t.Errorf("1/° = %v", got)
	}
}

func TestRoundTrip(t *testing.T) {
	const ulp = 0x1p-52
	r := rand.New(rand.NewPCG(11, 12))
	for range 3000 {
		u := MustParse(randomUnit(r))
		v := (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(20)-10))
		if got := u.FromSI(u.SI(v)); !within(got, v, 2*ulp) && !u.IsTemperature() {
			t.Fatalf("%v %s to SI and back is %v", v, u, got)
		}
		number := strconv.FormatFloat(v, 'g', -1, 64)
		exact, err := u.ToSI(number)
		if err != nil {
			t.Fatal(err)
		}
		if got := u.SI(v); !within(got, exact, 2*ulp) && !u.IsTemperature() {
			t.Fatalf("%v %s is %v, exactly %v", v, u, got, exact)
		}
	}
	c := MustParse("°C")
	if c.SI(20) != 293.15 || math.Abs(c.FromSI(293.15)-20) > 1e-13 {
		t.Errorf("20 °C: %v, %v", c.SI(20), c.FromSI(293.15))
	}
}

func TestToSIErrors(t *testing.T) {
	for _, c := range []struct {
		number, unit string
		at, n        int
		message      string
	}{
		{"", "m", 0, 0, "begins with a digit"},
		{"abc", "m", 0, 3, "begins with a digit"},
		{".5", "m", 0, 2, "begins with a digit"},
		{"-", "m", 1, 0, "begins with a digit"},
		{"--1", "m", 1, 2, "begins with a digit"},
		{"NaN", "m", 0, 3, "begins with a digit"},
		{"0x1p3", "m", 1, 4, "not part of a decimal number"},
		{"1_000", "m", 1, 4, "not part of a decimal number"},
		{"1,5", "m", 1, 2, "not part of a decimal number"},
		{"1.", "m", 1, 1, "must follow"},
		{"1e", "m", 1, 1, "whole number"},
		{"1e2.5", "m", 1, 4, "whole number"},
		{"1e99999999999999999999", "m", 1, 21, "±9999"},
		{"1e-10000", "°", 1, 7, "±9999"},
		{"1e400", "m", 0, 5, "too large"},
		{"1e9999", "°C", 0, 6, "too large"},
		{"1e9999", "°", 0, 6, "too large"},
		{"1e9999", "psi", 0, 6, "too large"},
		{"1e308", "km", 0, 5, "too large"},
		{"1e-9999", "psi", 0, 7, "too small"},
		{"1e-324", "m", 0, 6, "too small"},
		{strings.Repeat("1", 201), "m", 0, 201, "200 characters"},
	} {
		got, err := MustParse(c.unit).ToSI(c.number)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q %s = %v, %v", c.number, c.unit, got, err)
			continue
		}
		if e.Offset != c.at || e.Len != c.n || !strings.Contains(e.Message, c.message) {
			t.Errorf("%q %s: at %d+%d %q; want %d+%d %q", c.number, c.unit, e.Offset, e.Len, e.Message, c.at, c.n, c.message)
		}
	}
	if got, err := MustParse("°C").ToSI("1e-9999"); err != nil || got != 273.15 {
		t.Errorf("1e-9999 °C = %v, %v", got, err)
	}
}

func FuzzToSI(f *testing.F) {
	for _, s := range []string{"3.12", "-1.97e11", "1×10^-5", "20", "1e9999", "", "1.e", "−0"} {
		f.Add(s)
	}
	units := []Unit{{}, MustParse("mm"), MustParse("psi"), MustParse("°"), MustParse("°C")}
	f.Fuzz(func(t *testing.T, number string) {
		for _, u := range units {
			v, err := u.ToSI(number)
			if math.IsNaN(v) || math.IsInf(v, 0) || (v == 0 && math.Signbit(v)) {
				t.Fatalf("%q %s = %v, %v", number, u, v, err)
			}
		}
	})
}

func BenchmarkToSI(b *testing.B) {
	for _, symbol := range []string{"mm", "inch", "psi", "°", "°C"} {
		u := MustParse(symbol)
		b.Run(symbol, func(b *testing.B) {
			for b.Loop() {
				if _, err := u.ToSI("3.12"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
