package blocks_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"

	"example.org/taut/engine/finding"
)

// The four bar methods against beams that are solved by finite elements. No
// worked example with numbers was found in an open text; the elements know
// nothing of the formulas that the methods use: only the stiffness and the
// consistent mass of a short piece of beam, with the shear parameter of
// Timoshenko's theory (common practice; from memory, held to the known roots of
// the characteristic equation and to the elastica below).

// beam is a straight bar cut into equal elements: nodes 0 … n, each with a
// deflection and a slope.
type beam struct {
	n           int
	long        float64 // m
	ei          float64 // N m²
	shear       float64 // κGA, N; 0 for none
	perMetre    float64 // kg/m
	fixed       []int   // degrees of freedom that are held: 2 × node, or + 1 for its slope
	tipMass     float64 // kg at the last node
	stiff, mass *mat.Dense
}

// assemble builds stiffness and mass.
func (b *beam) assemble() {
	n := 2 * (b.n + 1)
	b.stiff, b.mass = mat.NewDense(n, n, nil), mat.NewDense(n, n, nil)
	l := b.long / float64(b.n)
	phi := 0.0
	if b.shear > 0 {
		phi = 12 * b.ei / (b.shear * l * l)
	}
	k := [4][4]float64{
		{12, 6 * l, -12, 6 * l},
		{6 * l, (4 + phi) * l * l, -6 * l, (2 - phi) * l * l},
		{-12, -6 * l, 12, -6 * l},
		{6 * l, (2 - phi) * l * l, -6 * l, (4 + phi) * l * l},
	}
	m := [4][4]float64{
		{156, 22 * l, 54, -13 * l},
		{22 * l, 4 * l * l, 13 * l, -3 * l * l},
		{54, 13 * l, 156, -22 * l},
		{-13 * l, -3 * l * l, -22 * l, 4 * l * l},
	}
	for e := range b.n {
		for i := range 4 {
			for j := range 4 {
				r, c := 2*e+i, 2*e+j
				b.stiff.Set(r, c, b.stiff.At(r, c)+b.ei/((1+phi)*l*l*l)*k[i][j])
				b.mass.Set(r, c, b.mass.At(r, c)+b.perMetre*l/420*m[i][j])
			}
		}
	}
	b.mass.Set(n-2, n-2, b.mass.At(n-2, n-2)+b.tipMass)
	for _, d := range b.fixed {
		for i := range n {
			b.stiff.Set(d, i, 0)
			b.stiff.Set(i, d, 0)
			b.mass.Set(d, i, 0)
			b.mass.Set(i, d, 0)
		}
		b.stiff.Set(d, d, 1)
	}
}

// bend returns the deflections of the nodes under forces, by node.
func (b *beam) bend(t testing.TB, forces map[int]float64) []float64 {
	t.Helper()
	b.assemble()
	n := 2 * (b.n + 1)
	f, u := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for node, force := range forces {
		f.SetVec(2*node, force)
	}
	if err := u.SolveVec(b.stiff, f); err != nil {
		if _, poor := err.(mat.Condition); !poor {
			t.Fatal(err)
		}
	}
	out := make([]float64, b.n+1)
	for i := range out {
		out[i] = u.AtVec(2 * i)
	}
	return out
}

// period returns the longest period of free vibration, by inverse iteration.
func (b *beam) period(t testing.TB) float64 {
	t.Helper()
	b.assemble()
	n := 2 * (b.n + 1)
	var lu mat.LU
	lu.Factorize(b.stiff)
	x, y := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for i := range b.n + 1 {
		x.SetVec(2*i, float64(i*i))
	}
	lambda := 0.0
	for range 60 {
		y.MulVec(b.mass, x)
		over := mat.Dot(x, y)
		if err := lu.SolveVecTo(x, false, y); err != nil {
			if _, poor := err.(mat.Condition); !poor {
				t.Fatal(err)
			}
		}
		y.MulVec(b.mass, x)
		lambda = math.Sqrt(mat.Dot(x, y) / over)
		x.ScaleVec(1/mat.Norm(x, 2), x)
	}
	return 2 * math.Pi * math.Sqrt(lambda)
}

// A bar of the tests: 205 GPa, 25.1 mm by 5.9 mm.
const (
	barE = 205e9
	barW = 25.1e-3
	barT = 5.9e-3
	barG = 9.8124 // m/s²
)

var barEI = barE * barW * barT * barT * barT / 12

