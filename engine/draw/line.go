package draw

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	gdraw "gonum.org/v1/plot/vg/draw"
)

// drawCurve draws the part of a line or curve that lies within the frame.
func drawCurve(c *canvas, area gdraw.Canvas, p *plot.Plot, k class, dots []dot) {
	c.SetColor(k)
	c.Stroke(curvePath(area.Rectangle, p, area, dots))
}

func curvePath(frame vg.Rectangle, p *plot.Plot, area gdraw.Canvas, dots []dot) vg.Path {
	tx, ty := p.Transforms(&area)
	var path vg.Path
	var pen vg.Point
	drawn := false
	for i := 1; i < len(dots); i++ {
		a, b, ok := clip(frame, held(tx(dots[i-1].x), ty(dots[i-1].y)), held(tx(dots[i].x), ty(dots[i].y)))
		if !ok {
			continue
		}
		if !drawn || pen != a {
			path.Move(a)
		}
		path.Line(b)
		pen, drawn = b, true
	}
	return path
}

// held keeps a point within a distance in which clipping cannot overflow.
func held(x, y vg.Length) vg.Point {
	const most = 1e12
	return vg.Point{X: max(-most, min(x, most)), Y: max(-most, min(y, most))}
}

// clip returns the part of the segment from a to b within r (Liang and Barsky
// 1984), and whether there is any.
func clip(r vg.Rectangle, a, b vg.Point) (vg.Point, vg.Point, bool) {
	t0, t1 := vg.Length(0), vg.Length(1)
	dx, dy := b.X-a.X, b.Y-a.Y
	for _, e := range [...][2]vg.Length{
		{-dx, a.X - r.Min.X}, {dx, r.Max.X - a.X},
		{-dy, a.Y - r.Min.Y}, {dy, r.Max.Y - a.Y},
	} {
		const slack = 1e-6 // px: a line along the frame is within it
		p, q := e[0], e[1]
		switch {
		case p == 0 && q < -slack:
			return a, b, false
		case p < 0:
			t0 = max(t0, q/p)
		case p > 0:
			t1 = min(t1, q/p)
		}
	}
	if t0 > t1 {
		return a, b, false
	}
	at := func(t vg.Length) vg.Point {
		return vg.Point{X: a.X + vg.Length(t*dx), Y: a.Y + vg.Length(t*dy)}
	}
	from, to := a, b
	if t0 > 0 {
		from = at(t0)
	}
	if t1 < 1 {
		to = at(t1)
	}
	return from, to, true
}

// leg is the label of one leg of the slope triangle, in its place.
type leg struct {
	at     vg.Point // of the baseline
	anchor anchor
	label  label
	over   vg.Rectangle // the space that it takes
}

// drawTriangle draws the slope triangle and returns the labels of its legs,
// which are drawn last. The right angle lies where the labels hide the least.
func (g *graph) drawTriangle(c *canvas, n *panel, area gdraw.Canvas, p *plot.Plot) []leg {
	t := n.triangle
	if t == nil {
		return nil
	}
	tx, ty := p.Transforms(&area)
	a := vg.Point{X: tx(over10(t.X0, n.powX)), Y: ty(over10(t.Y0, n.powY))}
	b := vg.Point{X: tx(over10(t.X1, n.powX)), Y: ty(over10(t.Y1, n.powY))}
	f := area.Rectangle
	if !inside(f, a) || !inside(f, b) {
		return nil
	}
	if a.X > b.X {
		a, b = b, a
	}
	o := n.obstacles(area, p)
	least := math.Inf(1)
	var legs []leg
	var corner vg.Point
	for _, k := range [...]vg.Point{{X: b.X, Y: a.Y}, {X: a.X, Y: b.Y}} {
		found, cost := o.labels(a, b, k, g.dimension(t.DX, t.UX, g.x), g.dimension(t.DY, t.UY, n.scale))
		if cost < least {
			legs, least, corner = found, cost, k
		}
	}
	c.SetColor(class("fig-triangle"))
	c.Stroke(vg.Path{{Type: vg.MoveComp, Pos: a}, {Type: vg.LineComp, Pos: corner}, {Type: vg.LineComp, Pos: b}})
	return legs
}

func inside(r vg.Rectangle, p vg.Point) bool {
	const slack = 0.01
	return p.X >= r.Min.X-slack && p.X <= r.Max.X+slack && p.Y >= r.Min.Y-slack && p.Y <= r.Max.Y+slack
}

// obstacles is what a label should not hide.
type obstacles struct {
	frame  vg.Rectangle
	points []vg.Point
	lines  [][2]vg.Point
}

