package draw

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/plot/vg"

	"example.org/taut/engine/view"
)

// Heights of a control chart, in px.
const (
	valuesHeight = 236.0 // of the frame of values
	rangesHeight = 96.0  // of that of their moving ranges
	monthRow     = 17.0
	wordSize     = 13 // of the words at points, and of the numbers beside lines
)

// control is a control chart made ready to be drawn.
type control struct {
	chart         *view.Chart
	width, height float64
	comma         bool
	title         []label
	titleCut      bool
	keys          [][]key
	left, right   float64 // ends of the frames
	values        *panel
	ranges        *panel // nil for none
	words         []word
}

// Control returns c as an SVG element: the values with their bars, joined
// within each segment, its mean and limits, the reference value with its
// uncertainty as a band, and below the moving ranges with theirs. What is
// remarkable is said in words at its point. Options.Height is the least height.
// Values that are not finite are left out; if none is left the error wraps
// ErrNothing.
func Control(c *view.Chart, o Options) ([]byte, error) {
	id, err := checkID(c.ID)
	if err != nil {
		return nil, err
	}
	k, err := newControl(c, o)
	if err != nil {
		return nil, fmt.Errorf("draw: chart %q: %w", c.ID, err)
	}
	cv := newCanvas(k.width, k.height)
	name := oneLine(c.Title)
	if name == "" {
		name = "control chart of " + named(c.Y, "values")
	}
	cv.open(id, name, c.Desc)
	k.draw(cv)
	return cv.bytes()
}

func newControl(c *view.Chart, o Options) (*control, error) {
	k := &control{chart: c, comma: o.Comma}
	k.width, _ = o.size(usualHeight)
	k.values = &panel{y: c.Y}
	k.values.powY = magnitude(k.extent(k.values, k.valueExtent))
	k.extent(k.values, k.valueExtent)
	if !k.values.data[1].any {
		return nil, fmt.Errorf("%w: no value is a finite number", ErrNothing)
	}
	if c.Moving != "" {
		k.ranges = &panel{y: view.Axis{Quantity: c.Moving, Unit: c.Y.Unit}}
		k.ranges.powY = magnitude(k.extent(k.ranges, k.rangeExtent))
		k.extent(k.ranges, k.rangeExtent)
		if !k.ranges.data[1].any {
			k.ranges = nil
		}
	}
	k.arrange(o)
	return k, nil
}

// extent gathers what a panel must hold, in the numbers of its scale, and
// returns the greatest magnitude of it.
func (k *control) extent(n *panel, visit func(add func(float64))) (most float64) {
	n.data[1] = extent{}
	visit(func(v float64) {
		if finite(v) {
			n.data[1].add(over10(v, n.powY))
			most = math.Max(most, math.Abs(v))
		}
	})
	return most
}

func (k *control) valueExtent(add func(float64)) {
	any := false
	for _, p := range k.chart.Points {
		if finite(p.Value) {
			any = true
			add(p.Value - bar(p.U))
			add(p.Value + bar(p.U))
		}
	}
	if !any {
		return
	}
	for _, s := range k.chart.Segments {
		add(s.Lower)
		add(s.Upper)
		if finite(s.Reference) {
			add(s.Reference - bar(s.ReferenceU))
			add(s.Reference + bar(s.ReferenceU))
		}
	}
}

func (k *control) rangeExtent(add func(float64)) {
	for _, p := range k.chart.Points {
		if finite(p.Range) {
			add(p.Range)
			add(0)
		}
	}
	for _, s := range k.chart.Segments {
		add(s.RangeUpper)
	}
}

// bar is half the length of a bar that can be drawn.
func bar(u float64) float64 {
	if finite(u) && u > 0 {
		return u
	}
	return 0
}

// arrange finds the place of everything from the outside in.
func (k *control) arrange(o Options) {
	room := k.width - 2*edge
	k.title, k.titleCut = wrap(o.title(k.chart.Title), titleSize, true, room, 3)
	k.keys = rows(k.legend(), room)
	top := edge + titleRow*float64(len(k.title)) + textRow*float64(len(k.keys)) + textRow + between
	if k.named() {
		top += monthRow
	}
	k.values.frame = box{top: top, bottom: top + valuesHeight}
	bottom := k.values.frame.bottom
	if k.ranges != nil {
		top = bottom + textRow + 2*between
		k.ranges.frame = box{top: top, bottom: top + rangesHeight}
		bottom = k.ranges.frame.bottom
	}
	k.height = math.Ceil(bottom + 8 + 3*monthRow + edge)
	if spare := o.Height - k.height; spare > 0 && finite(spare) {
		k.height, k.values.frame.bottom = k.height+math.Floor(spare), k.values.frame.bottom+math.Floor(spare)
		if k.ranges != nil {
			k.ranges.frame.top += math.Floor(spare)
			k.ranges.frame.bottom += math.Floor(spare)
		}
	}
	k.left, k.right = 0, k.width-edge-math.Ceil(k.beside())
	for _, n := range k.panels() {
		n.scale = n.scaleY(k.comma)
		k.left = math.Max(k.left, math.Ceil(edge+n.scale.widest()+8))
	}
	for _, n := range k.panels() {
		n.frame.left, n.frame.right = k.left, k.right
		n.label, n.cut = fitAxis(n.y, n.scale.factor(), k.width-2*edge)
	}
	k.settleWords()
}

