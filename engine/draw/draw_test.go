package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"example.org/taut/engine/view"
)

var update = flag.Bool("update", false, "rewrite the golden drawings")

// drawing is one golden case.
type drawing struct {
	name string
	make func() ([]byte, error)
}

func figure(f *view.Figure, o Options) func() ([]byte, error) {
	return func() ([]byte, error) { return Figure(f, o) }
}

func bars(b *view.Bars, o Options) func() ([]byte, error) {
	return func() ([]byte, error) { return Bars(b, o) }
}

func drawings() []drawing {
	plain := wire()
	plain.ID, plain.Residual, plain.Series, plain.Lines = "plain", nil, plain.Series[:1], plain.Lines[:1]
	return []drawing{
		{"wire", figure(wire(), Options{})},
		{"plain", figure(plain, Options{Width: 640, Height: 420})},
		{"stress", figure(stress(), Options{Comma: true})},
		{"cantilever", figure(cantilever(), Options{})},
		{"odd", figure(odd(), Options{})},
		{"shares", bars(shares(), Options{Comma: true})},
		{"signed", bars(signed(), Options{})},
		{"control", controlChart(history(), Options{Comma: true})},
	}
}

func TestGolden(t *testing.T) {
	for _, d := range drawings() {
		t.Run(d.name, func(t *testing.T) {
			got, err := d.make()
			if err != nil {
				t.Fatal(err)
			}
			file := filepath.Join("testdata", d.name+".svg")
			if *update {
				if err := os.WriteFile(file, got, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("the drawing differs from %s; look at it, then run with -update", file)
			}
		})
	}
}

// element is one element of a drawing as it was read back.
type element struct {
	name, class, text string // text is that of the element and all within it
	title             string // of a title element directly within
	attr              map[string]string
	path              []string // classes of the elements about it
}

// parse reads a drawing back and holds it to the rules of every drawing.
func parse(t *testing.T, svg []byte) []*element {
	t.Helper()
	known := map[string]bool{}
	for c := range classes {
		known[c] = true
	}
	var all, open []*element
	ids := map[string]bool{}
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%.2000s", err, svg)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{name: token.Name.Local, attr: map[string]string{}}
			for _, o := range open {
				e.path = append(e.path, o.class)
			}
			for _, a := range token.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			e.class = e.attr["class"]
			checkAttributes(t, e, known, ids)
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			last := open[len(open)-1]
			open = open[:len(open)-1]
			if last.name == "title" && len(open) > 0 {
				open[len(open)-1].title = last.text
			}
		case xml.CharData:
			for _, o := range open {
				if open[len(open)-1].name != "title" || o == open[len(open)-1] {
					o.text += string(token)
				}
			}
		}
	}
	for _, ref := range strings.Fields(all[0].attr["aria-labelledby"]) {
		if !ids[ref] {
			t.Errorf("aria-labelledby refers to %q, which is not there", ref)
		}
	}
	if all[0].attr["role"] != "img" || len(ids) != 2 {
		t.Errorf("role %q and %d ids, want img and 2", all[0].attr["role"], len(ids))
	}
	return all
}

// allowed are the attributes of a drawing: geometry, classes and names, nothing
// that a policy of style sheets by hash would block or a theme could not change.
var allowed = map[string]bool{"xmlns": true, "class": true, "viewBox": true, "width": true, "height": true, "role": true,
	"aria-labelledby": true, "id": true, "x": true, "y": true, "dy": true, "cx": true, "cy": true, "r": true, "d": true,
	"text-anchor": true, "textLength": true, "lengthAdjust": true, "transform": true}

