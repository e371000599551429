package blocks_test

import (
	"math"
	"strings"
	"testing"
)

// The rules by which readings carry uncertainty, each with numbers worked out
// by hand. Throughout, r is the standard uncertainty of one resolution of
// 0.1 mm: a rectangular distribution of half-width 0.05 mm.
var r = 0.1e-3 / math.Sqrt(12)

// gauge is an instrument block: resolution 0.1 mm and further keys.
func gauge(keys ...string) string {
	return "```instruments\ngauge:\n  resolution: 0.1 mm\n  " + strings.Join(keys, "\n  ") + "\n```\n"
}

// readings is a data block with one or two columns in mm by the gauge.
func readings(head string, rows ...string) string {
	return "```data t\n" + head + "\n" + strings.Join(rows, "\n") + "\n```\n"
}

const one = "a / mm @gauge"

func root(squares ...float64) float64 {
	sum := 0.0
	for _, x := range squares {
		sum += x * x
	}
	return math.Sqrt(sum)
}

// welch is the effective number of degrees of freedom where one contribution
// has limited ones.
func welch(u, part, dof float64) float64 { return dof * math.Pow(u/part, 4) }

func TestReadingRules(t *testing.T) {
	scattered := readings(one, "1.0", "1.2", "1.1", "1.3") // mean 1.15; s² = 0.05/3 mm²
	typeA := math.Sqrt(0.05/3) / 2 * 1e-3                  // s/√4
	identical := readings(one, "0.5", "0.5", "0.5", "0.5")
	for _, c := range []struct {
		name, before, statement string
		value, u, dof           float64
	}{
		// A mean of readings of one thing: the resolution once.
		{"identical readings", gauge() + identical, "mean(t.a)", 0.5e-3, r, math.Inf(1)},
		{"scatter and resolution", gauge() + scattered, "mean(t.a)", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},
		{"one reading", gauge() + readings(one, "0.5"), "mean(t.a)", 0.5e-3, r, math.Inf(1)},
		{"a hole is no reading", gauge() + readings(one, "1.0", "–", "1.2", "1.1", "1.3"), "mean(t.a)", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},
		{"a struck row is no reading", gauge() + readings(one, "1.0", "~9.9 # slipped", "1.2", "1.1", "1.3"), "mean(t.a)", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},
		{"two columns pooled", gauge() + readings("a / mm @gauge, b / mm @gauge", "1.0, 1.1", "1.2, 1.3"), "mean(t.a, t.b)", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},
		{"a mean of two-way means", gauge() + readings("a / mm @gauge, b / mm @gauge", "0.9, 1.1", "1.1, 1.3", "1.0, 1.2", "1.2, 1.4"), "mean(pointmean(t.a, t.b))", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},

		// Means of differences: the resolutions average out, and are a floor.
		// pairs: c = −½, −½, ½, ½, so that a = 0 and q = r.
		{"pairs without scatter", gauge() + readings(one, "1.0", "2.0", "3.0", "4.0"), "mean(pairs(t.a, 2))", 2e-3, r, 1},
		// Differences 2.0 and 2.6: s/√2 = 0.3 mm is more than r.
		{"pairs with scatter", gauge() + readings(one, "1.0", "2.0", "3.0", "4.6"), "mean(pairs(t.a, 2))", 2.3e-3, 0.3e-3, 1},
		// steps: all but the ends cancel, c = −⅓, 0, 0, ⅓: q = √2/3 r.
		{"steps without scatter", gauge() + readings(one, "1.0", "2.0", "3.0", "4.0"), "mean(steps(t.a))", 1e-3, math.Sqrt2 / 3 * r, 2},
		{"steps with zero and calibration", gauge("zero: 0.2 mm", "calibration: ± 0.3 mm") + readings(one, "1.0", "2.0", "3.0", "4.0"), "mean(steps(t.a))", 1e-3, math.Sqrt2 / 3 * r, 2},

		// Sums, differences and row by row: resolutions are independent.
		{"a difference", gauge("zero: 0.2 mm", "calibration: ± 0.3 mm"), "3.0 mm @gauge - 1.0 mm @gauge", 2e-3, math.Sqrt2 * r, math.Inf(1)},
		{"a sum has the zero twice", gauge("zero: 0.2 mm"), "3.0 mm @gauge + 1.0 mm @gauge", 3.6e-3, root(math.Sqrt2*r, 2*r), math.Inf(1)},
		{"a two-way mean of one row", gauge() + readings("a / mm @gauge, b / mm @gauge", "1.0, 1.2"), "first(pointmean(t.a, t.b))", 1.1e-3, r / math.Sqrt2, math.Inf(1)},

		// The zero is a reading itself.
		{"no zero", gauge(), "1.0 mm @gauge", 1e-3, r, math.Inf(1)},
		{"zero read as 0", gauge("zero: 0 mm"), "1.0 mm @gauge", 1e-3, root(r, r), math.Inf(1)},
		{"zero with its own uncertainty", gauge("zero: 0.2 mm ± 0.03 mm std"), "1.0 mm @gauge", 0.8e-3, root(r, 0.03e-3), math.Inf(1)},
		{"a zero below", gauge("zero: -0.2 mm"), "1.0 mm @gauge", 1.2e-3, root(r, r), math.Inf(1)},
		// s = 0.1 mm, n = 3.
		{"a list of zeros", gauge("zero: [0.1 mm, 0.3 mm, 0.2 mm]"), "1.0 mm @gauge", 0.8e-3, root(r, r, 0.1e-3/math.Sqrt(3)),
			welch(root(r, r, 0.1e-3/math.Sqrt(3)), 0.1e-3/math.Sqrt(3), 2)},
		{"the zero passes through a mean", gauge("zero: 0.2 mm") + scattered, "mean(t.a)", 0.95e-3, root(typeA, r, r), welch(root(typeA, r, r), typeA, 3)},

		// Calibration: an error of indication, with limits common to all.
		{"calibration", gauge("calibration: ± 0.3 mm k=2"), "1.0 mm @gauge", 1e-3, root(r, 0.15e-3), math.Inf(1)},
		{"calibration with an error", gauge("zero: 0.2 mm", "calibration: +0.3 mm ± 0.06 mm"), "1.0 mm @gauge", 0.5e-3, root(r, r, 0.06e-3/math.Sqrt(3)), math.Inf(1)},
		{"calibration of a mean", gauge("calibration: ± 0.3 mm k=2") + identical, "mean(t.a)", 0.5e-3, root(r, 0.15e-3), math.Inf(1)},
		// The scale acts on what is corrected: 10.0 − 0.2 mm, 1 %.
		{"scale", gauge("zero: 0.2 mm", "scale: ± 1 % std"), "10.0 mm @gauge", 9.8e-3, root(r, r, 0.098e-3), math.Inf(1)},
		{"scale of a difference", gauge("zero: 0.2 mm", "scale: ± 1 % std"), "10.0 mm @gauge - 4.0 mm @gauge", 6e-3, root(math.Sqrt2*r, 0.06e-3), math.Inf(1)},
		// Each: fresh at every reading, so it averages out, as a floor of the
		// scatter.
		{"each", gauge("each: ± 0.06 mm std"), "1.0 mm @gauge", 1e-3, root(r, 0.06e-3), math.Inf(1)},
		{"each in a mean", gauge("each: ± 0.06 mm std") + identical, "mean(t.a)", 0.5e-3, root(r, 0.03e-3), welch(root(r, 0.03e-3), 0.03e-3, 3)},
		{"each below the scatter", gauge("each: ± 0.06 mm std") + scattered, "mean(t.a)", 1.15e-3, root(typeA, r), welch(root(typeA, r), typeA, 3)},
		{"each in a difference", gauge("each: ± 0.06 mm std"), "3.0 mm @gauge - 1.0 mm @gauge", 2e-3, root(math.Sqrt2*r, math.Sqrt2*0.06e-3), math.Inf(1)},

		// Two instruments in one mean, three readings and one: ¾ of one
		// resolution and ¼ of the other, 0.5 mm.
		{"two instruments in one mean", gauge() + "```instruments\nrule:\n  resolution: 0.5 mm\n```\n" + readings(one, "1.0", "1.0", "1.0") + "```data s\nb / mm @rule\n1.0\n```\n",
			"mean(t.a, s.b)", 1e-3, root(0.75*r, 0.25*5*r), math.Inf(1)},
		// A screw: pitch and divisions make the resolution; main scale + divisions.
		{"main scale and divisions", "```instruments\ngauge:\n  pitch: 0.5 mm\n  divisions: 50\n```\n" + readings(one, "3.5+12"), "first(t.a)", 3.62e-3, r / 10, math.Inf(1)},
		// A sum of readings: resolutions are independent.
		{"a sum of a column", gauge() + identical, "sum(t.a)", 2e-3, 2 * r, math.Inf(1)},
		// A cell with an uncertainty of its own beside the resolution.
		{"a cell with its own uncertainty", gauge() + readings(one, "1.0 ± 0.04 std"), "first(t.a)", 1e-3, root(r, 0.04e-3), math.Inf(1)},
		// No instrument: the scatter alone.
		{"no instrument", readings("a / mm", "1.0", "1.2", "1.1", "1.3"), "mean(t.a)", 1.15e-3, typeA, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := calc(t, c.before, "m = "+c.statement)
			w.same("m", c.value)
			w.same("u(m)", c.u)
			if got := w.dof("m"); got != c.dof && !(math.Abs(got-c.dof) <= 1e-9*c.dof) {
				t.Errorf("ν = %.12g, want %.12g", got, c.dof)
			}
			if w.has("no-instrument") != (c.name == "no instrument") {
				t.Errorf("findings: %v", w.Results.Findings)
			}
		})
	}
}