// barRecord writes a record with exact readings: loads in kg against readings
// in mm, and further bindings.
func barRecord(method string, loads, readings []float64, lines ...string) files {
	b := &strings.Builder{}
	b.WriteString("```data graph\nload / kg, y / mm\n")
	for i, m := range loads {
		fmt.Fprintf(b, "%.12g, %.12g\n", m, readings[i])
	}
	b.WriteString("```\n")
	role := "reading"
	if method == "cantilever-vibration" {
		role = "timing"
	}
	body := fmt.Sprintf("load = graph.load\n%s = graph.y\nwidth = 25.1 mm\nthickness = 5.9 mm\n", role)
	if role == "reading" {
		body += "gravity = 9.8124 m/s^2\n"
	}
	fmt.Fprintf(b, "```practical bar method=%s\n%s%s\n```\n", method, body, strings.Join(lines, "\n"))
	text := b.String()
	if role == "timing" {
		text = strings.Replace(text, "y / mm", "y / s", 1)
	}
	return files{"record.md": text}
}

var barLoads = []float64{0.5, 1, 1.5, 2, 2.5, 3}

// perKilogram gives the readings, in mm, for what the bar does under 1 kg.
func perKilogram(y float64) []float64 {
	out := make([]float64, len(barLoads))
	for i, m := range barLoads {
		out[i] = 12 + y*m*1e3
	}
	return out
}

func relative(got, want float64) float64 { return math.Abs(got/want - 1) }

// TestBeamElements holds the elements themselves to figures that are known:
// β L = 1.875 104 07 of the clamped-free bar and the roots of the characteristic
// equation with a mass μ m at the end,
// 1 + cos β cosh β + μ β (cos β sinh β − sin β cosh β) = 0 (from memory).
func TestBeamElements(t *testing.T) {
	for _, mu := range []float64{0, 0.2, 1, 5} {
		b := &beam{n: 40, long: 0.8, ei: 3, perMetre: 0.4, fixed: []int{0, 1}, tipMass: mu * 0.4 * 0.8}
		beta := characteristicRoot(mu)
		if mu == 0 && math.Abs(beta-1.87510407) > 1e-8 {
			t.Errorf("β = %.9f, known 1.87510407", beta)
		}
		want := 2 * math.Pi / (beta * beta) * math.Sqrt(0.4*math.Pow(0.8, 4)/3)
		if got := b.period(t); relative(got, want) > 1e-6 {
			t.Errorf("μ = %g: T = %.8g s, by the characteristic equation %.8g s", mu, got, want)
		}
	}
}

func characteristicRoot(mu float64) float64 {
	f := func(b float64) float64 {
		return 1 + math.Cos(b)*math.Cosh(b) + mu*b*(math.Cos(b)*math.Sinh(b)-math.Sin(b)*math.Cosh(b))
	}
	low, high := 0.1, 2.0
	for range 200 {
		mid := (low + high) / 2
		if f(low)*f(mid) <= 0 {
			high = mid
		} else {
			low = mid
		}
	}
	return low
}

// A bar on two edges, loaded in the middle, with both ends sticking out.
func TestBeamCentralLoad(t *testing.T) {
	b := &beam{n: 100, long: 1.0, ei: barEI, fixed: []int{2 * 10, 2 * 90}} // edges 0.8 m apart
	y := b.bend(t, map[int]float64{50: barG})[50]
	w := barRecord("beam-central-load", barLoads, perKilogram(y), "span = 0.8 m").build(t)
	if got := w.get("bar.E"); relative(got, barE) > 1e-7 {
		t.Errorf("E = %.9g, the bar has %.9g", got, barE)
	}
	// A load beside the middle: less sag at its own place, by (1 − 4e²/l²)².
	off := b.bend(t, map[int]float64{56: barG})[56]
	want := math.Pow(1-4*0.06*0.06/(0.8*0.8), 2)
	if relative(off/y, want) > 1e-7 {
		t.Errorf("a load 60 mm beside the middle sags %.8g of that in the middle, want %.8g", off/y, want)
	}
	w = barRecord("beam-central-load", barLoads, perKilogram(off), "span = 0.8 m", "left = 0.46 m", "right = 0.34 m").build(t)
	if !w.has("off_centre") {
		t.Error("a load beside the middle is not noticed")
	}
	// Timoshenko's theory, κ = 5/6 and E/G = 2.6: E_shear takes the shear off.
	thick := &beam{n: 80, long: 0.08, ei: barEI, shear: 5.0 / 6 * barE / 2.6 * barW * barT, fixed: []int{0, 2 * 80}}
	y = thick.bend(t, map[int]float64{40: barG})[40]
	w = barRecord("beam-central-load", barLoads, perKilogram(y*1e2), "span = 0.08 m").build(t) // readings × 100: E / 100
	if got := 100 * w.get("bar.E_shear"); relative(got, barE) > 2e-4 {
		t.Errorf("E without the shear = %.6g, the bar has %.6g", got, barE)
	}
	if !w.has("thick_bar") {
		t.Error("1.7 % of shear is not noticed")
	}
}

