package blocks

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// addFit draws the line, its limits, the slope triangle and the residuals.
func (p *plotBlock) addFit(s *block.Shower, fig *view.Figure, ux, uy unit.Unit) {
	f := p.fitted
	lo, hi := p.xRange()
	for g := range f.Intercepts() {
		if p.show["line"] {
			line := view.Line{Name: "fitted line", Kind: view.Fitted, Frame: p.frame(g), Points: p.curve(g, lo, hi, ux, uy)}
			if f.Intercepts() > 1 {
				line.Name, line.Series = "line through "+p.seriesName(min(g, len(p.ys)-1)), g+1
			}
			fig.Lines = append(fig.Lines, line)
		}
	}
	if p.show["limits"] && f.Options.Model != fit.Polynomial {
		p.addLimits(s, fig, ux, uy)
	}
	if p.show["triangle"] && f.Options.Model != fit.Polynomial {
		fig.Triangle = p.triangle(lo, hi, ux, uy)
	}
	if p.show["residuals"] {
		fig.Residual = p.residuals(ux, uy)
	}
}

func (p *plotBlock) xRange() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, e := range p.fitted.Entries {
		x := p.fitted.X.Cells[e.Cell].Q.Value()
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return lo, hi
}

func (p *plotBlock) curve(g int, lo, hi float64, ux, uy unit.Unit) []view.Point {
	n := 1
	if p.fitted.Options.Model == fit.Polynomial {
		n = 60
	}
	var out []view.Point
	for i := 0; i <= n; i++ {
		x := lo + float64((hi-lo)*float64(i))/float64(n)
		y, _ := p.fitted.Result.Predict(x, g)
		out = append(out, view.Point{X: ux.FromSI(x), Y: uy.FromSI(y)})
	}
	return out
}

// addLimits draws the steepest and the shallowest line that are still
// acceptable through each group of points, or says how near they are where they
// could not be told from the fitted line.
func (p *plotBlock) addLimits(s *block.Shower, fig *view.Figure, ux, uy unit.Unit) {
	r := p.fitted.Result
	off := stat.CoverageFactor(s.Settings.Coverage, r.DOF) * math.Sqrt(r.Cov[0][0])
	apart := 0.0
	for g := range p.fitted.Intercepts() {
		lo, mid, hi := p.reach(g)
		apart = math.Max(apart, off*math.Max(mid-lo, hi-mid))
	}
	if p.drawn(apart) < tellable {
		d := uy.Difference()
		fig.Notes = append(fig.Notes, view.Text{
			view.Plain("The steepest and the shallowest acceptable line (" + s.Settings.CoverageText + ") are not drawn: they are at most "),
			view.Number{Value: apart, Display: quantity.Format(apart, 0, 0, d, quantity.Figures, quantity.Options{N: 2}), Standing: view.Computed},
			view.Plain(" from " + theLine(p.fitted.Intercepts()))})
		return
	}
	groups := p.toldApart()
	if len(groups) < p.fitted.Intercepts() {
		var names []string
		for _, g := range groups {
			names = append(names, p.seriesName(g))
		}
		fig.Notes = append(fig.Notes, view.Text{view.Plain("The acceptable lines are drawn for " + strings.Join(names, ", ") + " alone, since the fitted lines lie close together")})
	}
	for _, k := range []view.LineKind{view.Steepest, view.Shallowest} {
		for _, g := range groups {
			fig.Lines = append(fig.Lines, p.limit(g, k, off, ux, uy))
		}
	}
}

// toldApart are the groups whose fitted lines are drawn well apart from those of
// the groups before them.
func (p *plotBlock) toldApart() []int {
	const well = 15 // px
	var out []int
	for g := range p.fitted.Intercepts() {
		y, _ := p.fitted.Result.Predict(0, g)
		near := slices.ContainsFunc(out, func(other int) bool {
			z, _ := p.fitted.Result.Predict(0, other)
			return p.frame(g) == p.frame(other) && p.drawn(math.Abs(y-z)) < well
		})
		if !near {
			out = append(out, g)
		}
	}
	return out
}

