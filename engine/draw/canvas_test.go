package draw

import (
	"image"
	"math"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	gdraw "gonum.org/v1/plot/vg/draw"
)

func TestHundredths(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0"}, {0.5, ".5"}, {-0.5, "-.5"}, {12.345, "12.35"}, {-12.345, "-12.35"}, {3.999, "4"}, {0.05, ".05"},
		{100, "100"}, {0.004, "0"}, {-0.004, "0"}, {math.NaN(), "0"}, {1e300, "10000000"}, {math.Inf(-1), "-10000000"},
	} {
		if got := decimal(hundredths(c.v)); got != c.want {
			t.Errorf("%g becomes %s, want %s", c.v, got, c.want)
		}
		for _, to := range []float64{math.Inf(1), math.Inf(-1)} {
			if got := decimal(hundredths(math.Nextafter(c.v, to))); got != c.want {
				t.Errorf("%g toward %g becomes %s, want %s", c.v, to, got, c.want)
			}
		}
	}
}

// pathData returns the data of the only path that draws.
func pathData(t *testing.T, draws func(c *canvas)) string {
	t.Helper()
	c := newCanvas(200, 100)
	c.open("a", "", "")
	draws(c)
	svg, err := c.bytes()
	if err != nil {
		t.Fatal(err)
	}
	return pick(parse(t, svg), "path", "fig-frame")[0].attr["d"]
}

