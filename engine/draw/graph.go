package draw

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/view"
)

// crowd is the number of points from which on a graph draws the points of a
// series as one path, without a note for each.
const crowd = 600

// dot is one finite point in the numbers of its scales.
type dot struct {
	x, y, ux, uy float64
	note         string
}

// marks is one series made ready. Its number tells its mark and its colour.
type marks struct {
	number      int
	name        string
	dots        []dot
	shown, join bool
	bars        bool
}

// curve is one line made ready. It is fitted to the series of that number,
// counted from 1, or to none alone.
type curve struct {
	class  class
	name   string
	series int
	dots   []dot
}

// panel is one frame with its scales and what stands in it.
type panel struct {
	y        view.Axis
	scale    scale
	series   []marks
	curves   []curve
	triangle *view.Triangle
	zero     bool
	powX     int
	powY     int
	frame    box
	points   [2]extent // x, y: of the points alone
	data     [2]extent // x, y: of the points with their bars
	more     [2]extent // x, y: of the lines and the triangle
	label    label
	cut      bool // the label was cut short
}

// graph is a figure made ready to be drawn.
type graph struct {
	fig           *view.Figure
	width, height float64
	comma         bool
	title         string // as it is drawn
	x             scale
	main, below   *panel
	rest          []*panel // further frames, between main and below
	crowded       bool
	remarks       []string // further sentences of the description
	head          head
	xLabel        label
	xCut          bool
	paper         *view.Paper // nil for a drawing of the usual size
	statement     label       // what a centimetre stands for
	statementY    float64     // its baseline
}

// box is a rectangle in px from the top left.
type box struct{ left, top, right, bottom float64 }

func (b box) width() float64  { return b.right - b.left }
func (b box) height() float64 { return b.bottom - b.top }