// A bar with loads at both ends, beyond the edges. The rise of the middle is
// that of the mean moment, even where overhangs or loads differ.
func TestBeamUniformBending(t *testing.T) {
	for _, c := range []struct {
		left, right         int // cm of overhang
		loadLeft, loadRight float64
		slugs               string
	}{{20, 20, 1, 1, ""}, {18, 22, 1, 1, "uneven_ends"}, {20, 20, 1.1, 0.9, "uneven_loads"}} {
		span := 60
		n := c.left + span + c.right
		b := &beam{n: n, long: float64(n) / 100, ei: barEI, fixed: []int{2 * c.left, 2 * (c.left + span)}}
		y := -b.bend(t, map[int]float64{0: barG * c.loadLeft, n: barG * c.loadRight})[c.left+span/2]
		lines := []string{"span = 0.6 m", "overhang = ends.left, ends.right"}
		f := barRecord("beam-uniform-bending", barLoads, perKilogram(y), lines...)
		text := fmt.Sprintf("```data ends\nleft / cm, right / cm\n%d, %d\n%d, %d\n```\n", c.left, c.right, c.left, c.right)
		if c.loadLeft != c.loadRight {
			f["record.md"] = strings.Replace(f["record.md"], "load = graph.load\n", "load = 1.1 * graph.load\nload_right = 0.9 * graph.load\n", 1)
		}
		f["record.md"] = text + f["record.md"]
		w := f.build(t)
		if got := w.get("bar.E"); relative(got, barE) > 1e-7 {
			t.Errorf("%+v: E = %.9g, the bar has %.9g", c, got, barE)
		}
		for _, slug := range []string{"uneven_ends", "uneven_loads"} {
			if w.has(slug) != (slug == c.slugs) {
				t.Errorf("%+v: finding %s: %t", c, slug, w.has(slug))
			}
		}
	}
}

// A cantilever, and one whose clamp lets the bar bend inside it.
func TestCantileverLoad(t *testing.T) {
	b := &beam{n: 80, long: 0.4, ei: barEI, fixed: []int{0, 1}}
	y := b.bend(t, map[int]float64{80: barG})[80]
	w := barRecord("cantilever-load", barLoads, perKilogram(y), "length = 0.4 m").build(t)
	if got := w.get("bar.E"); relative(got, barE) > 1e-7 {
		t.Errorf("E = %.9g, the bar has %.9g", got, barE)
	}
	// The clamp holds 12 mm inside its edge.
	series := "```data lengths\nl / cm, bare / mm, loaded / mm\n"
	var long float64
	for cm := 20; cm <= 40; cm += 5 {
		b := &beam{n: 100, long: float64(cm)/100 + 0.012, ei: barEI, fixed: []int{0, 1}}
		long = b.bend(t, map[int]float64{100: barG})[100]
		series += fmt.Sprintf("%d, 5, %.12g\n", cm, 5+1e3*long)
	}
	f := barRecord("cantilever-load", barLoads, perKilogram(long), "length = 0.4 m", "other_length = lengths.l", "other_reading = lengths.bare, lengths.loaded")
	f["record.md"] = series + "```\n" + f["record.md"]
	w = f.build(t)
	if got := w.get("bar.extra"); math.Abs(got-0.012) > 1e-8 {
		t.Errorf("the clamp adds %.9g m, want 0.012 m", got)
	}
	if got := w.get("bar.E_extra"); relative(got, barE) > 1e-6 {
		t.Errorf("E with the clamp's length = %.9g, the bar has %.9g", got, barE)
	}
	if !w.has("clamp_give") {
		t.Error("the clamp's length is not noticed")
	}
}

