package draw

import (
	"io"
	"testing"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	gdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"example.org/taut/engine/view"
)

// xyErrors is the points of a series as gonum's plotters read them.
type xyErrors []view.Point

func (e xyErrors) Len() int                        { return len(e) }
func (e xyErrors) XY(i int) (x, y float64)         { return e[i].X, e[i].Y }
func (e xyErrors) XError(i int) (float64, float64) { return e[i].UX, e[i].UX }
func (e xyErrors) YError(i int) (float64, float64) { return e[i].UY, e[i].UY }

// stockPanel is a panel drawn by gonum's own plotters.
func stockPanel(b *testing.B, series []view.Series, lines []view.Line, x, y view.Axis) *plot.Plot {
	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = x.Quantity+" / "+x.Unit, y.Quantity+" / "+y.Unit
	p.Add(plotter.NewGrid())
	add := func(pl plot.Plotter, err error) {
		if err != nil {
			b.Fatal(err)
		}
		p.Add(pl)
	}
	for _, s := range series {
		e := xyErrors(s.Points)
		scatter, err := plotter.NewScatter(e)
		add(scatter, err)
		p.Legend.Add(s.Name, scatter)
		xe, err := plotter.NewXErrorBars(e)
		add(xe, err)
		ye, err := plotter.NewYErrorBars(e)
		add(ye, err)
	}
	for _, l := range lines {
		line, err := plotter.NewLine(xyErrors(l.Points))
		add(line, err)
		p.Legend.Add(l.Name, line)
	}
	return p
}

// stock draws f with gonum's own SVG canvas.
func stock(b *testing.B, f *view.Figure) {
	c := vgsvg.New(usualWidth, panelsHeight)
	area := gdraw.New(c)
	upper, lower := area, area
	upper.Min.Y, lower.Max.Y = vg.Length(170), vg.Length(160)
	p := stockPanel(b, f.Series, f.Lines, f.X, f.Y)
	p.Title.Text = f.Title
	p.Draw(upper)
	stockPanel(b, f.Residual.Series, nil, f.X, f.Residual.Y).Draw(lower)
	if _, err := c.WriteTo(io.Discard); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkFigure draws a graph with residuals, in turn with gonum's own canvas
// and plotters drawing the same; "ratio" is our time over theirs.
func BenchmarkFigure(b *testing.B) {
	f := wire()
	var ours, theirs time.Duration
	for b.Loop() {
		t0 := time.Now()
		if _, err := Figure(f, Options{}); err != nil {
			b.Fatal(err)
		}
		t1 := time.Now()
		stock(b, f)
		ours, theirs = ours+t1.Sub(t0), theirs+time.Since(t1)
	}
	b.ReportMetric(float64(ours)/float64(theirs), "ratio")
	b.ReportMetric(float64(ours.Microseconds())/float64(b.N), "µs/figure")
}

func BenchmarkBars(b *testing.B) {
	for b.Loop() {
		if _, err := Bars(shares(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
