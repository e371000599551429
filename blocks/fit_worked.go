package blocks

import (
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// sums are those of a straight line by least squares, of one column, in the
// units of the axes; for a weighted fit each term carries its weight 1/u², and
// n is the sum of the weights.
type sums struct{ n, x, y, xx, xy float64 }

func (a sums) sxx() float64 { return a.xx - float64(a.x*a.x)/a.n }
func (a sums) sxy() float64 { return a.xy - float64(a.x*a.y)/a.n }

// sumsOf forms the sums of each intercept's readings. It is not ok for fits
// whose result does not follow from sums: polynomials, and lines with
// uncertainty in both coordinates.
func (f *fitBlock) sumsOf(ux, uy unit.Unit) (out []sums, weighted, ok bool) {
	r := f.fitted
	if r.Options.Model == fit.Polynomial {
		return nil, false, false
	}
	weighted = r.Options.Weights == fit.Stated
	out = make([]sums, r.Intercepts())
	for _, e := range r.Entries {
		cx, cy := r.X.Cells[e.Cell].Q, r.Y[e.Group].Cells[e.Cell].Q
		x, y, w := ux.FromSI(cx.Value()), uy.FromSI(cy.Value()), 1.0
		if weighted {
			if eval.OwnU(cx) > 0 {
				return nil, true, false
			}
			u := eval.OwnU(cy) / uy.Factor()
			w = 1 / float64(u*u)
		}
		a := &out[min(e.Group, len(out)-1)]
		a.n += w
		a.x += float64(w * x)
		a.y += float64(w * y)
		a.xx += float64(float64(w*x) * x)
		a.xy += float64(float64(w*x) * y)
	}
	return out, weighted, true
}

// work shows the sums that a student forms, and how the coefficients come out
// of them.
func (f *fitBlock) work(s *block.Shower) []view.Node {
	ux, uy := unitOf(f.fitted.X), unitOf(f.fitted.Y[0])
	list, weighted, ok := f.sumsOf(ux, uy)
	if un := unit.Quotient(uy.Difference(), ux.Difference()); !ok || math.Abs(un.Factor()*ux.Factor()-uy.Factor()) > 1e-12*uy.Factor() {
		return nil // a unit that has no quotient of its own size
	}
	return []view.Node{f.sumsTable(s, list, weighted, ux, uy), f.sumsSteps(s, list, weighted, ux, uy)}
}

// sumText prints a sum with every digit that matters: the differences of sums
// lose figures.
func sumText(v float64) string {
	d := shortest(v, one, sumFigures)
	return d.Number + power(d.Exponent)
}

func power(exp int) string {
	if exp == 0 {
		return ""
	}
	return "e" + strconv.Itoa(exp)
}

func sumCell(v float64) view.Cell {
	d := quantity.Typed(sumText(v), one)
	return view.Cell{Text: view.Text{view.Number{Value: v, Display: d, Standing: view.Computed}}, Standing: view.Computed}
}

func sumMath(v float64) view.Math { return signed(quantity.Typed(sumText(v), one), v) }

func (f *fitBlock) sumsTable(s *block.Shower, list []sums, weighted bool, ux, uy unit.Unit) *view.Table {
	w := ""
	if weighted {
		w = "w"
	}
	head := func(symbol, un string) view.Column {
		return view.Column{Quantity: view.Text{view.Plain(symbol)}, Unit: un, Numeric: true}
	}
	x, y := axisUnit(ux), axisUnit(uy)
	t := &view.Table{ID: s.ID() + "-sums", Standing: view.Computed,
		Caption: view.Text{view.Plain("Sums for the line, x = "), axisWords(f.x, []*eval.Column{f.fitted.X})}}
	t.Caption = append(append(t.Caption, overUnit(x)...), view.Plain(" and y = "), axisWords(f.y[0], f.fitted.Y))
	t.Caption = append(t.Caption, overUnit(y)...)
	if weighted {
		t.Caption = append(t.Caption, view.Plain(", weights w = 1/u² of each point"))
	}
	n := "n"
	if weighted {
		n = "Σw"
	}
	if len(list) > 1 {
		t.Columns = append(t.Columns, view.Column{Quantity: view.Text{view.Plain("y")}})
	}
	t.Columns = append(t.Columns, head(n, ""), head("Σ"+w+"x", x), head("Σ"+w+"y", y), head("Σ"+w+"x²", squared(x)), head("Σ"+w+"xy", times(x, y)))
	if weighted { // the weights have a unit of their own: the sums are numbers
		for i := range t.Columns {
			t.Columns[i].Unit = ""
		}
	}
	if len(list) > 1 {
		t.Columns = append(t.Columns, head("Sxx", squared(x)), head("Sxy", times(x, y)))
	}
	for g, a := range list {
		row := view.Row{}
		if len(list) > 1 {
			row.Cells = append(row.Cells, text(readingsNames(f.fitted.Y)[g]))
		}
		for _, v := range []float64{a.n, a.x, a.y, a.xx, a.xy} {
			row.Cells = append(row.Cells, sumCell(v))
		}
		if len(list) > 1 {
			row.Cells = append(row.Cells, sumCell(a.sxx()), sumCell(a.sxy()))
		}
		t.Rows = append(t.Rows, row)
	}
	if len(list) > 1 {
		t.Notes = append(t.Notes, view.Text{view.Plain("Sxx = Σx² − (Σx)²/n and Sxy = Σxy − Σx Σy/n, of each column.")})
	}
	return t
}

// axisWords names what is fitted as an axis does; columns without a name by
// their formula, set as one.
func axisWords(x formula.Expr, cols []*eval.Column) view.Run {
	for _, c := range cols {
		if c.Name == "" {
			return view.Formula{Math: block.MathOf(x, nil, nil)}
		}
	}
	return view.Plain(axisName(x, cols))
}

// overUnit is what stands behind the name of a quantity: divided by its unit.
func overUnit(un string) view.Text {
	if un == "" {
		return nil
	}
	if strings.Contains(un, "/") {
		un = "(" + un + ")"
	}
	return view.Text{view.Plain(" "), view.Formula{Math: view.Measure{Number: view.Op{Symbol: "/"}, Unit: un}}}
}

// readingsNames names columns beside each other: by themselves, by the readings
// that they were worked out from, or by their place.
func readingsNames(cols []*eval.Column) []string {
	names := eval.NamesOf(cols)
	for g, n := range names {
		if n == "" {
			names[g] = "column " + strconv.Itoa(g+1)
		}
	}
	return names
}

func squared(un string) string {
	switch {
	case un == "":
		return ""
	case strings.ContainsAny(un, " /^"):
		return "(" + un + ")^2"
	}
	return un + "^2"
}

func times(a, b string) string { return strings.TrimSpace(a + " " + b) }

// Pieces of formulas.
func sumOf(parts ...view.Math) view.Math {
	return view.Seq{Items: append([]view.Math{view.Op{Symbol: "∑"}}, parts...)}
}

func ident(s string) view.Math { return view.Ident{Name: s} }

func minusMath(a, b view.Math) view.Math {
	return view.Seq{Items: []view.Math{a, view.Op{Symbol: "−"}, b}}
}

func product(a, b view.Math) view.Math {
	return view.Seq{Items: []view.Math{a, view.Op{Symbol: "×"}, b}}
}

func inBrackets(m view.Math) view.Math {
	return view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, m, view.Op{Symbol: ")", Fence: true}}}
}

