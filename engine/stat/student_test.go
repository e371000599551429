package stat

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// GUM (JCGM 100:2008), Table G.2, all entries, as printed. Its columns 68.27 %,
// 95.45 % and 99.73 % mean the normal probabilities of k = 1, 2 and 3 (0.9973
// exactly would give 235.78 for ν = 1). t90(35) is misprinted there as 1.70.
const tableG2 = `
1    1.84  6.31  12.71 13.97 63.66 235.80
2    1.32  2.92  4.30  4.53  9.92  19.21
3    1.20  2.35  3.18  3.31  5.84  9.22
4    1.14  2.13  2.78  2.87  4.60  6.62
5    1.11  2.02  2.57  2.65  4.03  5.51
6    1.09  1.94  2.45  2.52  3.71  4.90
7    1.08  1.89  2.36  2.43  3.50  4.53
8    1.07  1.86  2.31  2.37  3.36  4.28
9    1.06  1.83  2.26  2.32  3.25  4.09
10   1.05  1.81  2.23  2.28  3.17  3.96
11   1.05  1.80  2.20  2.25  3.11  3.85
12   1.04  1.78  2.18  2.23  3.05  3.76
13   1.04  1.77  2.16  2.21  3.01  3.69
14   1.04  1.76  2.14  2.20  2.98  3.64
15   1.03  1.75  2.13  2.18  2.95  3.59
16   1.03  1.75  2.12  2.17  2.92  3.54
17   1.03  1.74  2.11  2.16  2.90  3.51
18   1.03  1.73  2.10  2.15  2.88  3.48
19   1.03  1.73  2.09  2.14  2.86  3.45
20   1.03  1.72  2.09  2.13  2.85  3.42
25   1.02  1.71  2.06  2.11  2.79  3.33
30   1.02  1.70  2.04  2.09  2.75  3.27
35   1.01  1.70  2.03  2.07  2.72  3.23
40   1.01  1.68  2.02  2.06  2.70  3.20
45   1.01  1.68  2.01  2.06  2.69  3.18
50   1.01  1.68  2.01  2.05  2.68  3.16
100  1.005 1.660 1.984 2.025 2.626 3.077
+Inf 1.000 1.645 1.960 2.000 2.576 3.000`

func TestTableG2(t *testing.T) {
	sigma := func(k float64) float64 { return math.Erf(k / math.Sqrt2) }
	p := []float64{sigma(1), 0.90, 0.95, sigma(2), 0.99, sigma(3)}
	rows := strings.Split(strings.TrimSpace(tableG2), "\n")
	if len(rows) != 28 {
		t.Fatalf("%d rows", len(rows))
	}
	for _, row := range rows {
		fields := strings.Fields(row)
		nu, _ := strconv.ParseFloat(fields[0], 64)
		for i, printed := range fields[1:] {
			if fields[0] == "35" && i == 1 {
				printed = "1.69" // corrected, see above
			}
			decimals := len(printed) - strings.IndexByte(printed, '.') - 1
			k := CoverageFactor(p[i], nu)
			if got := strconv.FormatFloat(k, 'f', decimals, 64); got != printed {
				t.Errorf("ν = %g, p = %.4f: k = %.6f, printed %s", nu, p[i], k, printed)
			}
		}
	}
}

// Truncation by GUM G.4.1, and the guard: 18.9987 of GUM G.4 means 19.
func TestCoverageFactorTruncates(t *testing.T) {
	for _, c := range []struct{ nuEff, nu float64 }{
		{16.7, 16}, {18.9987, 19}, {18.98, 18}, {0.5, 1}, {3, 3}, {1e300, math.Inf(1)},
	} {
		near(t, "coverage factor", CoverageFactor(0.95, c.nuEff), TQuantile(0.975, c.nu), 1e-15)
	}
	if !math.IsNaN(CoverageFactor(0.95, math.NaN())) || !math.IsNaN(CoverageFactor(1.5, 4)) {
		t.Error("coverage factor of bad arguments is a number")
	}
}