func (n *panel) obstacles(area gdraw.Canvas, p *plot.Plot) *obstacles {
	tx, ty := p.Transforms(&area)
	const clear = 3 // px: a label has a rim, which must not rub out the axes
	o := &obstacles{frame: vg.Rectangle{
		Min: area.Min.Add(vg.Point{X: clear, Y: clear}), Max: area.Max.Sub(vg.Point{X: clear, Y: clear}),
	}}
	lines := func(dots []dot) {
		for i := 1; i < len(dots); i++ {
			o.lines = append(o.lines, [2]vg.Point{
				held(tx(dots[i-1].x), ty(dots[i-1].y)), held(tx(dots[i].x), ty(dots[i].y)),
			})
		}
	}
	if n.scale.first < 0 && n.scale.last > 0 {
		o.lines = append(o.lines, [2]vg.Point{{X: area.Min.X, Y: ty(0)}, {X: area.Max.X, Y: ty(0)}})
	}
	for _, s := range n.series {
		if len(s.dots) > crowd {
			continue // it is everywhere
		}
		for _, d := range s.dots {
			o.points = append(o.points, vg.Point{X: tx(d.x), Y: ty(d.y)})
		}
		if s.join {
			lines(s.dots)
		}
	}
	for _, c := range n.curves {
		lines(c.dots)
	}
	return o
}

// cost says how bad a label is at r.
func (o *obstacles) cost(r vg.Rectangle) float64 {
	cost := 0.0
	if !inside(o.frame, r.Min) || !inside(o.frame, r.Max) {
		cost += 20
	}
	wide := vg.Rectangle{
		Min: vg.Point{X: r.Min.X - markRadius, Y: r.Min.Y - markRadius},
		Max: vg.Point{X: r.Max.X + markRadius, Y: r.Max.Y + markRadius},
	}
	for _, p := range o.points {
		if inside(wide, p) {
			cost += 4
		}
	}
	for _, l := range o.lines {
		if _, _, ok := clip(r, l[0], l[1]); ok {
			cost += 2
		}
	}
	return cost
}

// labels returns the best places for the labels of the legs from a and from b
// to the corner k, and their cost.
func (o *obstacles) labels(a, b, k vg.Point, dx, dy label) ([]leg, float64) {
	flat := b // the other end of the horizontal leg
	upright := a
	if k.Y == a.Y {
		flat, upright = a, b
	}
	var legs []leg
	total := 0.0
	for _, side := range [][]leg{besideFlat(flat, k, upright, dx), besideUpright(upright, k, flat, dy)} {
		var best leg
		least := math.Inf(1)
		for i, l := range side {
			cost := o.cost(l.over) + 0.1*float64(i)
			for _, other := range legs {
				if overlap(l.over, other.over) {
					cost += 10
				}
			}
			if cost < least {
				best, least = l, cost
			}
		}
		if len(side) > 0 {
			legs, total = append(legs, best), total+least
		}
	}
	return legs, total
}

func overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

const (
	rise = 12 // px, of letters above the baseline
	fall = 4  // px, of letters below it
	away = 6  // px, from a leg to its label
)

// parts of a leg at which its label may stand, the middle first.
var parts = [...]vg.Length{0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9}

// besideFlat returns places for the label of the horizontal leg from a to k:
// outside the triangle, then inside.
func besideFlat(a, k, other vg.Point, l label) []leg {
	if len(l.runs) == 0 {
		return nil
	}
	w := vg.Length(l.px())
	outside, within := k.Y-away-rise, k.Y+away+fall
	if other.Y < k.Y {
		outside, within = within, outside
	}
	var out []leg
	for _, y := range []vg.Length{outside, within} {
		for _, part := range parts {
			x := a.X + vg.Length(part*(k.X-a.X))
			out = append(out, leg{at: vg.Point{X: x, Y: y}, anchor: middle, label: l, over: vg.Rectangle{
				Min: vg.Point{X: x - w/2, Y: y - fall},
				Max: vg.Point{X: x + w/2, Y: y + rise},
			}})
		}
	}
	return out
}

// besideUpright returns places for the label of the vertical leg from a to k.
func besideUpright(a, k, other vg.Point, l label) []leg {
	if len(l.runs) == 0 {
		return nil
	}
	w := vg.Length(l.px())
	right := func(y vg.Length) leg {
		x := k.X + away
		return leg{at: vg.Point{X: x, Y: y}, anchor: start, label: l, over: vg.Rectangle{
			Min: vg.Point{X: x, Y: y - fall}, Max: vg.Point{X: x + w, Y: y + rise}}}
	}
	left := func(y vg.Length) leg {
		x := k.X - away
		return leg{at: vg.Point{X: x, Y: y}, anchor: finish, label: l, over: vg.Rectangle{
			Min: vg.Point{X: x - w, Y: y - fall}, Max: vg.Point{X: x, Y: y + rise}}}
	}
	sides := []func(vg.Length) leg{right, left}
	if other.X > k.X {
		sides = []func(vg.Length) leg{left, right}
	}
	var out []leg
	for _, side := range sides {
		for _, part := range parts {
			out = append(out, side(k.Y+vg.Length(part*(a.Y-k.Y))-(rise-fall)/2))
		}
	}
	return out
}