func square(m view.Math) view.Math { return view.Script{Base: m, Sup: view.Num{Digits: "2"}} }

// sumsSteps works the coefficients out of the sums.
func (f *fitBlock) sumsSteps(s *block.Shower, list []sums, weighted bool, ux, uy unit.Unit) *view.Steps {
	out := &view.Steps{ID: s.ID() + "-work", Standing: view.Computed}
	slope := f.slopeStep(s, list, weighted, unit.Quotient(uy.Difference(), ux.Difference()))
	out.Steps = append(out.Steps, slope)
	if f.fitted.Options.Model == fit.Straight {
		for g, a := range list {
			out.Steps = append(out.Steps, f.interceptStep(s, g, a, list, weighted, ux, uy))
		}
	}
	if !weighted && f.fitted.Result.N > f.fitted.Result.P {
		out.Steps = append(out.Steps, f.scatterStep(s, uy))
	}
	return out
}

func (f *fitBlock) slopeStep(s *block.Shower, list []sums, weighted bool, un unit.Unit) view.Step {
	st := view.Step{ID: s.ID() + "-work-slope", Symbol: block.Symbol(f.name + ".slope"), Standing: view.Computed,
		Label: f.slopeReason(list, weighted), Result: s.Text(s.Value(f.name+".slope"), quantity.Concise, 0, "")}
	x, y := ident("x"), ident("y")
	n, w := view.Math(ident("n")), []view.Math(nil)
	if weighted {
		n, w = sumOf(ident("w")), []view.Math{ident("w")}
	}
	sum := func(parts ...view.Math) view.Math { return sumOf(append(append([]view.Math(nil), w...), parts...)...) }
	a := list[0]
	var formula, numbers view.Math
	switch {
	case f.fitted.Options.Model == fit.Proportional:
		for _, b := range list[1:] {
			a.xx, a.xy = a.xx+b.xx, a.xy+b.xy
		}
		formula = view.Frac{Num: sum(x, y), Den: sum(square(x))}
		numbers = view.Frac{Num: sumMath(a.xy), Den: sumMath(a.xx)}
	case len(list) == 1:
		formula = view.Frac{
			Num: minusMath(product(n, sum(x, y)), product(sum(x), sum(y))),
			Den: minusMath(product(n, sum(square(x))), square(inBrackets(sum(x))))}
		numbers = view.Frac{
			Num: minusMath(product(sumMath(a.n), sumMath(a.xy)), product(sumMath(a.x), sumMath(a.y))),
			Den: minusMath(product(sumMath(a.n), sumMath(a.xx)), square(inBrackets(sumMath(a.x))))}
	default:
		var num, den []view.Math
		for _, b := range list {
			if len(num) > 0 {
				num, den = append(num, view.Op{Symbol: "+"}), append(den, view.Op{Symbol: "+"})
			}
			num, den = append(num, sumMath(b.sxy())), append(den, sumMath(b.sxx()))
		}
		formula = view.Frac{Num: sumOf(script("S", "xy")), Den: sumOf(script("S", "xx"))}
		numbers = view.Frac{Num: view.Seq{Items: num}, Den: view.Seq{Items: den}}
	}
	b := f.fitted.Coef[0]
	st.Stages = []view.Math{formula, withUnitMath(numbers, un), block.QuantityMath(guarded(eval.Scalar{Q: b}, un), b.Value(), "")}
	return st
}

