package draw

import (
	"math"

	"example.org/taut/engine/view"
)

// Distances in px.
const (
	edge     = 10.0 // around everything
	titleRow = 22.0
	textRow  = 21.0 // a row of the legend, of labels, of numbers
	between  = 11.0 // from a row of text to a frame
	share    = 0.29 // of the frames' height that goes to the residuals
	minFrame = 90.0 // the least height of a frame
)

// arrange finds the place of everything, from the outside in: the rows of text
// leave a height to the frames, their heights give the y scales, the numbers of
// these leave a width, and that gives the x scale.
func (g *graph) arrange() {
	if g.paper != nil {
		g.arrangePaper()
		return
	}
	room := g.width - 2*edge
	g.arrangeHead(room)
	top, bottom := g.frameRows()
	g.stack(top, bottom)
	widest := g.scalesY()
	left := math.Ceil(edge + widest + 8)
	right := g.width - edge - 4
	for range 2 { // the width of the last number moves the frame's end
		g.x = g.scaleX(right - left)
		last := plainLabel(g.x.number(g.x.last), labelSize).px()
		right = math.Min(right, math.Floor(g.width-4-last/2))
	}
	g.x = g.scaleX(right - left)
	for _, n := range g.panels() {
		n.frame.left, n.frame.right = left, right
		n.setLabel(n.labelRoom(g, right))
	}
	g.xLabel, g.xCut = fitAxis(g.fig.X, g.x.factor(), right-edge)
}

// arrangeHead sets the title and the legend. The legend shares the row of the
// label of the y axis if both have room there.
func (g *graph) arrangeHead(room float64) {
	g.head.title, g.head.titleCut = wrap(g.title, titleSize, true, room, 3)
	keys := g.keys(room)
	if len(keys) == 0 {
		return
	}
	g.head.keys = rows(keys, room)
	free := room - axisLabel(g.fig.Y, -300).px() - 2*gap
	if len(g.head.keys) == 1 && rowWidth(g.head.keys[0]) <= free {
		g.head.beside = true
	}
}

// frameRows returns the top and the bottom of the space for the frames, and
// makes the drawing taller if they would be too low.
func (g *graph) frameRows() (top, bottom float64) {
	top = edge + titleRow*float64(len(g.head.title))
	g.head.rowsTop = top
	if !g.head.beside {
		top += textRow * float64(len(g.head.keys))
	}
	top += textRow + between
	need := 2*textRow + edge - betweenFrames
	for range g.panels() {
		need += minFrame + betweenFrames
	}
	g.height = math.Max(g.height, math.Ceil(top+need))
	return top, g.height - edge - 2*textRow
}

func (n *panel) labelRoom(g *graph, right float64) float64 {
	room := right - edge
	if n == g.main && g.head.beside {
		room -= rowWidth(g.head.keys[0]) + gap
	}
	return room
}

// scalesY sets the y scales and returns the width of their numbers.
func (g *graph) scalesY() float64 {
	for _, n := range g.panels() {
		n.scale = n.scaleY(g.comma)
	}
	all := g.frames()
	alike(all, math.MaxInt64, func(s scale) float64 {
		return inset / (all[0].frame.height() / float64(s.steps())) * s.at(1)
	})
	widest := 0.0
	for i, n := range g.panels() {
		if i < len(all) && len(all) > 1 {
			n.scale = n.scale.spaced(room{px: n.frame.height()})
		}
		widest = math.Max(widest, n.scale.widest())
	}
	return widest
}

// inset is how far the marks at the ends of the data keep off the frame, in px.
const inset = 6.0

// scaleY is the y scale of a panel on its own.
func (n *panel) scaleY(comma bool) scale {
	px := n.frame.height()
	r := room{px: px, least: 4, most: min(9, max(4, int64(px/20))), margin: inset, comma: comma}
	if !n.zero {
		data, more := atZero(n.points[1], n.data[1], n.more[1], inset/px)
		return newScale(data, more, n.powY, r)
	}
	r.least = 2
	data := opened(balanced(n.data[1]))
	s, _ := bestScale(data, data, n.powY, inset, r)
	return s.spaced(r)
}

// balanced reaches as far below zero as above.
func balanced(e extent) extent {
	most := math.Max(math.Abs(e.lo), math.Abs(e.hi))
	return extent{lo: -most, hi: most, any: true}
}

// atZero are the extents of points with their bars and of lines, without what
// reaches beyond zero where the points do not, if it is no more than a part of
// their range: a scale does not pass below zero for it.
func atZero(points, bars, lines extent, part float64) (data, more extent) {
	least := part * (bars.hi - bars.lo)
	rounding := 1e-9 * (bars.hi - bars.lo)
	held := func(e extent) extent {
		if points.lo >= -rounding && e.lo < 0 && e.lo >= -least {
			e.lo = 0
		}
		if points.hi <= rounding && e.hi > 0 && e.hi <= least {
			e.hi = 0
		}
		return e
	}
	if !points.any {
		return bars, lines
	}
	return held(bars), held(lines)
}

// scaleX returns the x scale, which all panels share.
func (g *graph) scaleX(px float64) scale {
	data, more := g.extentX(inset / px)
	return newScale(data, more, g.main.powX, room{px: px, least: 4, most: 9, margin: inset, along: true, comma: g.comma})
}

// extentX are the extents along x of the points with their bars and of the lines.
func (g *graph) extentX(part float64) (data, more extent) {
	var points extent
	for _, n := range g.panels() {
		points, data = points.with(n.points[0]), data.with(n.data[0])
	}
	for _, n := range g.frames() {
		more = more.with(n.more[0])
	}
	return atZero(points, data, more, part)
}

// axisText is the label of an axis as plain text.
func axisText(a view.Axis, exp int) string { return axisLabel(a, exp).String() }
