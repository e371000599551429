package blocks

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(plot{})

// plot is the kind `plot`: a graph of columns, with a fit.
//
// Beside y, x, fit, show and title it takes `paper:`, the size of the graph
// paper, ruled in centimetres of true size: A4 (a whole page), A5 (half a page)
// or `12 x 16 cm`; and `scale: yes`, which prints what one centimetre stands
// for (yes where `paper:` is given, else no).
type plot struct{}

// Info implements block.Kind.
func (plot) Info() block.Info {
	return block.Info{Name: "plot", Naming: block.Named, Keys: []block.Keys{{Of: "a plot", Names: plotKeys}}, What: "a graph of columns, with a fitted line, limits, slope triangle and residuals, on graph paper if wanted"}
}

var (
	plotKeys  = []string{"y", "x", "fit", "show", "title", "paper", "scale"}
	plotParts = []string{"points", "bars", "line", "limits", "triangle", "residuals"}
)

type plotBlock struct {
	name   string
	at     source.Span
	y      []formula.Expr
	x      formula.Expr
	fit    string
	fitAt  source.Span
	show   map[string]bool
	title  []block.Part
	paper  *view.Paper // nil for a drawing of the usual size
	ys     []*eval.Column
	xs     *eval.Column
	fitted *eval.Fitted
	waits  *eval.Waiting
}

// Read implements block.Kind.
func (plot) Read(r *block.Reader, b *record.Block) block.Instance {
	m := b.ReadSettings(r.Set)
	p := &plotBlock{name: b.Name, at: b.NameAt, show: map[string]bool{}}
	checkKeys(m, "a plot", plotKeys, r.Set)
	p.y = expressions(m, "y", r.Set)
	if s := scalar(m, "x", r.Set); s != nil {
		p.x = expression(s, r.Set)
	}
	if s := scalar(m, "fit", r.Set); s != nil {
		p.fit, p.fitAt = s.Text, s.At
	}
	if s := scalar(m, "title", r.Set); s != nil {
		p.title = titleOf(s, r.Set)
	}
	for _, key := range []string{"y", "x"} {
		if m.Lacks(key) {
			r.Set.Add(missingKey(b.KindAt, key, "a plot"))
		}
	}
	p.readShow(m.Get("show"), r.Set)
	p.readPaper(scalar(m, "paper", r.Set), scalar(m, "scale", r.Set), r.Set)
	return p
}

// titleOf reads a title, which may hold inline values if it stands in the file
// as it is meant.
func titleOf(s *record.Setting, set *finding.Set) []block.Part {
	if _, plain := s.Inner(); !plain && !strings.Contains(s.Text, "=[") {
		return []block.Part{{Text: s.Text}}
	}
	at, ok := scalarSpan(s, set)
	if !ok {
		return nil
	}
	return block.ParseMessage(at, set)
}

