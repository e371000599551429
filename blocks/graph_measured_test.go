package blocks_test

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// measuredGraph is a graph as it is measured with a ruler on the page: all in
// px, y downwards.
type measuredGraph struct {
	title                    string
	left, right, top, bottom float64 // of the paper
	points                   [][2]float64
	marks                    []string // the path of each point's mark
	lines                    [][]float64
	triangle                 []float64 // x0 y0 dx dy
	squareX, squareY         float64   // of the large squares
	numbersX, numbersY       [][2]float64
	labels                   []string
	keys                     string
	blobs                    int // marks that are filled or of another class
}

var pathNumber = regexp.MustCompile(`-?\d*\.?\d+(?:e-?\d+)?`)

func pathNumbers(t testing.TB, d string) []float64 {
	t.Helper()
	var out []float64
	for _, s := range pathNumber.FindAllString(d, -1) {
		out = append(out, parsedFloat(t, s))
	}
	return out
}

func parsedFloat(t testing.TB, s string) float64 {
	t.Helper()
	s = strings.NewReplacer("−", "-", "\u202f", "", "\u2009", "", "\u00a0", "", " ", "", ",", ".").Replace(strings.TrimSpace(s))
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q: %v", s, err)
	}
	return v
}

// graphsOf measures the drawings of a page that have points, each up to its
// panel of residuals.
func graphsOf(t testing.TB, page string) []*measuredGraph {
	t.Helper()
	var out []*measuredGraph
	for _, svg := range strings.SplitAfter(page, "</svg>") {
		at := strings.Index(svg, "<svg")
		if at < 0 || !strings.Contains(svg, `"fig-paper"`) || !strings.Contains(svg, `"fig-hit"`) {
			continue
		}
		out = append(out, measure(t, svg[at:]))
	}
	return out
}

