package blocks

import (
	"math"
	"sort"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// Heights of a frame in px, for how near to each other things are drawn.
const (
	frameAlone = 340.0
	frameAbove = 280.0 // a panel of residuals
	fillsOften = 0.75  // of its frame, by the points
	tellable   = 2.5   // px between two lines
	markHalf   = 4.0   // px, of the mark of a point
)

// drawn is about how many px a distance along y takes in the drawing.
func (p *plotBlock) drawn(distance float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	high := 0.0
	for g := range p.ys {
		a, b := p.span(g)
		if g > 0 && p.frame(g) != p.frame(g-1) {
			lo, hi = math.Inf(1), math.Inf(-1)
		}
		lo, hi = math.Min(lo, a), math.Max(hi, b)
		high = math.Max(high, hi-lo)
	}
	px := frameAlone
	switch {
	case p.paper != nil:
		px = float64(p.paper.Height) * 96 / 2.54
	case p.show["residuals"]:
		px = frameAbove
	}
	if high == 0 {
		return math.Inf(1)
	}
	return px * fillsOften * distance / high
}

// span is the least and the greatest value of column g that is plotted.
func (p *plotBlock) span(g int) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, c := range p.ys[g].Cells {
		if !c.Hole && !p.xs.Cells[i].Hole {
			lo, hi = math.Min(lo, c.Q.Value()), math.Max(hi, c.Q.Value())
		}
	}
	return lo, hi
}

// mostFrames is how many frames have room in one drawing.
const mostFrames = 3

// setFrames gives each group of points that has a line of its own a frame of its
// own, the highest on top, if they lie so far apart that together they would
// take less than half of one (common practice: points take more than half of
// the paper).
func (p *plotBlock) setFrames() {
	p.frames = make([]int, len(p.ys))
	if p.fitted == nil || p.fitted.Intercepts() != len(p.ys) || len(p.ys) < 2 || len(p.ys) > mostFrames {
		return
	}
	order := make([]int, len(p.ys))
	taken, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
	for g := range p.ys {
		order[g] = g
		a, b := p.span(g)
		if a > b {
			return // a group without a point
		}
		taken, lo, hi = taken+b-a, math.Min(lo, a), math.Max(hi, b)
	}
	sort.SliceStable(order, func(i, j int) bool {
		a, _ := p.span(order[i])
		b, _ := p.span(order[j])
		return a > b
	})
	for i := 1; i < len(order); i++ {
		_, top := p.span(order[i])
		if least, _ := p.span(order[i-1]); top >= least {
			return // they overlap
		}
	}
	if taken >= (hi-lo)/2 {
		return
	}
	for i, g := range order {
		p.frames[g] = i
	}
}

// frame is the frame of column g.
func (p *plotBlock) frame(g int) int {
	if g >= len(p.frames) {
		return 0
	}
	return p.frames[g]
}

// barsNote says what the bars of the points stand for; nothing where there are
// none.
func (p *plotBlock) barsNote(fig *view.Figure, k float64, coverage string) view.Text {
	most := 0.0
	any := false
	for _, s := range fig.Series {
		for _, pt := range s.Points {
			any = any || pt.UX > 0 || pt.UY > 0
			most = math.Max(most, pt.UY)
		}
	}
	if !any {
		return nil
	}
	what := "Bars"
	if p.drawn(most*unitOf(p.ys[0]).Factor())/fillsOften < markHalf && p.show["points"] {
		what = "Bars, mostly hidden by the marks"
	}
	factor := quantity.Format(k, 0, 0, unit.Of(unit.Dim{}), quantity.Figures, quantity.Options{N: 3})
	return view.Text{view.Plain(what + ": expanded uncertainty of a point, " + coverage + " (k = "),
		view.Number{Value: k, Display: factor, Standing: view.Computed}, view.Plain(")")}
}

// coverageFactor is that of the bars: of the scatter about the line where this
// is what a point is uncertain by.
func (p *plotBlock) coverageFactor(coverage float64) float64 {
	if p.scattered() {
		return stat.CoverageFactor(coverage, p.fitted.Result.DOF)
	}
	return stat.CoverageFactor(coverage, math.Inf(1))
}
