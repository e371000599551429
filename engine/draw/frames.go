package draw

import (
	"math"

	"example.org/taut/engine/view"
)

// mostFrames is how many frames a graph is given at most.
const mostFrames = 6

// frames is how many frames a figure asks for.
func frames(f *view.Figure) int {
	last := 0
	for _, s := range f.Series {
		last = max(last, s.Frame)
	}
	for _, l := range f.Lines {
		last = max(last, l.Frame)
	}
	return min(last+1, mostFrames)
}

// inFrame reports whether what is meant for a frame stands in frame i.
func inFrame(frame, i int) bool { return min(max(frame, 0), mostFrames-1) == i }

// frames are the frames of the graph itself, from the top.
func (g *graph) frames() []*panel { return append([]*panel{g.main}, g.rest...) }

// panels are all frames, from the top.
func (g *graph) panels() []*panel {
	all := g.frames()
	if g.below != nil {
		all = append(all, g.below)
	}
	return all
}

// fill makes the frames of the graph, and reports whether there is anything in
// one of them.
func (g *graph) fill(f *view.Figure, frames int, most greatest) bool {
	var all []*panel
	for i := range frames {
		n := &panel{y: f.Y, powX: magnitude(most.x), powY: magnitude(most.y)}
		n.addSeries(f.Series, i, g)
		n.addLines(f.Lines, i)
		if !n.settle() {
			continue
		}
		all = append(all, n)
		if f.Triangle != nil && inFrame(f.Triangle.Frame, i) {
			g.setTriangle(n)
		}
	}
	if len(all) == 0 {
		return false
	}
	g.main, g.rest = all[0], all[1:]
	return true
}

// betweenFrames is the height from one frame to the next.
const betweenFrames = textRow + 2*between

// stack gives the frames the height from top to bottom: the residuals their
// share, the others what remains, in equal parts.
func (g *graph) stack(top, bottom float64) {
	all := g.frames()
	free := bottom - top - betweenFrames*float64(len(g.panels())-1)
	each := free / float64(len(all))
	if g.below != nil {
		each = free * (1 - share) / float64(len(all))
	}
	for _, n := range all {
		n.frame = box{top: top, bottom: top + math.Round(each)}
		top = n.frame.bottom + betweenFrames
	}
	if g.below == nil {
		all[len(all)-1].frame.bottom = bottom
		return
	}
	g.below.frame = box{top: top, bottom: bottom}
}

// holding is the scale with other ends, that hold want, and pad beyond data.
func (s scale) holding(want, data extent, pad float64) scale {
	lo, hi := padded(want, data, pad)
	s.first = int64(math.Floor(lo/s.at(1) + 1e-7))
	s.last = int64(math.Ceil(hi/s.at(1) - 1e-7))
	return s
}

// alike gives frames above each other the step of the coarsest and the same
// number of steps, so that lines of one slope are seen to be parallel. A scale
// has room for its marks, but for at most cells steps where there is a limit.
func alike(all []*panel, cells int64, margin func(s scale) float64) {
	if len(all) < 2 {
		return
	}
	coarse := all[0].scale
	for _, n := range all {
		if n.scale.at(1) > coarse.at(1) {
			coarse = n.scale
		}
	}
	steps := int64(0)
	for _, n := range all {
		data := opened(n.data[1])
		n.scale = coarse.holding(data.with(n.more[1]), data, margin(coarse))
		if n.scale.fill(data) <= half || n.scale.steps() > cells {
			n.scale = coarse.holding(data, data, margin(coarse))
		}
		if n.scale.steps() > cells {
			n.scale = coarse.holding(data, data, 0)
		}
		steps = max(steps, n.scale.steps())
	}
	for _, n := range all {
		n.scale.widen(steps, steps)
	}
}