func (p *plotBlock) readShow(s *record.Setting, set *finding.Set) {
	if s == nil {
		p.show["points"] = true
		p.show["line"] = p.fit != ""
		return
	}
	for _, item := range s.List() {
		for _, word := range strings.Fields(item.Text) {
			if !has(plotParts, word) {
				set.Add(badValue(item.At, "show", word, "any of "+strings.Join(plotParts, ", ")))
				continue
			}
			p.show[word] = true
			if word != "points" && word != "bars" && p.fit == "" {
				set.Add(badValue(item.At, "show", word, "used together with `fit:`"))
			}
		}
	}
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// Defs implements block.Definer.
func (p *plotBlock) Defs() []*block.Def {
	if p.name == "" {
		return nil
	}
	d := &block.Def{Name: p.name, At: p.at, Quiet: true, Compute: p.compute}
	for _, x := range append(append([]formula.Expr(nil), p.y...), p.x) {
		if x != nil {
			d.Uses = append(d.Uses, block.UsesOf(x)...)
		}
	}
	if p.fit != "" {
		d.Uses = append(d.Uses, block.Use{Name: p.fit, At: p.fitAt})
	}
	for _, part := range p.title {
		if part.Insert != nil {
			d.Uses = append(d.Uses, block.UsesOf(part.Insert.X)...)
		}
	}
	return []*block.Def{d}
}

// compute gathers the columns; the value itself is good for nothing but to be
// named.
func (p *plotBlock) compute(c *block.Computing) eval.Value {
	space := &eval.Space{What: "plot", Name: p.name, Get: func(string) (eval.Value, bool) { return nil, false }}
	if p.x == nil || len(p.y) == 0 {
		p.waits = &eval.Waiting{}
		return space
	}
	e := c.Eval(p.name)
	ys, wait := columnsOf(e, p.y)
	if wait == nil {
		var xs []*eval.Column
		if xs, wait = columnsOf(e, []formula.Expr{p.x}); wait == nil && len(xs) == 1 {
			p.ys, p.xs = ys, xs[0]
		}
	}
	if w, ok := wait.(eval.Waiting); ok {
		p.waits = &w
		return space
	}
	for i, y := range p.ys {
		at := p.y[min(i, len(p.y)-1)].Span()
		if f := misfit(at, y, p.ys[0], p.xs, "plot"); f != nil {
			c.Report(f)
			p.waits = &eval.Waiting{}
			return space
		}
	}
	p.readFit(c, e)
	return space
}

func (p *plotBlock) readFit(c *block.Computing, e *eval.Eval) {
	if p.fit == "" {
		return
	}
	v, rest := e.Env.Lookup(p.fit)
	if s, ok := v.(*eval.Space); ok && len(rest) == 0 {
		if f, ok := s.Data.(*eval.Fitted); ok {
			p.fitted = f
			if f.Y[0].Dim != p.ys[0].Dim || f.X.Dim != p.xs.Dim {
				c.Report(errorAt(p.fitAt, "unit-clash", fmt.Sprintf("the fit `%s` is of other quantities than this plot", p.fit), "plot the columns that were fitted"))
				p.fitted = nil
			}
			return
		}
	}
	if _, waits := v.(eval.Waiting); !waits {
		c.Report(errorAt(p.fitAt, "wrong-argument", fmt.Sprintf("`%s` is not a fit, it is %s", p.fit, eval.Describe(v)), "name a `fit` block"))
	}
}

// Show implements block.Instance.
func (p *plotBlock) Show(s *block.Shower) []view.Node {
	if s.View() == view.AsBlank {
		return []view.Node{p.grid(s)}
	}
	if p.waits == nil && (p.ys == nil || p.points() == 0) {
		w := eval.Waiting{Unread: true, On: "the readings"}
		p.waits = &w
	}
	if p.waits != nil {
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain("Graph "), view.Code(p.name), view.Plain(": "), view.Missing{Why: block.WaitsFor(*p.waits)}}}}
	}
	fig := &view.Figure{ID: s.ID() + "-figure", Standing: view.Computed, Paper: p.paper}
	fig.X, fig.Y = p.axes(s)
	ux, uy := unitOf(p.xs), unitOf(p.ys[0])
	fig.Title = p.titleText(fig, block.PlainText(s.Message(p.title, s.Eval(p.name))))
	for g, y := range p.ys {
		fig.Series = append(fig.Series, p.series(g, y, ux, uy))
	}
	if p.fitted != nil {
		p.addFit(s, fig, ux, uy)
	}
	fig.Desc = p.describe(s, fig)
	nodes := []view.Node{fig}
	if fig.Triangle != nil && s.View() == view.AsWorked {
		nodes = append(nodes, p.slopeSteps(s, fig.Triangle))
	}
	return nodes
}

func (p *plotBlock) titleText(fig *view.Figure, title string) string {
	if title == "" {
		return fmt.Sprintf("%s against %s", fig.Y.Quantity, fig.X.Quantity)
	}
	return title
}

func (p *plotBlock) points() int {
	n := 0
	for _, y := range p.ys {
		for i, c := range y.Cells {
			if !c.Hole && !p.xs.Cells[i].Hole {
				n++
			}
		}
	}
	return n
}

func unitOf(c *eval.Column) unit.Unit { return eval.UnitOf(c) }

func axisUnit(u unit.Unit) string {
	if u.IsOne() {
		return ""
	}
	return u.String()
}

// axisName names an axis by its columns: the last part of their names.
func axisName(x formula.Expr, cols []*eval.Column) string {
	var names []string
	for _, c := range cols {
		if c.Name == "" {
			return formula.Print(x)
		}
		names = append(names, c.Name[strings.LastIndexByte(c.Name, '.')+1:])
	}
	return strings.Join(names, ", ")
}

