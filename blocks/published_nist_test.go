package blocks_test

import (
	"math"
	"os"
	"strings"
	"testing"
)

// nist reads the columns of a data set: the digits as published, after the
// last line that begins with "Data:". The response is the first column.
func nist(t *testing.T, name string) [][]string {
	t.Helper()
	text, err := os.ReadFile("../testdata/nist-strd/" + name + ".dat")
	if err != nil {
		t.Fatal(err)
	}
	_, body, _ := strings.Cut(string(text[strings.LastIndex(string(text), "\nData:")+1:]), "\n")
	var columns [][]string
	for _, line := range strings.Split(body, "\n") {
		fields := strings.Fields(line)
		if len(fields) == 0 || strings.HasPrefix(fields[0], "---") {
			continue
		}
		for i, f := range fields {
			if i == len(columns) {
				columns = append(columns, nil)
			}
			if f[0] == '.' {
				f = "0" + f // a record wants a digit before the point
			}
			columns[i] = append(columns[i], f)
		}
	}
	return columns
}

// csv writes columns as comma-separated values.
func csv(head string, columns [][]string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for i := range columns[0] {
		for k, c := range columns {
			if k > 0 {
				b.WriteString(", ")
			}
			b.WriteString(c[i])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// digits is the number of correct digits, NIST's log relative error: at most
// 15; absolute where 0 is certified.
func digits(got, want float64) float64 {
	diff := math.Abs(got - want)
	if want != 0 {
		diff /= math.Abs(want)
	}
	if math.IsNaN(diff) {
		return 0
	}
	if diff < 1e-15 {
		return 15
	}
	return max(0, -math.Log10(diff))
}

// NIST Statistical Reference Datasets, linear regression: certified values
// from the headers of the files, through the data file, the fit and the
// results file of a record.
func TestNISTRegressionRecords(t *testing.T) {
	type pair struct{ value, sd float64 }
	for _, c := range []struct {
		name, model string
		coef        []pair
		s, r2       float64
		correct     float64
	}{
		{"Norris", "straight", []pair{{1.00211681802045, 0.429796848199937e-03}, {-0.262323073774029, 0.232818234301152}}, 0.884796396144373, 0.999993745883712, 13},
		// R² of a line through the origin is uncentred.
		{"NoInt1", "proportional", []pair{{2.07438016528926, 0.165289256198347e-01}}, 3.56753034006338, 0.999365492298663, 13},
		// A rounding of the data to binary floats costs a polynomial more digits.
		{"Pontius", "polynomial 2", []pair{{0.673565789473684e-03, 0.107938612033077e-03}, {0.732059160401003e-06, 0.157817399981659e-09}, {-0.316081871345029e-14, 0.486652849992036e-16}},
			0.205177424076185e-03, 0.999999900178537, 12.5},
	} {
		columns := nist(t, c.name)
		w := files{
			"data.csv":  csv("y, x", columns),
			"record.md": "```data set from=data.csv\n```\n```fit line\ny: set.y\nx: set.x\nmodel: " + c.model + "\n```\n",
		}.build(t)
		f := w.Results.Fits["line"]
		if len(f.Coefficients) != len(c.coef) || f.N != len(columns[0]) {
			t.Fatalf("%s: %d coefficients of %d readings", c.name, len(f.Coefficients), f.N)
		}
		for i, want := range c.coef {
			got := f.Coefficients[i]
			a, b := digits(float64(got.Value), want.value), digits(float64(got.U), want.sd)
			t.Logf("%s %s: %.1f and %.1f digits", c.name, got.Name, a, b)
			if a < c.correct || b < 13 {
				t.Errorf("%s: %s = %.15g, u = %.15g: %.1f and %.1f digits", c.name, got.Name, float64(got.Value), float64(got.U), a, b)
			}
			if b := digits(math.Sqrt(float64(f.Covariance[i][i])), want.sd); b < 13 {
				t.Errorf("%s: covariance of %s: %.1f digits", c.name, got.Name, b)
			}
		}
		if a, b := digits(float64(f.S), c.s), digits(w.get("line.r2"), c.r2); a < 13 || b < 13 {
			t.Errorf("%s: s and R²: %.1f and %.1f digits", c.name, a, b)
		}
	}
}

// NIST Statistical Reference Datasets, univariate: certified mean and standard
// deviation from the headers, through `mean` and `sd` of a record.
func TestNISTUnivariateRecords(t *testing.T) {
	for _, c := range []struct {
		name     string
		mean, sd float64
		correct  float64 // digits of sd
	}{
		{"Lottery", 518.958715596330, 291.699727470969, 13},
		{"Lew", -177.435000000000, 277.332168044316, 13},
		// Values near 2.0018 with differences in the fourth place: rounding them
		// to binary floats leaves 13.1 digits of sd.
		{"Mavro", 2.00185600000000, 0.000429123454003053, 13},
		{"NumAcc1", 10000002, 1, 13},
		{"NumAcc2", 1.2, 0.1, 13},
		// 1000000.1 to 1000000.3: the same loss leaves 9.5 digits.
		{"NumAcc3", 1000000.2, 0.1, 9},
	} {
		columns := nist(t, c.name)
		w := files{
			"data.csv":  csv("y", columns[:1]),
			"record.md": "```data set from=data.csv\n```\n```calc\nm = mean(set.y)\ns = sd(set.y)\nn = count(set.y)\n```\n",
		}.build(t)
		a, b := digits(w.get("m"), c.mean), digits(w.get("s"), c.sd)
		t.Logf("%s: %.1f and %.1f digits", c.name, a, b)
		if a < 13 || b < c.correct {
			t.Errorf("%s: mean %.15g, sd %.15g: %.1f and %.1f digits", c.name, w.get("m"), w.get("s"), a, b)
		}
		n := float64(len(columns[0]))
		w.same("n", n)
		w.same("u(m)", w.get("s")/math.Sqrt(n))
		w.same("dof(m)", n-1)
	}
}