func (k *control) panels() []*panel {
	if k.ranges == nil {
		return []*panel{k.values}
	}
	return []*panel{k.values, k.ranges}
}

// named reports whether segments have names to be written above them.
func (k *control) named() bool {
	for _, s := range k.chart.Segments {
		if s.Name != "" {
			return true
		}
	}
	return false
}

// beside is the room for the numbers at the right of the frames.
func (k *control) beside() float64 {
	w := 0.0
	if n := len(k.chart.Segments); n > 0 {
		s := k.chart.Segments[n-1]
		for _, text := range []string{s.MeanText, s.LowerText, s.UpperText, s.ReferenceText} {
			w = math.Max(w, k.number(pointMoved(text, k.values.scale.factor())).px())
		}
		if k.ranges != nil {
			for _, text := range []string{s.MeanRangeText, s.RangeUpperText} {
				w = math.Max(w, k.number(pointMoved(text, k.ranges.scale.factor())).px())
			}
		}
	}
	return w + 6
}

func (k *control) number(text string) label {
	return plainLabel(typeset(oneLine(text), k.comma), wordSize)
}

// legend explains the lines that there are.
func (k *control) legend() []key {
	var limits, bars, reference bool
	for _, s := range k.chart.Segments {
		limits = limits || finite(s.Lower, s.Upper)
		reference = reference || finite(s.Reference)
	}
	for _, p := range k.chart.Points {
		bars = bars || bar(p.U) > 0
	}
	var out []key
	add := func(is bool, class class, text string) {
		if is {
			out = append(out, key{class: class, label: plainLabel(text, wordSize)})
		}
	}
	add(true, "fig-mean", "mean")
	add(limits, "fig-limit", "control limit")
	add(reference, "fig-reference", "certified value")
	add(bars, "fig-bars", "expanded uncertainty")
	return out
}

// x is the place of point i along the frames.
func (k *control) x(i float64) float64 {
	return k.left + float64((k.right-k.left)*(i+0.5))/float64(len(k.chart.Points))
}

// step is the distance of two points.
func (k *control) step() float64 { return (k.right - k.left) / float64(len(k.chart.Points)) }

// levelY is the place of a value in a panel.
func (n *panel) levelY(v float64) float64 {
	part := (over10(v, n.powY) - n.scale.lo()) / (n.scale.hi() - n.scale.lo())
	return n.frame.bottom - float64(n.frame.height()*part)
}

func (k *control) draw(c *canvas) {
	k.drawHead(c)
	for _, n := range k.panels() {
		k.drawPaper(c, n)
	}
	k.drawSegments(c)
	k.drawValues(c)
	if k.ranges != nil {
		k.drawRanges(c)
	}
	k.drawWords(c)
	for _, n := range k.panels() {
		n.drawNumbers(c)
		y := n.frame.top - between - 3
		if n == k.values && k.named() {
			y -= monthRow
		}
		c.text(c.up(edge, y), "fig-label", start, n.label, full(n.cut, axisText(n.y, n.scale.factor())))
	}
	k.drawDates(c)
}

func (k *control) drawHead(c *canvas) {
	y := edge + titleSize
	for i, l := range k.title {
		hint := ""
		if i == len(k.title)-1 {
			hint = full(k.titleCut, k.chart.Title)
		}
		c.text(c.up(edge, y), "fig-title", start, l, hint)
		y += titleRow
	}
	y += labelSize - titleSize
	for _, row := range k.keys {
		x := edge
		for _, e := range row {
			k.drawKey(c, e, x, y)
			x += e.px() + gap
		}
		y += textRow
	}
}

// drawKey draws one entry of the legend.
func (k *control) drawKey(c *canvas, e key, x, y float64) {
	mid, end := y-4.5, x+e.sample()
	c.group("fig-series2")
	switch e.class {
	case "fig-reference":
		c.band(x, mid-5, end, mid+5)
		c.line(e.class, c.up(x, mid), c.up(end, mid))
	case "fig-bars":
		at := vg.Point{X: vg.Length(x + e.sample()/2), Y: c.up(0, mid).Y}
		c.SetColor(e.class)
		c.Stroke(upright(at, 7))
		c.dot(at, 3.2)
	default:
		c.line(e.class, c.up(x, mid), c.up(end, mid))
	}
	c.end()
	c.text(c.up(end+6, y), "fig-word", start, e.label, "")
}

