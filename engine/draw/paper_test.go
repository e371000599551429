package draw

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestPaperScale: over random readings, a centimetre is 1, 2 or 5 times a power
// of ten, the points have room and take more than half of the paper that is
// drawn, no more paper is drawn than there is, and the numbers stand no more
// than three large squares apart. The criteria are those of the mark schemes of
// Cambridge International AS and A Level Physics 9702, paper 3 (from memory).
func TestPaperScale(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for range 20000 {
		lo := (rng.Float64() - 0.3) * math.Pow(10, float64(rng.IntN(5)-2))
		data := extent{lo: lo, hi: lo + rng.Float64()*math.Pow(10, float64(rng.IntN(4)-2)), any: true}
		cells := int64(leastPaper + rng.IntN(20))
		s := paperScale(data, extent{}, 0, cells, room{along: true})
		switch {
		case s.mant != 1 && s.mant != 2 && s.mant != 5:
			t.Fatalf("%v: a step of %d", data, s.mant)
		case s.steps() > cells || s.steps() < 1:
			t.Fatalf("%v: %d cm of %d", data, s.steps(), cells)
		case s.every > 3:
			t.Fatalf("%v: a number at every %dth square", data, s.every)
		case s.lo() > data.lo || s.hi() < data.hi:
			t.Fatalf("%v: from %g to %g", data, s.lo(), s.hi())
		case s.fill(data) <= half:
			t.Fatalf("%v on %d cm: filled to %.0f %%", data, cells, 100*s.fill(data))
		case data.lo > 0 && s.first < 0 || data.hi < 0 && s.last > 0:
			t.Fatalf("%v: the scale crosses zero", data)
		}
	}
}

// TestPaperIsOfTrueSize: the squares of a drawing are centimetres, and the
// statement of the scale says what the numbers of the axes say.
func TestPaperIsOfTrueSize(t *testing.T) {
	f := &view.Figure{ID: "f", X: view.Axis{Quantity: "load", Unit: "kg"}, Y: view.Axis{Quantity: "reading", Unit: "mm"},
		Paper:  &view.Paper{Width: 14, Height: 12, Scale: true},
		Series: []view.Series{{Marks: true, Points: []view.Point{{X: 0.5, Y: 2.16}, {X: 2, Y: 3.01}, {X: 4, Y: 4.14}}}}}
	g, err := newGraph(f, Options{})
	if err != nil {
		t.Fatal(err)
	}
	g.arrange()
	for _, side := range []struct{ px, steps float64 }{
		{g.main.frame.width(), float64(g.x.steps())}, {g.main.frame.height(), float64(g.main.scale.steps())},
	} {
		if got := side.px / side.steps; math.Abs(got-96/2.54) > 1e-9 {
			t.Errorf("a square of %g px", got)
		}
	}
	want := fmt.Sprintf("across 1 cm ≙ %s kg, up 1 cm ≙ %s mm", plainFloat(g.x.at(1)), plainFloat(g.main.scale.at(1)))
	if got := g.statement.String(); got != want {
		t.Errorf("%q, not %q", got, want)
	}
}

func plainFloat(v float64) string { return strconv.FormatFloat(v, 'g', 12, 64) }

// TestEmptyGrid: labelled axes, no numbers at all, squares that are centimetres,
// and no point or line whatever the figure holds.
func TestEmptyGrid(t *testing.T) {
	f := &view.Figure{ID: "f", Title: "Reading against load", Grid: true, X: view.Axis{Quantity: "load", Unit: "kg"}, Y: view.Axis{Quantity: "reading", Unit: "mm"},
		Paper:    &view.Paper{Width: 14, Height: 9, Scale: true},
		Series:   []view.Series{{Marks: true, Points: []view.Point{{X: 0.517, Y: 2.163, Note: "0.517"}}}},
		Lines:    []view.Line{{Points: []view.Point{{X: 0.517, Y: 2.163}, {X: 4.117, Y: 5.12}}}},
		Triangle: &view.Triangle{X0: 0.517, Y0: 2.163, X1: 3, Y1: 4, DX: 2.483, DY: 1.837, Figures: 4, UX: "kg", UY: "mm"}}
	svg, err := Figure(f, Options{Captioned: true})
	if err != nil {
		t.Fatal(err)
	}
	text := string(svg)
	for _, s := range []string{"load / kg", "reading / mm", "1 cm ≙ ………… kg"} {
		if !strings.Contains(text, s) {
			t.Errorf("%q is not in the drawing", s)
		}
	}
	for _, s := range []string{"fig-num", "fig-mark", "fig-fitted", "fig-triangle", "0.517", "2.163", "2.483"} {
		if strings.Contains(text, s) {
			t.Errorf("%q is in the drawing", s)
		}
	}
	frame := regexp.MustCompile(`class="fig-frame" d="M[\d.]+ [\d.]+v([\d.]+)h([\d.]+)"`).FindStringSubmatch(text)
	if frame == nil || frame[1] != "340.16" || frame[2] != "529.13" { // 9 cm and 14 cm
		t.Errorf("the frame is %v", frame)
	}
}
