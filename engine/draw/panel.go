package draw

import (
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	gdraw "gonum.org/v1/plot/vg/draw"
)

// Sizes of marks in px.
const (
	markRadius = 4.2
	capRadius  = 3.5 // half of the cap of an uncertainty bar
	hitRadius  = 9   // around a point, where a pointer finds its note
)

// draw draws everything.
func (g *graph) draw(c *canvas) {
	g.drawHead(c)
	all := g.panels()
	for _, n := range all {
		g.drawPanel(c, n)
	}
	g.drawNumbersX(c, all[len(all)-1].frame)
	g.drawStatement(c)
}

// up returns the vg point of px from the top left.
func (c *canvas) up(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(x), Y: vg.Length(c.height - y)}
}

func (g *graph) drawHead(c *canvas) {
	y := edge + titleSize
	for i, l := range g.head.title {
		hint := ""
		if i == len(g.head.title)-1 {
			hint = full(g.head.titleCut, g.fig.Title)
		}
		c.text(c.up(edge, y), "fig-title", start, l, hint)
		y += titleRow
	}
	y = g.head.rowsTop + labelSize
	for _, row := range g.head.keys {
		x := edge
		if g.head.beside {
			x = g.main.frame.right - rowWidth(row)
		}
		for _, k := range row {
			g.drawKey(c, k, x, y)
			x += k.px() + gap
		}
		y += textRow
	}
}

// drawKey draws one entry of the legend with the baseline of its text at y.
func (g *graph) drawKey(c *canvas, k key, x, y float64) {
	mid := y - 5
	if k.class != "" {
		c.line(k.class, c.up(x, mid), c.up(x+k.sample(), mid))
	}
	if k.series != nil {
		c.group(seriesClass(k.series.number))
		if k.series.join || !k.series.shown && k.class == "" {
			c.line("fig-join", c.up(x, mid), c.up(x+k.sample(), mid))
		}
		if k.series.shown {
			c.mark(k.series.number, c.up(x+k.sample()/2, mid))
		}
		c.end()
	}
	hint := ""
	if k.cut && k.series != nil {
		hint = k.series.name
	}
	c.text(c.up(x+k.sample()+6, y), "fig-key", start, k.label, hint)
}

func (c *canvas) line(k class, from, to vg.Point) {
	c.SetColor(k)
	c.Stroke(vg.Path{{Type: vg.MoveComp, Pos: from}, {Type: vg.LineComp, Pos: to}})
}

// plotterFunc is a plot.Plotter made of a function.
type plotterFunc func(gdraw.Canvas, *plot.Plot)

// Plot implements plot.Plotter.
func (f plotterFunc) Plot(c gdraw.Canvas, p *plot.Plot) { f(c, p) }

// drawPanel lets gonum draw the panel: it hands each plotter the frame and the
// transforms from the numbers of the scales.
func (g *graph) drawPanel(c *canvas, n *panel) {
	p := plot.New()
	p.HideAxes()
	p.X.Padding, p.Y.Padding = 0, 0
	p.BackgroundColor = color.Color(class("fig-paper"))
	p.X.Min, p.X.Max = g.x.lo(), g.x.hi()
	p.Y.Min, p.Y.Max = n.scale.lo(), n.scale.hi()
	p.Add(plotterFunc(func(gdraw.Canvas, *plot.Plot) { g.drawPaper(c, n) }))
	for i := range n.curves {
		p.Add(plotterFunc(func(area gdraw.Canvas, p *plot.Plot) { drawCurve(c, area, p, n.curves[i].class, n.curves[i].dots) }))
	}
	var legs []leg
	p.Add(plotterFunc(func(area gdraw.Canvas, p *plot.Plot) { legs = g.drawTriangle(c, n, area, p) }))
	for i := range n.series {
		p.Add(plotterFunc(func(area gdraw.Canvas, p *plot.Plot) { g.drawSeries(c, area, p, &n.series[i]) }))
	}
	p.Draw(gdraw.Canvas{Canvas: c, Rectangle: vg.Rectangle{
		Min: c.up(n.frame.left, n.frame.bottom),
		Max: c.up(n.frame.right, n.frame.top),
	}})
	for _, l := range legs {
		c.text(l.at, "fig-leg", l.anchor, l.label, "")
	}
	n.drawNumbers(c)
	hint := full(n.cut, axisText(n.y, n.scale.factor()))
	c.text(c.up(edge, n.frame.top-between-3), "fig-label", start, n.label, hint)
}

