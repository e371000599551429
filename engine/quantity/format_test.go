package quantity

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/unit"
)

func TestFormat(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		v, u, U float64
		unit    string
		form    Form
		opt     Options
		want    string
	}{
		// GUM (JCGM 100:2008) 7.2.2: 100.021 47 g with u = 0.35 mg, and 7.2.4 with
		// U = 0.79 mg.
		{0.10002147, 0.35e-6, 0.791e-6, "g", Concise, Options{}, "100.02147(35) g"},
		{0.10002147, 0.35e-6, 0.791e-6, "g", Interval, Options{}, "(100.02147 ± 0.00079) g"},
		{0.10002147, 0.35e-6, 0.791e-6, "g", Statement, Options{}, "(100.02147 ± 0.00079) g"},
		// GUM 7.2.6: 10.057 62 Ω with u = 27 mΩ is rounded to 10.058 Ω.
		{10.05762, 0.027, 0.054, "Ω", Rounded, Options{}, "10.058 Ω"},
		{10.05762, 0.027, 0.054, "Ω", Concise, Options{}, "10.058(27) Ω"},
		// JCGM 101:2008, 7.9.2, example 2: u = 0.000 35 g to one digit is 0.000 4 g.
		{0.10002147, 0.35e-6, 0, "g", Concise, Options{Digits: 1}, "100.0215(4) g"},

		// The record language's own examples.
		{1.973e11, 4.1e9, 8.8e9, "GPa", Auto, Options{}, "(197.3 ± 8.8) GPa"},
		{1.973e11, 4.1e9, 8.8e9, "GPa", Interval, Options{Digits: 1}, "(197 ± 9) GPa"},
		{1.973e11, 4.1e9, 8.8e9, "Pa", Concise, Options{}, "1.973(41)×10^11 Pa"},
		{1.973e11, 4.1e9, 8.8e9, "Pa", Interval, Options{}, "(1.973 ± 0.088)×10^11 Pa"},
		{1.973e11, 4.1e9, 8.8e9, "GPa", Rounded, Options{}, "197.3 GPa"},
		{1.973e11, 4.1e9, 8.8e9, "Pa", Rounded, Options{}, "1.973×10^11 Pa"},
		{1.973e11, 4.1e9, 8.8e9, "Pa", Figures, Options{N: 3}, "1.97×10^11 Pa"},
		{1.973e11, 4.1e9, 8.8e9, "GPa", Places, Options{N: 2}, "197.30 GPa"},

		// No digit is shown that is not significant.
		{1223.4, 0, 0, "1", Figures, Options{N: 3}, "1.22×10^3"},
		{1973e9, 410e9, 820e9, "GPa", Concise, Options{}, "1.97(41)×10^3 GPa"},
		{1973, 41, 82, "1", Concise, Options{}, "1973(41)"},
		{0.000298, 0.0000031, 0.000007, "m/kg", Concise, Options{}, "0.0002980(31) m/kg"},
		{0.0000298, 0.00000031, 0.0000007, "m/kg", Interval, Options{}, "(2.980 ± 0.070)×10^−5 m/kg"},

		// A carry in the uncertainty costs one place, not a third digit.
		{5.123456, 0.0996, 0.1996, "m", Concise, Options{}, "5.12(10) m"},
		{5.123456, 0.0996, 0.0996, "m", Interval, Options{}, "(5.12 ± 0.10) m"},
		{5.123456, 0.96, 2, "m", Concise, Options{Digits: 1}, "5(1) m"},
		{9.9996, 0.012, 0.024, "m", Interval, Options{}, "(10.000 ± 0.024) m"},

		// A value below its uncertainty, and zero.
		{0.3, 2.6, 5.2, "mm", Interval, Options{}, "(0.3 ± 5.2)×10^3 mm"},
		{0.0003, 0.0026, 0.0052, "mm", Interval, Options{}, "(0.3 ± 5.2) mm"},
		{0.0003, 0.026, 0.052, "mm", Interval, Options{}, "(0 ± 52) mm"},
		{1.2e11, 4.4e12, 8.8e12, "Pa", Interval, Options{}, "(0.1 ± 8.8)×10^12 Pa"},
		{0, 0.02, 0.04, "m", Interval, Options{}, "(0.000 ± 0.040) m"},
		{0, 2e-5, 4e-5, "m", Concise, Options{}, "0.0(20)×10^−5 m"},
		{0, 2e8, 4e8, "m", Rounded, Options{}, "0 m"},
		{-0.0001, 0.02, 0.04, "m", Rounded, Options{}, "0.000 m"},
		{-1.5, 0.02, 0.04, "m", Interval, Options{}, "(−1.500 ± 0.040) m"},

		// Exact values keep their digits, without the noise of arithmetic.
		{0, 0, 0, "m", Auto, Options{}, "0 m"},
		{0.1 + 0.2, 0, 0, "m", Auto, Options{}, "0.3 m"},
		{2.914, 0, 0, "m", Interval, Options{}, "2.914 m"},
		{12000, 0, 0, "1", Auto, Options{}, "12000"},
		{101325, 0, 0, "Pa", Auto, Options{}, "101325 Pa"},
		{1.5e6, 0, 0, "Pa", Auto, Options{}, "1.5×10^6 Pa"},
		{1e11, 0, 0, "Pa", Concise, Options{}, "1×10^11 Pa"},
		{0.00001, 0, 0, "m", Auto, Options{}, "1×10^−5 m"},
		{1.0 / 3, 0, 0, "1", Auto, Options{}, "0.333333333333333"},
		{1, 1e-20, 2e-20, "m", Interval, Options{}, "1 m"},
		{1.973e11, 0, 0, "GPa", Rounded, Options{}, "197.3 GPa"},

		// Percent, angle, temperature (SI Brochure, 5.4.3 and 5.4.7).
		{0.12, 0, 0, "%", Auto, Options{}, "12 %"},
		{0.12, 0.0025, 0.005, "%", Interval, Options{}, "(12.00 ± 0.50) %"},
		{math.Pi / 4, 0, 0, "°", Auto, Options{}, "45°"},
		{math.Pi / 4, math.Pi / 360, math.Pi / 180, "°", Interval, Options{}, "(45.0 ± 1.0)°"},
		{293.15, 0.25, 0.5, "°C", Interval, Options{}, "(20.00 ± 0.50) °C"},
		{303.35, 0, 0, "°C", Auto, Options{}, "30.2 °C"},
		{0.29, 0.01, 0.02, "1", Interval, Options{}, "0.290 ± 0.020"},
		{12.25 * 0.0254, 0, 0, "inch", Auto, Options{}, "12.25 inch"},

		// Fixed forms.
		{0, 0, 0, "m", Figures, Options{N: 3}, "0.00 m"},
		{0, 0, 0, "m", Places, Options{N: 2}, "0.00 m"},
		{9.996, 0, 0, "m", Figures, Options{N: 3}, "10.0 m"},
		{0.00312, 0, 0, "mm", Figures, Options{N: 0}, "3 mm"},
		{1.2345e20, 0, 0, "m", Places, Options{N: 2}, "1.23×10^20 m"},
		{-0.004, 0, 0, "m", Places, Options{N: 2}, "0.00 m"},

		// What is not a number is not printed as one.
		{nan, 1, 2, "m", Auto, Options{}, "—"},
		{inf, 0, 0, "m", Rounded, Options{}, "—"},
		{1, nan, 2, "m", Auto, Options{}, "—"},
		{1, inf, inf, "m", Auto, Options{}, "—"},
		{1, 0.1, inf, "m", Auto, Options{}, "1.00(10) m"},
		{1, 0.1, nan, "m", Statement, Options{}, "1.00(10) m"},
		{math.MaxFloat64, 0, 0, "inch", Auto, Options{}, "7.07753202701699×10^309 inch"},
	} {
		got := Format(c.v, c.u, c.U, unit.MustParse(c.unit), c.form, c.opt).String()
		if got != c.want {
			t.Errorf("Format(%v, %v, %v, %s, %v, %+v) = %q, want %q", c.v, c.u, c.U, c.unit, c.form, c.opt, got, c.want)
		}
	}
}

