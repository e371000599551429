package fit

import "math"

// dd is an unevaluated sum of two floats, some 32 digits (T. J. Dekker, Numer.
// Math. 18 (1971) 224). Residuals are computed in it: they are small differences
// of large numbers, and the coefficients are refined until they are right.
type dd struct{ hi, lo float64 }

func quickSum(a, b float64) dd {
	s := a + b
	return dd{s, b - (s - a)}
}

func twoSum(a, b float64) dd {
	s := a + b
	t := s - a
	return dd{s, (a - (s - t)) + (b - t)}
}

func (a dd) plus(b dd) dd {
	s := twoSum(a.hi, b.hi)
	return quickSum(s.hi, s.lo+(a.lo+b.lo))
}

func (a dd) times(b float64) dd {
	p := a.hi * b
	return quickSum(p, math.FMA(a.hi, b, -p)+float64(a.lo*b))
}

func (a dd) over(b float64) dd {
	q := a.hi / b
	r := math.FMA(-q, b, a.hi)
	return quickSum(q, (r+a.lo)/b)
}