func finite(vs ...float64) bool {
	for _, v := range vs {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

func newGraph(f *view.Figure, o Options) (*graph, error) {
	g := &graph{fig: f, comma: o.Comma, title: o.title(f.Title), paper: f.Paper}
	frames := frames(f)
	g.width, g.height = o.size(usualHeight + frameHeight*float64(frames-1))
	if f.Grid {
		g.main = &panel{y: f.Y}
		if g.paper == nil {
			g.paper = &view.Paper{}
		}
		return g, nil
	}
	if f.Residual != nil {
		g.width, g.height = o.size(panelsHeight + frameHeight*float64(frames-1))
	}
	most := greatest{}
	left := most.series(f.Series) + most.lines(f.Lines)
	if !g.fill(f, frames, most) {
		return nil, fmt.Errorf("%w: no point or line has finite coordinates", ErrNothing)
	}
	if f.Residual != nil {
		below := greatest{}
		left += below.series(f.Residual.Series)
		g.below = &panel{y: f.Residual.Y, powX: g.main.powX, powY: magnitude(below.y), zero: f.Residual.Zero}
		g.below.addSeries(f.Residual.Series, 0, g)
	}
	if g.below != nil && !g.below.settle() {
		g.below = nil
		g.remark("The panel of residuals is left out: none of them is a finite number.")
	}
	if len(g.rest) > 0 {
		g.remark("The points stand in " + count(1+len(g.rest), "frame", "frames") + ", one above the other and of one scale, since they lie far apart.")
	}
	if left > 0 {
		g.remark(count(left, "point", "points") + " without finite coordinates " + isAre(left) + " left out.")
	}
	g.thin()
	return g, nil
}

func (g *graph) remark(s string) { g.remarks = append(g.remarks, s) }

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return tickNumber(int64(n), 0, false, false) + " " + many
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// greatest gathers the greatest magnitudes of the finite points, and counts the
// others.
type greatest struct{ x, y float64 }

func (m *greatest) add(p view.Point, bars bool) int {
	if !finite(p.X, p.Y) {
		return 1
	}
	m.x, m.y = math.Max(m.x, math.Abs(p.X)), math.Max(m.y, math.Abs(p.Y))
	if bars && finite(p.UX) {
		m.x = math.Max(m.x, math.Abs(p.UX))
	}
	if bars && finite(p.UY) {
		m.y = math.Max(m.y, math.Abs(p.UY))
	}
	return 0
}

func (m *greatest) series(all []view.Series) (left int) {
	for _, s := range all {
		for _, p := range s.Points {
			left += m.add(p, s.Bars)
		}
	}
	return left
}

// lines counts towards the magnitudes only where there are no points.
func (m *greatest) lines(all []view.Line) (left int) {
	own := greatest{}
	for _, l := range all {
		for _, p := range l.Points {
			left += own.add(p, false)
		}
	}
	if m.x == 0 {
		m.x = own.x
	}
	if m.y == 0 {
		m.y = own.y
	}
	return left
}

// point returns p in the numbers of the scales; bars that are not finite are
// left out.
func (n *panel) point(p view.Point, bars bool) dot {
	d := dot{x: over10(p.X, n.powX), y: over10(p.Y, n.powY)}
	if bars && finite(p.UX) {
		d.ux = math.Abs(over10(p.UX, n.powX))
	}
	if bars && finite(p.UY) {
		d.uy = math.Abs(over10(p.UY, n.powY))
	}
	return d
}

func (n *panel) addSeries(all []view.Series, frame int, g *graph) {
	for i, s := range all {
		if !inFrame(s.Frame, frame) {
			continue
		}
		m := marks{number: i, name: oneLine(s.Name), shown: s.Marks, bars: s.Bars, join: s.Join}
		for _, p := range s.Points {
			if !finite(p.X, p.Y) {
				continue
			}
			d := n.point(p, s.Bars)
			if d.note = inline(typeset(p.Note, g.comma)); p.Note == "" {
				d.note = reading(g.fig.X, "x", p.X, g.comma) + ", " + reading(n.y, "y", p.Y, g.comma)
			}
			n.points[0].add(d.x)
			n.points[1].add(d.y)
			n.data[0].add(d.x - d.ux)
			n.data[0].add(d.x + d.ux)
			n.data[1].add(d.y - d.uy)
			n.data[1].add(d.y + d.uy)
			m.dots = append(m.dots, d)
		}
		n.series = append(n.series, m)
	}
}

// fittedLooks is how many looks a fitted line can have.
const fittedLooks = 4

// lineClass returns the class of a line and its name if it has none. Lines
// fitted to several series differ by their strokes.
func lineClass(k view.LineKind, series int) (class, string) {
	switch k {
	case view.Steepest:
		return "fig-steepest", "steepest"
	case view.Shallowest:
		return "fig-shallowest", "shallowest"
	}
	look := class("fig-fitted")
	if i := max(series-1, 0) % fittedLooks; i > 0 {
		look += class(fmt.Sprintf(" fig-line%d", i+1))
	}
	return look, "fitted line"
}

func (n *panel) addLines(all []view.Line, frame int) {
	for _, l := range all {
		if !inFrame(l.Frame, frame) {
			continue
		}
		k, name := lineClass(l.Kind, l.Series)
		if l.Name != "" {
			name = oneLine(l.Name)
		}
		c := curve{class: k, name: name, series: l.Series}
		for _, p := range l.Points {
			if finite(p.X, p.Y) {
				d := n.point(p, false)
				n.more[0].add(d.x)
				n.more[1].add(d.y)
				c.dots = append(c.dots, d)
			}
		}
		if len(c.dots) > 0 {
			n.curves = append(n.curves, c)
		}
	}
}

// settle takes the lines for the data if there are no points, and reports
// whether there is anything.
func (n *panel) settle() bool {
	if !n.data[0].any {
		n.data, n.more = n.more, [2]extent{}
	}
	return n.data[0].any
}

func (g *graph) setTriangle(n *panel) {
	t := g.fig.Triangle
	if !finite(t.X0, t.Y0, t.X1, t.Y1, t.DX, t.DY) {
		g.remark("The slope triangle is left out: its corners are not finite numbers.")
		return
	}
	n.triangle = t
	for _, p := range [...]view.Point{{X: t.X0, Y: t.Y0}, {X: t.X1, Y: t.Y1}} {
		d := n.point(p, false)
		n.more[0].add(d.x)
		n.more[1].add(d.y)
	}
}

// thin decides whether the points are too many to be told apart.
func (g *graph) thin() {
	n := 0
	for _, p := range g.panels() {
		for _, s := range p.series {
			n += len(s.dots)
		}
	}
	if g.crowded = n > crowd; g.crowded {
		g.remark(count(n, "point", "points") + " are drawn without a note for each.")
	}
}

// head is what stands above the frames.
type head struct {
	title    []label
	titleCut bool
	keys     [][]key // the legend, in rows
	beside   bool    // the legend stands beside the label of the y axis
	rowsTop  float64
}

// key is one entry of the legend: of a series, of a line, or of both where the
// line is fitted to the series.
type key struct {
	series *marks
	class  class
	label  label
	cut    bool
}

const (
	lineSample = 28.0 // px, of a line in the legend
	markSample = 12.0 // px, of a mark
	gap        = 18.0 // px, between entries
)

func (k key) sample() float64 {
	if k.class == "" && k.series != nil && k.series.shown && !k.series.join {
		return markSample
	}
	return lineSample
}

func (k key) px() float64 { return k.sample() + 6 + k.label.px() }

// keys returns the entries of the legend. One entry alone says no more than
// the title.
func (g *graph) keys(room float64) []key {
	var all []key
	add := func(k key, name string) {
		if name == "" {
			return
		}
		k.label, k.cut = plainLabel(name, labelSize).fit(room - k.sample() - 6)
		all = append(all, k)
	}
	for _, n := range g.frames() {
		for i := range n.series {
			if s := &n.series[i]; len(s.dots) > 0 {
				add(key{series: s, class: n.through(s)}, s.name)
			}
		}
	}
	seen := map[string]bool{}
	for _, n := range g.frames() {
		for _, c := range n.curves {
			if id := string(c.class) + " " + c.name; !seen[id] && !n.shows(c.series) {
				seen[id] = true
				add(key{class: c.class}, c.name)
			}
		}
	}
	if len(all) < 2 {
		return nil
	}
	return all
}

// through is the class of the line that is fitted to a series; "" for none.
func (n *panel) through(s *marks) class {
	for _, c := range n.curves {
		if c.series == s.number+1 && s.name != "" {
			return c.class
		}
	}
	return ""
}

// shows reports whether the series of a number, counted from 1, has an entry in
// the legend.
func (n *panel) shows(number int) bool {
	for _, s := range n.series {
		if s.number+1 == number && s.name != "" && len(s.dots) > 0 {
			return true
		}
	}
	return false
}

// rows breaks the legend into rows no wider than room.
func rows(keys []key, room float64) [][]key {
	var out [][]key
	used := 0.0
	for _, k := range keys {
		if n := len(out); n > 0 && used+gap+k.px() <= room {
			out[n-1] = append(out[n-1], k)
			used += gap + k.px()
			continue
		}
		out, used = append(out, []key{k}), k.px()
	}
	return out
}

func rowWidth(row []key) float64 {
	w := 0.0
	for i, k := range row {
		if i > 0 {
			w += gap
		}
		w += k.px()
	}
	return w
}

func (n *panel) setLabel(room float64) {
	n.label, n.cut = fitAxis(n.y, n.scale.factor(), room)
}

// full returns what a reader of a cut label is told, else nothing.
func full(cut bool, s string) string {
	if cut {
		return strings.TrimSpace(s)
	}
	return ""
}
