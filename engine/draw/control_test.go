package draw

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// history is a year of a wire that was replaced. All numbers are invented.
func history() *view.Chart {
	nan := math.NaN()
	values := []float64{203.1, 201.4, 204.8, 202.2, 200.9, 203.9, 202.6, 204.1, 201.8, 203.3, 202.0, 215.5,
		197.4, 198.2, 196.1, 197.9, 199.0, 198.4, 199.6, 200.1, 200.9, 201.8}
	c := &view.Chart{ID: "history", Title: "Young's modulus by the hanging wire", Desc: "A year of results.",
		Y: view.Axis{Quantity: "E", Unit: "GPa"}, Moving: "moving range",
		Segments: []view.ChartSegment{
			{Name: "wire W-11", From: 0, To: 12, Mean: 203.8, Lower: 196.0, Upper: 211.6, MeanRange: 3.2, RangeUpper: 10.4, Reference: 205, ReferenceU: 3,
				MeanText: "203.8", LowerText: "196.0", UpperText: "211.6", ReferenceText: "205.0", MeanRangeText: "3.2", RangeUpperText: "10.4"},
			{Name: "wire W-12", From: 12, To: 22, Mean: 198.9, Lower: 196.1, Upper: 201.7, MeanRange: 1.0, RangeUpper: 3.4, Reference: nan, ReferenceU: nan,
				MeanText: "198.9", LowerText: "196.1", UpperText: "201.7", MeanRangeText: "1.0", RangeUpperText: "3.4"},
		}}
	for i, v := range values {
		p := view.ChartPoint{Value: v, U: 5.2, Range: nan, Date: fmt.Sprintf("%d-%02d-%02d", 2025+(i/2+4)/12, (i/2+4)%12+1, 3+14*(i%2)), Note: fmt.Sprintf("record %d: %.1f GPa", i+1, v)}
		if i != 0 && i != 12 {
			p.Range = math.Abs(v - values[i-1])
		}
		c.Points = append(c.Points, p)
	}
	c.Points[11].Words, c.Points[11].RangeWords = "beyond a limit", "beyond"
	c.Points[20].Words, c.Points[20].Marked = "six rising", true
	c.Points[21].Words, c.Points[21].Marked = "beyond a limit", true
	return c
}

func controlChart(c *view.Chart, o Options) func() ([]byte, error) {
	return func() ([]byte, error) { return Control(c, o) }
}