func (p *plotBlock) series(g int, y *eval.Column, ux, uy unit.Unit) view.Series {
	s := view.Series{Name: p.seriesName(g), Marks: p.show["points"], Bars: p.show["bars"]}
	k := 2.0
	scatter := 0.0
	if p.fitted != nil && p.fitted.Options.Weights == fit.Equal {
		r := p.fitted.Result
		k, scatter = stat.CoverageFactor(0.95, r.DOF), r.Scatter
	}
	for i, c := range y.Cells {
		x := p.xs.Cells[i]
		if c.Hole || x.Hole {
			continue
		}
		pt := view.Point{X: ux.FromSI(x.Q.Value()), Y: uy.FromSI(c.Q.Value())}
		pt.Note = fmt.Sprintf("%s: row %d, x %s, y %s", s.Name, c.Row, cellText(x, p.xs), cellText(c, y))
		if s.Bars {
			pt.UY = k * math.Max(scatter, eval.OwnU(c.Q)) / uy.Factor()
			pt.UX = k * eval.OwnU(x.Q) / ux.Factor()
		}
		s.Points = append(s.Points, pt)
	}
	return s
}

// seriesName is the name of column g, or its place in the list.
func (p *plotBlock) seriesName(g int) string {
	n := p.ys[g].Name
	if n == "" && len(p.ys) > 1 {
		n = eval.ReadingsOf(p.ys[g])
	}
	if n != "" {
		return n[strings.LastIndexByte(n, '.')+1:]
	}
	if len(p.ys) == len(p.y) {
		return formula.Print(p.y[g])
	}
	return fmt.Sprintf("%s, column %d", formula.Print(p.y[0]), g+1)
}

func cellText(c eval.Cell, col *eval.Column) string {
	u := eval.UnitOf(col)
	if c.Typed != "" && col.Raw == nil {
		return quantity.Typed(c.Typed, u).String()
	}
	return quantity.Format(c.Q.Value(), 0, 0, u, quantity.Auto, quantity.Options{}).String()
}

// addFit draws the line, its limits, the slope triangle and the residuals.
func (p *plotBlock) addFit(s *block.Shower, fig *view.Figure, ux, uy unit.Unit) {
	f := p.fitted
	lo, hi := p.xRange()
	for g := range f.Intercepts() {
		if p.show["line"] {
			name := "fitted line"
			if f.Intercepts() > 1 {
				name = "line through " + p.seriesName(min(g, len(p.ys)-1))
			}
			fig.Lines = append(fig.Lines, view.Line{Name: name, Kind: view.Fitted, Points: p.curve(g, lo, hi, ux, uy)})
		}
	}
	if p.show["limits"] && f.Options.Model != fit.Polynomial {
		fig.Lines = append(fig.Lines, p.limit(s, 1, lo, hi, ux, uy), p.limit(s, -1, lo, hi, ux, uy))
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

// limit is the steepest (+1) or shallowest (−1) line that is still acceptable:
// its slope is at the end of the coverage interval, and it passes through the
// middle of the points.
func (p *plotBlock) limit(s *block.Shower, sign float64, lo, hi float64, ux, uy unit.Unit) view.Line {
	f := p.fitted
	r := f.Result
	sumX := 0.0
	for _, e := range f.Entries {
		sumX += f.X.Cells[e.Cell].Q.Value()
	}
	mid := sumX / float64(len(f.Entries))
	if f.Options.Model == fit.Proportional {
		mid = 0
	}
	y0, _ := r.Predict(mid, -1)
	slope := r.Coef[0] + sign*stat.CoverageFactor(s.Settings.Coverage, r.DOF)*math.Sqrt(r.Cov[0][0])
	l := view.Line{Name: "steepest acceptable", Kind: view.Steepest}
	if sign < 0 {
		l.Name, l.Kind = "shallowest acceptable", view.Shallowest
	}
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
	t := &view.Triangle{X0: ux.FromSI(a), Y0: uy.FromSI(ya), X1: ux.FromSI(b), Y1: uy.FromSI(yb)}
	leg := func(from, to float64, un unit.Unit) string {
		p, q := readOff(from, to, un)
		d := un.Difference()
		return quantity.Format(d.SI(q.read-p.read), 0, 0, d, quantity.Figures, quantity.Options{N: readFigures}).String()
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