func measure(t testing.TB, svg string) *measuredGraph {
	t.Helper()
	g := &measuredGraph{}
	papers := 0
	d := xml.NewDecoder(strings.NewReader(svg))
	var words xml.StartElement // the text being read
	text, hint := "", false
	for {
		token, err := d.Token()
		if err == io.EOF {
			return g
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			switch token.Name.Local {
			case "text":
				words, text = token.Copy(), ""
			case "title":
				hint = true
			}
			if attr(token, "class") == "fig-paper" {
				papers++
			}
			if papers == 1 {
				g.element(t, token)
			}
		case xml.CharData:
			switch {
			case !hint:
				text += string(token)
			case g.title == "":
				g.title = string(token)
			}
		case xml.EndElement:
			switch token.Name.Local {
			case "title":
				hint = false
			case "text":
				g.written(t, words, text, papers)
			}
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (g *measuredGraph) element(t testing.TB, e xml.StartElement) {
	t.Helper()
	path := attr(e, "d")
	switch attr(e, "class") {
	case "fig-paper": // M left bottom h width v −height
		n := pathNumbers(t, path)
		g.left, g.bottom, g.right, g.top = n[0], n[1], n[0]+n[2], n[1]+n[3]
	case "fig-grid":
		g.squares(t, path)
	case "fig-hit":
		g.points = append(g.points, [2]float64{parsedFloat(t, attr(e, "cx")), parsedFloat(t, attr(e, "cy"))})
	case "fig-mark":
		g.marks = append(g.marks, path)
	case "fig-fitted":
		g.lines = append(g.lines, pathNumbers(t, path))
	case "fig-triangle":
		g.triangle = corners(t, path)
	}
	if e.Name.Local == "circle" && attr(e, "class") != "fig-hit" {
		g.blobs++
	}
}

// corners reads a triangle's two ends of the line, its legs drawn in either order,
// as x, y, dx, dy.
func corners(t testing.TB, path string) []float64 {
	t.Helper()
	n := pathNumbers(t, path) // M x y h dx v dy, or M x y v dy h dx
	if len(n) != 4 {
		t.Fatalf("the triangle is %s", path)
	}
	if strings.Index(path, "v") < strings.Index(path, "h") {
		n[2], n[3] = n[3], n[2]
	}
	return n
}

// squares reads the size of the large squares off the ruling: pairs of a move
// and a line, first those that stand, then those that lie.
func (g *measuredGraph) squares(t testing.TB, path string) {
	t.Helper()
	upright, level := strings.Count(path, "v"), strings.Count(path, "h")
	if upright < 2 || level < 2 {
		t.Fatalf("the paper is ruled by %d and %d lines", upright, level)
	}
	g.squareX = (g.right - g.left) / float64(upright-1)
	g.squareY = (g.bottom - g.top) / float64(level-1)
}

func (g *measuredGraph) written(t testing.TB, e xml.StartElement, text string, papers int) {
	t.Helper()
	switch attr(e, "class") {
	case "fig-num":
		v := [2]float64{0, parsedFloat(t, text)}
		if attr(e, "text-anchor") == "middle" {
			v[0] = parsedFloat(t, attr(e, "x"))
			g.numbersX = append(g.numbersX, v) // below all panels
		} else if papers == 1 {
			v[0] = parsedFloat(t, attr(e, "y"))
			g.numbersY = append(g.numbersY, v)
		}
	case "fig-label":
		g.labels = append(g.labels, text)
	case "fig-key":
		g.keys += text + "\n"
	}
}

// inSquare is what one large square stands for, from the numbers beside the
// paper.
func inSquare(numbers [][2]float64, square float64) (value, apart float64) {
	if len(numbers) < 2 {
		return math.NaN(), math.NaN()
	}
	a, b := numbers[0], numbers[len(numbers)-1]
	apart = math.Abs(b[0]-a[0]) / float64(len(numbers)-1) / square
	return math.Abs(b[1]-a[1]) / (math.Abs(b[0]-a[0]) / square), apart
}

// isOneTwoFive reports whether v is 1, 2 or 5 times a power of ten, as nearly
// as positions of two decimals tell.
func isOneTwoFive(v float64) bool {
	m := v / math.Pow(10, math.Floor(math.Log10(v*1.001)))
	for _, want := range []float64{1, 2, 5} {
		if math.Abs(m/want-1) < 0.001 {
			return true
		}
	}
	return false
}

// hold holds a graph to what markers look for; pure names the axes of pure numbers. Beside each is where it is asked for, all from memory: the published mark
// schemes of Cambridge International AS and A Level Physics 9702, paper 3, and
// the practical handbook of AQA for A-level Physics 7407 and 7408.
func (g *measuredGraph) hold(t testing.TB, pure map[string]bool) {
	t.Helper()
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, p := range g.points {
		for k := range p {
			lo[k], hi[k] = math.Min(lo[k], p[k]), math.Max(hi[k], p[k])
		}
		if p[0] < g.left-0.1 || p[0] > g.right+0.1 || p[1] < g.top-0.1 || p[1] > g.bottom+0.1 {
			t.Errorf("%s: a point lies off the paper", g.title)
		}
	}
	// 9702: points occupy at least half of the grid in both directions. AQA: the
	// same. Points that all have one value cannot.
	const half = 0.4999 // as nearly as positions of two decimals tell
	if w := (hi[0] - lo[0]) / (g.right - g.left); w < half {
		t.Errorf("%s: the points take %.4f of the paper across", g.title, w)
	}
	if h := (hi[1] - lo[1]) / (g.bottom - g.top); h < half && hi[1]-lo[1] > 0.5 {
		t.Errorf("%s: the points take %.4f of the paper upwards", g.title, h)
	}
	// 9702: no awkward scales; AQA: no multiples of three. Both: numbers no more
	// than three large squares apart.
	for _, a := range []struct {
		name    string
		numbers [][2]float64
		square  float64
	}{{"x", g.numbersX, g.squareX}, {"y", g.numbersY, g.squareY}} {
		v, apart := inSquare(a.numbers, a.square)
		if !isOneTwoFive(v) {
			t.Errorf("%s: a large square along %s stands for %g", g.title, a.name, v)
		}
		if apart > 3.01 {
			t.Errorf("%s: the numbers along %s stand %.1f large squares apart", g.title, a.name, apart)
		}
	}
	// 9702: crosses, or points smaller than half a small square; no blobs.
	for i, m := range g.marks {
		if i < len(g.points) && !isCross(t, m, g.points[i]) {
			t.Errorf("%s: the mark %s is no cross at its point", g.title, m)
		}
	}
	if g.blobs > 0 {
		t.Errorf("%s: %d marks are blobs", g.title, g.blobs)
	}
	// SI Brochure 5.4.1: an axis is labelled quantity / unit.
	for _, l := range g.labels {
		if !strings.Contains(l, " / ") && !pure[l] {
			t.Errorf("%s: an axis is labelled %q", g.title, l)
		}
	}
}

// isCross reports whether a mark is two strokes that cross at its point.
func isCross(t testing.TB, path string, at [2]float64) bool {
	t.Helper()
	if strings.ContainsAny(path, "zZaAcC") {
		return false
	}
	n := pathNumbers(t, path)
	switch len(n) {
	case 8: // M x y l dx dy m … l …
		return math.Abs(n[0]+n[2]/2-at[0]) < 0.02 && math.Abs(n[1]+n[3]/2-at[1]) < 0.02
	case 6: // M x y h dx m dx dy v dy
		return math.Abs(n[0]+n[2]/2-at[0]) < 0.02 && math.Abs(n[1]-at[1]) < 0.02
	}
	return false
}

// holdTriangle: 9702 and AQA ask for a triangle on the line whose hypotenuse is
// more than half of it, and whose corners are no readings.
func (g *measuredGraph) holdTriangle(t testing.TB) {
	t.Helper()
	if g.triangle == nil || len(g.lines) == 0 {
		t.Fatalf("%s: there is no triangle", g.title)
	}
	line := g.lines[0] // M x y l dx dy
	if part := math.Hypot(g.triangle[2], g.triangle[3]) / math.Hypot(line[2], line[3]); part <= 0.5 {
		t.Errorf("%s: the triangle takes %.2f of its line", g.title, part)
	}
	for _, end := range []float64{g.triangle[0], g.triangle[0] + g.triangle[2]} {
		onLine := line[1] + (end-line[0])*line[3]/line[2]
		y := g.triangle[1]
		if end != g.triangle[0] {
			y += g.triangle[3]
		}
		if math.Abs(onLine-y) > 0.1 {
			t.Errorf("%s: a corner of the triangle lies %.2f px off the line", g.title, onLine-y)
		}
		for _, p := range g.points {
			if math.Abs(p[0]-end) < 0.2 {
				t.Errorf("%s: a corner of the triangle stands at a reading", g.title)
			}
		}
	}
}