// line is a record with a fit of t.y over t.x.
func line(t *testing.T, instruments, data, settings string) *whole {
	t.Helper()
	return files{"record.md": instruments + data + "```fit line\nx: t.x\n" + settings + "\n```\n"}.build(t)
}

func TestFitRules(t *testing.T) {
	// x = 0, 1, 2, 3: Sxx = 5, x̄ = 1.5.
	exact := readings("x / kg, y / mm @gauge", "0, 1.0", "1, 2.0", "2, 3.0", "3, 4.0")
	slopeU, interceptU := 1/math.Sqrt(5), math.Sqrt(0.25+1.5*1.5/5)

	t.Run("floor", func(t *testing.T) {
		w := line(t, gauge(), exact, "y: t.y")
		w.same("line.slope", 1e-3)
		w.same("u(line.slope)", r*slopeU)
		w.same("u(line.intercept)", r*interceptU)
		w.same("dof(line.slope)", 2)
	})
	t.Run("scatter above the floor", func(t *testing.T) {
		// Residuals 0.1 (1, −3, 3, −1) mm: s² = 0.2/2 mm².
		w := line(t, gauge(), readings("x / kg, y / mm @gauge", "0, 1.1", "1, 1.7", "2, 3.3", "3, 3.9"), "y: t.y")
		w.same("line.slope", 1e-3)
		w.same("line.s", math.Sqrt(0.1)*1e-3)
		w.same("u(line.slope)", math.Sqrt(0.1)*1e-3*slopeU)
		w.same("dof(line.slope)", 2)
	})
	t.Run("zero and calibration leave the slope alone", func(t *testing.T) {
		w := line(t, gauge("zero: 0.3 mm", "calibration: ± 0.2 mm std"), exact, "y: t.y")
		w.same("line.slope", 1e-3)
		w.same("u(line.slope)", r*slopeU)
		w.same("line.intercept", 0.7e-3)
		w.same("u(line.intercept)", root(r*interceptU, r, 0.2e-3))
	})
	t.Run("scale acts on the slope", func(t *testing.T) {
		w := line(t, gauge("scale: ± 10 % std"), exact, "y: t.y")
		w.same("u(line.slope)", root(r*slopeU, 0.1e-3))
	})
	t.Run("uncertain x", func(t *testing.T) {
		// A point's own u² = u_y² + slope² u_x²; the balance's resolution is 0.1 kg.
		w := line(t, gauge()+"```instruments\nbalance:\n  resolution: 0.1 kg\n```\n", strings.Replace(exact, "x / kg", "x / kg @balance", 1), "y: t.y")
		w.same("u(line.slope)", math.Sqrt2*r*slopeU)
	})
	t.Run("a common error of x", func(t *testing.T) {
		// All x shift by e: the slope stays, the intercept moves by −slope·e.
		w := line(t, gauge()+"```instruments\nbalance:\n  resolution: 0.1 kg\n  calibration: ± 0.2 kg std\n```\n", strings.Replace(exact, "x / kg", "x / kg @balance", 1), "y: t.y")
		w.same("u(line.slope)", math.Sqrt2*r*slopeU)
		w.same("u(line.intercept)", root(math.Sqrt2*r*interceptU, 0.2e-3))
	})
	t.Run("as many readings as coefficients", func(t *testing.T) {
		w := line(t, gauge(), readings("x / kg, y / mm @gauge", "0, 1.0", "1, 2.0"), "y: t.y")
		w.same("u(line.slope)", math.Sqrt2*r)
		if !math.IsInf(w.dof("line.slope"), 1) || !w.has("no-freedom") {
			t.Errorf("ν = %g, findings %v", w.dof("line.slope"), w.Results.Findings)
		}
	})
	t.Run("one slope, an intercept for each column", func(t *testing.T) {
		// Seven cells and three coefficients; intercepts 1.0 and 1.2 mm.
		w := line(t, gauge(), readings("x / kg, a / mm @gauge, b / mm @gauge", "0, 1.0, 1.2", "1, 2.0, 2.2", "2, 3.0, 3.2", "3, 4.0, –"), "y: [t.a, t.b]")
		w.same("line.slope", 1e-3)
		w.same("line.intercept_1", 1e-3)
		w.same("line.intercept_2", 1.2e-3)
		w.same("line.intercept", 1.1e-3)
		w.same("line.n", 7)
		w.same("dof(line.slope)", 4)
		w.same("u(line.slope)", r/math.Sqrt(5+2)) // Sxx within each column
	})
	t.Run("weights as stated are not scaled", func(t *testing.T) {
		w := line(t, "", readings("x / kg, y / mm", "0, 1.1 ± 0.2 std", "1, 1.7 ± 0.2 std", "2, 3.3 ± 0.2 std", "3, 3.9 ± 0.2 std"), "y: t.y\nweights: stated")
		w.same("u(line.slope)", 0.2e-3*slopeU)
		w.near("line.chi2", 0.2/0.04, 1e-12)
		if !math.IsInf(w.dof("line.slope"), 1) || w.has("chi-squared") {
			t.Errorf("ν = %g, findings %v", w.dof("line.slope"), w.Results.Findings)
		}
		// χ² = 0.2/0.03² = 22 is beyond the 95 % point for ν = 2, 5.99 (tables of χ²).
		w = line(t, "", readings("x / kg, y / mm", "0, 1.1 ± 0.1 std", "1, 1.7 ± 0.1 std", "2, 3.3 ± 0.1 std", "3, 3.9 ± 0.1 std"), "y: t.y\nweights: stated")
		if !w.has("chi-squared") {
			t.Error("no caution at a χ² of 20 for ν = 2")
		}
	})
}