// The statement holds all that GUM 7.2.4 asks for; the numbers are those of its
// example: u = 0.35 mg, ν = 9, k = t95(9) = 2.26, U = 0.79 mg.
func TestStatement(t *testing.T) {
	g := unit.MustParse("g")
	d := Format(0.10002147, 0.35e-6, 2.26215716274*0.35e-6, g, Statement, Options{Coverage: "95 %", DOF: 9})
	const want = "the number after ± is the expanded uncertainty U = k u, from the standard uncertainty u = 0.00035 g" +
		" and the coverage factor k = 2.26 of the t-distribution for ν = 9 degrees of freedom;" +
		" the coverage probability of the interval is about 95 %"
	if d.Tail.Text(false) != want || d.Number != "100.02147" || d.PlusMinus != "0.00079" || d.Coverage != "" {
		t.Errorf("got %+v", d)
	}
	if got := d.Tail.Text(true); got != strings.NewReplacer("0.00035", "0,00035", "2.26", "2,26").Replace(want) {
		t.Errorf("with a comma: %q", got)
	}
	d = Format(1.973e11, 4.1e9, 8.2e9, unit.MustParse("Pa"), Statement, Options{Digits: 1, DOF: math.Inf(1)})
	const normal = "the number after ± is the expanded uncertainty U = k u, from the standard uncertainty u = 4×10^9 Pa" +
		" and the coverage factor k = 2 of the normal distribution"
	if d.Tail.Text(false) != normal {
		t.Errorf("got %q", d.Tail.Text(false))
	}
}

