package unit

import (
	"math/big"
	"strconv"
	"strings"
)

// scale is the exact size of a unit: ratio × 10^ten × π^pi. The ratio is the
// text "a" or "a/b" in lowest terms with no factor of ten left in a and none of
// two or five in b; "" stands for one. Equal sizes are therefore equal values.
type scale struct {
	ten   int
	pi    int
	ratio string
}

// parseScale reads the factor of a row of the table.
func parseScale(text string) scale {
	num, den, quotient := strings.Cut(text, "/")
	var s scale
	if num == "pi" {
		s.pi, num = 1, "1"
	}
	r := mustRat(num)
	if quotient {
		r.Quo(r, mustRat(den))
	}
	s.setRat(r)
	return s
}

func mustRat(text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic("unit: bad factor in the table: " + text)
	}
	return r
}

// setRat multiplies s by the positive number r, which must be all of its ratio.
func (s *scale) setRat(r *big.Rat) {
	num, den := new(big.Int).Set(r.Num()), new(big.Int).Set(r.Denom())
	ten := big.NewInt(10)
	quo, rem := new(big.Int), new(big.Int)
	// Clear twos and fives from below the line, a power of ten at a time.
	for _, p := range [...][2]int64{{2, 5}, {5, 2}} {
		factor, other := big.NewInt(p[0]), big.NewInt(p[1])
		for {
			if quo.QuoRem(den, factor, rem); rem.Sign() != 0 {
				break
			}
			den.Set(quo)
			num.Mul(num, other)
			s.ten--
		}
	}
	for {
		if quo.QuoRem(num, ten, rem); rem.Sign() != 0 {
			break
		}
		num.Set(quo)
		s.ten++
	}
	s.ratio = ""
	if num.IsInt64() && num.Int64() == 1 && den.IsInt64() && den.Int64() == 1 {
		return
	}
	s.ratio = num.String()
	if !den.IsInt64() || den.Int64() != 1 {
		s.ratio += "/" + den.String()
	}
}

// rat returns the ratio without its powers of ten and π.
func (s scale) rat() *big.Rat {
	if s.ratio == "" {
		return big.NewRat(1, 1)
	}
	return mustRat(s.ratio)
}

// mulPow returns s × t^n.
func (s scale) mulPow(t scale, n int) scale {
	out := scale{ten: s.ten + n*t.ten, pi: s.pi + n*t.pi, ratio: s.ratio}
	if t.ratio == "" || n == 0 {
		return out
	}
	if s.ratio == "" && n == 1 {
		out.ratio = t.ratio
		return out
	}
	r, f := s.rat(), t.rat()
	if n < 0 {
		f.Inv(f)
		n = -n
	}
	for range n {
		r.Mul(r, f)
	}
	out.setRat(r)
	return out
}

// powerOfTen reports whether the scale is nothing but a power of ten.
func (s scale) powerOfTen() bool { return s.ratio == "" && s.pi == 0 }

// float returns the scale as the nearest float64, 0 or +Inf where it is beyond
// the range.
func (s scale) float() float64 {
	if s.powerOfTen() {
		// A power of ten that is held exactly, or one rounding from it.
		if s.ten >= 0 && s.ten < len(powersOfTen) {
			return powersOfTen[s.ten]
		} else if s.ten < 0 && -s.ten < len(powersOfTen) {
			return 1 / powersOfTen[-s.ten]
		}
		// The only error is that of the range, and ParseFloat gives 0 or Inf.
		f, _ := strconv.ParseFloat("1e"+strconv.Itoa(s.ten), 64)
		return f
	}
	return s.times(big.NewInt(1), 0)
}

// pi100 is π to 100 decimal places.
const pi100 = "3.1415926535897932384626433832795028841971693993751058209749445923078164062862089986280348253421170679"

// times returns digits × 10^exp × s as the nearest float64. With a power of π
// the product is formed to 1024 bits and π to 100 places.
func (s scale) times(digits *big.Int, exp int) float64 {
	r := s.rat()
	r.Mul(r, new(big.Rat).SetInt(digits))
	exp += s.ten
	power := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(abs(exp))), nil))
	if exp < 0 {
		r.Quo(r, power)
	} else {
		r.Mul(r, power)
	}
	if s.pi == 0 {
		f, _ := r.Float64()
		return f
	}
	const precision = 1024
	x := new(big.Float).SetPrec(precision).SetRat(r)
	pi, _, err := big.ParseFloat(pi100, 10, precision, big.ToNearestEven)
	if err != nil {
		panic("unit: π: " + err.Error())
	}
	for range abs(s.pi) {
		if s.pi > 0 {
			x.Mul(x, pi)
		} else {
			x.Quo(x, pi)
		}
	}
	f, _ := x.Float64()
	return f
}

func abs(n int) int { return max(n, -n) }
