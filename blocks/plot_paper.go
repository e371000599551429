package blocks

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// papers are the sizes by name. With its numbers and labels a graph of 14 cm
// is as wide as the text of a page of A4; A5 leaves room for two on a page.
var papers = map[string]view.Paper{"A4": {Width: 14, Height: 20}, "A5": {Width: 14, Height: 9}}

// Bounds of a side of graph paper, in cm: a page of A4 within its margins.
const (
	leastSide  = 5
	widestSide = 14
	highest    = 21
)

var sides = regexp.MustCompile(`^(\d{1,2}) ?[x×] ?(\d{1,2}) cm$`)

// readPaper reads the size of the graph paper, and whether the scale is stated.
func (p *plotBlock) readPaper(size, scale *record.Setting, set *finding.Set) {
	if size != nil {
		paper, ok := paperOf(size.Text)
		if !ok {
			set.Add(badValue(size.At, "paper", size.Text, "A4, A5 or a size such as `12 x 16 cm`, from 5 x 5 cm to 14 x 21 cm"))
			return
		}
		paper.Scale = true
		p.paper = &paper
	}
	switch {
	case scale == nil:
	case scale.Text == "yes" && p.paper == nil:
		paper := papers["A5"]
		paper.Scale = true
		p.paper = &paper
	case scale.Text == "yes", scale.Text == "no":
		if p.paper != nil {
			p.paper.Scale = scale.Text == "yes"
		}
	default:
		set.Add(badValue(scale.At, "scale", scale.Text, "yes or no"))
	}
}

func paperOf(text string) (view.Paper, bool) {
	if paper, ok := papers[text]; ok {
		return paper, true
	}
	m := sides.FindStringSubmatch(text)
	if m == nil {
		return view.Paper{}, false
	}
	w, _ := strconv.Atoi(m[1])
	h, _ := strconv.Atoi(m[2])
	return view.Paper{Width: w, Height: h}, w >= leastSide && w <= widestSide && h >= leastSide && h <= highest
}

// grid is the empty graph paper of a blank sheet. It is there whether or not
// anything has been read; a title that holds values is not shown with them.
func (p *plotBlock) grid(s *block.Shower) *view.Figure {
	fig := &view.Figure{ID: s.ID() + "-figure", Grid: true, Paper: p.paper, Standing: view.Given}
	fig.X, fig.Y = p.axes(s)
	title := ""
	for _, part := range p.title {
		if part.Insert != nil {
			title = ""
			break
		}
		title += part.Text
	}
	fig.Title = p.titleText(fig, title)
	return fig
}

// axes names the axes by the columns, or by their expressions where these
// could not be had.
func (p *plotBlock) axes(s *block.Shower) (x, y view.Axis) {
	if p.xs != nil && len(p.ys) > 0 {
		return view.Axis{Quantity: axisName(p.x, []*eval.Column{p.xs}), Unit: axisUnit(unitOf(p.xs))},
			view.Axis{Quantity: axisName(p.y[0], p.ys), Unit: axisUnit(unitOf(p.ys[0]))}
	}
	if p.x != nil {
		x = view.Axis{Quantity: shortName(p.x)}
	}
	var names []string
	for _, e := range p.y {
		names = append(names, shortName(e))
	}
	return x, view.Axis{Quantity: strings.Join(names, ", ")}
}

func shortName(x formula.Expr) string {
	text := formula.Print(x)
	if _, ok := x.(*formula.Name); ok {
		return text[strings.LastIndexByte(text, '.')+1:]
	}
	return text
}

// legs are the ends along x of the slope triangle on a line from lo to hi, in
// the unit of the axis: well over half of the line apart, at round numbers that
// are easily found on the paper, and at no reading (common practice: the points
// are read off the line).
func legs(lo, hi float64, isReading func(x float64) bool) (a, b float64) {
	span := hi - lo
	a, b = lo+float64(marginOfLine*span), hi-float64(marginOfLine*span)
	exp := lead(span) - 2
	for _, mant := range []float64{5, 2, 1} { // a step of 1/20 of the line at most
		at := func(n float64) float64 { return over(n*mant, exp) }
		if at(1) > span/20 {
			continue
		}
		first, last := math.Ceil(a/at(1)), math.Floor(b/at(1))
		for isReading(at(first)) && first < last {
			first++
		}
		for isReading(at(last)) && first < last {
			last--
		}
		if at(last)-at(first) > leastOfLine*span {
			return at(first), at(last)
		}
	}
	return a, b
}

