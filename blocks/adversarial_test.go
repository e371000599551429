package blocks_test

import (
	"math"
	"testing"
)

// TestWhatCouldGoWrongSilently holds what records that look odd come to. The
// expected numbers are worked out by hand from the rules of the language.
func TestWhatCouldGoWrongSilently(t *testing.T) {
	f := files{
		"t.csv": "# a comment\n\na / mm; b / mm\n\n1+10;2\n# another\n3,5;4\n\n5+99;6\n7+0;8 # a remark\n9+1;10\n",
		"record.md": "```instruments\nscrew:\n  pitch: 1 mm\n  divisions: 100\ntape:\n  resolution: 1 mm\nthermometer:\n  resolution: 1 K\n```\n" +
			"```data t from=t.csv decimal=comma\nup / mm @screw = a / mm\n~4 # struck\n```\n" +
			"```data warm\nT / °C @thermometer\n20\n30\n```\n" +
			"```data odd\nx / m @tape, p / %, s / m/s, n,,\n−1.5, 12, 3, 1e2\n+2, 12, 3, 1.5E2,\n```\n" +
			"```data two\nx / m @tape, y / m @tape\n1, 2\n2, –\n```\n" +
			"```data e\u0301\nle\u0301 / m @tape\n1\n```\n" +
			"```calc\n" +
			"sum_t = sum(t.up) in mm\n" +
			"mean_T = mean(warm.T) in °C\n" +
			"sd_T = sd(warm.T)\n" +
			"span_T = span(warm.T)\n" +
			"twice_T = nth(2 * warm.T, 1)\n" +
			"sum_x = sum(odd.x)\n" +
			"p = mean(odd.p)\n" +
			"n = sum(odd.n)\n" +
			"part = sum(two.x * two.y)\n" +
			"nfc = sum(é.lé)\n" +
			"mean = 3\n" +
			"E = 200 GPa\n" +
			"handbook = steel.E\n" +
			"m = mean(two.x) + mean * 1 m\n" +
			"pow = 2^-1^2\n" +
			"neg = -2^2\n" +
			"div = 1 / 2 / 2\n" +
			"speed = 6 m / 2 s\n" +
			"area = 2 m^2\n" +
			"half = sum(odd.x^2)\n" +
			"```\n",
	}
	w := f.build(t)
	for name, want := range map[string]float64{
		"sum_t":   19.60e-3, // 1.10 + 3.50 + 5.99 + 9.01 mm
		"mean_T":  298.15,
		"sd_T":    math.Sqrt(50),
		"span_T":  10,
		"twice_T": 2 * 293.15,
		"sum_x":   0.5,
		"p":       0.12,
		"n":       250,
		"part":    2, // the hole takes no part
		"nfc":     1,
		"m":       4.5, // a function keeps its name, whatever a value is called
		"E":       200e9,
		"pow":     0.5,
		"neg":     -4,
		"div":     0.25,
		"speed":   3,
		"area":    2,
		"half":    6.25,
	} {
		if got := float64(w.value(name).Value); math.Abs(got-want) > 1e-12*math.Abs(want) {
			t.Errorf("%s = %v, want %v", name, got, want)
		}
	}
	if u := w.value("sd_T").Unit; u != "K" {
		t.Errorf("a standard deviation of temperatures is in %s", u)
	}
	if u := w.value("half").Unit; u != "m^2" {
		t.Errorf("a sum of squares of lengths is in %s", u)
	}
}

// TestColumnThatCannotBeReadWaits holds that nothing is computed from the rest
// of a column in which a cell or a row can't be read.
func TestColumnThatCannotBeReadWaits(t *testing.T) {
	for _, c := range []struct{ table, column string }{
		{"x / m\n1\noops\n", "x"},
		{"x / m\n1\nNaN\n", "x"},
		{"x / m, y / m\n1, 2\n3\n", "y"},
		{"x / m, y / m\n1, 2\n3,\n", "y"},
		{"x / m, y / m\n1, 2\n1,234.5, 3\n", "x"},
		{"x / metre\n1\n", "x"},
		{"name, x / m\n\"a, 1\nb, 2\n", "x"},
	} {
		f := files{"record.md": "```data t\n" + c.table + "```\n```calc\nv = sum(t." + c.column + ")\n```\n"}
		w := buildAnyway(t, f.write(t), 1)
		if _, ok := w.Results.Values["v"]; ok {
			t.Errorf("%q: a number was computed", c.table)
		}
		if len(w.Findings) != 1 {
			t.Errorf("%q: %d findings, want one: %v", c.table, len(w.Findings), w.Findings)
		}
	}
}
