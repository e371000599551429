package blocks

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// describe tells in words and numbers what the graph shows, for a reader who
// does not see it: how many points, over which range, the coefficients of the
// fitted line with their standard uncertainties, and how far from it the points
// lie.
func (p *plotBlock) describe(s *block.Shower, fig *view.Figure) string {
	out := []string{fmt.Sprintf("%s against %s, %s", fig.Y.Quantity, fig.X.Quantity, countOf(p.points(), "point"))}
	if len(p.ys) > 1 {
		out[0] += fmt.Sprintf(" in %d series", len(p.ys))
	}
	if p.points() > 0 {
		out = append(out, fmt.Sprintf("They span %s from %s and %s from %s", fig.X.Quantity, p.rangeOf(s, p.xs), fig.Y.Quantity, p.rangeOf(s, p.ys...)))
	}
	if p.fitted != nil {
		out = append(out, p.describeFit(s)...)
	}
	return strings.Join(out, ". ") + "."
}

// rangeOf is the least and the greatest of the plotted values of columns.
func (p *plotBlock) rangeOf(s *block.Shower, columns ...*eval.Column) string {
	var least, most *eval.Scalar
	for _, c := range columns {
		for i, cell := range c.Cells {
			if cell.Hole || p.xs.Cells[i].Hole || !p.plotted(i) {
				continue
			}
			v := eval.Scalar{Q: cell.Q, Unit: c.Unit}
			if least == nil || v.Q.Value() < least.Q.Value() {
				least = &v
			}
			if most == nil || v.Q.Value() > most.Q.Value() {
				most = &v
			}
		}
	}
	said := func(v *eval.Scalar) string { return block.PlainText(s.Text(*v, quantity.Rounded, 0, "")) }
	return said(least) + " to " + said(most)
}

// plotted reports whether some series has a point in row i.
func (p *plotBlock) plotted(i int) bool {
	for _, y := range p.ys {
		if !y.Cells[i].Hole {
			return true
		}
	}
	return false
}

func (p *plotBlock) describeFit(s *block.Shower) []string {
	var out []string
	said := func(name string) string {
		return block.PlainText(s.Text(s.Value(p.fit+"."+name), quantity.Concise, 0, ""))
	}
	intercepts := p.fitted.Intercepts()
	switch {
	case p.fitted.Options.Model == fit.Polynomial:
		var c []string
		for k := 0; k <= p.fitted.Options.Degree; k++ {
			c = append(c, said(fmt.Sprintf("c%d", k)))
		}
		out = append(out, "The coefficients of the fitted polynomial, from the constant up, are "+strings.Join(c, ", "))
	case p.fitted.Options.Model == fit.Proportional:
		out = append(out, "The fitted line goes through the origin; its slope is "+said("slope"))
	case intercepts > 1:
		var c []string
		for k := 1; k <= intercepts; k++ {
			c = append(c, said(fmt.Sprintf("intercept_%d", k)))
		}
		out = append(out, "The fitted lines have the slope "+said("slope")+" and the intercepts "+strings.Join(c, " and "))
	default:
		out = append(out, "The fitted line has the slope "+said("slope")+" and the intercept "+said("intercept"))
	}
	worst, row := 0.0, 0
	for k, e := range p.fitted.Entries {
		if v := p.fitted.Result.Residuals[k]; math.Abs(v) > math.Abs(worst) {
			worst, row = v, p.fitted.Y[e.Group].Cells[e.Cell].Row
		}
	}
	if row > 0 {
		out = append(out, fmt.Sprintf("The greatest residual is %s, in row %d",
			quantity.Format(worst, 0, 0, unitOf(p.ys[0]).Difference(), quantity.Figures, quantity.Options{N: 2}), row))
	}
	return out
}
