package eval

import (
	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// closedForm writes the coefficients of a straight or proportional fit with
// equal weights as formulas of the few sources that the readings have in
// common, where the readings are affine in them: the sums of products are then
// quadratic forms in those sources. It stands for making the fit anew at every
// draw. Common shifts, such as a zero, leave the centred readings alone and
// drop out of the slope by themselves.
func (f *Fitted) closedForm(xs, ys []quantity.Q) ([]quantity.Q, bool) {
	if f.Options.Model == fit.Polynomial || f.Options.Weights != fit.Equal {
		return nil, false
	}
	x, okx := affineVector(xs)
	y, oky := affineVector(ys)
	if !okx || !oky {
		return nil, false
	}
	dx, dy := xs[0].Dim(), ys[0].Dim()
	if f.Options.Model == fit.Proportional {
		return []quantity.Q{x.dot(y, dx.Mul(dy)).Div(x.dot(x, dx.Mul(dx)))}, true
	}
	groups := f.Intercepts()
	out := make([]quantity.Q, 1, 1+groups)
	var xBar, yBar []quantity.Q
	for g := 0; g < groups; g++ {
		in := func(i int) bool { return f.OneIntercept || f.Entries[i].Group == g }
		xBar = append(xBar, x.centre(in, dx))
		yBar = append(yBar, y.centre(in, dy))
	}
	slope := x.dot(y, dx.Mul(dy)).Div(x.dot(x, dx.Mul(dx)))
	out[0] = slope
	for g := range xBar {
		out = append(out, yBar[g].Sub(slope.Mul(xBar[g])))
	}
	return out, true
}

// vector is a column of readings as base + Σ parts[k]·deviation of sources[k].
type vector struct {
	base    []float64
	sources []*quantity.Source
	parts   [][]float64
}

// affineVector takes readings apart into what is certain and what moves with
// each common source; it fails where a reading is not affine.
func affineVector(qs []quantity.Q) (vector, bool) {
	v := vector{base: make([]float64, len(qs))}
	index := map[string]int{}
	for i, q := range qs {
		if q.Node().Op != quantity.Affine {
			return v, false
		}
		v.base[i] = q.Value()
		for _, t := range q.Terms() {
			if t.Source.Own != quantity.Common || t.Source.U == 0 {
				continue
			}
			k, seen := index[t.Source.ID]
			if !seen {
				k = len(v.sources)
				index[t.Source.ID] = k
				v.sources = append(v.sources, t.Source)
				v.parts = append(v.parts, make([]float64, len(qs)))
			}
			v.parts[k][i] = t.C
		}
	}
	return v, true
}

// centre takes the mean over the chosen entries away and returns it.
func (v vector) centre(in func(int) bool, dim unit.Dim) quantity.Q {
	take := func(a []float64) float64 {
		sum, n := 0.0, 0.0
		for i, x := range a {
			if in(i) {
				sum += x
				n++
			}
		}
		if n == 0 {
			return 0
		}
		m := sum / n
		for i := range a {
			if in(i) {
				if a[i] -= m; abs(a[i]) < 1e-14*abs(m) {
					a[i] = 0 // a shift that all readings share
				}
			}
		}
		return m
	}
	base := take(v.base)
	terms := make([]quantity.Term, len(v.sources))
	for k, s := range v.sources {
		terms[k] = quantity.Term{Source: s, C: take(v.parts[k])}
	}
	return quantity.Uncertain(base, dim, terms...)
}

// dot is Σ v·w as a quantity.
func (v vector) dot(w vector, dim unit.Dim) quantity.Q {
	product := func(a, b []float64) float64 {
		sum, size := 0.0, 0.0
		for i := range a {
			p := a[i] * b[i]
			sum += p
			size += abs(p)
		}
		if abs(sum) <= 1e-13*size {
			return 0
		}
		return sum
	}
	var terms []quantity.Term
	for k, s := range v.sources {
		terms = append(terms, quantity.Term{Source: s, C: product(v.parts[k], w.base)})
	}
	for l, s := range w.sources {
		terms = append(terms, quantity.Term{Source: s, C: product(v.base, w.parts[l])})
	}
	out := quantity.Uncertain(product(v.base, w.base), dim, terms...)
	for k, s := range v.sources {
		for l, t := range w.sources {
			if c := product(v.parts[k], w.parts[l]); c != 0 {
				a := quantity.Uncertain(0, dim, quantity.Term{Source: s, C: c})
				b := quantity.Uncertain(0, unit.Dim{}, quantity.Term{Source: t, C: 1})
				out = out.Add(a.Mul(b))
			}
		}
	}
	return out
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
