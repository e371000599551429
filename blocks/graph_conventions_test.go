package blocks_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

// pureNumbers are the axes of the examples that have no unit: the cube root of a
// deflection over 1 mm.
var pureNumbers = map[string]bool{"root": true}

// TestGraphsOfTheExamples measures every graph of every example.
func TestGraphsOfTheExamples(t *testing.T) {
	list, err := build.Records(filepath.FromSlash("../examples"))
	if err != nil {
		t.Fatal(err)
	}
	graphs, triangles := 0, 0
	for _, path := range list {
		t.Run(filepath.ToSlash(filepath.Dir(path)), func(t *testing.T) {
			page := string(buildWith(t, path, build.Options{View: view.AsWorked}).HTML)
			for _, g := range graphsOf(t, page) {
				g.hold(t, pureNumbers)
				graphs++
				if g.triangle != nil {
					g.holdTriangle(t)
					triangles++
				}
			}
		})
	}
	if graphs < 10 || triangles < 8 {
		t.Errorf("only %d graphs and %d triangles were measured", graphs, triangles)
	}
}

// straight is a set of readings of a straight line with scatter, x steps apart.
type straight struct {
	name          string
	n             int
	x0, step      float64
	a, b, scatter float64
}

func (s straight) record(rng *rand.Rand, options string) string {
	var b strings.Builder
	b.WriteString("```data w\nm / kg, y / mm\n")
	for i := range s.n {
		x := s.x0 + s.step*float64(i)
		y := s.a + s.b*(x-s.x0) + s.scatter*rng.NormFloat64()
		fmt.Fprintf(&b, "%s, %s\n", strconv.FormatFloat(x, 'g', 12, 64), strconv.FormatFloat(y, 'g', 12, 64))
	}
	b.WriteString("```\n```fit line\ny: w.y\nx: w.m\n```\n```plot graph\ny: w.y\nx: w.m\nfit: line\nshow: points line triangle\n" + options + "```\n")
	return b.String()
}

// hardLines are what a scale stumbles over.
var hardLines = []straight{
	{"a tiny range far from zero", 6, 1000, 0.001, 25000, 12, 1e-4},
	{"a tiny range far below zero", 6, -1000, 0.001, -25000, -12, 1e-4},
	{"both signs", 8, -3.5, 1, -7, 2.1, 0.05},
	{"a falling line", 7, 0.5, 0.5, 9, -2.4, 0.02},
	{"exactly one decade", 10, 1, 1, 1, 1, 0},
	{"from zero to ten", 11, 0, 1, 0, 1, 0},
	{"three readings", 3, 0.2, 0.2, 0.1, 3, 0.001},
	{"very small", 6, 1e-9, 1e-9, 2e-12, 5e-4, 1e-15},
	{"very large", 6, 1e9, 1e9, 2e12, 5e4, 1e9},
	{"nearly a power", 6, 0.0999, 0.18, 0.0999, 1, 1e-5},
	{"many readings", 60, 0.05, 0.05, 1, 3, 0.05},
}

// TestGraphsKeepTheConventions measures the graphs of hard and of random sets of
// readings, on plain drawings and on each size of graph paper.
func TestGraphsKeepTheConventions(t *testing.T) {
	rng := rand.New(rand.NewPCG(9702, 3))
	cases := append([]straight(nil), hardLines...)
	for i := range 150 {
		span := math.Pow(10, 6*rng.Float64()-3)
		s := straight{name: fmt.Sprintf("random %d", i), n: 4 + rng.IntN(9)}
		s.step = span / float64(s.n-1)
		s.x0 = span * (4*rng.Float64() - 1)
		rise := math.Pow(10, 6*rng.Float64()-3)
		if rng.IntN(3) == 0 {
			rise = -rise
		}
		s.b, s.a, s.scatter = rise/span, rise*(6*rng.Float64()-3), math.Abs(rise)*0.01*rng.Float64()
		cases = append(cases, s)
	}
	papers := []string{"", "paper: A5\n", "paper: A4\n", "paper: 12 x 16 cm\n", "paper: 5 x 5 cm\n", "scale: yes\n"}
	for i, s := range cases {
		t.Run(s.name, func(t *testing.T) {
			options := papers[i%len(papers):][:1]
			if i < len(hardLines) {
				options = papers
			}
			for _, o := range options {
				page := files{"record.md": s.record(rng, o)}.page(t, view.AsWorked)
				graphs := graphsOf(t, page)
				if len(graphs) != 1 {
					t.Fatalf("%d graphs with %q", len(graphs), o)
				}
				graphs[0].title += ", " + o
				graphs[0].hold(t, nil)
				graphs[0].holdTriangle(t)
				graphs[0].holdScale(t, o != "")
				holdSlope(t, page, s)
			}
		})
	}
}

