package draw

import (
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"

	"example.org/taut/engine/view"
)

// Graph paper is ruled in centimetres of true size: a px of CSS is 1/96 inch.
const (
	centimetre = 96 / 2.54 // px
	fineToCm   = 5         // squares of 2 mm
	leastPaper = 5         // cm, of a side
	mostPaper  = 40
	leastBelow = 3                       // cm, of a panel of residuals
	writtenY   = 46                      // px, left of an empty grid, for the numbers of its scale
	markInCm   = markRadius / centimetre // of a mark, in steps
	dots       = "…………"                  // where the scale is written by hand
)

// onPaper holds a side of the paper within bounds.
func onPaper(cm int) int64 { return int64(min(max(cm, leastPaper), mostPaper)) }

// paperScale returns a scale of one step of 1, 2 or 5 times a power of ten to
// each centimetre, on no more than cells of them, which data fill more than
// half of. It begins at zero, and holds more, where that costs little paper.
func paperScale(data, more extent, pow int, cells int64, r room) scale {
	data = opened(data)
	plain := ruled(data, data, pow, cells, r)
	zero := data
	zero.add(0)
	for _, want := range []extent{zero.with(more), data.with(more), zero} {
		if s := ruled(want, data, pow, cells, r); s.fill(data) > math.Max(half, dear*plain.fill(data)) {
			return s.numberedFor(r)
		}
	}
	return plain.numberedFor(r)
}

// ruled takes the smallest step with which want has room on the paper, its
// marks whole if that costs little, and as much paper as data fill well.
func ruled(want, data extent, pow int, cells int64, r room) scale {
	s := smallestStep(want, data, pow, cells, markInCm, r)
	if s.fill(data) <= half {
		s = smallestStep(want, data, pow, cells, 0, r)
	}
	s.widen(cells, int64(math.Ceil((data.hi-data.lo)/s.at(1)/half-1e-7))-1)
	return s
}

func smallestStep(want, data extent, pow int, cells int64, margin float64, r room) scale {
	s := scale{pow: pow, every: 1, fine: fineToCm, comma: r.comma}
	for s.exp = magnitude(want.hi-want.lo) - 3; ; s.exp++ {
		for _, s.mant = range []int64{1, 2, 5} {
			step := s.at(1)
			lo, hi := padded(want, data, margin*step)
			s.first = int64(math.Floor(lo/step + 1e-7))
			s.last = int64(math.Ceil(hi/step - 1e-7))
			if s.steps() <= cells {
				return s
			}
		}
	}
}

// widen gives the scale more of the paper, up to cells and to most steps, at
// both ends, but not beyond a zero at which it begins or ends.
func (s *scale) widen(cells, most int64) {
	free := max(min(cells, most)-s.steps(), 0)
	below := free / 2
	switch {
	case s.first >= 0:
		below = min(below, s.first)
	case s.last <= 0:
		below = max(below, free+s.last)
	}
	s.first -= below
	s.last += free - below
}

// numberedFor leaves out the numbers that would touch.
func (s scale) numberedFor(r room) scale {
	need := 18.0
	if r.along {
		need = s.widest() + 8
	}
	for s.every = 2; float64(s.every)*centimetre < need && s.every < s.steps(); s.every++ {
	}
	return s
}

// emptyScale is that of an empty grid: squares without numbers.
func emptyScale(cells int64) scale {
	return scale{mant: 1, last: cells, fine: fineToCm}
}

// arrangePaper is arrange for graph paper: the squares have their size, and the
// drawing takes the size that they need.
func (g *graph) arrangePaper() {
	wide, high := onPaper(g.paper.Width), onPaper(g.paper.Height)
	g.arrangeHead(float64(wide) * centimetre)
	top, _ := g.frameRows()
	bottom, widest := g.rule(top, high)
	if g.fig.Grid {
		widest = writtenY
	}
	left := math.Ceil(edge + widest + 8)
	g.x = g.ruleX(wide)
	right := left + float64(g.x.steps())*centimetre
	last := plainLabel(g.x.number(g.x.last), labelSize).px()
	g.width = math.Ceil(math.Max(right+edge+4, right+4+last/2))
	g.height = bottom + edge + 2*textRow
	for _, n := range g.panels() {
		n.frame.left, n.frame.right = left, right
		n.setLabel(n.labelRoom(g, right))
	}
	g.xLabel, g.xCut = fitAxis(g.fig.X, g.x.factor(), right-edge)
	if g.paper.Scale {
		g.state()
	}
}

