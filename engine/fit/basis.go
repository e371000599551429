package fit

import (
	"math"

	"example.org/taut/engine/stat"
)

// basis is a set of functions P_k of x (and of the group) that span the model
// and are orthonormal over the points: Σ w_i P_j(x_i) P_k(x_i) = δ_jk. In it
// least squares is a projection, without normal equations. A column of change
// holds one P_k in terms of the coefficients of the model: coefficients =
// change·(coordinates), (XᵀWX)⁻¹ = change·changeᵀ.
type basis struct {
	o      Options
	w      []float64   // weights, at most 1
	rows   [][]float64 // rows[i][k] = P_k at point i
	change [][]float64
	exact  [][]dd // change with twice the digits

	centre, half float64   // polynomial, proportional: t = (x − centre)/half
	centres      []float64 // straight: of each group
	norms        []float64 // straight, proportional: norm of each unscaled function; polynomial: of each step
	steps        [][]float64
}

func matrix(rows, columns int) [][]float64 {
	room := make([]float64, rows*columns)
	m := make([][]float64, rows)
	for i := range m {
		m[i] = room[i*columns : (i+1)*columns : (i+1)*columns]
	}
	return m
}

// newBasis makes room for n points.
func newBasis(o Options, n int) *basis {
	p := o.parameters()
	exact := make([][]dd, p)
	for k := range exact {
		exact[k] = make([]dd, p)
	}
	return &basis{
		o: o, w: make([]float64, n), rows: matrix(n, p), change: matrix(p, p), exact: exact,
		centres: make([]float64, o.Groups), norms: make([]float64, p), steps: matrix(p, p),
	}
}

// build makes the basis for the points x with the weights b.w.
func (b *basis) build(x []float64, group []int) {
	switch b.o.Model {
	case Straight:
		b.buildStraight(x, group)
	case Proportional:
		b.buildProportional(x)
	default:
		b.buildPolynomial(x)
	}
	for i, v := range x {
		b.eval(v, group[i], b.rows[i])
	}
	for k, row := range b.exact {
		for l, v := range row {
			b.change[k][l] = v.hi
		}
	}
}

func (b *basis) buildStraight(x []float64, group []int) {
	weight := b.norms[1:]
	clear(b.norms)
	clear(b.centres)
	for i, g := range group {
		weight[g] += b.w[i]
		b.centres[g] += float64(b.w[i] * x[i])
	}
	for g := range b.centres {
		b.centres[g] /= weight[g]
	}
	rest := make([]float64, len(weight)) // the means were rounded: once more
	for i, g := range group {
		rest[g] += float64(b.w[i] * (x[i] - b.centres[g]))
	}
	b.half = 0
	for g := range b.centres {
		b.centres[g] += rest[g] / weight[g]
	}
	for i, g := range group {
		b.half = max(b.half, math.Abs(x[i]-b.centres[g]))
	}
	ss := 0.0
	for i, g := range group {
		t := (x[i] - b.centres[g]) / b.half
		ss += float64(b.w[i] * t * t)
	}
	b.norms[0] = math.Sqrt(ss)
	b.exact[0][0] = dd{hi: 1 / b.half / b.norms[0]}
	for g := range weight {
		weight[g] = math.Sqrt(weight[g])
		b.exact[1+g][0] = b.exact[0][0].times(-b.centres[g])
		b.exact[1+g][1+g] = dd{hi: 1 / weight[g]}
	}
}

func (b *basis) buildProportional(x []float64) {
	b.half = 0
	for _, v := range x {
		b.half = max(b.half, math.Abs(v))
	}
	ss := 0.0
	for i, v := range x {
		t := v / b.half
		ss += float64(b.w[i] * t * t)
	}
	b.norms[0] = math.Sqrt(ss)
	b.exact[0][0] = dd{hi: 1 / b.half / b.norms[0]}
}