// upright is an uncertainty bar about a point.
func upright(at vg.Point, half float64) vg.Path {
	var p vg.Path
	h := vg.Length(half)
	p.Move(at.Add(vg.Point{Y: -h}))
	p.Line(at.Add(vg.Point{Y: h}))
	for _, y := range []vg.Length{-h, h} {
		p.Move(at.Add(vg.Point{X: -capRadius, Y: y}))
		p.Line(at.Add(vg.Point{X: capRadius, Y: y}))
	}
	return p
}

func (c *canvas) band(x0, y0, x1, y1 float64) {
	c.SetColor(class("fig-band"))
	c.Fill(vg.Path{
		{Type: vg.MoveComp, Pos: c.up(x0, y0)}, {Type: vg.LineComp, Pos: c.up(x1, y0)},
		{Type: vg.LineComp, Pos: c.up(x1, y1)}, {Type: vg.LineComp, Pos: c.up(x0, y1)}, {Type: vg.CloseComp},
	})
}

// dot is the mark of a value.
func (c *canvas) dot(at vg.Point, r float64) {
	x, y := c.place(at)
	fmt.Fprintf(&c.b, `<circle class="fig-dot" cx="%s" cy="%s" r="%s"/>`, decimal(x), decimal(y), decimal(hundredths(r)))
}

// ring stands about the mark of a remarkable value.
func (c *canvas) ring(at vg.Point, r float64) {
	c.SetColor(class("fig-ring"))
	c.Stroke(markPath(nil, 4, at, vg.Length(r)))
}

// drawPaper draws the paper of a panel with level lines at the numbers, and
// its axes.
func (k *control) drawPaper(c *canvas, n *panel) {
	f := n.frame
	c.SetColor(class("fig-paper"))
	c.Fill(vg.Path{
		{Type: vg.MoveComp, Pos: c.up(f.left, f.top)}, {Type: vg.LineComp, Pos: c.up(f.right, f.top)},
		{Type: vg.LineComp, Pos: c.up(f.right, f.bottom)}, {Type: vg.LineComp, Pos: c.up(f.left, f.bottom)}, {Type: vg.CloseComp},
	})
	var grid, frame vg.Path
	for i := n.scale.first; i <= n.scale.last; i++ {
		y := n.tickY(i)
		grid.Move(c.up(f.left, y))
		grid.Line(c.up(f.right, y))
		if n.scale.numbered(i) {
			frame.Move(c.up(f.left-4, y))
			frame.Line(c.up(f.left, y))
		}
	}
	frame.Move(c.up(f.left, f.top))
	frame.Line(c.up(f.left, f.bottom))
	frame.Line(c.up(f.right, f.bottom))
	c.SetColor(class("fig-fine"))
	c.Stroke(grid)
	c.SetColor(class("fig-frame"))
	c.Stroke(frame)
}

// month returns the short name of a date's month and its year; "" where it is
// no date.
func month(date string) (name, year string) {
	t, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return "", ""
	}
	return t.Month().String()[:3], date[:4]
}

// drawDates numbers the points below the lowest frame, and names the months in
// which they begin.
func (k *control) drawDates(c *canvas) {
	panels := k.panels()
	f := panels[len(panels)-1].frame
	every := 1
	for _, e := range []int{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000} {
		if every = e; k.step()*float64(e) >= 26 {
			break
		}
	}
	y := f.bottom + 8
	var ticks vg.Path
	numbers, months, years := row1{}, row1{}, row1{}
	lastMonth, lastYear := "", ""
	for i, p := range k.chart.Points {
		x := k.x(float64(i))
		if n := i + 1 + k.chart.Before; n%every == 0 || i == 0 && every <= 5 {
			ticks.Move(c.up(x, f.bottom))
			ticks.Line(c.up(x, f.bottom+4))
			numbers.text(c, x, y+monthRow-4, "fig-num", tickNumber(int64(n), 0, k.comma, false), middle)
		}
		m, year := month(p.Date)
		if m+year != lastMonth && m != "" {
			lastMonth = m + year
			months.text(c, x-5, y+2*monthRow-4, "fig-word", m, start)
			if year != lastYear && years.text(c, x-5, y+3*monthRow-4, "fig-word", year, start) {
				lastYear = year
			}
		}
	}
	c.SetColor(class("fig-frame"))
	c.Stroke(ticks)
	c.text(c.up(edge, y+monthRow-4), "fig-word", start, plainLabel("no.", wordSize), "number of the record in the table")
}

// row1 is a row of texts that do not touch.
type row1 struct{ end float64 }

func (r *row1) text(c *canvas, x, y float64, k class, text string, a anchor) bool {
	l := plainLabel(text, wordSize)
	from := x
	if a == middle {
		from = x - l.px()/2
	}
	if from < r.end {
		return false
	}
	r.end = from + l.px() + 5
	c.text(c.up(x, y), k, a, l, "")
	return true
}