// reach is the least and the greatest x of the readings of group g, and their
// mean, the middle of the points; a line through the origin turns about that.
func (p *plotBlock) reach(g int) (lo, mid, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	sum, n := 0.0, 0
	for _, e := range p.fitted.Entries {
		if p.fitted.Intercepts() > 1 && e.Group != g {
			continue
		}
		x := p.fitted.X.Cells[e.Cell].Q.Value()
		lo, hi = math.Min(lo, x), math.Max(hi, x)
		sum += x
		n++
	}
	mid = sum / float64(n)
	if p.fitted.Options.Model == fit.Proportional {
		mid = 0
	}
	return lo, mid, hi
}

// limit is the steepest or the shallowest acceptable line through group g: its
// slope is at the end of the coverage interval, off from that of the fit, and it
// passes through the middle of the points.
func (p *plotBlock) limit(g int, kind view.LineKind, off float64, ux, uy unit.Unit) view.Line {
	lo, mid, hi := p.reach(g)
	l := view.Line{Name: "steepest acceptable", Kind: kind, Frame: p.frame(g)}
	slope := p.fitted.Result.Coef[0]
	if steep := math.Copysign(off, slope); kind == view.Steepest {
		slope += steep
	} else {
		slope, l.Name = slope-steep, "shallowest acceptable"
	}
	y0, _ := p.fitted.Result.Predict(mid, g)
	for _, x := range []float64{lo, hi} {
		l.Points = append(l.Points, view.Point{X: ux.FromSI(x), Y: uy.FromSI(y0 + float64(slope*(x-mid)))})
	}
	return l
}

// triangle lies on the first line, over more than two thirds of it (common
// practice: over more than half), its corners read off the line and not at
// readings.
func (p *plotBlock) triangle(lo, hi float64, ux, uy unit.Unit) *view.Triangle {
	a, b := legs(ux.FromSI(lo), ux.FromSI(hi), func(x float64) bool { return p.isReading(ux.SI(x), (hi-lo)/200) })
	a, b = ux.SI(a), ux.SI(b)
	ya, _ := p.fitted.Result.Predict(a, 0)
	yb, _ := p.fitted.Result.Predict(b, 0)
	t := &view.Triangle{X0: ux.FromSI(a), Y0: uy.FromSI(ya), X1: ux.FromSI(b), Y1: uy.FromSI(yb),
		Figures: readFigures, UX: axisUnit(ux.Difference()), UY: axisUnit(uy.Difference()), Frame: p.frame(0)}
	leg := func(from, to float64, un unit.Unit) float64 {
		p, q := readOff(from, to, un)
		return q.read - p.read
	}
	t.DX, t.DY = leg(t.X0, t.X1, ux), leg(t.Y0, t.Y1, uy)
	return t
}

// isReading reports whether a fitted reading lies within a little of x.
func (p *plotBlock) isReading(x, within float64) bool {
	for _, e := range p.fitted.Entries {
		if math.Abs(p.fitted.X.Cells[e.Cell].Q.Value()-x) < within {
			return true
		}
	}
	return false
}

func (p *plotBlock) residuals(ux, uy unit.Unit) *view.Panel {
	f := p.fitted
	d := uy.Difference()
	panel := &view.Panel{Y: view.Axis{Quantity: "residual", Unit: axisUnit(d)}, Zero: true}
	for g, y := range f.Y {
		name := "residuals"
		if len(f.Y) > 1 {
			name = "residuals of " + p.seriesName(min(g, len(p.ys)-1))
		}
		s := view.Series{Name: name, Marks: true}
		for k, e := range f.Entries {
			if e.Group != g {
				continue
			}
			x := f.X.Cells[e.Cell]
			s.Points = append(s.Points, view.Point{X: ux.FromSI(x.Q.Value()), Y: d.FromSI(f.Result.Residuals[k]),
				Note: fmt.Sprintf("row %d: residual %s", y.Cells[e.Cell].Row, quantity.Format(f.Result.Residuals[k], 0, 0, d, quantity.Figures, quantity.Options{N: 2}))})
		}
		panel.Series = append(panel.Series, s)
	}
	return panel
}

func theLine(n int) string {
	if n > 1 {
		return "the fitted lines"
	}
	return "the fitted line"
}