// GUM G.4.1: ν is truncated; 18.9987 (19 but for rounding) stays 19.
func TestStatementDOF(t *testing.T) {
	for dof, want := range map[float64]string{16.7: "ν = 16 ", 18.9987: "ν = 19 ", 0.4: "ν = 1 ", 9: "ν = 9 "} {
		d := Format(1, 0.1, 0.2, unit.Unit{}, Statement, Options{DOF: dof})
		if !strings.Contains(d.Tail.Text(false), want) {
			t.Errorf("ν = %v: %q", dof, d.Tail.Text(false))
		}
	}
}

// What is shown is never above the ν that k is taken for.
func TestFormatDOF(t *testing.T) {
	for _, c := range []struct {
		nu    float64
		shown string
		more  bool
	}{
		{0.4, "0.4", false}, {9, "9", false}, {16.79, "16.8", false}, {16.97, "16.9", false}, {18.9987, "19", false}, {99.97, "99.9", false}, {99.996, "100", false},
		{668.9, "668", false}, {9999.995, "10000", false}, {10000.5, "10000", false}, {10001, "10000", true}, {1139376.4, "10000", true}, {math.Inf(1), NoNumber, false},
	} {
		if d, more := FormatDOF(c.nu); d.Number != c.shown || more != c.more {
			t.Errorf("ν = %v: %q, %v", c.nu, d.Number, more)
		}
	}
	for nu := 0.5; nu < 200; nu += 0.0137 {
		d, _ := FormatDOF(nu)
		if v, err := strconv.ParseFloat(d.Number, 64); err != nil || nu >= 1 && math.Floor(v) != WholeDOF(nu) {
			t.Errorf("ν = %v is shown as %s, k is taken for %v", nu, d.Number, WholeDOF(nu))
		}
	}
}

