package draw

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"gonum.org/v1/plot/vg"

	"example.org/taut/engine/view"
)

// ends are where the lines of a segment begin and end.
func (k *control) ends(s *view.ChartSegment) (from, to float64) {
	return k.x(float64(s.From) - 0.5), k.x(float64(s.To) - 0.5)
}

// drawSegments draws what belongs to each segment: its name, the rule between
// it and the one before, the reference value, the mean and the limits. The
// numbers of the last one stand at the right.
func (k *control) drawSegments(c *canvas) {
	c.group("fig-series2")
	for i := range k.chart.Segments {
		s := &k.chart.Segments[i]
		if finite(s.Reference) {
			k.drawReference(c, s)
		}
	}
	c.end()
	for i := range k.chart.Segments {
		s := &k.chart.Segments[i]
		from, to := k.ends(s)
		k.level(c, k.values, "fig-mean", s.Mean, from, to)
		k.level(c, k.values, "fig-limit", s.Lower, from, to)
		k.level(c, k.values, "fig-limit", s.Upper, from, to)
		if k.ranges != nil {
			k.level(c, k.ranges, "fig-mean", s.MeanRange, from, to)
			k.level(c, k.ranges, "fig-limit", s.RangeUpper, from, to)
		}
		if i > 0 {
			for _, n := range k.panels() {
				c.line("fig-split", c.up(from, n.frame.top-monthRow+4), c.up(from, n.frame.bottom))
			}
		}
		if s.Name != "" {
			l, cut := plainLabel(s.Name, wordSize).fit(to - from - 6)
			c.text(c.up(from+3, k.values.frame.top-5), "fig-word", start, l, full(cut, s.Name))
		}
	}
	if n := len(k.chart.Segments); n > 0 {
		s := &k.chart.Segments[n-1]
		k.numbers(c, k.values, map[string]float64{s.LowerText: s.Lower, s.MeanText: s.Mean, s.UpperText: s.Upper, s.ReferenceText: s.Reference})
		if k.ranges != nil {
			k.numbers(c, k.ranges, map[string]float64{s.MeanRangeText: s.MeanRange, s.RangeUpperText: s.RangeUpper})
		}
	}
}

func (k *control) drawReference(c *canvas, s *view.ChartSegment) {
	from, to := k.ends(s)
	if u := bar(s.ReferenceU); u > 0 {
		c.band(from, k.values.levelY(s.Reference+u), to, k.values.levelY(s.Reference-u))
	}
	k.level(c, k.values, "fig-reference", s.Reference, from, to)
}

// level draws a line at a value.
func (k *control) level(c *canvas, n *panel, name class, v, from, to float64) {
	if !finite(v) {
		return
	}
	y := n.levelY(v)
	c.line(name, c.up(from, y), c.up(to, y))
}

var plainDecimal = regexp.MustCompile(`^([−-]?)([0-9]+)(?:\.([0-9]+))?$`)

// pointMoved is a number over a power of ten, as the axis beside which it
// stands has it, with the same digits: "0.0080" over 10^-3 is "8.0". A text
// that is no plain decimal tells its own power.
func pointMoved(text string, power int) string {
	p := plainDecimal.FindStringSubmatch(text)
	if p == nil || power == 0 {
		return text
	}
	digits, decimals := p[2]+p[3], len(p[3])+power
	if decimals < 0 {
		digits, decimals = digits+strings.Repeat("0", -decimals), 0
	}
	if lack := decimals + 1 - len(digits); lack > 0 {
		digits = strings.Repeat("0", lack) + digits
	}
	whole, part := digits[:len(digits)-decimals], digits[len(digits)-decimals:]
	if whole = strings.TrimLeft(whole, "0"); whole == "" {
		whole = "0"
	}
	if part != "" {
		part = "." + part
	}
	return p[1] + whole + part
}

// numbers prints the numbers of the last lines beside them, each at its own
// height or as near to it as the others let it.
func (k *control) numbers(c *canvas, n *panel, of map[string]float64) {
	type number struct {
		y    float64
		text string
	}
	var all []number
	for text, v := range of {
		if text != "" && finite(v) {
			all = append(all, number{n.levelY(v), pointMoved(text, n.scale.factor())})
		}
	}
	slices.SortFunc(all, func(a, b number) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return strings.Compare(a.text, b.text)
	})
	const apart = 14
	for range 20 { // pushed apart until they settle
		for i := 1; i < len(all); i++ {
			if lack := apart - (all[i].y - all[i-1].y); lack > 0.01 {
				all[i-1].y -= lack / 2
				all[i].y += lack / 2
			}
		}
	}
	for _, a := range all {
		c.text(c.up(k.right+6, a.y+4.5), "fig-word", start, k.number(a.text), "")
	}
}

// radius is that of the marks: small where points are dense.
func (k *control) radius() float64 { return math.Max(1.2, math.Min(3.4, k.step()/3)) }