// slopeReason says beside the slope what its formula does.
func (f *fitBlock) slopeReason(list []sums, weighted bool) string {
	label := "least squares: the line from which the squares of the distances in y have the least sum"
	if weighted {
		label = "weighted least squares: a point counts by w = 1/u²"
	}
	switch {
	case f.fitted.Options.Model == fit.Proportional:
		label += "; the line passes through the origin"
	case len(list) > 1:
		label += "; one slope for all columns, each about its own means"
	}
	return label
}

func script(base, sub string) view.Math {
	return view.Script{Base: ident(base), Sub: view.Words{Text: sub}}
}

func withUnitMath(m view.Math, un unit.Unit) view.Math {
	if un.IsOne() {
		return m
	}
	return view.Measure{Number: m, Unit: un.String()}
}

// interceptStep: (Σy − slope Σx) / n.
func (f *fitBlock) interceptStep(s *block.Shower, g int, a sums, list []sums, weighted bool, ux, uy unit.Unit) view.Step {
	name := f.name + ".intercept"
	if len(list) > 1 {
		name += "_" + strconv.Itoa(g+1)
	}
	n, x, y := view.Math(ident("n")), sumOf(ident("x")), sumOf(ident("y"))
	if weighted {
		w := ident("w")
		n, x, y = sumOf(w), sumOf(w, ident("x")), sumOf(w, ident("y"))
	}
	slope := f.fitted.Coef[0]
	b := guarded(eval.Scalar{Q: slope}, unit.Quotient(uy.Difference(), ux.Difference()))
	b.Unit = ""
	return view.Step{ID: s.ID() + "-work-intercept-" + strconv.Itoa(g+1), Symbol: block.Symbol(name), Standing: view.Computed,
		Label: interceptReason(g, list, f),
		Stages: []view.Math{
			view.Frac{Num: minusMath(y, product(block.Symbol(f.name+".slope"), x)), Den: n},
			withUnitMath(view.Frac{Num: minusMath(sumMath(a.y), product(signed(b, slope.Value()), sumMath(a.x))), Den: sumMath(a.n)}, uy),
		},
		Result: s.Text(s.Value(name), quantity.Concise, 0, "")}
}

// interceptReason says beside an intercept why it is so.
func interceptReason(g int, list []sums, f *fitBlock) string {
	label := "the line passes through the means of x and y"
	if len(list) > 1 {
		label += " of " + readingsNames(f.fitted.Y)[g]
	}
	return label
}

// scatterStep: s = √(Σr² / (n − p)), from the residuals r.
func (f *fitBlock) scatterStep(s *block.Shower, uy unit.Unit) view.Step {
	r := f.fitted.Result
	d := uy.Difference()
	rss := 0.0
	for _, x := range r.Residuals {
		v := d.FromSI(x)
		rss += float64(v * v)
	}
	sq := quantity.Format(rss, 0, 0, one, quantity.Figures, quantity.Options{N: 4})
	st := view.Step{ID: s.ID() + "-work-scatter", Symbol: ident("s"), Standing: view.Computed, Label: "scatter of a point, from the residuals r",
		Stages: []view.Math{
			view.Root{Body: view.Frac{Num: sumOf(square(ident("r"))), Den: minusMath(ident("n"), ident("p"))}},
			withUnitMath(view.Root{Body: view.Frac{Num: block.QuantityMath(sq, rss, ""), Den: minusMath(view.Num{Digits: strconv.Itoa(r.N)}, view.Num{Digits: strconv.Itoa(r.P)})}}, d),
		},
		Result: view.Text{view.Number{Value: r.S, Display: quantity.Format(r.S, 0, 0, d, quantity.Figures, quantity.Options{N: 2}), Standing: view.Computed}}}
	if math.IsNaN(r.S) {
		st.Result = view.Text{view.Missing{Why: "there are no degrees of freedom"}}
	}
	return st
}
