package draw

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// apart is a figure of two groups of points in a frame each, with a line through
// either.
func apart() *view.Figure {
	f := &view.Figure{ID: "apart", Title: "Two", X: view.Axis{Quantity: "load", Unit: "kg"}, Y: view.Axis{Quantity: "turned", Unit: "°"}}
	for g, from := range []float64{112, -203} {
		s := view.Series{Name: []string{"one way", "the other"}[g], Marks: true, Frame: g}
		for i := range 5 {
			s.Points = append(s.Points, view.Point{X: 0.4 * float64(i), Y: from + 8.6*float64(i)})
		}
		f.Series = append(f.Series, s)
		f.Lines = append(f.Lines, view.Line{Name: "line through " + s.Name, Series: g + 1, Frame: g, Points: []view.Point{s.Points[0], s.Points[4]}})
	}
	return f
}

// TestFramesAreAlike: each group has the better part of its frame, and lines of
// one slope are drawn parallel.
func TestFramesAreAlike(t *testing.T) {
	for _, paper := range []*view.Paper{nil, {Width: 14, Height: 20}} {
		f := apart()
		f.Paper = paper
		f.Residual = &view.Panel{Zero: true, Series: []view.Series{{Marks: true, Points: []view.Point{{X: 0, Y: 0.1}, {X: 1, Y: -0.2}}}}}
		g, err := newGraph(f, Options{})
		if err != nil {
			t.Fatal(err)
		}
		g.arrange()
		all := g.frames()
		if len(all) != 2 {
			t.Fatalf("%d frames", len(all))
		}
		for _, n := range all {
			if fill := n.scale.fill(n.data[1]); fill <= half {
				t.Errorf("a group fills %.2f of its frame", fill)
			}
		}
		a, b := all[0], all[1]
		if a.scale.at(1) != b.scale.at(1) || a.scale.steps() != b.scale.steps() || math.Abs(a.frame.height()-b.frame.height()) > 1e-6 {
			t.Errorf("the frames differ: %v of %g px, %v of %g px", a.scale, a.frame.height(), b.scale, b.frame.height())
		}
		if a.frame.bottom >= b.frame.top || b.frame.bottom >= g.below.frame.top {
			t.Error("the frames overlap")
		}
	}
}

// TestLinesDifferByStroke: lines through several series have strokes of their
// own, and the legend shows each with the mark of its points.
func TestLinesDifferByStroke(t *testing.T) {
	svg, err := Figure(apart(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	page := string(svg)
	for _, k := range []string{`"fig-fitted"`, `"fig-fitted fig-line2"`} {
		if n := strings.Count(page, "<path class="+k); n != 2 { // on the graph and in the legend
			t.Errorf("%d paths of %s", n, k)
		}
	}
	if n := strings.Count(page, `"fig-key"`); n != 2 {
		t.Errorf("the legend has %d entries", n)
	}
	if n := strings.Count(page, `"fig-mark"`); n != 12 {
		t.Errorf("%d marks, not those of 10 points and 2 in the legend", n)
	}
	if !regexp.MustCompile(`\.fig-line2\{stroke-dasharray`).MatchString(CSS()) {
		t.Error("the second line is not broken")
	}
}

// TestScaleStopsAtZero: bars and lines that reach a little below zero do not carry a scale
// of points that do not below it; those that reach far do.
func TestScaleStopsAtZero(t *testing.T) {
	for bar, want := range map[float64]bool{0.01: true, 3: false} {
		f := &view.Figure{ID: "zero", Series: []view.Series{{Marks: true, Bars: true}}}
		for i := range 8 {
			f.Series[0].Points = append(f.Series[0].Points, view.Point{X: float64(i), Y: float64(i), UX: bar, UY: bar})
		}
		f.Lines = []view.Line{{Points: []view.Point{{X: -bar, Y: -bar}, {X: 7, Y: 7}}}}
		for _, paper := range []*view.Paper{nil, {Width: 12, Height: 12}} {
			f.Paper = paper
			g, err := newGraph(f, Options{})
			if err != nil {
				t.Fatal(err)
			}
			g.arrange()
			if got := g.x.first == 0 && g.main.scale.first == 0; got != want {
				t.Errorf("bars of %g: the scales begin at %g and %g", bar, g.x.lo(), g.main.scale.lo())
			}
		}
	}
}

// TestResidualsKeepOffTheFrame: the marks at the ends of a panel of residuals
// are whole.
func TestResidualsKeepOffTheFrame(t *testing.T) {
	f := apart()
	f.Residual = &view.Panel{Zero: true, Series: []view.Series{{Marks: true, Points: []view.Point{{X: 0, Y: 0.0091}, {X: 1, Y: -0.01}}}}}
	g, err := newGraph(f, Options{})
	if err != nil {
		t.Fatal(err)
	}
	g.arrange()
	n := g.below
	if px := (n.points[1].lo - n.scale.lo()) / (n.scale.hi() - n.scale.lo()) * n.frame.height(); px < markRadius {
		t.Errorf("a mark stands %.1f px above the frame", px)
	}
}

// TestLegsAreInTheUnitOfTheAxis: with its power of ten, and digits in groups.
func TestLegsAreInTheUnitOfTheAxis(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		most int64
		want string
	}{
		{0.00355, "kg m^2", 5, "3.55 × 10−3 kg m2"},
		{29.74, "°", 50_000, "29.7°"},
		{10912, "Hz", 12_000_000, "10\u2009900 Hz"},
		{0.0999, "", 100_000, "0.0999"},
	} {
		g := &graph{fig: &view.Figure{Triangle: &view.Triangle{Figures: 3}}}
		s := scale{mant: 1, exp: -3, last: c.most}
		if got := g.dimension(c.v, c.unit, s).String(); got != c.want {
			t.Errorf("%q, not %q", got, c.want)
		}
	}
}