// drawPaper draws the grid of the paper and the two axes.
func (g *graph) drawPaper(c *canvas, n *panel) {
	f := n.frame
	var fine, grid, zero vg.Path
	along := func(s scale, length float64, add func(path *vg.Path, at float64)) {
		total := s.steps() * s.fine
		for i := int64(0); i <= total; i++ {
			path := &fine
			if i%s.fine == 0 {
				path = &grid
			}
			add(path, length*float64(i)/float64(total))
		}
		if s.first < 0 && s.last > 0 {
			add(&zero, length*float64(-s.first)/float64(s.steps()))
		}
	}
	along(g.x, f.width(), func(path *vg.Path, at float64) {
		path.Move(c.up(f.left+at, f.bottom))
		path.Line(c.up(f.left+at, f.top))
	})
	along(n.scale, f.height(), func(path *vg.Path, at float64) {
		path.Move(c.up(f.left, f.bottom-at))
		path.Line(c.up(f.right, f.bottom-at))
	})
	for _, part := range []struct {
		class class
		path  vg.Path
	}{{"fig-fine", fine}, {"fig-grid", grid}, {"fig-zero", zero}, {"fig-frame", g.axes(c, n)}} {
		c.SetColor(part.class)
		c.Stroke(part.path)
	}
}

// axes returns the two axes with a short tick at each number.
func (g *graph) axes(c *canvas, n *panel) vg.Path {
	const tick = 4
	f := n.frame
	var path vg.Path
	path.Move(c.up(f.left, f.top))
	path.Line(c.up(f.left, f.bottom))
	path.Line(c.up(f.right, f.bottom))
	for i := n.scale.first; i <= n.scale.last; i++ {
		if n.scale.numbered(i) {
			y := n.tickY(i)
			path.Move(c.up(f.left-tick, y))
			path.Line(c.up(f.left, y))
		}
	}
	for i := g.x.first; i <= g.x.last; i++ {
		if g.x.numbered(i) {
			x := g.tickX(f, i)
			path.Move(c.up(x, f.bottom))
			path.Line(c.up(x, f.bottom+tick))
		}
	}
	return path
}

func (n *panel) tickY(i int64) float64 {
	return n.frame.bottom - n.frame.height()*float64(i-n.scale.first)/float64(n.scale.steps())
}

func (g *graph) tickX(f box, i int64) float64 {
	return f.left + f.width()*float64(i-g.x.first)/float64(g.x.steps())
}

// drawNumbers numbers the y axis.
func (n *panel) drawNumbers(c *canvas) {
	for i := n.scale.first; i <= n.scale.last; i++ {
		if n.scale.numbered(i) {
			c.text(c.up(n.frame.left-8, n.tickY(i)+5.2), "fig-num", finish, plainLabel(n.scale.number(i), labelSize), "")
		}
	}
}

// drawNumbersX numbers the x axis below the lowest frame.
func (g *graph) drawNumbersX(c *canvas, f box) {
	for i := g.x.first; i <= g.x.last; i++ {
		if g.x.numbered(i) {
			c.text(c.up(g.tickX(f, i), f.bottom+19), "fig-num", middle, plainLabel(g.x.number(i), labelSize), "")
		}
	}
	hint := full(g.xCut, axisText(g.fig.X, g.x.factor()))
	c.text(c.up(f.right, f.bottom+20+textRow), "fig-label", finish, g.xLabel, hint)
}

// seriesColours and seriesMarks are coprime, so that twenty series differ.
const (
	seriesColours = 4
	seriesMarks   = 5
)

// seriesClass returns the class of the nth series, which sets its colour.
func seriesClass(n int) class { return class(fmt.Sprintf("fig-series%d", n%seriesColours+1)) }

// mark draws the mark of the nth series: crosses first, since a cross shows
// where the point is, then open shapes.
func (c *canvas) mark(n int, at vg.Point) {
	c.SetColor(class("fig-mark"))
	c.Stroke(markPath(nil, n, at, markRadius))
}