// What is shared is correlated without anyone saying so.
func TestCorrelations(t *testing.T) {
	w := calc(t, gauge("zero: 0.2 mm", "calibration: ± 0.1 mm")+readings("a / mm @gauge, b / mm @gauge", "1.0, 2.1", "1.2, 2.2", "1.1, 2.4"), `
x       = 2.00(5) m
nothing = x - x
unity   = x / x
twice   = x + x
m       = mean(t.a)
again   = mean(t.a)
differs = m - again
ratio   = m / again
pooled  = mean(t.a, t.b)
swapped = mean(t.b, t.a)
within  = pooled - swapped
gap     = mean(t.b) - mean(t.a)
row     = first(t.b) - first(t.a)
same    = first(t.a) - first(t.a)
part    = value(m) * (x / 1 m)`)
	for _, name := range []string{"nothing", "unity", "differs", "ratio", "within", "same"} {
		if u := w.u(name); u != 0 {
			t.Errorf("u(%s) = %g, want 0", name, u)
		}
	}
	w.same("u(twice)", 0.10)
	w.same("u(row)", math.Sqrt2*r)
	// s² = 0.01 mm² and 0.07/3 mm²: both means have the resolution once, and the
	// zero and the calibration cancel.
	w.same("u(gap)", root(0.1e-3/math.Sqrt(3), math.Sqrt(0.07/9)*1e-3, math.Sqrt2*r))
	w.same("u(part)", 1.1e-3*0+w.get("m")*0.05)
}

