package stat

import "math"

// Sampler fills a block with independent draws of a standard distribution.
// Samplers are immutable and safe for concurrent use; a Stream is not.
type Sampler interface {
	Fill(dst []float64, s *Stream)
}

// Normal samples the standard normal distribution (JCGM 101, 6.4.7).
func Normal() Sampler { return zigguratFor(math.Inf(1)) }

// StudentT samples Student's t with nu degrees of freedom, unscaled (JCGM 101,
// 6.4.9); nu = +Inf is the normal distribution. Where nu is below MinDOF or NaN
// it fills NaN.
func StudentT(nu float64) Sampler {
	if !(nu >= MinDOF) {
		return invalid{}
	}
	return zigguratFor(nu)
}

// Rectangular samples the rectangular distribution on (−1, 1) (JCGM 101, 6.4.2).
func Rectangular() Sampler { return rectangular{} }

// Triangular samples the symmetric triangular distribution on (−1, 1) (JCGM 101, 6.4.5).
func Triangular() Sampler { return triangular{} }

// Arcsine samples the arcsine or U-shaped distribution on (−1, 1) (JCGM 101, 6.4.6).
func Arcsine() Sampler { return arcsine{} }

var _, _, _, _, _ Sampler = rectangular{}, triangular{}, arcsine{}, invalid{}, (*ziggurat)(nil)

type rectangular struct{}

func (rectangular) Fill(dst []float64, s *Stream) {
	hi, lo := s.hi, s.lo
	for i := range dst {
		hi, lo = advance(hi, lo)
		dst[i] = signed(output(hi, lo))
	}
	s.hi, s.lo = hi, lo
}

type triangular struct{}

// Fill takes the mean of two rectangular values of 32 bits from one random
// number: the values are multiples of 2^−32, fine enough for any interval.
func (triangular) Fill(dst []float64, s *Stream) {
	hi, lo := s.hi, s.lo
	for i := range dst {
		hi, lo = advance(hi, lo)
		bits := output(hi, lo)
		dst[i] = float64(int64(bits)>>32+int64(int32(bits))+1) * 0x1p-32
	}
	s.hi, s.lo = hi, lo
}

type arcsine struct{}

// Fill takes ±cos 2θ = ±(1 − 2 sin²θ) with θ rectangular on (0, π/4), the sine
// from its Taylor series, whose next term is below 5e-17 there.
func (arcsine) Fill(dst []float64, s *Stream) {
	const (
		c3, c5, c7   = -1.0 / 6, 1.0 / 120, -1.0 / 5040
		c9, c11, c13 = 1.0 / 362880, -1.0 / 39916800, 1.0 / 6227020800
		c15          = -1.0 / 1307674368000
	)
	hi, lo := s.hi, s.lo
	for i := range dst {
		hi, lo = advance(hi, lo)
		r := signed(output(hi, lo))
		a := math.Pi / 4 * r
		q := a * a
		q2 := q * q
		high := (float64(c13*q) + c11) + float64(float64(c15*q2))
		middle := (float64(c9*q) + c7) + float64(q2*high)
		sine := a + float64(float64(q*a)*((float64(c5*q)+c3)+float64(q2*middle)))
		dst[i] = math.Copysign(1-2*float64(sine*sine), r)
	}
	s.hi, s.lo = hi, lo
}

type invalid struct{}

func (invalid) Fill(dst []float64, _ *Stream) {
	for i := range dst {
		dst[i] = math.NaN()
	}
}

// MultivariateT samples the standard multivariate t distribution: coordinates
// z_j/√(χ²/ν) with independent standard normal z_j and one common χ². Scaled by
// a square root of a covariance matrix it is the joint distribution of the
// coefficients of a fit.
//
// No χ² is drawn. Given the coordinates before it, T_j is a t value of
// ν + j − 1 degrees of freedom times √((ν + T_1² + … + T_{j−1}²)/(ν + j − 1))
// (S. Kotz and S. Nadarajah, Multivariate t Distributions and Their
// Applications, 2004): exact, and as quick as one draw of t a coordinate.
type MultivariateT struct {
	nu    float64
	steps []Sampler
}

// NewMultivariateT returns the sampler of dim coordinates with nu degrees of
// freedom; nu = +Inf gives independent normal values. Where nu is below MinDOF
// or NaN it fills NaN.
func NewMultivariateT(nu float64, dim int) *MultivariateT {
	m := &MultivariateT{nu: nu, steps: make([]Sampler, dim)}
	for j := range m.steps {
		m.steps[j] = StudentT(nu + float64(j))
	}
	if !(nu >= MinDOF) {
		for j := range m.steps {
			m.steps[j] = invalid{}
		}
	}
	return m
}

// Fill fills dst[0] … dst[dim−1], blocks of equal length, one a coordinate.
func (m *MultivariateT) Fill(dst [][]float64, s *Stream) {
	for j, step := range m.steps {
		step.Fill(dst[j], s)
		if j == 0 || math.IsInf(m.nu, 1) {
			continue
		}
		for i := range dst[j] {
			q := m.nu
			for _, before := range dst[:j] {
				q += float64(before[i] * before[i])
			}
			dst[j][i] *= math.Sqrt(q / (m.nu + float64(j)))
		}
	}
}