var statement = regexp.MustCompile(`across 1 cm ≙ (\S+)(?: × 10\^?(−?\d+))? kg, up 1 cm ≙ (\S+)(?: × 10\^?(−?\d+))? mm`)

// holdScale: the printed statement is what the ruling says, and a large square
// is a centimetre of the page (a px of CSS is 1/96 inch).
func (g *measuredGraph) holdScale(t *testing.T, paper bool) {
	t.Helper()
	m := statement.FindStringSubmatch(strings.Join(strings.Fields(g.keys), " "))
	if (m != nil) != paper {
		t.Fatalf("the scale is stated: %v, in %q", m != nil, g.keys)
	}
	if m == nil {
		return
	}
	const cm = 96 / 2.54
	if math.Abs(g.squareX/cm-1) > 1e-3 || math.Abs(g.squareY/cm-1) > 1e-3 {
		t.Errorf("a large square is %g by %g px", g.squareX, g.squareY)
	}
	for k, numbers := range [][][2]float64{g.numbersX, g.numbersY} {
		v, _ := inSquare(numbers, cm)
		said := parsedFloat(t, m[1+2*k])
		if math.Abs(said/v-1) > 1e-3 {
			t.Errorf("1 cm is said to stand for %g, on the axis it is %g", said, v)
		}
	}
}

// holdSlope: the slope from the printed corners is that of the line as far as
// three figures tell (each end of a leg is right to half a unit, of a hundred or
// more), however far from zero the readings lie.
func holdSlope(t *testing.T, page string, s straight) {
	t.Helper()
	got := stages(t, page, "graph-slope")
	text, _, _ := strings.Cut(got[len(got)-1], "mm")
	text = strings.NewReplacer("×10", "e", "^", "", " ", "", "\u00a0", "", "−", "-").Replace(text)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatalf("the slope %q: %v", got[len(got)-1], err)
	}
	if miss := math.Abs(v/s.b - 1); miss > 0.0101+20*s.scatter/math.Abs(s.b*s.step*float64(s.n-1)) {
		t.Errorf("the triangle gives %g, the line has %g", v, s.b)
	}
}

// TestMeasuringSeesFaults: the measuring finds what it looks for, in drawings
// that were spoilt.
func TestMeasuringSeesFaults(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	page := files{"record.md": hardLines[2].record(rng, "")}.page(t, view.AsWorked)
	for name, spoil := range map[string]func(*measuredGraph){
		"small":    func(g *measuredGraph) { g.right += 3 * (g.right - g.left) },
		"awkward":  func(g *measuredGraph) { g.squareX *= 1.5 },
		"sparse":   func(g *measuredGraph) { g.squareY /= 10 },
		"blob":     func(g *measuredGraph) { g.marks[1] = "M3 4a2 2 0 1 0 4 0z" },
		"beside":   func(g *measuredGraph) { g.points[0][0] += 3 },
		"label":    func(g *measuredGraph) { g.labels[0] = "mass" },
		"triangle": func(g *measuredGraph) { g.triangle[2] /= 4; g.triangle[3] /= 4 },
		"off":      func(g *measuredGraph) { g.triangle[1] += 5 },
		"reading":  func(g *measuredGraph) { g.points = append(g.points, [2]float64{g.triangle[0], g.points[0][1]}) },
	} {
		g := graphsOf(t, page)[0]
		spoil(g)
		var seen complaints
		g.hold(&seen, nil)
		g.holdTriangle(&seen)
		if seen.n == 0 {
			t.Errorf("%s: nothing was seen", name)
		}
	}
}

// complaints counts the errors of a test that is to fail.
type complaints struct {
	testing.TB
	n int
}

func (c *complaints) Helper()               {}
func (c *complaints) Errorf(string, ...any) { c.n++ }
func (c *complaints) Fatalf(string, ...any) { c.n++ }