// Different reductions of shared cells that meet in one value are a caution.
func TestSharedReadings(t *testing.T) {
	before := gauge() + readings("x / kg, y / mm @gauge", "0, 1.0", "1, 2.0", "2, 3.0", "3, 4.1") + "```fit line\ny: t.y\nx: t.x\n```\n"
	w := calc(t, before, "slope = (line.slope + mean(pairs(t.y, 2, t.x))) / 2")
	if !w.has("shared-readings") {
		t.Errorf("findings: %v", w.Results.Findings)
	}
	if w := calc(t, before, "slope = line.slope + 0 mm/kg\nother = mean(pairs(t.y, 2, t.x))"); w.has("shared-readings") {
		t.Errorf("findings: %v", w.Results.Findings)
	}
}

// Differences of temperatures are in kelvins, whatever the scale on which the
// temperatures were read.
func TestTemperatureDifferences(t *testing.T) {
	w := calc(t, "```data t\nT / °C\n20.0\n21.5\n24.0\n25.5\n```\n", `
rise  = 30 °C - 20 °C
below = 20 °C - 5 K
above = 20 °C + 5 K
range = span(t.T)
mid   = mean(t.T)
last_step = last(steps(t.T))
pair  = first(pairs(t.T, 2))
uncertain = 20.0 °C ± 0.5 °C std
its_u = u(uncertain)
scatter = sd(t.T)`)
	for name, want := range map[string]string{"rise": "10 K", "below": "288.15 K", "above": "25 °C", "range": "5.5 K", "last_step": "1.5 K", "pair": "4 K", "its_u": "0.5 K"} {
		if got := w.value(name).Display; got != want {
			t.Errorf("%s = %s, want %s", name, got, want)
		}
	}
	if d := w.value("mid").Display; !strings.HasSuffix(d, "°C") {
		t.Errorf("a mean of temperatures is %s", d)
	}
	if d := w.value("scatter").Display; !strings.HasSuffix(d, " K") || !strings.HasPrefix(d, "2.4") {
		t.Errorf("a standard deviation of temperatures is %s", d)
	}
	w.same("u(uncertain)", 0.5)
}
