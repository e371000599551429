package blocks_test

import (
	"html"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

// page returns the page of a record in a view.
func (f files) page(t testing.TB, v view.View) string {
	t.Helper()
	return string(buildWith(t, f.write(t), build.Options{Workers: 1, View: v}).HTML)
}

var (
	stageTag = regexp.MustCompile(`(?s)<span class="side">(.*?)</span></div>`)
	anyTag   = regexp.MustCompile(`<[^>]*>`)
)

// stages returns the right-hand sides of a step as text, fractions as "over".
func stages(t testing.TB, page, id string) []string {
	t.Helper()
	at := strings.Index(page, `id="`+id+`"`)
	if at < 0 {
		t.Fatalf("there is no step %s", id)
	}
	step := page[at:]
	if end := strings.Index(step[1:], `<div class="step`); end > 0 {
		step = step[:end]
	}
	var out []string
	for _, m := range stageTag.FindAllStringSubmatch(step, -1) {
		out = append(out, strings.Join(strings.Fields(html.UnescapeString(anyTag.ReplaceAllString(m[1], " "))), " "))
	}
	return out
}

// TestWorkedTextbook reproduces step by step an answer of OpenStax, University
// Physics, volume 1, chapter 12 (elasticity; the figures alone): a climber of
// 90 kg on a nylon rope of 30.0 m and 1.0 cm that stretches by 25.0 cm, with
// g = 9.80 m/s²; the book gives 1.35 × 10⁹ Pa. The steps are those that a
// student writes: 4 × 90 × 9.80 × 30.0 / (π × 0.010² × 0.250) kg m⁻¹ s⁻².
func TestWorkedTextbook(t *testing.T) {
	page := files{"record.md": "```calc\nm = 90 kg\nL = 30.0 m\nd = 1.0 cm\nx = 25.0 cm\ng = 9.80 m/s^2\n" +
		"E = 4 * m * g * L / (pi * d^2 * x) in GPa | Young's modulus\n```\n"}.page(t, view.AsWorked)
	want := []string{
		"4 m g L π d 2 x",
		"4 × 90 kg × 9.80 m / s 2 × 30.0 m π × ( 1.0 cm ) 2 × 25.0 cm",
		"4 × 90 × 9.80 × 30.0 π × ( 0.01 ) 2 × 0.25 kg m − 1 s − 2",
		"1.347 60 × 10 9 Pa",
		"1.348 GPa",
	}
	got := stages(t, page, "calc-E")
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("the steps are\n%s\nnot\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if !strings.Contains(page, "Young&#39;s modulus") {
		t.Error("the reason does not stand beside the step")
	}
	if r := toFigures(t, got[len(got)-1], 3); r != "1.35" {
		t.Errorf("to the book's three figures it is %s", r)
	}
}

// toFigures rounds the number at the beginning of a text to so many figures.
func toFigures(t testing.TB, text string, n int) string {
	t.Helper()
	number, _, _ := strings.Cut(text, " ")
	number, _, _ = strings.Cut(number, "×")
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return strconv.FormatFloat(v, 'g', n, 64)
}

// TestWorkedRod follows the second problem: example 12.8 of the same chapter
// (figures alone), a platform of 550 kg on a rod of 2.0 m and 3.0 × 10⁻⁵ m² of
// steel of 2.0 × 10¹¹ Pa; the book gives a stress of 1.8 × 10⁸ Pa and a stretch
// of 1.8 mm, from stress over modulus times length.
func TestWorkedRod(t *testing.T) {
	page := files{"record.md": "```calc\nm = 550 kg\ng = 9.8 m/s^2\nA = 3.0e-5 m^2\nY = 2.0e11 Pa\nL = 2.0 m\n" +
		"F = m * g in N | weight of the platform\nstress = F / A in Pa | stress in the rod\nstretch = stress / Y * L in mm | stretch\n```\n"}.page(t, view.AsWorked)
	for id, want := range map[string][]string{
		"calc-F":       {"m g", "550 kg × 9.8 m / s 2", "5390 N"},
		"calc-stress":  {"F A", "5390 N 3.0 × 10 − 5 m 2", "1.796 67 × 10 8 Pa", "1.797×10 ^ 8 Pa"},
		"calc-stretch": {"stress Y L", "1.796 67 × 10 8 Pa 2.0 × 10 11 Pa × 2.0 m", "0.001 796 67 m", "1.797 mm"},
	} {
		if got := stages(t, page, id); strings.Join(got, "\n") != strings.Join(want, "\n") {
			t.Errorf("the steps of %s are\n%s\nnot\n%s", id, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}
	for id, want := range map[string]string{"calc-stress": "1.8", "calc-stretch": "1.8"} {
		got := stages(t, page, id)
		if r := toFigures(t, got[len(got)-1], 2); r != want {
			t.Errorf("to the book's two figures %s is %s", id, r)
		}
	}
}

// TestWorkedMean: the readings of a mean are listed as they were read, and the
// zero is taken off.
func TestWorkedMean(t *testing.T) {
	page := files{"record.md": "```instruments\ngauge:\n  resolution: 0.01 mm\n  zero: -0.02 mm\n```\n```data w\nd / mm @gauge\n0.57\n0.55\n0.56\n~0.65 # misread\n–\n```\n" +
		"```calc\nd = mean(w.d) in mm\n```\n"}.page(t, view.AsWorked)
	got := stages(t, page, "calc-d")
	want := []string{"mean ( d w )", "( 0.57 + 0.55 + 0.56 ) mm 3 − ( − 0.020 mm )", "1.68 mm 3 − ( − 0.020 mm )"}
	for i, w := range want {
		if i >= len(got) || got[i] != w {
			t.Fatalf("the steps are %q, not %q", got, want)
		}
	}
	if last := got[len(got)-1]; !strings.HasPrefix(last, "( 0.580 ±") && !strings.HasPrefix(last, "(0.580 ±") {
		t.Errorf("the result is %q", last)
	}
}

// TestWorkedMeanOfOddReadings: divisions of a screw, a power of ten, a negative
// reading and degrees Celsius are listed as numbers that give the sum.
func TestWorkedMeanOfOddReadings(t *testing.T) {
	page := files{"record.md": "```instruments\nscrew: {pitch: 0.5 mm, divisions: 50}\nth: {resolution: 0.1 K}\n```\n" +
		"```data w\nx / mm @screw, z / mm, T / °C @th\n3+12, 1e-3, 20.1\n3+17, -2.5, 20.4\n```\n" +
		"```calc\nx = mean(w.x) in mm\nz = mean(w.z) in mm\nT = mean(w.T) in °C\n```\n"}.page(t, view.AsWorked)
	for id, want := range map[string]string{
		"calc-x": "( 3.12 + 3.17 ) mm 2|6.29 mm 2",
		"calc-z": "( 0.001 + ( − 2.5 ) ) mm 2|− 2.499 mm 2",
		"calc-T": "( 20.1 + 20.4 ) °C 2|40.5 °C 2",
	} {
		got := stages(t, page, id)
		if len(got) < 3 || got[1]+"|"+got[2] != want {
			t.Errorf("the steps of %s are %q", id, got)
		}
	}
}

// TestWorkedMeanInside: a mean inside a formula is worked out before it is put
// in, of a column as it was read and of one that was computed.
func TestWorkedMeanInside(t *testing.T) {
	page := files{"record.md": "```data w\nd / mm\n0.57\n0.55\n0.56\n0.60\n```\n" +
		"```calc\nA = pi * mean(w.d)^2 / 4 in mm^2\nstep = 2 * mean(pairs(w.d, 2))\nalone = mean(w.d)\n```\n"}.page(t, view.AsWorked)
	for id, want := range map[string]string{"calc-A-mean-1": "( 0.57 + 0.55 + 0.56 + 0.60 ) mm 4", "calc-step-mean-1": "( − 0.01 + 0.05 ) mm 2"} {
		if got := stages(t, page, id); len(got) < 4 || got[1] != want {
			t.Errorf("the steps of %s are %q", id, got)
		}
	}
	if strings.Contains(page, "calc-alone-mean") {
		t.Error("a mean that stands alone is worked out twice")
	}
}

// TestWorkedColumnsInOne: of columns that are worked out alike the first row of
// the first is shown.
func TestWorkedColumnsInOne(t *testing.T) {
	page := files{"record.md": "```data w\nm / kg, up / mm, down / mm\n1, 2.14, 2.16\n2, 2.41, 2.44\n3, 2.70, 2.72\n```\n" +
		"```calc\nboth = columns(w.up, w.down)\nrise = 2 * both\n```\n"}.page(t, view.AsWorked)
	got := stages(t, page, "calc-rise")
	if want := "the first: 2 × 2.14 mm = 4.28 mm"; len(got) < 3 || got[1] != want {
		t.Errorf("the steps are %q", got)
	}
}

// TestWorkedUnits: a step keeps to the unit of the result where what goes in
// leads there, and goes by SI where it does not; no stage says what the one
// before has said. A torque stays in N m, a square of time per mass in s²/kg,
// and the radian is shown.
func TestWorkedUnits(t *testing.T) {
	page := files{"record.md": "```instruments\nrule:\n  resolution: 1 mm\noff:\n  resolution: 1 mm\n  zero: 2 mm\n```\n" +
		"```data w\nload / kg @rule2, a / ° , b / °\n0.0, 23.5, 203.0\n1.6, 57.5, 237.0\n```\n```instruments\nrule2:\n  resolution: 0.1 kg\n```\n" +
		"```calc\nleft = 400 mm @rule\nright = 401 mm @off\nsum = left + right\nslope = 21.25(15) °/kg\ng = 9.81 m/s^2\nR = 49.84(3) mm\n" +
		"kappa = g * R / slope in N m\ntwist = slope * (max(w.load) - min(w.load)) in °\nrate = 4 * pi^2 / (29.1(2) N/m) in s^2/kg\nturned = pointmean(w.a, w.b) in °\n```\n"}.page(t, view.AsWorked)
	for id, want := range map[string]string{
		"calc-left":   "400 mm|( 400.00 ± 0.57 ) mm",
		"calc-right":  "401 mm|401 mm − 2.0 mm|( 399.00 ± 0.80 ) mm",
		"calc-sum":    "left + right|400.0 mm + 399.0 mm|799.00 mm|( 799.00 ± 0.98 ) mm",
		"calc-kappa":  "g R slope|9.81 m / s 2 × 49.84 mm 21.25 ° / kg|9.81 × 0.04984 0.370 88 kg m 2 s − 2 rad − 1|1.3183 N m|( 1.318 ± 0.018 ) N m",
		"calc-twist":  "slope × ( max ( load w ) − min ( load w ) )|21.25 ° / kg × ( 1.6 kg − 0.0 kg )|34.0 °|( 34.0 ± 1.8 ) °",
		"calc-rate":   "4 π 2 29.1 N / m|4 × π 2 29.1 N / m|1.356 65 s 2 / kg|( 1.357 ± 0.018 ) s 2 / kg",
		"calc-turned": "pointmean ( a w , b w )|the first: 23.5 ° + 203.0 ° 2 = 113.25 °|113.25, 147.25°",
	} {
		got := spaced(strings.Join(stages(t, page, id), "|"))
		if squeeze(got) != squeeze(want) {
			t.Errorf("the steps of %s are\n%s\nnot\n%s", id, got, want)
		}
	}
}

// squeeze takes the spaces out, and what is said of the coverage.
func squeeze(text string) string {
	return strings.NewReplacer(" ", "", "(95%)", "", "^", "").Replace(strings.ReplaceAll(text, " ", ""))
}

// TestNumbersOfARecord: in a record a formula has all its quantities as numbers,
// what columns give among them, or none.
func TestNumbersOfARecord(t *testing.T) {
	page := files{"record.md": "```data w\nd / mm, m / kg\n16.70, 0.1\n16.75, 0.2\n16.70, –\n```\n" +
		"```calc\nd = 0.806 mm\nD = mean(w.d) - d\ntwice = 2 * w.m\nalone = mean(w.d)\n```\n"}.page(t, view.AsRecord)
	for id, want := range map[string]string{
		"calc-D":     "mean ( d w ) − d|16.717 mm − 0.806 mm|( 15.911 ± 0.072 ) mm",
		"calc-twice": "2 m w|0.2, 0.4 kg",
		"calc-alone": "mean ( d w )|( 16.717 ± 0.072 ) mm",
	} {
		if got := spaced(strings.Join(stages(t, page, id), "|")); squeeze(got) != squeeze(want) {
			t.Errorf("the steps of %s are\n%s\nnot\n%s", id, got, want)
		}
	}
}

var sumRow = regexp.MustCompile(`(?s)id="[^"]*-sums".*?<tbody>(.*?)</tbody>`)

// printedSums reads the rows of the table of sums as a reader copies them.
func printedSums(t testing.TB, page string) [][]float64 {
	t.Helper()
	m := sumRow.FindStringSubmatch(page)
	if m == nil {
		t.Fatal("there is no table of sums")
	}
	var out [][]float64
	for _, row := range strings.Split(m[1], "</tr>") {
		var nums []float64
		for _, cell := range regexp.MustCompile(`(?s)<data [^>]*>(.*?)</data>`).FindAllStringSubmatch(row, -1) {
			text := strings.ReplaceAll(anyTag.ReplaceAllString(strings.ReplaceAll(cell[1], "×10<sup>", "e"), ""), "^", "")
			v, err := strconv.ParseFloat(strings.ReplaceAll(text, "−", "-"), 64)
			if err != nil {
				t.Fatalf("%q: %v", cell[1], err)
			}
			nums = append(nums, v)
		}
		if nums != nil {
			out = append(out, nums)
		}
	}
	return out
}

// TestSumsGiveTheLine: the slope that a reader works out of the printed sums is
// that of the fit, which is computed in another way: of one column, of several
// with a slope in common, through the origin, and weighted.
func TestSumsGiveTheLine(t *testing.T) {
	table := "```instruments\nrod:\n  resolution: 0.1 mm\n```\n```data w\nm / kg, x / mm, y / mm @rod\n0.10, 21.3, 20.9\n0.20, 26.1, 25.8\n0.35, 33.2, 33.3\n0.50, 41.4, –\n0.70, 50.7, 51.2\n```\n"
	for _, c := range []struct {
		name, fit string
		slope     func(rows [][]float64) float64
	}{
		{"one column", "y: w.x\nx: w.m\n", oneSlope},
		{"weighted", "y: w.y\nx: w.m\nweights: stated\n", oneSlope},
		{"through the origin", "y: w.x\nx: w.m\nmodel: proportional\n", func(r [][]float64) float64 { return r[0][4] / r[0][3] }},
		{"two columns", "y: [w.x, w.y]\nx: w.m\n", func(r [][]float64) float64 {
			return (r[0][6] + r[1][6]) / (r[0][5] + r[1][5])
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := files{"record.md": table + "```fit line\n" + c.fit + "```\n```calc\nb = line.slope in mm/kg\n```\n"}
			want := 1e3 * float64(f.build(t).value("b").Value)
			if got := c.slope(printedSums(t, f.page(t, view.AsWorked))); math.Abs(got-want) > 1e-6*math.Abs(want) {
				t.Errorf("the sums give %.9g, the fit %.9g", got, want)
			}
		})
	}
}

func oneSlope(r [][]float64) float64 {
	n, x, y, xx, xy := r[0][0], r[0][1], r[0][2], r[0][3], r[0][4]
	return (n*xy - x*y) / (n*xx - x*x)
}

// TestTriangleIsReadOffTheLine: the coordinates printed beside a graph give the
// slope of the line, and they lie more than half of the line apart, as the
// mark schemes of Cambridge International AS and A Level Physics 9702, paper 3,
// ask for (from memory).
func TestTriangleIsReadOffTheLine(t *testing.T) {
	f := steel(t)
	page := f.page(t, view.AsWorked)
	at := strings.Index(page, `id="graph-slope"`)
	if at < 0 {
		t.Fatal("there is no slope from the triangle")
	}
	var v []float64
	for _, n := range regexp.MustCompile(`<mn>([\d.]+)</mn><mspace`).FindAllStringSubmatch(page[at:at+6000], 4) {
		x, err := strconv.ParseFloat(n[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		v = append(v, x)
	}
	if len(v) != 4 {
		t.Fatalf("coordinates %v", v)
	}
	slope, want := (v[0]-v[1])/(v[2]-v[3]), 1e3*float64(f.build(t).Results.Fits["line"].Coefficients[0].Value)
	if read := 0.01 / (v[0] - v[1]); math.Abs(slope/want-1) > read { // of a leg of three figures, in mm
		t.Errorf("the triangle gives %g, the fit %g", slope, want)
	}
	if along := v[2] - v[3]; along <= 0.5*(4.00-0.50) {
		t.Errorf("the triangle is %g kg long", along)
	}
}

// What is fitted by a formula is named in its sums as the formula is set.
func TestSumsOfAFormula(t *testing.T) {
	page := files{"record.md": "```data v\nm / kg, T / s\n1, 2.0\n2, 2.9\n3, 3.4\n```\n```fit line\ny: v.T^2\nx: v.m\n```\n"}.page(t, view.AsWorked)
	_, caption, _ := strings.Cut(page, "Sums for the line, x = m ")
	caption, _, _ = strings.Cut(caption, "</caption>")
	if !strings.Contains(caption, "<msup>") || strings.Contains(caption, "^") {
		t.Errorf("the sums of T² are of %s", caption)
	}
}