// The elastica: a load that keeps its direction at the end of a bar that keeps
// its length, d²θ/ds² = −(F/EI) cos θ, solved by shooting with fourth-order steps.
// Its deflection falls short of the formula by (36/35)(δ/L)².
func TestCantileverElastica(t *testing.T) {
	for _, alpha := range []float64{0.05, 0.1, 0.3} { // F L²/(E I)
		tip := elastica(alpha)
		small := alpha / 3
		short := 1 - tip/small
		if want := 36.0 / 35 * small * small; relative(short, want) > 0.02 {
			t.Errorf("δ/L = %.3f: short by %.6f, want %.6f", small, short, want)
		}
	}
	// At δ/L = 0.1 that is 1 %.
	if short := 1 - elastica(0.3)/0.1; math.Abs(short-0.01) > 0.0005 {
		t.Errorf("at a tenth of the length the formula errs by %.4f", short)
	}
}

// elastica returns δ/L for α = F L²/(E I).
func elastica(alpha float64) float64 {
	const steps = 2000
	shoot := func(bend float64) (theta, slope, y float64) {
		type state [3]float64 // θ, dθ/ds, y
		f := func(s state) state { return state{s[1], -alpha * math.Cos(s[0]), math.Sin(s[0])} }
		at := func(s state, h float64, d state) state {
			return state{s[0] + h*d[0], s[1] + h*d[1], s[2] + h*d[2]}
		}
		s, h := state{0, bend, 0}, 1.0/steps
		for range steps {
			k1 := f(s)
			k2 := f(at(s, h/2, k1))
			k3 := f(at(s, h/2, k2))
			k4 := f(at(s, h, k3))
			for i := range s {
				s[i] += h / 6 * (k1[i] + 2*k2[i] + 2*k3[i] + k4[i])
			}
		}
		return s[0], s[1], s[2]
	}
	low, high := 0.0, 2*alpha
	for range 100 {
		mid := (low + high) / 2
		if _, slope, _ := shoot(mid); slope > 0 {
			high = mid
		} else {
			low = mid
		}
	}
	_, _, y := shoot(low)
	return y
}

// A cantilever that swings with loads at its end. T² is nearly a straight line:
// the factor of the bar's mass runs from 0.2427 to 0.2357.
func TestCantileverVibration(t *testing.T) {
	bar := 7850 * barW * barT * 0.9
	loads := []float64{0.5, 1, 1.5, 2, 2.5, 3}
	times := make([]float64, len(loads))
	for i, m := range loads {
		b := &beam{n: 40, long: 0.9, ei: barEI, perMetre: bar / 0.9, fixed: []int{0, 1}, tipMass: m}
		times[i] = 30 * b.period(t)
	}
	f := barRecord("cantilever-vibration", loads, times, "length = 0.9 m", "swings = 30", "sideways = yes",
		fmt.Sprintf("bar_mass = %.9g kg", bar/0.9), "bar_length = 1 m")
	w := f.build(t)
	if got := w.get("bar.E"); relative(got, barE) > 1e-3 {
		t.Errorf("E = %.6g, the bar has %.6g", got, barE)
	}
	// The intercept holds a factor between 33/140 and 3/1.8751⁴.
	if c := w.get("bar.effective") / bar; c < 33.0/140 || c > 3/math.Pow(1.87510407, 4) {
		t.Errorf("the factor of the bar's mass is %.5f", c)
	}
	if got := w.get("bar.free"); relative(got, bar) > 1e-8 {
		t.Errorf("mass of the free part %.6g kg, the bar has %.6g", got, bar)
	}
	// The bar alone, T² = 4π² m L³/(3 E I) · 3/1.8751⁴.
	b := &beam{n: 40, long: 0.9, ei: barEI, perMetre: bar / 0.9, fixed: []int{0, 1}}
	alone := b.period(t)
	factor := alone * alone * 3 * barEI / (4 * math.Pi * math.Pi * bar * math.Pow(0.9, 3))
	if math.Abs(factor-0.24267) > 0.00001 {
		t.Errorf("the bar alone counts with %.6f of its mass, known 0.24267", factor)
	}
	// The method's own simulation uses 33/140 + 0.006958/(1 + 4.28 M/m).
	for _, mu := range []float64{0, 0.1, 0.3, 1, 3} {
		exact := 3/math.Pow(characteristicRoot(mu+1e-12), 4) - mu
		if got := 33.0/140 + 0.006958/(1+4.28*mu); math.Abs(got-exact) > 2e-5 {
			t.Errorf("M/m = %g: factor %.6f, exactly %.6f", mu, got, exact)
		}
	}
}