// buildPolynomial makes each next polynomial from t times the last, made
// orthogonal to all before it, twice (Arnoldi's process; compare G. E. Forsythe,
// J. SIAM 5 (1957) 74).
func (b *basis) buildPolynomial(x []float64) {
	low, high := stat.Min(x), stat.Max(x)
	b.centre = low/2 + high/2
	b.half = high/2 - low/2
	total := 0.0
	for _, w := range b.w {
		total += w
	}
	b.norms[0] = math.Sqrt(total)
	for i := range b.rows {
		b.rows[i][0] = 1 / b.norms[0]
	}
	for k := 1; k < len(b.norms); k++ {
		b.orthogonalise(x, k)
	}
	b.expand()
}

func (b *basis) orthogonalise(x []float64, k int) {
	for i, row := range b.rows {
		row[k] = (x[i] - b.centre) / b.half * row[k-1]
	}
	clear(b.steps[k])
	for range 2 {
		for j := k - 1; j >= 0; j-- {
			dot := 0.0
			for i, row := range b.rows {
				dot += float64(b.w[i] * row[j] * row[k])
			}
			for _, row := range b.rows {
				row[k] -= float64(dot * row[j])
			}
			b.steps[k][j] += dot
		}
	}
	ss := 0.0
	for i, row := range b.rows {
		ss += float64(b.w[i] * row[k] * row[k])
	}
	b.norms[k] = math.Sqrt(ss)
	for _, row := range b.rows {
		row[k] /= b.norms[k]
	}
}

// expand writes the polynomials in powers of x.
func (b *basis) expand() {
	p := len(b.norms)
	inT := matrix(p, p) // inT[k][j]: coefficient of t^j in P_k
	inT[0][0] = 1 / b.norms[0]
	for k := 1; k < p; k++ {
		copy(inT[k][1:], inT[k-1][:p-1])
		for j := range k {
			for l := range k {
				inT[k][l] -= float64(b.steps[k][j] * inT[j][l])
			}
		}
		for l := range inT[k] {
			inT[k][l] /= b.norms[k]
		}
	}
	for k, c := range inT { // Horner's scheme in t = (x − centre)/half
		power := make([]dd, p)
		for j := k; j >= 0; j-- {
			for l := k; l >= 0; l-- {
				v := power[l].times(-b.centre)
				if l > 0 {
					v = v.plus(power[l-1])
				}
				power[l] = v.over(b.half)
			}
			power[0] = power[0].plus(dd{hi: c[j]})
		}
		for l := range power {
			b.exact[l][k] = power[l]
		}
	}
}

// eval writes P_k(x) to dst. A group below 0 stands for the mean over the groups.
func (b *basis) eval(x float64, group int, dst []float64) {
	switch b.o.Model {
	case Straight:
		b.evalStraight(x, group, dst)
	case Proportional:
		dst[0] = x / b.half / b.norms[0]
	default:
		t := (x - b.centre) / b.half
		dst[0] = 1 / b.norms[0]
		for k := 1; k < len(dst); k++ {
			v := t * dst[k-1]
			for j := range k {
				v -= float64(b.steps[k][j] * dst[j])
			}
			dst[k] = v / b.norms[k]
		}
	}
}

func (b *basis) evalStraight(x float64, group int, dst []float64) {
	clear(dst)
	if group >= 0 {
		dst[0] = (x - b.centres[group]) / b.half / b.norms[0]
		dst[1+group] = 1 / b.norms[1+group]
		return
	}
	share := 1 / float64(len(b.centres))
	for g, c := range b.centres {
		dst[0] += (x - c) / b.half / b.norms[0] * share
		dst[1+g] = share / b.norms[1+g]
	}
}

// slopes writes the derivatives P_k′(x) to dst, given the values P_k(x).
func (b *basis) slopes(x float64, values, dst []float64) {
	clear(dst)
	if b.o.Model != Polynomial {
		dst[0] = 1 / b.half / b.norms[0]
		return
	}
	t := (x - b.centre) / b.half
	for k := 1; k < len(dst); k++ {
		v := values[k-1]/b.half + float64(t*dst[k-1])
		for j := range k {
			v -= float64(b.steps[k][j] * dst[j])
		}
		dst[k] = v / b.norms[k]
	}
}

// toCoef writes change·c to dst.
func (b *basis) toCoef(c, dst []float64) {
	for l, row := range b.change {
		v := 0.0
		for k, m := range row {
			v += float64(m * c[k])
		}
		dst[l] = v
	}
}
