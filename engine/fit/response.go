package fit

// Response returns the derivatives of the coefficients by every reading.
func (r *Result) Response() *Response {
	q := &Response{DY: matrix(r.P, r.N), DX: matrix(r.P, r.N)}
	if r.york != nil {
		r.respondYork(q)
		return q
	}
	// From the normal equations XᵀW(y − Xβ) = 0: a change of y_i moves β by
	// (XᵀWX)⁻¹ w φ(x_i), a change of x_i by (XᵀWX)⁻¹ w (φ′ r_i − φ f′(x_i)).
	along, slopes, out := make([]float64, r.P), make([]float64, r.P), make([]float64, r.P)
	for i, row := range r.basis.rows {
		w := r.basis.w[i]
		r.basis.slopes(r.data.X[i], row, slopes)
		for k, v := range row {
			along[k] = w * v
		}
		r.basis.toCoef(along, out)
		for k, v := range out {
			q.DY[k][i] = v
		}
		f := r.slope(i)
		for k, v := range row {
			along[k] = w * (float64(slopes[k]*r.Residuals[i]) - float64(v*f))
		}
		r.basis.toCoef(along, out)
		for k, v := range out {
			q.DX[k][i] = v
		}
	}
	return q
}

// respondYork differentiates the conditions for the minimum of
// S = Σ W r², W = 1/(u_y² + b²u_x²), r = y − a − b(x − x0):
//
//	A = Σ W r = 0 in each group,  B = Σ (W r (x − x0) + b u_x² W² r²) = 0,
//
// x0 being the mean expectation point of the group and a the value there. Both
// are taken times the square of the unit of weight, so that W is w, and u_x²W²
// is e = (u_x w/unit)².
func (r *Result) respondYork(q *Response) {
	t := r.yorkTerms()
	for i, g := range r.data.Group {
		w, e, x, res, b := r.basis.w[i], t.e[i], t.x[i], r.Residuals[i], t.b
		byY := [2]float64{w, float64(w*x) + 2*b*e*res}
		byX := [2]float64{-b * w, float64(w*res) - float64(b*w*x) - 2*b*b*e*res}
		t.solve(byY, g, func(k int, v float64) { q.DY[k][i] = v })
		t.solve(byX, g, func(k int, v float64) { q.DX[k][i] = v })
	}
}

type yorkTerms struct {
	o       Options
	b       float64
	e, x    []float64
	centres []float64
	aa, ab  []float64 // ∂A/∂a and ∂A/∂b = ∂B/∂a of each group
	bb      float64   // ∂B/∂b with the a eliminated
}

func (r *Result) yorkTerms() *yorkTerms {
	o := r.Options
	t := &yorkTerms{o: o, b: r.Coef[0], e: make([]float64, r.N), x: make([]float64, r.N), centres: r.basis.centres,
		aa: make([]float64, o.Groups), ab: make([]float64, o.Groups)}
	for i, g := range r.data.Group {
		w, res := r.basis.w[i], r.Residuals[i]
		ux := at(r.data.UX, i) / r.york.unit
		e := float64(ux*w) * float64(ux*w)
		x := r.data.X[i]
		if o.Model == Straight {
			x -= t.centres[g]
		}
		t.e[i], t.x[i] = e, x
		t.aa[g] -= w
		t.ab[g] -= float64(w*x) + 2*t.b*e*res
		t.bb += float64(e*res*res) - float64(w*x*x) - 4*t.b*e*res*x - 4*t.b*t.b*e*e/w*res*res
	}
	if o.Model == Straight {
		for g := range t.aa {
			t.bb -= t.ab[g] * t.ab[g] / t.aa[g]
		}
	}
	return t
}

// solve hands on the derivatives of the coefficients by a reading of group g,
// given those of A and B.
func (t *yorkTerms) solve(by [2]float64, g int, set func(k int, v float64)) {
	if t.o.Model == Proportional {
		set(0, -by[1]/t.bb)
		return
	}
	db := -(by[1] - t.ab[g]*by[0]/t.aa[g]) / t.bb
	set(0, db)
	for h := range t.aa {
		a := t.ab[h] * db
		if h == g {
			a += by[0]
		}
		set(1+h, -a/t.aa[h]-float64(t.centres[h]*db))
	}
}