// A triangle keeps off the ends of its line, and takes more than two thirds of
// it.
const (
	marginOfLine = 0.05
	leastOfLine  = 2.0 / 3
)

// over is n × 10^exp, correctly rounded for whole n.
func over(n float64, exp int) float64 {
	if exp < 0 {
		return n / math.Pow10(-exp)
	}
	return n * math.Pow10(exp)
}

// slopeSteps works the slope out of the triangle, as a reader of the graph
// does: two points read off the line, their differences, the quotient.
func (p *plotBlock) slopeSteps(s *block.Shower, t *view.Triangle) *view.Steps {
	ux, uy := unitOf(p.xs), unitOf(p.ys[0])
	dx, dy := ux.Difference(), uy.Difference()
	x0, x1 := readOff(t.X0, t.X1, ux)
	y0, y1 := readOff(t.Y0, t.Y1, uy)
	up, along := dy.SI(y1.read-y0.read), dx.SI(x1.read-x0.read)
	number := func(v float64, un unit.Unit) view.Number {
		return view.Number{Value: v, Display: quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: readFigures}), Standing: view.Computed}
	}
	set := func(v float64, un unit.Unit) view.Math { return block.QuantityMath(number(v, un).Display, v, "") }
	difference := func(a, b coordinate) view.Math {
		return minusMath(block.QuantityMath(a.shown, a.si, ""), signed(b.shown, b.si))
	}
	corner := func(base, sub string) view.Math {
		return view.Script{Base: view.Ident{Name: base}, Sub: view.Num{Digits: sub}}
	}
	return &view.Steps{ID: s.ID() + "-triangle", Title: "Slope from the triangle, its corners read off the line", Standing: view.Computed, Steps: []view.Step{{
		ID: s.ID() + "-slope", Symbol: block.Symbol(p.fit + ".slope"), Standing: view.Computed,
		Label: "two points of the line, far apart; not readings",
		Stages: []view.Math{
			view.Frac{Num: minusMath(corner("y", "2"), corner("y", "1")), Den: minusMath(corner("x", "2"), corner("x", "1"))},
			view.Frac{Num: difference(y1, y0), Den: difference(x1, x0)},
			view.Frac{Num: set(up, dy), Den: set(along, dx)},
		},
		Result: view.Text{number(up/along, unit.Quotient(dy, dx))},
	}}}
}

// readFigures is how many figures a leg of the triangle has: a hundredth of it is
// less than half a small square of the paper, which is what can be read.
const readFigures = 3

// coordinate is one coordinate of a corner: as it is printed, in the unit of the
// axis, and in SI.
type coordinate struct {
	shown quantity.Display
	read  float64 // the printed number
	si    float64
}

// readOff reads both ends of a leg to the same decimal, so that their difference
// has its figures however far from zero they lie.
func readOff(from, to float64, un unit.Unit) (a, b coordinate) {
	places := readFigures - lead(to-from)
	at := func(v float64) coordinate {
		n := lead(v) + places
		if n < 1 {
			v, n = 0, 1
		}
		c := coordinate{shown: quantity.Format(un.SI(v), 0, 0, un, quantity.Figures, quantity.Options{N: min(n, mostFigures)})}
		var err error
		if c.read, err = strconv.ParseFloat(c.shown.Number+"e"+strconv.Itoa(c.shown.Exponent), 64); err != nil {
			c.read = v
		}
		c.si = un.SI(c.read)
		return c
	}
	return at(from), at(to)
}

// mostFigures is what a float64 holds.
const mostFigures = 15