// TestPath compares with path data written by hand from SVG 1.1 chapter 8: y
// downwards, arcs with their sweep clockwise as 1.
func TestPath(t *testing.T) {
	line := vg.Path{{Type: vg.MoveComp, Pos: vg.Point{X: 10, Y: 20}}, {Type: vg.LineComp, Pos: vg.Point{X: 30, Y: 20}},
		{Type: vg.LineComp, Pos: vg.Point{X: 30, Y: 25.5}}, {Type: vg.LineComp, Pos: vg.Point{X: 0, Y: 0}}, {Type: vg.CloseComp}}
	for _, c := range []struct {
		name  string
		draws func(c *canvas)
		want  string
	}{
		{"lines", func(c *canvas) { c.Stroke(line) }, "M10 80h20v-5.5l-30 25.5z"},
		{"moved and scaled", func(c *canvas) {
			c.Push()
			c.Translate(vg.Point{X: 5, Y: 1})
			c.Scale(2, 1)
			c.Stroke(line)
			c.Pop()
		}, "M25 79h40v-5.5l-60 25.5z"},
		{"turned", func(c *canvas) {
			c.Translate(vg.Point{X: 50, Y: 50})
			c.Rotate(math.Pi / 2)
			c.Stroke(line[:2])
		}, "M30 40v-20"},
		{"circle", func(c *canvas) {
			var p vg.Path
			p.Move(vg.Point{X: 12, Y: 10})
			p.Arc(vg.Point{X: 10, Y: 10}, 2, 0, 2*math.Pi)
			p.Close()
			c.Stroke(p)
		}, "M12 90a2 2 0 0 0-4 0a2 2 0 0 0 4 0z"},
		{"quarter clockwise", func(c *canvas) {
			var p vg.Path
			p.Arc(vg.Point{X: 10, Y: 10}, 2, math.Pi/2, -math.Pi/2)
			c.Stroke(p)
		}, "M10 88a2 2 0 0 1 2 2"},
		{"curves", func(c *canvas) {
			var p vg.Path
			p.Move(vg.Point{X: 0, Y: 0})
			p.QuadTo(vg.Point{X: 1, Y: 2}, vg.Point{X: 3, Y: 0})
			p.CubeTo(vg.Point{X: 4, Y: 1}, vg.Point{X: 5, Y: 1}, vg.Point{X: 6, Y: 0})
			c.Fill(p)
		}, "M0 100q1-2 3 0c1-1 2-1 3 0"},
	} {
		if got := pathData(t, c.draws); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestCanvasServesGonum lets a plot of gonum's own, axes and all, draw here.
func TestCanvasServesGonum(t *testing.T) {
	p := plot.New()
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = "title", "x & y", "y"
	s, err := plotter.NewScatter(plotter.XYs{{X: 1, Y: 2}, {X: 2, Y: 5}})
	if err != nil {
		t.Fatal(err)
	}
	p.Add(s, plotter.NewGrid())
	c := newCanvas(300, 200)
	c.open("gonum", "", "")
	p.Draw(gdraw.New(c))
	svg, err := c.bytes()
	if err != nil {
		t.Fatal(err)
	}
	texts, turned := map[string]bool{}, 0
	for _, e := range parse(t, svg) {
		texts[e.text] = true
		if e.attr["transform"] != "" {
			turned++
		}
	}
	if !texts["x & y"] || !texts["title"] || turned != 1 {
		t.Errorf("texts %v, %d of them turned; want the labels, and one turned", texts, turned)
	}
}

func TestCanvasTellsMisuse(t *testing.T) {
	for name, misuse := range map[string]func(c *canvas){
		"image": func(c *canvas) { c.DrawImage(vg.Rectangle{}, image.NewGray(image.Rect(0, 0, 1, 1))) },
		"pop":   func(c *canvas) { c.Pop() },
		"group": func(c *canvas) { c.group("") },
		"curve": func(c *canvas) { c.Stroke(vg.Path{{Type: vg.CurveComp}}) },
		"step":  func(c *canvas) { c.Stroke(vg.Path{{Type: 99}}) },
	} {
		c := newCanvas(10, 10)
		misuse(c)
		if _, err := c.bytes(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestClip(t *testing.T) {
	r := vg.Rectangle{Max: vg.Point{X: 10, Y: 10}}
	pt := func(x, y vg.Length) vg.Point { return vg.Point{X: x, Y: y} }
	for _, c := range []struct {
		a, b, from, to vg.Point
		ok             bool
	}{
		{pt(1, 1), pt(9, 2), pt(1, 1), pt(9, 2), true},
		{pt(-5, 5), pt(15, 5), pt(0, 5), pt(10, 5), true},
		{pt(-5, -5), pt(15, 15), pt(0, 0), pt(10, 10), true},
		{pt(5, 20), pt(5, -20), pt(5, 10), pt(5, 0), true},
		{pt(-5, 4), pt(4, -5.1), pt(0, 0), pt(0, 0), false},
		{pt(11, 0), pt(11, 10), pt(0, 0), pt(0, 0), false},
		{pt(0, 0), pt(0, 10), pt(0, 0), pt(0, 10), true},
	} {
		from, to, ok := clip(r, c.a, c.b)
		if ok != c.ok || ok && (from != c.from || to != c.to) {
			t.Errorf("from %v to %v: %v, %v, %v", c.a, c.b, from, to, ok)
		}
	}
}

// TestTriangleLabelsHideNothing: the labels of the slope triangle lie in the
// frame, clear of the points, of the lines and of each other.
func TestTriangleLabelsHideNothing(t *testing.T) {
	g, err := newGraph(wire(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	g.arrange()
	c := newCanvas(g.width, g.height)
	n := g.main
	p := plot.New()
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = g.x.lo(), g.x.hi(), n.scale.lo(), n.scale.hi()
	area := gdraw.Canvas{Canvas: c, Rectangle: vg.Rectangle{
		Min: c.up(n.frame.left, n.frame.bottom), Max: c.up(n.frame.right, n.frame.top)}}
	legs := g.drawTriangle(c, n, area, p)
	if len(legs) != 2 {
		t.Fatalf("%d labels, want 2", len(legs))
	}
	o := n.obstacles(area, p)
	for _, l := range legs {
		if cost := o.cost(l.over); cost != 0 {
			t.Errorf("the label %q lies on something (%g)", l.label, cost)
		}
	}
	if overlap(legs[0].over, legs[1].over) {
		t.Error("the labels lie on each other")
	}
}
