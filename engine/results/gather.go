package results

import (
	"math"
	"strconv"

	"example.org/taut/engine/block"
	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
)

// Gather takes the values, columns, fits and Monte Carlo outcomes out of a
// record that has been evaluated, and what it was made with. Conditions, words and labels have no number
// and are left out, and so are quiet definitions and values that wait.
func Gather(p *block.Program) *File {
	f := &File{Values: map[string]Value{}, Columns: map[string]Column{}, Fits: map[string]Fit{}, MonteCarlo: map[string]Trial{}}
	for _, d := range p.Values() {
		if !d.Quiet {
			line, _ := d.At.Position()
			g := gathering{file: f, settings: p.Settings, line: line}
			g.add(d.Full(), d.Value())
		}
	}
	for _, j := range p.Jobs() {
		if r := j.Result; r != nil {
			f.MonteCarlo[j.Of] = Trial{Mean: Float(r.Mean), U: Float(r.U), Low: Float(r.Low), High: Float(r.High), Trials: r.Trials, Seed: r.Seed}
		}
	}
	f.equipment(p)
	return f
}

// gathering adds the values of one definition.
type gathering struct {
	file     *File
	settings block.Settings
	line     int
}

func (g *gathering) add(name string, v eval.Value) {
	switch v := v.(type) {
	case eval.Scalar:
		g.file.Values[name] = g.scalar(v)
	case *eval.Column:
		g.file.Columns[name] = column(v)
	case eval.List:
		for i, m := range v.Members {
			g.add(name+"_"+strconv.Itoa(i+1), m)
		}
	case *eval.Space:
		if f, ok := v.Data.(*eval.Fitted); ok {
			g.fit(name, v, f)
		}
	}
}

func (g *gathering) scalar(v eval.Scalar) Value {
	out := Value{Value: Float(v.Q.Value()), Unit: eval.UnitOf(v).Coherent().String(), Line: g.line,
		Display: g.settings.Display(v, quantity.Auto, 0).String()}
	if v.Q.IsUncertain() {
		c := budget.Expand(v.Q, g.settings.Coverage)
		out.U, out.DOF, out.K, out.Expanded = some(c.U), some(c.DOF), some(c.K), some(c.Expanded)
	}
	return out
}

func column(c *eval.Column) Column {
	out := Column{Unit: eval.UnitOf(c).Coherent().String(), Values: numbers(c)}
	if c.Raw != nil {
		out.Raw = numbers(c.Raw)
	}
	return out
}

// numbers lists the cells of a column; holes are NaN.
func numbers(c *eval.Column) []Float {
	out := make([]Float, len(c.Cells))
	for i, cell := range c.Cells {
		out[i] = Float(math.NaN())
		if !cell.Hole {
			out[i] = Float(cell.Q.Value())
		}
	}
	return out
}

// fit adds a fit, and each scalar that it provides as a value of its own.
func (g *gathering) fit(name string, s *eval.Space, f *eval.Fitted) {
	for _, inside := range s.Names {
		if v, ok := s.Get(inside); ok {
			if v, ok := v.(eval.Scalar); ok {
				g.add(name+"."+inside, v)
			}
		}
	}
	r := f.Result
	out := Fit{Model: model(f.Options), N: r.N, DOF: some(r.DOF), S: Float(r.S), Unit: eval.UnitOf(f.Y[0]).Difference().Coherent().String()}
	for i, a := range f.Coef {
		inside := coefficientName(f, i)
		c := Coefficient{Name: inside, Value: Float(a.Value()), U: Float(a.U())}
		if v, ok := s.Get(inside); ok {
			c.Unit = eval.UnitOf(v).Coherent().String()
		}
		out.Coefficients = append(out.Coefficients, c)
		row := make([]Float, len(f.Coef))
		for k, b := range f.Coef {
			row[k] = Float(quantity.Covariance(a, b))
		}
		out.Covariance = append(out.Covariance, row)
	}
	if v, ok := s.Get("residuals"); ok {
		switch v := v.(type) {
		case *eval.Column:
			out.Residuals = Residuals{numbers(v)}
		case eval.List:
			for _, m := range v.Members {
				if c, ok := m.(*eval.Column); ok {
					out.Residuals = append(out.Residuals, numbers(c))
				}
			}
		}
	}
	g.file.Fits[name] = out
}

func model(o fit.Options) string {
	switch o.Model {
	case fit.Proportional:
		return "proportional"
	case fit.Polynomial:
		return "polynomial " + strconv.Itoa(o.Degree)
	}
	return "straight"
}

// coefficientName is the name of coefficient k inside the fit.
func coefficientName(f *eval.Fitted, k int) string {
	switch {
	case f.Options.Model == fit.Polynomial:
		return "c" + strconv.Itoa(k)
	case k == 0:
		return "slope"
	case f.Intercepts() > 1:
		return "intercept_" + strconv.Itoa(k)
	}
	return "intercept"
}
