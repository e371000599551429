package blocks

import (
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

// slopeSteps works the slope out of the triangle, as a reader of the graph
// does: two points read off the line, their differences, the quotient.
func (p *plotBlock) slopeSteps(s *block.Shower, t *view.Triangle) *view.Steps {
	ux, uy := unitOf(p.xs), unitOf(p.ys[0])
	dx, dy := ux.Difference(), uy.Difference()
	read := func(v float64, un unit.Unit) (view.Math, float64) {
		d := quantity.Format(un.SI(v), 0, 0, un, quantity.Figures, quantity.Options{N: 4})
		printed, err := strconv.ParseFloat(d.Number+"e"+strconv.Itoa(d.Exponent), 64)
		if err != nil {
			printed = v
		}
		return block.QuantityMath(d, un.SI(printed), ""), printed
	}
	x0, vx0 := read(t.X0, ux)
	x1, vx1 := read(t.X1, ux)
	y0, vy0 := read(t.Y0, uy)
	y1, vy1 := read(t.Y1, uy)
	slopeUnit := quotient(dy, dx)
	up, along := dy.SI(vy1-vy0), dx.SI(vx1-vx0)
	number := func(v float64, un unit.Unit) view.Number {
		return view.Number{Value: v, Display: quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: 4}), Standing: view.Computed}
	}
	math := func(v float64, un unit.Unit) view.Math { return block.QuantityMath(number(v, un).Display, v, "") }
	minus := func(a, b view.Math) view.Math { return view.Seq{Items: []view.Math{a, view.Op{Symbol: "−"}, b}} }
	sym := func(base, sub string) view.Math {
		return view.Script{Base: view.Ident{Name: base}, Sub: view.Num{Digits: sub}}
	}
	return &view.Steps{ID: s.ID() + "-triangle", Title: "Slope from the triangle, its corners read off the line", Standing: view.Computed, Steps: []view.Step{{
		ID: s.ID() + "-slope", Symbol: block.Symbol(p.fit + ".slope"), Standing: view.Computed,
		Label: "two points of the line, far apart; not readings",
		Stages: []view.Math{
			view.Frac{Num: minus(sym("y", "2"), sym("y", "1")), Den: minus(sym("x", "2"), sym("x", "1"))},
			view.Frac{Num: minus(y1, y0), Den: minus(x1, x0)},
			view.Frac{Num: math(up, dy), Den: math(along, dx)},
		},
		Result: view.Text{number(up/along, slopeUnit)},
	}}}
}
