package blocks_test

import (
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// published builds a record of testdata/published.
func published(t *testing.T, name string) *whole {
	t.Helper()
	w := buildFile(t, "../testdata/published/"+name+".md", 0)
	if c := w.slugs(finding.Caution); len(c) > 0 {
		t.Errorf("%s: cautions %v", name, c)
	}
	return w
}

// figure is a published figure. The tolerance is half a unit of the last digit
// printed, where nothing else is said.
type figure struct {
	what            string
	want, tolerance float64
}

func (w *whole) holds(list []figure) {
	w.t.Helper()
	for _, f := range list {
		w.near(f.what, f.want, f.tolerance)
	}
}

// GUM (JCGM 100:2008), H.1, Table H.1 and H.1.5 to H.1.7. Source read.
func TestGUMEndGauge(t *testing.T) {
	w := published(t, "gum-h1")
	w.holds([]figure{
		{"l", 50.000838e-3, 0.5e-9},
		{"u(l_S)", 25e-9, 0.5e-9},
		{"u(d_bar)", 5.8e-9, 0.05e-9},
		{"u(d_1)", 3.9e-9, 0.05e-9},
		{"u(d_2)", 6.7e-9, 0.05e-9},
		{"u(d)", 9.7e-9, 0.05e-9},
		{"dof(d)", 25.6, 0.05},
		{"u(alpha_S)", 1.2e-6, 0.05e-6},
		{"u(Delta)", 0.35, 0.005},
		{"u(theta)", 0.41, 0.005},
		{"u(d_alpha)", 0.58e-6, 0.005e-6},
		{"u(d_theta)", 0.029, 0.0005},
		{"u(expansion)", 2.9e-9, 0.05e-9},
		{"u(temperature)", 16.6e-9, 0.05e-9},
		{"u(l)", 32e-9, 0.5e-9},
		{"u(l)", math.Sqrt(1002) * 1e-9, 0.01e-9}, // u_c² = 1002 nm²
		// The printed quotient has (32 nm)⁴ on top, which gives 17.5; 16.7 comes
		// from the unrounded 31.66 nm.
		{"dof(l)", 16.7, 0.05},
		{"k(l)", 2.92, 0.005}, // t99(16)
		// 93 nm is 2.92 × 32 nm, both rounded; without rounding on the way it is
		// 2.9208 × 31.658 nm = 92.5 nm. Both are accepted.
		{"U(l)", 92.5e-9, 1e-9},
		// U/l is printed from the rounded 32 nm: 6.4e-7.
		{"relative", 6.4e-7, 0.1e-7},
	})
	// Alpha_S and theta act in the second order only: sensitivities c = 0.
	shown, quantities, _ := strings.Cut(w.text(), "Quantities: where each comes from")
	if !strings.Contains(quantities, "alpha_S: limits") { // among the sources of alpha_S itself
		t.Error("the table of quantities was not found")
	}
	if strings.Contains(shown, "alpha_S: limits") {
		t.Error("alpha_S has a line in the budget, but the sensitivity to it is 0")
	}
}

var typedDOF = regexp.MustCompile(` dof=\d+`)

// GUM H.1.7: the second-order terms raise u(l) from 32 nm to 34 nm. A Monte
// Carlo evaluation holds them by nature; the degrees of freedom are taken
// away, since a t distribution is wider than its standard uncertainty.
func TestGUMEndGaugeSecondOrder(t *testing.T) {
	text, err := os.ReadFile("../testdata/published/gum-h1.md")
	if err != nil {
		t.Fatal(err)
	}
	w := files{"record.md": typedDOF.ReplaceAllString(string(text), "")}.build(t)
	w.near("u(l)", 31.66e-9, 0.01e-9)
	// 200 000 draws: the standard deviation of u is u/√(2 M) = 0.053 nm.
	if u := float64(w.Results.MonteCarlo["l"].U); math.Abs(u-33.80e-9) > 0.2e-9 {
		t.Errorf("u by Monte Carlo = %.4g nm, published 34 (33.80)", u*1e9)
	}
}

// GUM H.2. Readings taken at once are correlated, and the record language does
// not carry that from mean to mean: every mean is a source of its own. The
// guide's second approach needs no such thing; its first one (Table H.3, u(R) =
// 0.071 Ω from means) would need the covariances of means over the same rows,
// s(V, I)/n, as correlations between their sources. Formulas of means give
// Table H.5, of which the guide says that it is wrong for such readings.
// Source read.
func TestGUMImpedance(t *testing.T) {
	published(t, "gum-h2").holds([]figure{
		// Table H.2.
		{"V", 4.9990, 0.00005}, {"u(V)", 0.0032, 0.00005},
		{"I", 19.6610e-3, 0.00005e-3}, {"u(I)", 0.0095e-3, 0.00005e-3},
		{"phi", 1.04446, 0.000005}, {"u(phi)", 0.00075, 0.000005},
		// Table H.4.
		{"R", 127.732, 0.0005}, {"u(R)", 0.071, 0.0005},
		{"X", 219.847, 0.0005}, {"u(X)", 0.295, 0.0005},
		{"Z", 254.260, 0.0005}, {"u(Z)", 0.236, 0.0005},
		{"r_RX", -0.588, 0.0005}, {"r_RZ", -0.485, 0.0005}, {"r_XZ", 0.993, 0.0005},
		// Table H.5: correlations left out.
		{"u(R_apart)", 0.195, 0.0005}, {"u(X_apart)", 0.201, 0.0005}, {"u(Z_apart)", 0.204, 0.0005},
		{"R_apart", 127.732, 0.0005}, {"X_apart", 219.847, 0.0005}, {"Z_apart", 254.260, 0.0005},
	})
}

// GUM H.3, Table H.6 and equations (H.14) to (H.17a). Source read.
func TestGUMThermometer(t *testing.T) {
	w := published(t, "gum-h3")
	w.holds([]figure{
		{"line.intercept", -0.1712, 0.00005}, {"u(line.intercept)", 0.0029, 0.00005},
		{"line.slope", 0.00218, 0.000005}, {"u(line.slope)", 0.00067, 0.000005},
		{"corr(line)", -0.930, 0.0005}, {"line.s", 0.0035, 0.00005},
		{"b_30", -0.1494, 0.00005}, {"u(b_30)", 0.0041, 0.00005},
		// 17.1e-6 is the square of the unrounded value; the rounded ones give 17.2e-6.
		{"u(b_30)", math.Sqrt(17.1e-6), 0.5 * 0.1e-6 / 0.0041 / 2 * 1.1},
		{"dof(b_30)", 9, 1e-9}, {"dof(line.slope)", 9, 1e-9},
		{"centred.intercept", -0.1625, 0.00005}, {"u(centred.intercept)", 0.0011, 0.00005},
		{"u(centred.slope)", 0.00067, 0.000005}, {"corr(centred)", 0, 1e-12},
	})
	want := []float64{-0.1679, -0.1668, -0.1657, -0.1646, -0.1635, -0.1625, -0.1614, -0.1603, -0.1592, -0.1581, -0.1570}
	got := w.Results.Columns["b_all"].Values
	for i, v := range want {
		if math.Abs(float64(got[i])-v) > 0.00005 {
			t.Errorf("b(t_%d) = %g, published %g", i+1, float64(got[i]), v)
		}
	}
	// H.3.2: the reference temperature does not matter. From absolute zero the
	// line is a lever 70 times as long, so some digits are lost.
	w.near("b_30_too", w.get("b_30"), 1e-13)
	w.near("u(b_30_too)", w.get("u(b_30)"), 1e-13)
	w.says("The correction at 30 °C is −0.1494(41) K")
}

// GUM 7.2.2, 7.2.4 and 7.2.6: the notations, read and written. Source read.
func TestGUMNotations(t *testing.T) {
	w := published(t, "gum-7.2")
	for _, name := range []string{"form_1", "form_2", "form_3", "form_4", "nine"} {
		w.same(name, 0.10002147)
		w.same("u("+name+")", 0.35e-6)
	}
	w.holds([]figure{
		{"k(nine)", 2.26, 0.005},
		{"U(nine)", 0.79e-6, 0.005e-6},
	})
	w.says(
		"Form 1 is 100.02147(35) g, form 2 100.02147(35) g, form 3 100.02147(35) g, form 4 100.02147(35) g.",
		"Expanded: (100.02147 ± 0.00079) g (95 %).",
		"In full: (100.02147 ± 0.00079) g, where the number after ± is the expanded uncertainty",
		"u = 0.00035 g and the coverage factor k = 2.26 of the t-distribution for ν = 9 degrees of freedom",
		"about 95 %",
		"Rounded: 10.058 Ω.",
	)
	// Without a word a typed ± means limits, not a standard uncertainty.
	limits := calc(t, "", "m = (100.02147 ± 0.00035) g")
	limits.same("u(m)", 0.35e-6/math.Sqrt(3))
}

// JCGM 101:2008, 9.2.2 and 9.2.3. Source read.
//
// The ends of a shortest interval scatter more than those of a symmetric one:
// to shift it by δ loses z φ(z) δ²/σ² of its coverage, which for σ = 2 and 10⁶
// draws is within the scatter of the counts up to δ ≈ 0.04; the length is
// steady. The guide's own runs scatter by 0.02.
func TestJCGM101Additive(t *testing.T) {
	w := published(t, "jcgm-101-9.2")
	for _, c := range []struct {
		name           string
		half           float64
		mean, u, width float64
	}{
		{"N", 3.92, 0, 2.00, 2 * 3.92},
		{"R", 3.88, 0, 2.00, 2 * 3.88}, // 2 √3 (2 − (3/5)^¼)
	} {
		m := w.Results.MonteCarlo[c.name]
		if m.Trials != 1_000_000 {
			t.Errorf("%s: %d trials", c.name, m.Trials)
		}
		for _, f := range []struct {
			what                 string
			got, want, tolerance float64
		}{
			{"mean", float64(m.Mean), c.mean, 0.008}, // 4 σ/√M
			{"u", float64(m.U), c.u, 0.005},
			{"length of the interval", float64(m.High - m.Low), c.width, 0.02},
			{"low end", float64(m.Low), -c.half, 0.05},
			{"high end", float64(m.High), c.half, 0.05},
		} {
			if !(math.Abs(f.got-f.want) <= f.tolerance) {
				t.Errorf("%s: %s = %.5g, published %g", c.name, f.what, f.got, f.want)
			}
		}
		w.near("u("+c.name+")", 2, 1e-12)
		w.near("U("+c.name+")", 3.92, 0.005)
	}
	// The verdict is clear for the normal case only: in the other one the guide's
	// own runs disagree.
	if !strings.Contains(w.section("normal"), "the first-order evaluation is validated") {
		t.Error("the evaluation of the normal sum is not validated")
	}
}

// ISO/TS 28037:2010, clause 6. From memory, data and results.
func TestISO28037(t *testing.T) {
	w := published(t, "iso-28037")
	w.holds([]figure{
		{"line.intercept", 1.867, 0.0005}, {"u(line.intercept)", 0.465, 0.0005},
		{"line.slope", 1.757, 0.0005}, {"u(line.slope)", 0.120, 0.0005},
		{"cov(line)", -0.050, 0.0005}, {"line.chi2", 1.665, 0.0005}, {"line.dof", 4, 0},
	})
	if !math.IsInf(w.dof("line.slope"), 1) {
		t.Error("stated uncertainties have degrees of freedom")
	}
}

// Pearson's data with York's weights. Data, slope and intercept are those of
// York (1966), Tables I and II, as a test file of a public numerical library
// quotes them; the standard errors are those of York et al. (2004), adjusted
// points, not scaled, from memory. Other conventions give 0.0576 (second
// derivatives of χ²), 0.0583 (observed points) and 0.0706 (scaled) for the slope.
func TestYorkPearson(t *testing.T) {
	published(t, "york").holds([]figure{
		{"line.slope", -0.48053340744620, 1e-12}, {"line.intercept", 5.47991022403286, 1e-11},
		{"u(line.slope)", 0.05799, 1e-5}, {"u(line.intercept)", 0.29497, 0.5e-5},
		{"line.chi2", 11.866, 0.0005}, {"line.dof", 8, 0},
	})
}

// OpenStax, University Physics, volume 1, chapter 12: figures of a problem on
// a nylon rope and of example 12.8. Source read.
func TestOpenStax(t *testing.T) {
	w := published(t, "openstax")
	w.holds([]figure{{"Y", 1.35e9, 0.005e9}, {"stress", 1.8e8, 0.05e8}, {"stretch", 1.8e-3, 0.05e-3}})
	// The claims in the text are held against the same numbers.
	wrong := readFolder(t, "../testdata/published")
	wrong["record.md"] = wrong["openstax.md"]
	wrong = wrong.with(t, "record.md", "?[Y = 1.35e9 Pa]", "?[Y = 1.36e9 Pa]")
	if out := buildAnyway(t, wrong.write(t), 1); out.Count(finding.Error) != 1 {
		t.Errorf("a wrong claim gives %v", out.slugs(finding.Error))
	}
}
