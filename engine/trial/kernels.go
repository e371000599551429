package trial

import (
	"math"
	"slices"
)

// opcode says what a pass does.
type opcode uint8

const (
	opFill       opcode = iota // draws
	opLinear                   // c + Σ k·src
	opMul                      // c·a·b
	opDiv                      // c·a/b
	opReciprocal               // c/a
	opPow                      // a^b
	opPowTo                    // a^c
	opChoose                   // a ≠ 0 ? b : c
	opMulti
	opAbs // functions of one variable, of c·a
	opSqrt
	opExp
	opLn
	opLog10
	opSin
	opCos
	opTan
	opAsin
	opAcos
	opAtan
	opRound
	opFloor
	opMax // functions of several
	opMin
	opMedian
	opLess
	opEqual
	opAnd
	opOr
	opNot
	opCount
)

var functions = [opCount]func(float64) float64{
	opAbs: math.Abs, opExp: math.Exp, opLn: math.Log,
	opLog10: math.Log10, opSin: math.Sin, opCos: math.Cos, opTan: math.Tan,
	opAsin: math.Asin, opAcos: math.Acos, opAtan: math.Atan,
	opRound: math.RoundToEven, opFloor: math.Floor,
}

// selections take their arguments in a slice that they may reorder. What is
// not a number makes the outcome not a number, unless the outcome is certain
// without it.
var selections = [opCount]func([]float64) float64{
	opMax:    maximum,
	opMin:    minimum,
	opMedian: median,
	opLess:   func(x []float64) float64 { return truth(x[0] < x[1], x[0], x[1]) },
	opEqual:  func(x []float64) float64 { return truth(x[0] == x[1], x[0], x[1]) },
	opAnd: func(x []float64) float64 {
		if x[0] == 0 || x[1] == 0 {
			return 0
		}
		return truth(true, x[0], x[1])
	},
	opOr: func(x []float64) float64 {
		if isTrue(x[0]) || isTrue(x[1]) {
			return 1
		}
		return truth(false, x[0], x[1])
	},
	opNot: func(x []float64) float64 { return truth(x[0] == 0, x[0], 0) },
}

func truth(is bool, a, b float64) float64 {
	switch {
	case math.IsNaN(a) || math.IsNaN(b):
		return math.NaN()
	case is:
		return 1
	}
	return 0
}

func isTrue(x float64) bool { return x != 0 && !math.IsNaN(x) }

func maximum(x []float64) float64 {
	m := x[0]
	for _, v := range x[1:] {
		m = max(m, v)
	}
	return m
}

func minimum(x []float64) float64 {
	m := x[0]
	for _, v := range x[1:] {
		m = min(m, v)
	}
	return m
}

func median(x []float64) float64 {
	slices.Sort(x) // a NaN comes first
	if math.IsNaN(x[0]) {
		return x[0]
	}
	n := len(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return (x[n/2-1] + x[n/2]) / 2
}

// The conversions keep the compiler from fusing products into sums, which
// would give other bits on other processors.

func linear1(dst []float64, c, k float64, a []float64) {
	dst = dst[:len(a)]
	for i, x := range a {
		dst[i] = c + float64(k*x)
	}
}

func linear2(dst []float64, c, k, l float64, a, b []float64) {
	dst, b = dst[:len(a)], b[:len(a)]
	for i, x := range a {
		dst[i] = c + float64(k*x) + float64(l*b[i])
	}
}

func linear3(dst []float64, c, k, l, m float64, a, b, d []float64) {
	dst, b, d = dst[:len(a)], b[:len(a)], d[:len(a)]
	for i, x := range a {
		dst[i] = c + float64(k*x) + float64(l*b[i]) + float64(m*d[i])
	}
}

func linear4(dst []float64, c float64, k [4]float64, a [fanIn][]float64) {
	n := len(a[0])
	dst = dst[:n]
	p, q, r := a[1][:n], a[2][:n], a[3][:n]
	for i, x := range a[0] {
		dst[i] = c + float64(k[0]*x) + float64(k[1]*p[i]) + float64(k[2]*q[i]) + float64(k[3]*r[i])
	}
}

func multiply(dst, a, b []float64, c float64) {
	dst, b = dst[:len(a)], b[:len(a)]
	for i, x := range a {
		dst[i] = c * x * b[i]
	}
}

func divide(dst, a, b []float64, c float64) {
	dst, b = dst[:len(a)], b[:len(a)]
	for i, x := range a {
		dst[i] = c * x / b[i]
	}
}

func power(dst, a, b []float64) {
	for i, x := range a {
		dst[i] = math.Pow(x, b[i])
	}
}

func powerTo(dst, a []float64, c float64) {
	for i, x := range a {
		dst[i] = math.Pow(x, c)
	}
}

// choose takes b where the condition holds and c where it does not; the other
// one may be outside its domain.
func choose(dst, condition, b, c []float64) {
	for i, x := range condition {
		switch {
		case math.IsNaN(x):
			dst[i] = x
		case x != 0:
			dst[i] = b[i]
		default:
			dst[i] = c[i]
		}
	}
}

func fillNaN(x []float64) {
	for i := range x {
		x[i] = math.NaN()
	}
}