// rule sets the y scales on paper of so many centimetres, and returns the lower
// end of the last frame and the width of the numbers.
func (g *graph) rule(top float64, high int64) (bottom, widest float64) {
	below := int64(0)
	if g.below != nil {
		below = max(leastBelow, high/5)
		high -= below + 2
	}
	all := g.frames()
	n := int64(len(all))
	each := max((high-2*(n-1))/n, leastPaper)
	for _, n := range all {
		n.ruleY(each, g)
	}
	alike(all, each, func(s scale) float64 { return markInCm * s.at(1) })
	if g.below != nil {
		g.below.ruleY(below, g)
	}
	for _, n := range g.panels() {
		bottom = top + float64(n.scale.steps())*centimetre
		n.frame = box{top: top, bottom: bottom}
		top = bottom + betweenFrames
		widest = math.Max(widest, n.scale.widest())
	}
	return bottom, widest
}

// ruleY sets the y scale of a panel on the paper.
func (n *panel) ruleY(cells int64, g *graph) {
	r := room{comma: g.comma}
	switch {
	case g.fig.Grid:
		n.scale = emptyScale(cells)
	case n.zero:
		data := opened(balanced(n.data[1]))
		n.scale = ruled(data, data, n.powY, cells, r).numberedFor(r)
	default:
		data, more := atZero(n.points[1], n.data[1], n.more[1], markInCm/float64(cells))
		n.scale = paperScale(data, more, n.powY, cells, r)
	}
}

func (g *graph) ruleX(cells int64) scale {
	if g.fig.Grid {
		return emptyScale(cells)
	}
	data, more := g.extentX(markInCm / float64(cells))
	return paperScale(data, more, g.main.powX, cells, room{along: true, comma: g.comma})
}

// state makes the line that says what a centimetre stands for.
func (g *graph) state() {
	x, y := g.x.centimetre(g.fig.X), g.main.scale.centimetre(g.fig.Y)
	if g.fig.Grid {
		x, y = written(g.fig.X), written(g.fig.Y)
	}
	text := "across 1 cm ≙ " + x + ", up 1 cm ≙ " + y
	g.statement = label{runs: joined(scripts(text, false)), size: labelSize}
	g.width = math.Max(g.width, math.Ceil(g.main.frame.left+g.statement.px()+edge))
	g.statementY = g.height - edge + textRow - 4
	g.height += textRow
	if !g.fig.Grid {
		g.remark("Scale: " + inline(text) + ".")
	}
}

// centimetre is what a step of the scale stands for.
func (s scale) centimetre(a view.Axis) string {
	f := s.factor()
	text := tickNumber(s.mant, s.exp+s.pow-f, s.comma, false)
	if f != 0 {
		text += " × 10^" + strconv.Itoa(f)
	}
	return text + unitAfter(a.Unit)
}

// written leaves room for a scale.
func written(a view.Axis) string { return dots + unitAfter(a.Unit) }

// unitAfter is a unit with the space before it, which those of the plane angle
// do not have (SI Brochure 5.4.3).
func unitAfter(unit string) string {
	switch u := oneLine(unit); u {
	case "", "1":
		return ""
	case "°", "′", "″":
		return u
	default:
		return " " + u
	}
}

// drawStatement draws what a centimetre stands for, below everything.
func (g *graph) drawStatement(c *canvas) {
	at := vg.Point{X: vg.Length(g.main.frame.left), Y: vg.Length(g.height - g.statementY)}
	c.text(at, "fig-key", start, g.statement, "")
}
