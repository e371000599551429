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
	g.main.frame = box{top: top, bottom: bottom}
	if g.below != nil {
		free := bottom - top - textRow - 2*between
		mid := top + math.Round(free*(1-share))
		g.main.frame.bottom = mid
		g.below.frame = box{top: mid + textRow + 2*between, bottom: bottom}
	}
	widest := g.main.scaleY(g.comma)
	if g.below != nil {
		widest = math.Max(widest, g.below.scaleY(g.comma))
	}
	left := math.Ceil(edge + widest + 8)
	right := g.width - edge - 4
	for range 2 { // the width of the last number moves the frame's end
		g.x = g.scaleX(right - left)
		last := plainLabel(g.x.number(g.x.last), labelSize).px()
		right = math.Min(right, math.Floor(g.width-4-last/2))
	}
	g.x = g.scaleX(right - left)
	for _, n := range []*panel{g.main, g.below} {
		if n != nil {
			n.frame.left, n.frame.right = left, right
			n.setLabel(n.labelRoom(g, right))
		}
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
	need := minFrame + 2*textRow + edge
	if g.below != nil {
		need += minFrame + textRow + 2*between
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

// scaleY sets the y scale and returns the width of its numbers.
func (n *panel) scaleY(comma bool) float64 {
	px := n.frame.height()
	r := room{px: px, least: 4, most: min(9, max(4, int64(px/20))), margin: 6, comma: comma}
	data := n.data[1]
	if n.zero {
		most := math.Max(math.Abs(data.lo), math.Abs(data.hi))
		data = extent{lo: -most, hi: most, any: true}
		r.least = 2
	}
	n.scale = newScale(data, n.more[1], n.powY, r)
	return n.scale.widest()
}

// scaleX returns the x scale, which all panels share.
func (g *graph) scaleX(px float64) scale {
	data, more := g.main.data[0], g.main.more[0]
	if g.below != nil {
		data = data.with(g.below.data[0])
	}
	return newScale(data, more, g.main.powX, room{px: px, least: 4, most: 9, margin: 6, along: true, comma: g.comma})
}

// axisText is the label of an axis as plain text.
func axisText(a view.Axis, exp int) string { return axisLabel(a, exp).String() }