// TestControlParts: what a chart draws can be counted.
func TestControlParts(t *testing.T) {
	c := history()
	svg, err := Control(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := parse(t, svg)
	for class, want := range map[string]int{"fig-dot": 22 + 20 + 1, "fig-hit": 22, "fig-ring": 3 + 1, "fig-said": 4} {
		n := 0
		for _, e := range all {
			if e.class == class {
				n++
			}
		}
		if n != want {
			t.Errorf("%d of class %s, want %d", n, class, want)
		}
	}
	if n := len(pick(all, "path", "fig-limit")); n != 4+2+1 {
		t.Errorf("%d limits", n)
	}
	if n := len(pick(all, "path", "fig-band")); n != 1+1 {
		t.Errorf("%d bands", n)
	}
	text := string(svg)
	for _, want := range []string{"wire W-11", "wire W-12", "beyond a limit", "six rising", "control limit", "certified value", "expanded uncertainty", "198.9", "record 12: 215.5 GPa", "2025", "2026", ">no.<"} {
		if !strings.Contains(text, want) {
			t.Errorf("the drawing lacks %q", want)
		}
	}
	// The words of the last segment hide none of each other.
	var boxes []box
	k, err := newControl(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range k.words {
		for _, b := range boxes {
			if w.box.left < b.right && b.left < w.box.right && w.box.top < b.bottom && b.top < w.box.bottom {
				t.Errorf("%v lies on %v", w.box, b)
			}
		}
		boxes = append(boxes, w.box)
	}
}

// TestControlOdd: a chart is drawn of whatever there is, inside its frame.
func TestControlOdd(t *testing.T) {
	nan := math.NaN()
	none := view.ChartSegment{To: 1, Mean: nan, Lower: nan, Upper: nan, MeanRange: nan, RangeUpper: nan, Reference: nan, ReferenceU: nan}
	one := &view.Chart{ID: "one", Y: view.Axis{Quantity: "E", Unit: "GPa"}, Moving: "moving range", Segments: []view.ChartSegment{none},
		Points: []view.ChartPoint{{Value: 5, Range: nan, Words: strings.Repeat("very long words ", 20), Date: "no date"}}}
	many := &view.Chart{ID: "many", Y: view.Axis{Quantity: "zero", Unit: "mm"}, Segments: []view.ChartSegment{none}}
	many.Segments[0].To = 700
	for i := range 700 {
		many.Points = append(many.Points, view.ChartPoint{Value: math.Sin(float64(i)), Range: nan, Date: fmt.Sprintf("%04d-%02d-01", 2000+i/12, i%12+1)})
	}
	level := &view.Chart{ID: "level", Y: view.Axis{Quantity: "zero"}, Segments: []view.ChartSegment{{To: 2, Mean: 1, Lower: 1, Upper: 1, Reference: math.Inf(1)}},
		Points: []view.ChartPoint{{Value: 1, U: math.Inf(1)}, {Value: 1, U: -3}}}
	holes := history()
	for i := range holes.Points {
		if i%3 == 0 {
			holes.Points[i].Value, holes.Points[i].Range = nan, math.Inf(1)
		}
	}
	for _, c := range []*view.Chart{one, many, level, holes} {
		svg, err := Control(c, Options{Width: 340, Height: 900})
		if err != nil {
			t.Fatalf("%s: %v", c.ID, err)
		}
		if strings.Contains(string(svg), "NaN") || strings.Contains(string(svg), "Inf") {
			t.Errorf("%s holds what is no number", c.ID)
		}
		for _, e := range pick(parse(t, svg), "circle", "fig-dot") {
			if e.attr["cx"] == "" || strings.HasPrefix(e.attr["cy"], "-") {
				t.Errorf("%s: a point at %s, %s", c.ID, e.attr["cx"], e.attr["cy"])
			}
		}
	}
	for _, c := range []*view.Chart{{ID: "none"}, {ID: "holes", Points: []view.ChartPoint{{Value: nan, Range: 1}}, Segments: []view.ChartSegment{{To: 1, Upper: 3}}}} {
		if _, err := Control(c, Options{}); !errors.Is(err, ErrNothing) {
			t.Errorf("%s: %v", c.ID, err)
		}
	}
	if _, err := Control(&view.Chart{}, Options{}); err == nil {
		t.Error("a chart without an ID was drawn")
	}
}

// TestControlNumbers: the numbers beside the lines are those of the axis.
func TestControlNumbers(t *testing.T) {
	for _, c := range []struct {
		text  string
		power int
		want  string
	}{
		{"0.0080", -3, "8.0"}, {"0.0006578", -6, "657.8"}, {"0.0000016", -6, "1.6"}, {"−0.0082", -3, "−8.2"}, {"205.0", 0, "205.0"}, {"12", -3, "12000"},
		{"205000", 3, "205.000"}, {"15", 6, "0.000015"}, {"0.00", -3, "0"}, {"1.5 × 10⁹", 3, "1.5 × 10⁹"}, {"–", -3, "–"},
	} {
		if got := pointMoved(c.text, c.power); got != c.want {
			t.Errorf("%s over 10^%d: %s, not %s", c.text, c.power, got, c.want)
		}
	}
	c := history()
	c.Y.Unit = "1"
	for i := range c.Points {
		p := &c.Points[i]
		p.Value, p.U, p.Range = p.Value*1e-6, p.U*1e-6, p.Range*1e-6
	}
	for i := range c.Segments {
		s := &c.Segments[i]
		for _, v := range []*float64{&s.Mean, &s.Lower, &s.Upper, &s.MeanRange, &s.RangeUpper, &s.Reference, &s.ReferenceU} {
			*v *= 1e-6
		}
		s.MeanText, s.LowerText, s.UpperText, s.MeanRangeText, s.RangeUpperText = "0.0001989", "0.0001961", "0.0002017", "0.0000010", "0.0000034"
	}
	svg, err := Control(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{">198.9<", ">3.4<"} {
		if !strings.Contains(string(svg), want) {
			t.Errorf("the chart has no %s", want)
		}
	}
	if strings.Contains(string(svg), "0.00") {
		t.Error("the chart has numbers that are not those of its axis")
	}
}
