package stat

import (
	"math"
	"sync"
)

// MinDOF is the smallest number of degrees of freedom that the samplers take.
// Down to it the density of t is log-concave in u, which the tail relies on.
const MinDOF = 0.5

// layers is the number of layers of equal area under the density.
const layers = 256

// ziggurat draws from Student's t of nu degrees of freedom, the normal
// distribution among them, by the rectangles of G. Marsaglia and W. W. Tsang,
// J. Stat. Softw. 5 (2000) 8, built anew for each nu. The density is
// f(x) = (1 + x²/ν)^−(ν+1)/2, not normalised. Layer i > 0 is the rectangle of
// width edge(i) between f(edge(i)) and f(edge(i+1)); layer 0 is the tail beyond
// r = edge(1) and what lies below f(r). Index, sign and place in the layer come
// from different bits of one random number.
type ziggurat struct {
	nu    float64
	layer [layers]struct {
		scale float64 // width of the layer times 2^−52
		inner float64 // edge of the next layer: below it the point is under the curve
	}
	height [layers + 1]float64 // f at the edges
	uTail  float64             // u at r
	sTail  float64             // s(u²/ν) there
	rate   float64             // slope of −ln g there
}

var ziggurats sync.Map // ν → *ziggurat

// zigguratFor returns the table for nu ≥ MinDOF, made once.
func zigguratFor(nu float64) *ziggurat {
	if z, ok := ziggurats.Load(nu); ok {
		return z.(*ziggurat)
	}
	z, _ := ziggurats.LoadOrStore(nu, newZiggurat(nu))
	return z.(*ziggurat)
}

// newZiggurat finds the edge r, in the variable u, for which the layers end
// exactly at the peak of the density.
func newZiggurat(nu float64) *ziggurat {
	z := &ziggurat{nu: nu}
	// The gap falls as u grows. Secant steps, kept within what is known.
	low, high := 2.0, 4.5
	// The start is a polynomial through edges found before, good to 5e-5; the
	// search corrects it.
	c := 1 / (nu + 2.2)
	u := 3.654152885361 - c*(0.9131+c*(0.339+c*(-1.672+c*(-4.743+11.61*c))))
	last, lastGap := u+2e-5, z.stack(u+2e-5)
	for range 60 {
		gap := z.stack(u)
		if gap > 0 {
			low = u
		} else {
			high = u
		}
		if math.Abs(gap) < 1e-12 || u == last {
			break
		}
		next := u - gap*(u-last)/(gap-lastGap)
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		last, lastGap, u = u, gap, next
	}
	z.height[layers] = 1
	z.uTail = u
	w := u * u / nu
	z.sTail = sOf(w)
	z.rate = u
	if w > 1e-4 {
		z.rate -= u / nu * (1/w - 1/math.Expm1(w))
	} else {
		z.rate -= u / nu * (0.5 - w/12)
	}
	return z
}

// stack lays the layers upwards from the edge at u and returns by how much the
// last one ends above the peak, 1.
func (z *ziggurat) stack(u float64) (gap float64) {
	g := math.Exp(logG(u, z.nu))
	r := tOf(u, z.nu)
	f := z.density(r)
	area := float64(r*f) + g*tailRatio(u, z.nu)
	z.layer[0].scale = area / f * 0x1p-52
	z.layer[0].inner = r
	x, y := r, f
	for i := 1; i < layers; i++ {
		z.layer[i].scale = x * 0x1p-52
		z.height[i] = y
		y += area / x
		if i == layers-1 {
			break
		}
		if y >= 1 {
			return float64(layers-1-i)*area + y - 1
		}
		x = z.edge(y)
		z.layer[i].inner = x
	}
	z.layer[layers-1].inner = 0
	return y - 1
}

// density returns f(x).
func (z *ziggurat) density(x float64) float64 {
	if math.IsInf(z.nu, 1) {
		return math.Exp(-x * x / 2)
	}
	return math.Exp(-(z.nu + 1) / 2 * math.Log1p(x*x/z.nu))
}

// edge inverts density.
func (z *ziggurat) edge(y float64) float64 {
	if math.IsInf(z.nu, 1) {
		return math.Sqrt(-2 * math.Log(y))
	}
	return math.Sqrt(z.nu * math.Expm1(-2/(z.nu+1)*math.Log(y)))
}

// Fill fills dst with independent draws.
func (z *ziggurat) Fill(dst []float64, s *Stream) {
	hi, lo := s.hi, s.lo
	for n := range dst {
		hi, lo = advance(hi, lo)
		bits := output(hi, lo)
		l := &z.layer[uint8(bits)]
		x := float64(int64(bits)>>11|1) * l.scale
		if math.Abs(x) >= l.inner {
			s.hi, s.lo = hi, lo
			x = z.outside(int(uint8(bits)), x, s)
			hi, lo = s.hi, s.lo
		}
		dst[n] = x
	}
	s.hi, s.lo = hi, lo
}

// outside decides about a point of layer i beyond the edge of the next layer.
func (z *ziggurat) outside(i int, x float64, s *Stream) float64 {
	for {
		if i == 0 {
			return math.Copysign(z.tail(s), x)
		}
		y := z.height[i] + float64(unit(s.Uint64())*(z.height[i+1]-z.height[i]))
		if y < z.density(x) {
			return x
		}
		bits := s.Uint64()
		i = int(uint8(bits))
		x = float64(int64(bits)>>11|1) * z.layer[i].scale
		if math.Abs(x) < z.layer[i].inner {
			return x
		}
	}
}

// tail draws a value beyond r. In u the logarithm of the density is concave,
// so that the exponential tangent at r lies above it everywhere.
func (z *ziggurat) tail(s *Stream) float64 {
	for {
		d := -math.Log(unit(s.Uint64())) / z.rate
		u := z.uTail + d
		excess := float64(z.rate*d) - d*(u+z.uTail)/2
		if unit(s.Uint64()) < math.Exp(excess)*math.Sqrt(sOf(u*u/z.nu)/z.sTail) {
			return tOf(u, z.nu)
		}
	}
}