// The quantiles were computed for this test in decimal arithmetic of 45 digits,
// from the density by double-exponential quadrature (H. Takahasi and M. Mori,
// Publ. RIMS 9 (1974) 721); the last column is the upper 1e-20 point. p is the
// binary float nearest to the heading.
var quantiles = []struct {
	nu float64
	t  [8]float64 // 0.500001, 0.6, 0.75, 0.9, 0.975, 0.99865, 0.9999999, 1 − 1e-20
}{
	{1, [8]float64{0.0000031415926536904672, 0.3249196962329062490340, 1.0000000000000000000000, 3.0776835371752541330789, 12.706204736174693314101, 235.78368715849916978304, 3183098.8635132452152587, 31830988618379068899.602}},
	{1.5, [8]float64{0.0000029348322154920772, 0.3007453925697953528846, 0.8725946625415706360422, 2.1963984175655377638006, 6.0166631044279282546174, 42.717883752704123163716, 24226.630997734749193320, 11245005997832.135803391}},
	{2, [8]float64{0.0000028284271248331802, 0.2886751345948128154850, 0.8164965809277260327324, 1.8856180831641270224934, 4.3026527297494617894203, 19.206015887811364415351, 2236.0676426780629125333, 7071067811.8654754378148}},
	{3, [8]float64{0.0000027206990464340376, 0.2766706623326898470109, 0.7648923284043452806575, 1.6377443536962103221855, 3.1824463052837084358839, 9.2187018220374353740104, 222.57159098625124253872, 4795275.7204689731895745}},
	{5, [8]float64{0.0000026343055242196797, 0.2671808657041450656944, 0.7266868438004226530150, 1.4758840488244812516273, 2.5705818356363147827885, 5.5069849673548821520648, 39.341819621052610484184, 15683.925454365775858256}},
	{16.7, [8]float64{0.0000025444122618997282, 0.2574194663504600274530, 0.6894642269401439082784, 1.3343485341198295666425, 2.1127064206595903474279, 3.5179256917124314312509, 8.4392590813410122823506, 55.843202030484477483613}},
	{100, [8]float64{0.0000025129025804459115, 0.2540221824582277589207, 0.6769510430114714779440, 1.2900747613465160975722, 1.9839715185235518945564, 3.0767308989178364501787, 5.5869004747069529460273, 11.694684673177002113877}},
	{1e6, [8]float64{0.0000025066289013628522, 0.2533471705378416220033, 0.6744899955310873786245, 1.2815524121299386069373, 1.9599663568141066553376, 2.9999844925596011797223, 5.1993740209144227818823, 9.2625410652916584416988}},
}

func TestTQuantile(t *testing.T) {
	ps := [8]float64{0.500001, 0.6, 0.75, 0.9, 0.975, 0.99865, 0.9999999, 0}
	for _, row := range quantiles {
		for i, want := range row.t {
			got := TQuantile(ps[i], row.nu)
			if i == 7 {
				got = -TQuantile(1e-20, row.nu)
			}
			near(t, "quantile "+strconv.Itoa(i)+" of ν = "+strconv.FormatFloat(row.nu, 'g', -1, 64), got, want, 1e-14)
		}
	}
}

// Closed forms: ν = 1 is tan π(p − ½), ν = 2 is (2p − 1)/√(2p(1 − p)); the
// normal limit through the error function.
func TestTQuantileClosedForms(t *testing.T) {
	for _, p := range []float64{1e-300, 1e-100, 1e-12, 0.001, 0.2, 0.3, 0.49999, 0.5, 0.7, 0.999} {
		if p > 0.9 {
			near(t, "ν = 1", TQuantile(p, 1), 1/math.Tan(math.Pi*(1-p)), 1e-14)
		} else if p > 0.25 {
			near(t, "ν = 1", TQuantile(p, 1), math.Tan(math.Pi*(p-0.5)), 1e-14)
		} else {
			near(t, "ν = 1", TQuantile(p, 1), -1/math.Tan(math.Pi*p), 1e-15*max(10, -math.Log(p)))
		}
		near(t, "ν = 2", TQuantile(p, 2), (2*p-1)/math.Sqrt(2*p*(1-p)), 1e-15*max(10, -math.Log(p)))
		z := NormalQuantile(p)
		near(t, "normal", math.Erfc(-z/math.Sqrt2)/2, p, 2e-14*max(1, z*z))
		near(t, "normal distribution function", NormalCDF(z), p, 1e-15*max(3, z*z))
	}
}