func (k *control) drawValues(c *canvas) {
	c.group("fig-series2")
	for _, s := range k.chart.Segments {
		k.join(c, k.values, s, func(p view.ChartPoint) float64 { return p.Value })
	}
	for i, p := range k.chart.Points {
		if !finite(p.Value) {
			continue
		}
		at := c.up(k.x(float64(i)), k.values.levelY(p.Value))
		c.group("")
		c.title(inline(typeset(p.Note, k.comma)))
		c.hit(at)
		if u := bar(p.U); u > 0 {
			c.SetColor(class("fig-bars"))
			c.Stroke(upright(at, k.values.levelY(p.Value)-k.values.levelY(p.Value+u)))
		}
		c.dot(at, k.radius())
		if p.Marked || p.Words != "" {
			c.ring(at, k.radius()+3.4)
		}
		c.end()
	}
	c.end()
}

func (k *control) drawRanges(c *canvas) {
	c.group("fig-series2")
	for _, s := range k.chart.Segments {
		k.join(c, k.ranges, s, func(p view.ChartPoint) float64 { return p.Range })
	}
	for i, p := range k.chart.Points {
		if !finite(p.Range) {
			continue
		}
		at := c.up(k.x(float64(i)), k.ranges.levelY(p.Range))
		c.dot(at, math.Min(2.6, k.radius()))
		if p.RangeWords != "" {
			c.ring(at, k.radius()+3)
		}
	}
	c.end()
}

// join joins the values of a segment that follow each other.
func (k *control) join(c *canvas, n *panel, s view.ChartSegment, of func(view.ChartPoint) float64) {
	var path vg.Path
	open := false
	for i := s.From; i < s.To && i < len(k.chart.Points); i++ {
		v := of(k.chart.Points[i])
		if !finite(v) {
			open = false
			continue
		}
		at := c.up(k.x(float64(i)), n.levelY(v))
		if open {
			path.Line(at)
		} else {
			path.Move(at)
		}
		open = true
	}
	c.SetColor(class("fig-join"))
	c.Stroke(path)
}

// word is what is said at a point.
type word struct {
	label  label
	hint   string
	at     [2]float64 // of the baseline, px from the top left
	anchor [2]float64 // the point
	box    box
}

// settleWords finds a place for each word: above a point that lies high, below
// one that lies low, farther out where it would hide a point. Where it could
// only hide another word it is left out: its point is ringed all the same.
func (k *control) settleWords() {
	var points, words []box
	for i, p := range k.chart.Points {
		if finite(p.Value) {
			x, y := k.x(float64(i)), k.values.levelY(p.Value)
			points = append(points, box{x - 6, y - 6, x + 6, y + 6})
		}
	}
	for i, p := range k.chart.Points {
		for _, w := range []struct {
			text string
			v    float64
			n    *panel
		}{{p.Words, p.Value, k.values}, {p.RangeWords, p.Range, k.ranges}} {
			if w.text == "" || w.n == nil || !finite(w.v) {
				continue
			}
			if found, ok := k.place(w.n, k.x(float64(i)), w.n.levelY(w.v), w.text, points, words); ok {
				k.words = append(k.words, found)
				words = append(words, found.box)
			}
		}
	}
}

// place returns the best place for a text about (x, y), if there is a good one.
func (k *control) place(n *panel, x, y float64, text string, points, words []box) (best word, ok bool) {
	said := plainLabel(text, wordSize)
	said.bold = true
	l, cut := said.fit(k.right - k.left)
	w := l.px()
	left := math.Max(k.left+2, math.Min(x-w/2, k.right-w-2))
	out := 1.0 // away from the middle of the frame, where the other points lie
	if y < n.frame.top+n.frame.height()/2 {
		out = -1
	}
	const never = 1000.0
	least := never
	for lane := range 7 {
		for turn, way := range []float64{out, -out} {
			base := y + float64(way*(11+14*float64(lane))) + 4.5
			at := box{left - 1, base - 11, left + w + 1, base + 3}
			cost := float64(lane) + 1.5*float64(turn)
			if at.top < n.frame.top+1 || at.bottom > n.frame.bottom-1 || slices.ContainsFunc(words, at.meets) {
				cost = never
			}
			for _, b := range points {
				if at.meets(b) {
					cost += 6
				}
			}
			if cost < least {
				best, least = word{label: l, hint: full(cut, text), at: [2]float64{left, base}, anchor: [2]float64{x, y}, box: at}, cost
			}
		}
	}
	return best, least < never
}

func (b box) meets(c box) bool {
	return b.left < c.right && c.left < b.right && b.top < c.bottom && c.top < b.bottom
}

func (k *control) drawWords(c *canvas) {
	for _, w := range k.words {
		middle := (w.box.top + w.box.bottom) / 2
		if far := math.Abs(middle - w.anchor[1]); far > 22 { // a thin line shows where it belongs
			from, to := w.anchor[1]+math.Copysign(7, middle-w.anchor[1]), w.box.top
			if middle < w.anchor[1] {
				to = w.box.bottom
			}
			c.line("fig-lead", c.up(w.anchor[0], from), c.up(w.anchor[0], to))
		}
		c.text(c.up(w.at[0], w.at[1]), "fig-said", start, w.label, w.hint)
	}
}