func TestCoverage(t *testing.T) {
	for form, want := range map[Form]string{Auto: "95 %", Interval: "95 %", Concise: "", Rounded: "", Statement: ""} {
		if d := Format(1, 0.1, 0.2, unit.Unit{}, form, Options{Coverage: "95 %"}); d.Coverage != want {
			t.Errorf("form %v: coverage %q", form, d.Coverage)
		}
	}
	if d := Format(1, 0, 0, unit.Unit{}, Auto, Options{Coverage: "95 %"}); d.Coverage != "" {
		t.Errorf("an exact value has the coverage %q", d.Coverage)
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct {
		d    Display
		want string
	}{
		{Display{Number: "197.3", PlusMinus: "8.8", Unit: "GPa"}, "(197,3 ± 8,8) GPa"},
		{Display{Number: "-1.973", Concise: "41", Exponent: -11, Unit: "m"}, "−1,973(41)×10^−11 m"},
		{Display{Number: "0.5", PlusMinus: "0.1"}, "0,5 ± 0,1"},
		{Display{Number: "0.5", PlusMinus: "0.1", Exponent: 6}, "(0,5 ± 0,1)×10^6"},
		{Display{Number: "12", Unit: "%"}, "12 %"},
		{Display{Number: "30.2", Unit: "°C"}, "30,2 °C"},
		{Display{Number: "22.20", Unit: "°"}, "22,20°"},
		{Display{Number: "1.5", Unit: "°/mm"}, "1,5 °/mm"},
		{Display{Number: "0.5", Unit: "1/mm"}, "0,5 mm^-1"},
		{Display{Number: "0.5", Unit: "1/mm^2"}, "0,5 mm^-2"},
		{Display{Number: NoNumber}, "—"},
	} {
		if got := c.d.Text(true); got != c.want {
			t.Errorf("%+v: %q, want %q", c.d, got, c.want)
		}
	}
}

func TestTyped(t *testing.T) {
	for _, c := range []struct{ text, unit, want string }{
		{"2.50", "mm", "2.50 mm"},
		{"1.970e11", "Pa", "1.970×10^11 Pa"},
		{"1.97×10^11", "Pa", "1.97×10^11 Pa"},
		{"1E-5", "m", "1×10^−5 m"},
		{"1e0", "m", "1 m"},
		{"-0.50", "1", "−0.50"},
		{"−0.50", "1", "−0.50"},
		{"+0.02", "mm", "0.02 mm"},
		{"-0.00", "mm", "0.00 mm"},
		{"45", "°", "45°"},
		{"20.0", "°C", "20.0 °C"},
		{"1.5e", "m", "1.5e m"},
		{"1e99999999999999999999", "m", "1e99999999999999999999 m"},
		{"e5", "m", "e5 m"},
		{"", "m", " m"},
	} {
		if got := Typed(c.text, unit.MustParse(c.unit)).String(); got != c.want {
			t.Errorf("Typed(%q, %s) = %q, want %q", c.text, c.unit, got, c.want)
		}
	}
}

func TestRoundIn(t *testing.T) {
	for _, c := range []struct {
		v      float64
		unit   string
		places int
		want   string
	}{
		{1.973e11, "GPa", 0, "197"},
		{1.973e11, "Pa", -9, "197000000000"},
		{0.00312, "mm", 1, "3.1"},
		{0.1 + 0.2, "m", 1, "0.3"},
		{1.005, "m", 2, "1.00"},
		{1.1 + 2.2 + 0.05, "m", 1, "3.4"}, // 3.35, held as 3.3500000000000001
		{12.25 * 0.0254, "inch", 1, "12.2"},
		{293.65, "°C", 0, "20"},
		{math.Pi / 8, "°", 0, "22"},
		{math.NaN(), "m", 2, NoNumber},
	} {
		if got := RoundIn(c.v, unit.MustParse(c.unit), c.places); got != c.want {
			t.Errorf("RoundIn(%v, %s, %d) = %q, want %q", c.v, c.unit, c.places, got, c.want)
		}
	}
}

// number reads what a Display shows back into the coherent SI unit.
func number(t *testing.T, digits string, exponent int, un unit.Unit) float64 {
	t.Helper()
	v, err := un.ToSI(digits + "e" + strconv.Itoa(exponent))
	if err != nil {
		t.Fatalf("%s e%d %s: %v", digits, exponent, un, err)
	}
	return v
}

// What is shown differs from the value by half a unit of the last digit at
// most; value and uncertainty end at the same place; no digit too many is shown;
// and one of them begins before the decimal point when a power of ten stands.
func TestFormatProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 7))
	for _, symbol := range []string{"m", "mm", "GPa", "kgf", "psi", "%", "°"} {
		un := unit.MustParse(symbol)
		for range 2000 {
			v := (r.Float64() - 0.5) * math.Pow(10, float64(r.IntN(30)-15))
			u := math.Abs(v) * math.Pow(10, -7+8*r.Float64())
			U := u * (1.5 + 2*r.Float64())
			digits := 1 + r.IntN(2)
			d := Format(v, u, U, un, Interval, Options{Digits: digits})
			if places(d.Number) != places(d.PlusMinus) {
				t.Fatalf("%v ± %v %s: %q", v, U, un, d)
			}
			if n := significant(d.PlusMinus); n != digits {
				t.Fatalf("%v ± %v %s to %d digits: %q", v, U, un, digits, d)
			}
			last := number(t, "1", d.Exponent-places(d.PlusMinus), un)
			if diff := math.Abs(number(t, d.Number, d.Exponent, un) - v); diff > 0.5*last*(1+1e-8) {
				t.Fatalf("%v ± %v %s: %q is off by %v", v, U, un, d, diff)
			}
			if diff := math.Abs(number(t, d.PlusMinus, d.Exponent, un) - U); diff > 0.5*last*(1+1e-8) {
				t.Fatalf("%v ± %v %s: %q is off by %v", v, U, un, d, diff)
			}
			first := max(len(strings.TrimPrefix(whole(d.Number), "-")), len(whole(d.PlusMinus)))
			if d.Exponent != 0 && first != 1 || first > 9 {
				t.Fatalf("%v ± %v %s: %q", v, U, un, d)
			}
			c := Format(v, u, U, un, Concise, Options{Digits: digits})
			if len(c.Concise) != digits {
				t.Fatalf("%v, u = %v %s: %q", v, u, un, c)
			}
			w := number(t, c.Concise, c.Exponent-places(c.Number), un)
			if !(math.Abs(w-u) <= 0.5*number(t, "1", c.Exponent-places(c.Number), un)*(1+1e-8)) {
				t.Fatalf("%v, u = %v %s: %q", v, u, un, c)
			}
		}
	}
}