func TestTDistributionProperties(t *testing.T) {
	for _, nu := range []float64{0.5, 1, 1.5, 2, 3.7, 5, 16.7, 100, 12345.6, 1e6, 1e15, math.Inf(1)} {
		for _, p := range []float64{1e-200, 1e-9, 0.01, 0.2, 0.25, 0.3, 0.4999} {
			x := TQuantile(p, nu)
			if !math.IsInf(x, 0) { // small ν: out of range
				tolerance := 1e-15 * max(10, -4*math.Log(p))
				near(t, "round trip", TCDF(x, nu), p, tolerance)
				near(t, "two-sided tail", TTail(x, nu), 2*p, tolerance)
			}
			if q := 1 - p; 1-q == p && TQuantile(q, nu) != -x {
				t.Errorf("ν = %g: quantiles of %g and %g are not symmetric", nu, p, q)
			}
		}
		if TCDF(0, nu) != 0.5 || TQuantile(0.5, nu) != 0 || TCDF(math.Inf(-1), nu) != 0 || TCDF(math.Inf(1), nu) != 1 ||
			!math.IsInf(TQuantile(1, nu), 1) || !math.IsInf(TQuantile(0, nu), -1) {
			t.Errorf("ν = %g: ends and middle", nu)
		}
		if nu < 1e6 { // a general-purpose library, good to some 1e-13 in the middle
			d := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}
			for _, x := range []float64{-8, -2, -0.3, 0.1, 1, 5} {
				near(t, "distribution function", TCDF(x, nu), d.CDF(x), 1e-11)
			}
		}
	}
	for _, bad := range []float64{TQuantile(0.5, 0), TQuantile(1.1, 3), TQuantile(math.NaN(), 3), TCDF(1, -1), TTail(1, math.NaN())} {
		if !math.IsNaN(bad) {
			t.Error("a bad argument gives a number")
		}
	}
}

// Upper 5 % points as in every table of χ², for instance NIST/SEMATECH
// e-Handbook of Statistical Methods 1.3.6.7.4 (digits from memory).
func TestChiSquaredQuantile(t *testing.T) {
	for nu, want := range map[float64]string{1: "3.841", 2: "5.991", 3: "7.815", 4: "9.488", 5: "11.070", 8: "15.507", 10: "18.307", 20: "31.410", 30: "43.773", 100: "124.342"} {
		if got := strconv.FormatFloat(ChiSquaredQuantile(0.95, nu), 'f', 3, 64); got != want {
			t.Errorf("ν = %g: %s, table %s", nu, got, want)
		}
	}
	for _, p := range []float64{1e-9, 0.01, 0.3, 0.5, 0.95, 1 - 1e-9} {
		near(t, "ν = 2", ChiSquaredQuantile(p, 2), -2*math.Log1p(-p), 1e-13) // closed form
		z := NormalQuantile((1 - p) / 2)
		if p > 1e-3 { // 1 − p is rounded
			near(t, "ν = 1", ChiSquaredQuantile(p, 1), z*z, 1e-12)
		}
		for _, nu := range []float64{1, 3.5, 60, 1e4} {
			near(t, "round trip", ChiSquaredTail(ChiSquaredQuantile(p, nu), nu), 1-p, 1e-9)
		}
	}
	if ChiSquaredQuantile(0, 3) != 0 || !math.IsInf(ChiSquaredQuantile(1, 3), 1) || !math.IsNaN(ChiSquaredQuantile(0.5, 0)) || ChiSquaredTail(-1, 3) != 1 {
		t.Error("ends of χ²")
	}
}

func BenchmarkTQuantile(b *testing.B) {
	for b.Loop() {
		TQuantile(0.975, 16.7)
	}
}