func checkAttributes(t *testing.T, e *element, known, ids map[string]bool) {
	t.Helper()
	for a, v := range e.attr {
		if !allowed[a] {
			t.Errorf("%s has the attribute %s=%q", e.name, a, v)
		}
		if strings.Contains(v, "NaN") || strings.Contains(v, "Inf") {
			t.Errorf("%s has %s=%q", e.name, a, v)
		}
	}
	if e.class != "" && !known[e.class] {
		t.Errorf("the class %q is not in Classes", e.class)
	}
	if id := e.attr["id"]; id != "" {
		if ids[id] {
			t.Errorf("the id %q is there twice", id)
		}
		ids[id] = true
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	s = strings.NewReplacer(minus, "-", thin, "", ",", ".").Replace(s)
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func pick(all []*element, name, class string) (out []*element) {
	for _, e := range all {
		if e.name == name && e.class == class {
			out = append(out, e)
		}
	}
	return out
}

func TestDrawingsKeepTheRules(t *testing.T) {
	for _, d := range drawings() {
		svg, err := d.make()
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(svg, []byte("style=")) {
			t.Errorf("%s holds a style attribute", d.name)
		}
		all := parse(t, svg)
		width, height := number(t, all[0].attr["width"]), number(t, all[0].attr["height"])
		for _, e := range all {
			for _, a := range []string{"x", "cx"} {
				if v, ok := e.attr[a]; ok && (number(t, v) < 0 || number(t, v) > width) {
					t.Errorf("%s: %s at %s=%s lies outside the drawing", d.name, e.name, a, v)
				}
			}
			for _, a := range []string{"y", "cy"} {
				if v, ok := e.attr[a]; ok && (number(t, v) < 0 || number(t, v) > height) {
					t.Errorf("%s: %s at %s=%s lies outside the drawing", d.name, e.name, a, v)
				}
			}
		}
	}
}

// axisOf fits the place of the numbers of an axis to their values, as a reader
// does with a ruler: place = a + b × value.
func axisOf(t *testing.T, all []*element, x bool) (a, b float64) {
	t.Helper()
	var place, value []float64
	for _, e := range pick(all, "text", "fig-num") {
		if (e.attr["text-anchor"] == "middle") != x {
			continue
		}
		key, shift := "x", 0.0
		if !x {
			key, shift = "y", -5.2
		}
		p, v := number(t, e.attr[key])+shift, number(t, e.text)
		if !x && len(value) > 0 && v < value[len(value)-1] {
			break // the numbers of the panel below
		}
		place, value = append(place, p), append(value, v)
	}
	n := len(value) - 1
	b = (place[n] - place[0]) / (value[n] - value[0])
	return place[0] - b*value[0], b
}

// TestReadingBack reads every point off the drawing by the numbers at its axes,
// as one reads a graph with a ruler, and compares it with the data.
func TestReadingBack(t *testing.T) {
	for _, f := range []*view.Figure{wire(), stress()} {
		svg, err := Figure(f, Options{})
		if err != nil {
			t.Fatal(err)
		}
		all := parse(t, svg)
		ax, bx := axisOf(t, all, true)
		ay, by := axisOf(t, all, false)
		hits := pick(all, "circle", "fig-hit")
		g, err := newGraph(f, Options{})
		if err != nil {
			t.Fatal(err)
		}
		g.arrange()
		fx, fy := math.Pow10(g.x.factor()), math.Pow10(g.main.scale.factor())
		i := 0
		for _, s := range f.Series {
			for _, p := range s.Points {
				x := (number(t, hits[i].attr["cx"]) - ax) / bx * fx
				y := (number(t, hits[i].attr["cy"]) - ay) / by * fy
				if math.Abs(x-p.X) > 0.03/math.Abs(bx)*fx || math.Abs(y-p.Y) > 0.03/math.Abs(by)*fy {
					t.Errorf("%s: point %d reads (%g, %g), want (%g, %g)", f.ID, i, x, y, p.X, p.Y)
				}
				i++
			}
		}
	}
}

func TestEveryPointHasItsNote(t *testing.T) {
	f := wire()
	svg, err := Figure(f, Options{})
	if err != nil {
		t.Fatal(err)
	}
	notes := map[string]int{}
	for _, e := range parse(t, svg) {
		if e.name == "g" && e.title != "" {
			notes[e.title]++
		}
	}
	for _, s := range f.Series {
		for _, p := range s.Points {
			if notes[p.Note] == 0 {
				t.Errorf("no title %q", p.Note)
			}
		}
	}
	marks := len(pick(parse(t, svg), "path", "fig-mark"))
	if want := 4*8 + 2; marks != want { // two panels of two series, and the legend
		t.Errorf("%d marks, want %d", marks, want)
	}
}

func TestPanelsShareTheXAxis(t *testing.T) {
	svg, err := Figure(wire(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := parse(t, svg)
	hits := pick(all, "circle", "fig-hit")
	for i := range 16 {
		if above, below := hits[i].attr["cx"], hits[i+16].attr["cx"]; above != below {
			t.Errorf("point %d stands at x = %s, its residual at %s", i, above, below)
		}
	}
	papers := pick(all, "path", "fig-paper")
	if len(papers) != 2 {
		t.Fatalf("%d frames, want 2", len(papers))
	}
	left := func(e *element) string { return strings.Fields(e.attr["d"])[0] }
	if left(papers[0]) != left(papers[1]) {
		t.Errorf("the frames begin at %s and %s", left(papers[0]), left(papers[1]))
	}
}

// TestPowersOfTen: another unit that is a power of a thousand changes the label
// and the notes of a graph and nothing else.
func TestPowersOfTen(t *testing.T) {
	var want string
	for _, unit := range []float64{1, 1e6, 1e-15, 1e150, 1e-150} {
		f := stress()
		f.Lines = nil
		for i := range f.Series[0].Points {
			f.Series[0].Points[i].Y *= unit
		}
		svg, err := Figure(f, Options{})
		if err != nil {
			t.Fatal(err)
		}
		var paths strings.Builder
		for _, e := range parse(t, svg) {
			if e.name == "path" || e.class == "fig-num" {
				paths.WriteString(e.attr["d"] + e.text + "\n")
			}
		}
		if want == "" {
			want = paths.String()
		}
		if paths.String() != want {
			t.Errorf("times %g the drawing has another shape", unit)
		}
	}
}

// TestLastBits: numbers that differ in their last bit, as they may from one
// processor to another, give the same bytes.
func TestLastBits(t *testing.T) {
	want, err := Figure(wire(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, to := range []float64{math.Inf(1), math.Inf(-1)} {
		f := wire()
		nudge := func(ps []view.Point) {
			for i, p := range ps {
				ps[i] = view.Point{X: math.Nextafter(p.X, to), Y: math.Nextafter(p.Y, to),
					UX: math.Nextafter(p.UX, to), UY: math.Nextafter(p.UY, to), Note: p.Note}
			}
		}
		for i := range f.Series {
			nudge(f.Series[i].Points)
			nudge(f.Residual.Series[i].Points)
		}
		for i := range f.Residual.Series {
			for j := range f.Residual.Series[i].Points {
				f.Residual.Series[i].Points[j].UX = 0
			}
		}
		for i := range f.Lines {
			nudge(f.Lines[i].Points)
		}
		got, err := Figure(f, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("the drawing changed with the last bits, toward %v", to)
		}
	}
}

func TestSameBytesFromManyAtOnce(t *testing.T) {
	want, err := Figure(wire(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 5 {
				got, err := Figure(wire(), Options{})
				if err != nil || !bytes.Equal(got, want) {
					t.Error("another drawing of the same figure differs", err)
				}
			}
		})
	}
	wg.Wait()
}

func TestNotFinite(t *testing.T) {
	f := wire()
	f.Series[0].Points[2].Y = math.NaN()
	f.Series[1].Points[3].X = math.Inf(1)
	f.Series[1].Points[4].UY = math.Inf(1)
	svg, err := Figure(f, Options{})
	if err != nil {
		t.Fatal(err)
	}
	all := parse(t, svg)
	const said = "2 points without finite coordinates are left out."
	if desc := pick(all, "desc", ""); !strings.HasSuffix(desc[0].text, said) {
		t.Errorf("the description %q does not say %q", desc[0].text, said)
	}
	if n := len(pick(all, "circle", "fig-hit")); n != 30 {
		t.Errorf("%d points, want 30", n)
	}
	for _, f := range []*view.Figure{
		{ID: "none"},
		{ID: "nan", Series: []view.Series{{Marks: true, Points: []view.Point{{X: math.NaN(), Y: 1}}}}},
	} {
		if _, err := Figure(f, Options{}); !errors.Is(err, ErrNothing) {
			t.Errorf("%s: error %v, want %v", f.ID, err, ErrNothing)
		}
	}
	if _, err := Figure(&view.Figure{}, Options{}); err == nil {
		t.Error("a figure without an ID was drawn")
	}
	f = wire()
	for i := range f.Residual.Series {
		f.Residual.Series[i].Points = nil
	}
	if svg, err = Figure(f, Options{}); err != nil || len(pick(parse(t, svg), "path", "fig-paper")) != 1 {
		t.Errorf("without residuals the figure should have one panel (%v)", err)
	}
}

// TestHardFigures draws what data seldom are, and holds each drawing to the
// rules.
func TestHardFigures(t *testing.T) {
	long := strings.Repeat("very long words <&\"'> ", 20000)
	values := []float64{0, 1, -1, 5e-324, 1e-300, -1e-300, 1e300, 1.7976931348623157e308, -1.7976931348623157e308, 1e15, 1e15 + 1, 3}
	n := 0
	for _, a := range values {
		for _, b := range values {
			f := &view.Figure{ID: "hard", Title: "a\x00b\xff\u202e", Desc: long[:100],
				X:      view.Axis{Quantity: "x", Unit: "m^"},
				Y:      view.Axis{Quantity: "e\u0301\u0301\u0301 טור", Unit: "kg/m^3"},
				Series: []view.Series{{Marks: true, Bars: true, Join: true, Name: "\u0645\u062b", Points: []view.Point{{X: a, Y: b, UX: b, UY: a}, {X: b, Y: a}}}},
				Lines:  []view.Line{{Points: []view.Point{{X: -math.MaxFloat64, Y: b}, {X: math.MaxFloat64, Y: a}}}},
				Triangle: &view.Triangle{X0: a, Y0: b, X1: b, Y1: a,
					DX: 1, DY: 2, Figures: 1, UX: "m", UY: "m"},
				Residual: &view.Panel{Zero: true, Series: []view.Series{{Marks: true, Points: []view.Point{{X: a, Y: b}}}}},
			}
			if n++; n%60 == 0 {
				f.Title, f.X.Quantity, f.Y.Quantity, f.Triangle.UX, f.Series[0].Name = long, long, long, long, long
			}
			svg, err := Figure(f, Options{Width: 320, Height: 1})
			if err != nil {
				t.Fatalf("(%g, %g): %v", a, b, err)
			}
			parse(t, svg)
		}
	}
}

func TestManyPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	f := &view.Figure{ID: "many", X: view.Axis{Quantity: "t", Unit: "s"}, Y: view.Axis{Quantity: "U", Unit: "V"},
		Series: []view.Series{{Name: "noise", Marks: true}}}
	for range 10000 {
		f.Series[0].Points = append(f.Series[0].Points, view.Point{X: r.Float64(), Y: r.NormFloat64()})
	}
	svg, err := Figure(f, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(svg) > 250_000 {
		t.Errorf("10,000 points take %d bytes", len(svg))
	}
	if desc := pick(parse(t, svg), "desc", "")[0].text; !strings.Contains(desc, "10"+thin+"000 points") {
		t.Errorf("the description %q does not tell of the points", desc)
	}
}

func TestBarsAreInProportion(t *testing.T) {
	b := shares()
	svg, err := Bars(b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	paths := pick(parse(t, svg), "path", "fig-share")
	var unit float64
	for i, p := range paths {
		var x, y, w float64
		if _, err := fmt.Sscanf(p.attr["d"], "M%g %gh%g", &x, &y, &w); err != nil {
			t.Fatal(err, p.attr["d"])
		}
		if i == 0 {
			unit = w / b.Items[0].Share
		}
		if math.Abs(w-unit*b.Items[i].Share) > 0.02 {
			t.Errorf("bar %d is %g px wide, want %g", i, w, unit*b.Items[i].Share)
		}
	}
	for i, e := range pick(parse(t, svg), "text", "fig-value") {
		if e.text != b.Items[i].Text {
			t.Errorf("value %q, want %q", e.text, b.Items[i].Text)
		}
	}
}

// TestCaptioned: a title that a caption shows is not drawn, but names the drawing.
func TestCaptioned(t *testing.T) {
	f, b := wire(), shares()
	graph, err := Figure(f, Options{Captioned: true})
	if err != nil {
		t.Fatal(err)
	}
	chart, err := Bars(b, Options{Captioned: true})
	if err != nil {
		t.Fatal(err)
	}
	for want, svg := range map[string][]byte{f.Title: graph, b.Title: chart} {
		all := parse(t, svg)
		if all[0].title != want || len(pick(all, "text", "fig-title")) != 0 {
			t.Errorf("named %q and drawn %d times, want %q and none", all[0].title, len(pick(all, "text", "fig-title")), want)
		}
	}
	untitled, err := Figure(&view.Figure{ID: "u", X: f.X, Y: f.Y, Series: f.Series}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := parse(t, untitled)[0].title, "extension against load"; got != want {
		t.Errorf("a graph without a title is named %q, want %q", got, want)
	}
}

func TestHardBars(t *testing.T) {
	long := strings.Repeat("x", 100000)
	for _, b := range []*view.Bars{
		{ID: "zero", Items: []view.Bar{{}, {Label: long, Text: long}}},
		{ID: "huge", Items: []view.Bar{{Share: 1e300}, {Share: -1e300, Label: "b"}}},
		{ID: "nan", Items: []view.Bar{{Share: math.NaN()}, {Share: 0.5, Label: "<&>"}}},
		{ID: "tiny", Title: long + " " + long, Items: []view.Bar{{Share: 5e-324}}},
	} {
		svg, err := Bars(b, Options{Width: 1})
		if err != nil {
			t.Errorf("%s: %v", b.ID, err)
			continue
		}
		parse(t, svg)
	}
	if _, err := Bars(&view.Bars{ID: "none"}, Options{}); !errors.Is(err, ErrNothing) {
		t.Errorf("no bars: error %v, want %v", err, ErrNothing)
	}
	if _, err := Bars(&view.Bars{ID: "over", Items: []view.Bar{{Share: math.MaxFloat64}, {Share: -math.MaxFloat64}}}, Options{}); err == nil {
		t.Error("shares whose range overflows were drawn")
	}
}

func FuzzFigure(f *testing.F) {
	f.Add(1.0, 2.0, 3.0, 4.0, 0.1, "load", "kg m^2", "note")
	f.Add(-1e300, 1e-300, math.Inf(1), 0.0, -1.0, "e\u0301", "m/s^2", "\x00<")
	f.Fuzz(func(t *testing.T, a, b, c, d, u float64, q, unit, note string) {
		points := []view.Point{{X: a, Y: b, UX: u, UY: c, Note: note}, {X: c, Y: d, UX: a, UY: u}, {X: d, Y: a}}
		fig := &view.Figure{ID: q, Title: note, Desc: unit, X: view.Axis{Quantity: q, Unit: unit}, Y: view.Axis{Quantity: unit, Unit: q},
			Series:   []view.Series{{Name: q, Points: points, Marks: true, Bars: true, Join: true}},
			Lines:    []view.Line{{Name: note, Points: points}},
			Triangle: &view.Triangle{X0: a, Y0: b, X1: c, Y1: d, DX: c - a, DY: d - b, Figures: 4, UX: q, UY: unit},
			Residual: &view.Panel{Series: []view.Series{{Points: points, Marks: true}}, Zero: u > 0}}
		if svg, err := Figure(fig, Options{Width: a, Height: u, Comma: true}); err == nil {
			parse(t, svg)
		}
		bars := &view.Bars{ID: unit, Title: q, Items: []view.Bar{{Label: q, Share: a, Text: note}, {Label: note, Share: u}}}
		if svg, err := Bars(bars, Options{Width: b}); err == nil {
			parse(t, svg)
		}
	})
}