func markPath(path vg.Path, n int, at vg.Point, r vg.Length) vg.Path {
	to := func(x, y vg.Length) vg.Point { return at.Add(vg.Point{X: x, Y: y}) }
	polygon := func(ps ...vg.Point) {
		path.Move(ps[0])
		for _, p := range ps[1:] {
			path.Line(p)
		}
		path.Close()
	}
	switch n % seriesMarks {
	case 0:
		path.Move(to(-r, -r))
		path.Line(to(r, r))
		path.Move(to(-r, r))
		path.Line(to(r, -r))
	case 1:
		path.Move(to(-1.2*r, 0))
		path.Line(to(1.2*r, 0))
		path.Move(to(0, -1.2*r))
		path.Line(to(0, 1.2*r))
	case 2:
		path.Move(to(r, 0))
		path.Arc(at, r, 0, 2*math.Pi)
		path.Close()
	case 3:
		polygon(to(-r, -0.7*r), to(r, -0.7*r), to(0, 1.2*r))
	case 4:
		polygon(to(-0.9*r, -0.9*r), to(0.9*r, -0.9*r), to(0.9*r, 0.9*r), to(-0.9*r, 0.9*r))
	}
	return path
}

func (g *graph) drawSeries(c *canvas, area gdraw.Canvas, p *plot.Plot, s *marks) {
	if len(s.dots) == 0 {
		return
	}
	c.group(seriesClass(s.number))
	defer c.end()
	if s.join {
		drawCurve(c, area, p, "fig-join", s.dots)
	}
	if g.crowded {
		drawCrowd(c, area, p, s)
		return
	}
	if !s.shown && !s.bars {
		return
	}
	tx, ty := p.Transforms(&area)
	for _, d := range s.dots {
		at := vg.Point{X: tx(d.x), Y: ty(d.y)}
		c.group("")
		c.title(d.note)
		c.hit(at)
		if bars := barPath(nil, d, tx, ty); s.bars && len(bars) > 0 {
			c.SetColor(class("fig-bars"))
			c.Stroke(bars)
		}
		if s.shown {
			c.mark(s.number, at)
		}
		c.end()
	}
}

// hit is the round place about a point where a pointer finds its note.
func (c *canvas) hit(at vg.Point) {
	x, y := c.place(at)
	fmt.Fprintf(&c.b, `<circle class="fig-hit" cx="%s" cy="%s" r="%d"/>`, decimal(x), decimal(y), hitRadius)
}

// barPath appends the uncertainty bars of d, with their caps.
func barPath(path vg.Path, d dot, tx, ty func(float64) vg.Length) vg.Path {
	x, y := tx(d.x), ty(d.y)
	stroke := func(x0, y0, x1, y1 vg.Length) {
		path.Move(vg.Point{X: x0, Y: y0})
		path.Line(vg.Point{X: x1, Y: y1})
	}
	if d.ux > 0 {
		a, b := tx(d.x-d.ux), tx(d.x+d.ux)
		stroke(a, y, b, y)
		stroke(a, y-capRadius, a, y+capRadius)
		stroke(b, y-capRadius, b, y+capRadius)
	}
	if d.uy > 0 {
		a, b := ty(d.y-d.uy), ty(d.y+d.uy)
		stroke(x, a, x, b)
		stroke(x-capRadius, a, x+capRadius, a)
		stroke(x-capRadius, b, x+capRadius, b)
	}
	return path
}

// drawCrowd draws many points as one path of small marks. Of points that fall
// within one px it draws the first.
func drawCrowd(c *canvas, area gdraw.Canvas, p *plot.Plot, s *marks) {
	tx, ty := p.Transforms(&area)
	seen := make(map[[2]int64]bool, len(s.dots))
	var dots, bars vg.Path
	for _, d := range s.dots {
		at := vg.Point{X: tx(d.x), Y: ty(d.y)}
		x, y := c.place(at)
		if k := [2]int64{x / 100, y / 100}; !seen[k] {
			seen[k] = true
			at = c.up(float64(x/100), float64(y/100))
			dots = markPath(dots, s.number, at, 2)
			bars = barPath(bars, d, tx, ty)
		}
	}
	if s.bars {
		c.SetColor(class("fig-bars"))
		c.Stroke(bars)
	}
	if s.shown {
		c.SetColor(class("fig-crowd"))
		c.Stroke(dots)
	}
}