// E goes with the powers of the lengths that theory gives it, and a change of
// units changes nothing.
func TestBeamScaling(t *testing.T) {
	for _, c := range []struct {
		method, span string
		lines        []string
		power        float64
	}{
		{"beam-central-load", "span", nil, 3},
		{"beam-uniform-bending", "span", []string{"overhang = 0.2 m"}, 2},
		{"beam-uniform-bending", "overhang", []string{"span = 0.6 m"}, 1},
		{"cantilever-load", "length", nil, 3},
		{"cantilever-vibration", "length", []string{"swings = 10", "sideways = yes"}, 3},
	} {
		readings := []float64{2, 3, 4, 5, 6, 7}
		if c.method == "cantilever-vibration" {
			for i := range readings {
				readings[i] = 10 * math.Sqrt(readings[i]/4)
			}
		}
		e := func(long string, replace ...string) float64 {
			f := barRecord(c.method, barLoads, readings, append(c.lines, c.span+" = "+long)...)
			f["record.md"] = strings.NewReplacer(replace...).Replace(f["record.md"])
			w := buildAnyway(t, f.write(t), 1)
			return w.get("bar.E")
		}
		base := e("0.5 m")
		for _, p := range []struct {
			what      string
			got, want float64
		}{
			{"twice the length", e("1 m"), math.Pow(2, c.power)},
			{"the length in cm", e("50 cm"), 1},
			{"half the thickness", e("0.5 m", "thickness = 5.9 mm", "thickness = 2.95 mm"), 8},
			{"twice the width", e("0.5 m", "width = 25.1 mm", "width = 5.02 cm"), 0.5},
			{"loads in grams", e("0.5 m", "load / kg", "load / g"), 1e-3},
		} {
			if relative(p.got/base, p.want) > 1e-9 {
				t.Errorf("%s, %s with %s: E changes by %.9g, want %.9g", c.method, c.span, p.what, p.got/base, p.want)
			}
		}
	}
}

// With nothing but the needed roles, and each of them as little as it may be,
// a method works without errors.
func TestBeamLeast(t *testing.T) {
	for method, lines := range map[string][]string{
		"beam-central-load":    {"span = 0.8 m"},
		"beam-uniform-bending": {"span = 0.6 m", "overhang = 0.2 m"},
		"cantilever-load":      {"length = 0.5 m"},
		"cantilever-vibration": {"length = 0.9 m", "swings = 20"},
	} {
		for _, n := range []int{2, 3, 6} {
			readings := []float64{8, 9.1, 9.9, 11, 12.1, 13}
			w := buildAnyway(t, barRecord(method, barLoads[:n], readings[:n], lines...).write(t), 1)
			for _, f := range w.Findings {
				if f.Severity == finding.Error {
					t.Errorf("%s, %d rows: %s: %s", method, n, f.Slug, f.Message)
				}
			}
			if w.get("bar.E") <= 0 {
				t.Errorf("%s, %d rows: E = %g", method, n, w.get("bar.E"))
			}
		}
	}
}

// The examples were made from these moduli, an aluminium bar, a brass bar and
// two of steel; one of them in a clamp that gives way by 9 mm.
func TestBeamExamples(t *testing.T) {
	for _, c := range []struct {
		name, result string
		want         float64
		loud         string
	}{
		{"beam-central-load", "E", 99.3e9, ""},
		{"beam-uniform-bending", "E", 69.6e9, ""},
		{"cantilever-load", "E_extra", 207e9, "clamp_give"},
		{"cantilever-vibration", "E", 207e9, ""},
	} {
		w := buildFile(t, "../examples/"+c.name+"/record.md", 1)
		v := w.value("young." + c.result)
		if u := float64(*v.U); math.Abs(float64(v.Value)-c.want) > 2.5*u {
			t.Errorf("%s: %s = %.5g ± %.2g, the readings were made with %.5g", c.name, c.result, float64(v.Value), u, c.want)
		}
		if got := strings.Join(w.slugs(finding.Caution), " "); got != c.loud {
			t.Errorf("%s: cautions %q, want %q", c.name, got, c.loud)
		}
	}
}

// A timing that holds a swing too many is found, in the example before it was
// struck there.
func TestMiscountedExample(t *testing.T) {
	f := readFolder(t, "../examples/cantilever-vibration")
	w := f.with(t, "swing.csv", "~26.28    # one swing too many was counted", "26.28").build(t)
	if got := strings.Join(w.slugs(finding.Caution), " "); got != "miscounted" {
		t.Errorf("cautions %q, want miscounted", got)
	}
}