func whole(s string) string { w, _, _ := strings.Cut(s, "."); return w }

func places(s string) int { _, f, _ := strings.Cut(s, "."); return len(f) }

func significant(s string) int {
	return len(strings.TrimLeft(strings.Replace(s, ".", "", 1), "0"))
}

// Scaling a quantity and its unit alike changes nothing but the unit.
func TestFormatScaling(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 7))
	pa, gpa := unit.MustParse("Pa"), unit.MustParse("GPa")
	for range 1000 {
		v, u := float64(r.IntN(1e6))/1e4, float64(1+r.IntN(1e4))/1e5
		for form := Auto; form <= Statement; form++ {
			a := Format(v, u, 2*u, pa, form, Options{})
			b := Format(gpa.SI(v), gpa.SI(u), 2*gpa.SI(u), gpa, form, Options{})
			if b.Unit = "Pa"; a.String() != b.String() {
				t.Fatalf("%v ± %v: %q in Pa, %q in GPa", v, u, a, b)
			}
		}
	}
}

func FuzzFormat(f *testing.F) {
	f.Add(1.973e11, 4.1e9, 8.8e9, 2, 3)
	f.Add(math.MaxFloat64, 5e-324, math.Inf(1), 1, -1)
	f.Add(0.0, 1e-300, 1e300, 5, 400)
	units := []unit.Unit{{}, unit.MustParse("GPa"), unit.MustParse("psi"), unit.MustParse("°C"), unit.MustParse("%")}
	f.Fuzz(func(t *testing.T, v, u, U float64, form, n int) {
		for _, un := range units {
			d := Format(v, u, U, un, Form(form), Options{Digits: n, N: n, DOF: u, Coverage: "95 %"})
			if d.Number == "" || strings.Contains(d.Number, "N") || strings.Trim(d.Number, "-0.") == "" && strings.HasPrefix(d.Number, "-") {
				t.Fatalf("Format(%v, %v, %v, %s, %d) = %+v", v, u, U, un, form, d)
			}
			_ = d.Text(true)
		}
	})
}

func BenchmarkFormat(b *testing.B) {
	gpa := unit.MustParse("GPa")
	for form, name := range []string{"Auto", "Interval", "Concise", "Rounded", "Statement", "Figures"} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_ = Format(1.973e11, 4.1e9, 8.8e9, gpa, Form(form), Options{N: 3, Coverage: "95 %", DOF: 14.2})
			}
		})
	}
}

func ExampleFormat() {
	gpa, pa := unit.MustParse("GPa"), unit.MustParse("Pa")
	fmt.Println(Format(1.973e11, 4.1e9, 8.8e9, gpa, Interval, Options{}))
	fmt.Println(Format(1.973e11, 4.1e9, 8.8e9, pa, Concise, Options{}))
	fmt.Println(Format(1.973e11, 4.1e9, 8.8e9, gpa, Figures, Options{N: 3}).Text(true))
	// Output:
	// (197.3 ± 8.8) GPa
	// 1.973(41)×10^11 Pa
	// 197 GPa
}
