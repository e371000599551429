package unit

import (
	"cmp"
	"errors"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text, canonical, coherent, dim string
	}{
		{"1", "1", "1", "1"},
		{" 1 ", "1", "1", "1"},
		{"kg", "kg", "kg", "kg"},
		{"g", "g", "kg", "kg"},
		{"t", "t", "kg", "kg"},
		{"GPa", "GPa", "Pa", "kg m^-1 s^-2"},
		{"kN/mm^2", "kN/mm^2", "N/m^2", "kg m^-1 s^-2"},
		{"mm/kg", "mm/kg", "m/kg", "kg^-1 m"},
		{"cm^2", "cm^2", "m^2", "m^2"},
		{"mm²", "mm^2", "m^2", "m^2"},
		{"mm⁴", "mm^4", "m^4", "m^4"},
		{"m/s²", "m/s^2", "m/s^2", "m s^-2"},
		{"m s⁻²", "m s^-2", "m s^-2", "m s^-2"},
		{"kg m^2/s^2", "kg m^2/s^2", "kg m^2/s^2", "kg m^2 s^-2"},
		{" kg   m^2·s^-2 ", "kg m^2 s^-2", "kg m^2 s^-2", "kg m^2 s^-2"},
		{"N⋅m", "N m", "N m", "kg m^2 s^-2"},
		{"N m/rad", "N m/rad", "N m/rad", "kg m^2 s^-2"},
		{"mJ", "mJ", "J", "kg m^2 s^-2"},
		{"m^−1", "m^-1", "m^-1", "m^-1"},
		{"m^+2", "m^2", "m^2", "m^2"},
		{"m^1", "m", "m", "m"},
		{"1/s", "1/s", "1/s", "s^-1"},
		{"1/min", "1/min", "1/s", "s^-1"},
		{"mm/m", "mm/m", "m/m", "1"},
		{"mm m^-1", "mm m^-1", "1", "1"},
		{"µm", "μm", "m", "m"},                   // micro sign
		{"\u2126", "Ω", "Ω", "kg m^2 s^-3 A^-2"}, // ohm sign
		{"kohm", "kΩ", "Ω", "kg m^2 s^-3 A^-2"},
		{"\u212a", "K", "K", "K"}, // kelvin sign
		{"°C", "°C", "K", "K"},
		{"\u2103", "°C", "K", "K"},
		{"J/°C", "J/°C", "J/K", "kg m^2 s^-2 K^-1"},
		{"°", "°", "rad", "1"},
		{"deg", "°", "rad", "1"},
		{"°/mm", "°/mm", "rad/m", "m^-1"},
		{"%", "%", "1", "1"},
		{"%/K", "%/K", "1/K", "K^-1"},
		{"kg/%", "kg/%", "kg", "kg"},
		{"inch", "inch", "m", "m"},
		{"ft^2 inch", "ft^2 inch", "m^3", "m^3"},
		{"L", "L", "m^3", "m^3"},
		{"L^2/min", "L^2/min", "m^6/s", "m^6 s^-1"},
		{"kgf", "kgf", "N", "kg m s^-2"},
		{"psi", "psi", "Pa", "kg m^-1 s^-2"},
		{"mbar", "mbar", "Pa", "kg m^-1 s^-2"},
		{"min", "min", "s", "s"}, // not the milli-inch
		{"ft", "ft", "m", "m"},   // not the femtotonne
		{"cd", "cd", "cd", "cd"}, // not the centiday
		{"m^(1/3)", "m^(1/3)", "m^(1/3)", "m^(1/3)"},
		{"kg^(-1/2)", "kg^(-1/2)", "kg^(-1/2)", "kg^(-1/2)"},
	} {
		u, err := Parse(c.text)
		if err != nil {
			t.Errorf("Parse(%q): %v", c.text, err)
			continue
		}
		if u.String() != c.canonical || u.Coherent().String() != c.coherent || u.Dim().String() != c.dim {
			t.Errorf("Parse(%q) = %q, coherent %q, dimension %q; want %q, %q, %q", c.text,
				u, u.Coherent(), u.Dim(), c.canonical, c.coherent, c.dim)
		}
		checkUnit(t, u)
	}
}

// checkUnit holds what is true of every unit that Parse returns.
func checkUnit(t *testing.T, u Unit) {
	t.Helper()
	again, err := Parse(u.String())
	if err != nil || again != u {
		t.Errorf("%q read back is %q (%+v, not %+v), %v", u, again, again, u, err)
	}
	c := u.Coherent()
	if c.Dim() != u.Dim() {
		t.Errorf("%s has the dimension %s, its coherent unit %s has %s", u, u.Dim(), c, c.Dim())
	}
	if c.Factor() != 1 || c.IsTemperature() || c.Coherent() != c {
		t.Errorf("the coherent unit %s of %s is not coherent", c, u)
	}
	if read, err := Parse(c.String()); err != nil || read != c {
		t.Errorf("the coherent unit %s of %s is read back as %+v, %v", c, u, read, err)
	}
	if u.Factor() <= 0 {
		t.Errorf("%s has the factor %v", u, u.Factor())
	}
}

func TestParseErrors(t *testing.T) {
	for _, c := range []struct {
		text    string
		at, n   int
		message string // a part of it
		nearest string
	}{
		{"", 0, 0, "missing", ""},
		{"  ", 0, 2, "missing", ""},
		{"in", 0, 2, "written inch", "inch"},
		{"in^2", 0, 2, "written inch", "inch"},
		{"mkg", 0, 3, "kg takes no further prefix", "kg"},
		{"μkPa", 0, 5, "kPa takes no further prefix", "kPa"},
		{"kmin", 0, 4, "min takes no prefix", "min"},
		{"kpsi", 0, 4, "psi takes no prefix", "psi"},
		{"um", 0, 2, "unknown unit um", "μm"},
		{"Kg", 0, 2, "unknown unit Kg", "kg"},
		{"Gpa", 0, 3, "unknown unit", "GPa"},
		{"kg m^2/sec^2", 7, 3, "unknown unit sec", "s"},
		{"metres", 0, 6, "unknown unit", "m"},
		{"°CC", 0, 4, "unknown unit", "°C"},
		{"x", 0, 1, "unknown unit x", ""},
		{"m/s/kg", 3, 1, "at most one solidus", ""},
		{"m / s / kg", 6, 1, "at most one solidus", ""},
		{"J/kg K", 5, 1, "only one factor", ""},
		{"J/kg·K", 4, 3, "only one factor", ""},
		{"J/(kg K)", 2, 1, "negative powers", ""},
		{"(m/s)^2", 0, 1, "negative powers", ""},
		{"m/s^-1", 2, 4, "negative power after the solidus", ""},
		{"m2", 1, 1, "with ^", "m^2"},
		{"s-1", 1, 2, "with ^", "s^-1"},
		{"s−1", 1, 4, "with ^", "s^-1"},
		{"m^", 1, 1, "whole number", ""},
		{"m^-", 1, 2, "whole number", ""},
		{"m⁻", 1, 3, "whole number", ""},
		{"m²⁻", 1, 5, "whole number", ""},
		{"m^0.5", 1, 2, "whole number", ""},
		{"m^0", 1, 2, "power 0", ""},
		{"m⁰", 1, 3, "power 0", ""},
		{"m^100", 1, 4, "at most 99", ""},
		{"m^99999999999999999999", 1, 21, "at most 99", ""},
		{"L^34", 0, 4, "at most 99", ""},
		{"m^(1/2", 1, 5, "closing bracket", ""},
		{"m^(1/11)", 1, 7, "cannot be represented", ""},
		{"mm^(1/2)", 0, 8, "fractional power", ""},
		{"m*s", 1, 1, "space or ·", ""},
		{"m·", 3, 0, "must follow", ""},
		{"m/", 2, 0, "must follow", ""},
		{"/s", 0, 1, "before the solidus", ""},
		{"1 m", 0, 1, "number", ""},
		{"m 2", 2, 1, "number", ""},
		{"m^(1/2)^2", 7, 1, "power must follow a unit", ""},
		{"m,", 1, 1, "not part of a unit", ""},
		{"m\xff", 1, 1, "not part of a unit", ""},
		{"Qm^99 Qm^99", 0, 11, "beyond the range", ""},
		{"qm^99", 0, 5, "beyond the range", ""},
		{strings.Repeat("m ", 21), 40, 1, "20 factors", ""},
		{strings.Repeat("m", 201), 0, 201, "200 bytes", ""},
	} {
		_, err := Parse(c.text)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("Parse(%q): %v, want an *Error", c.text, err)
			continue
		}
		if e.Offset != c.at || e.Len != c.n || e.Text != c.text[e.Offset:e.Offset+e.Len] ||
			!strings.Contains(e.Message, c.message) || e.Nearest != c.nearest {
			t.Errorf("Parse(%q): at %d+%d %q %q nearest %q; want at %d+%d %q nearest %q", c.text,
				e.Offset, e.Len, e.Text, e.Message, e.Nearest, c.at, c.n, c.message, c.nearest)
		}
		if e.Nearest != "" {
			if _, err := Parse(e.Nearest); err != nil {
				t.Errorf("Parse(%q) offers %q, which is no unit", c.text, e.Nearest)
			}
		}
	}
}

// Every unit with every prefix prints, reads back and has a coherent unit of
// its own dimension.
func TestAllSymbols(t *testing.T) {
	for _, r := range rows {
		all := []string{r.symbol}
		if r.also != "" {
			all = append(all, r.also)
		}
		for _, symbol := range all {
			checkSymbol(t, symbol, r, 0)
			for _, p := range prefixes {
				if r.prefixes && p.Symbol+symbol != "ft" {
					checkSymbol(t, p.Symbol+symbol, r, p.Power)
				}
			}
		}
	}
	for name, symbol := range misnomers {
		if _, ok := lookUp(symbol); !ok {
			t.Errorf("%q is said to mean %q, which is no unit", name, symbol)
		}
	}
	for _, symbol := range candidates {
		if _, ok := lookUp(symbol); !ok {
			t.Errorf("the candidate %q is no unit", symbol)
		}
	}
}

func checkSymbol(t *testing.T, symbol string, r row, power int) {
	t.Helper()
	u, err := Parse(symbol)
	if err != nil {
		t.Errorf("Parse(%q): %v", symbol, err)
		return
	}
	checkUnit(t, u)
	want, err := MustParse(r.symbol).Difference().ToSI("1e" + strconv.Itoa(power))
	if got, err2 := u.Difference().ToSI("1"); err != nil || err2 != nil || got != want || u.Factor() != want {
		t.Errorf("1 %s is %v with the factor %v, want %v", symbol, got, u.Factor(), want)
	}
	if u.Dim() != r.dim || u.Coherent().String() != cmp.Or(r.coherent, "1") {
		t.Errorf("%s has the dimension %s and the coherent unit %s", symbol, u.Dim(), u.Coherent())
	}
}

// A symbol must not be two units. A unit alone goes before a prefixed one; the
// clashes of that kind are those that the SI itself has, and the foot.
func TestNoClashes(t *testing.T) {
	alone := map[string]bool{}
	for _, r := range rows {
		if alone[r.symbol] {
			t.Errorf("%s stands twice in the table", r.symbol)
		}
		alone[r.symbol] = true
	}
	known := map[string]bool{"ft": true}
	seen := map[string]string{}
	for _, r := range rows {
		if !r.prefixes {
			continue
		}
		for _, p := range prefixes {
			symbol := p.Symbol + r.symbol
			if other, ok := seen[symbol]; ok {
				t.Errorf("%s is both %s and %s", symbol, other, p.Name+r.name)
			}
			seen[symbol] = p.Name + r.name
			if alone[symbol] && !known[symbol] {
				t.Errorf("%s is both a unit and the %s", symbol, p.Name+r.name)
			}
		}
	}
}

// randomUnit builds the text of a unit from the table.
func randomUnit(r *rand.Rand) string {
	factor := func(negative bool) string {
		row := rows[r.IntN(len(rows))]
		text := row.symbol
		if row.prefixes && r.IntN(2) == 0 {
			text = prefixes[6+r.IntN(12)].Symbol + text
		}
		n := 1 + r.IntN(3)
		if negative && r.IntN(3) == 0 {
			n = -n
		}
		return text + powerText(int32(n)*grain)
	}
	parts := make([]string, 1+r.IntN(3))
	for i := range parts {
		parts[i] = factor(true)
	}
	text := strings.Join(parts, " ")
	if r.IntN(2) == 0 {
		text += "/" + factor(false)
	}
	return text
}

func TestRandomUnits(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		text := randomUnit(r)
		u, err := Parse(text)
		if err != nil {
			t.Fatalf("Parse(%q): %v", text, err)
		}
		if u.String() != text {
			t.Fatalf("Parse(%q) prints %q", text, u)
		}
		checkUnit(t, u)
	}
}

// The size and dimension of a product are the products of those of its factors,
// in whatever order and with whatever solidus.
func TestProducts(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		a, b := randomUnit(r), rows[r.IntN(len(rows))].symbol
		if strings.Contains(a, "/") {
			continue
		}
		ua, ub := MustParse(a), MustParse(b)
		over, negative, before := MustParse(a+"/"+b), MustParse(a+" "+b+"^-1"), MustParse(b+"^-1 "+a)
		if !Same(over, negative) || !Same(over, before) {
			t.Errorf("%s, %s and %s differ in size", over, negative, before)
		}
		if over.Dim() != ua.Dim().Div(ub.Dim()) {
			t.Errorf("%s has the dimension %s", over, over.Dim())
		}
		if want := ua.Factor() / ub.Factor(); !within(over.Factor(), want, 1e-15) {
			t.Errorf("%s has the factor %v, want %v", over, over.Factor(), want)
		}
		if whole := MustParse(a + " " + b + " " + b + "^-1"); !Same(whole, ua.Difference()) {
			t.Errorf("%s is not %s", whole, ua)
		}
	}
}

func TestSame(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		// Definitions by other units, from the SI Brochure, table 8, and the
		// sources in the table of units.
		{"GPa", "kN/mm^2", true},
		{"Pa", "N/m^2", true},
		{"N", "kg m s^-2", true},
		{"J", "N m", true},
		{"W", "J/s", true},
		{"psi", "lbf/inch^2", true},
		{"L", "dm^3", true},
		{"L", "l", true},
		{"mL", "cm^3", true},
		{"ha", "hm^2", true},
		{"t", "Mg", true},
		{"mbar", "hPa", true},
		{"kgf/cm^2", "gf mm^-2", false},
		{"kgf/cm^2", "gf/cm^2", false},
		{"V", "W/A", true},
		{"F", "C/V", true},
		{"Ω", "V/A", true},
		{"S", "A/V", true},
		{"Wb", "V s", true},
		{"T", "Wb/m^2", true},
		{"H", "Wb/A", true},
		{"lx", "lm/m^2", true},
		{"Gy", "J/kg", true},
		{"Sv", "J/kg", true},
		{"Bq", "1/s", true},
		{"kat", "mol/s", true},
		{"K", "°C", false},
		{"J/K", "J/°C", true},
		{"m/s", "m s^-1", true},
		{"1", "mm/mm", true},
		{"%", "cm/m", true},
		{"%", "1", false},
		{"rad", "1", true},
		{"m", "kg", false},
		{"inch", "cm", false},
	} {
		if got := Same(MustParse(c.a), MustParse(c.b)); got != c.want {
			t.Errorf("Same(%s, %s) = %v", c.a, c.b, got)
		}
	}
}

func TestDifference(t *testing.T) {
	u := MustParse("°C")
	if !u.IsTemperature() || u.Offset() != 273.15 || !Same(u.Difference(), MustParse("K")) {
		t.Errorf("°C: %+v", u)
	}
	if d := u.Difference(); d.String() != "°C" || d.Offset() != 0 || d.FromSI(2) != 2 {
		t.Errorf("difference of °C: %+v", d)
	}
	if m := MustParse("mm"); m.Difference() != m {
		t.Error("mm has a difference of its own")
	}
}

func TestAll(t *testing.T) {
	for _, e := range All() {
		if e.Symbol == "" || e.Name == "" || e.Factor == "" || e.Source == "" {
			t.Errorf("incomplete entry %+v", e)
		}
		if _, err := Parse(e.Symbol); err != nil {
			t.Errorf("%s: %v", e.Symbol, err)
		}
	}
	p := Prefixes()
	for i := 1; i < len(p); i++ {
		if p[i].Power >= p[i-1].Power {
			t.Errorf("prefixes are out of order at %s", p[i].Name)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"GPa", "kg m^2 s^-2", "m/s²", "kN/mm^2", "°C", "m^(1/3)", "1/s", "J/(kg K)", "mkg", "m⁻¹", "m^-", "µm·Ω", "m^99 L^33",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		u, err := Parse(text)
		if err == nil {
			checkUnit(t, u)
			return
		}
		var e *Error
		if !errors.As(err, &e) || e.Offset < 0 || e.Len < 0 || e.Offset+e.Len > len(text) {
			t.Fatalf("Parse(%q): %+v", text, err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"GPa", "mm/kg", "kg m^2 s^-2", "lbf/inch^2"} {
		b.Run(strings.ReplaceAll(text, "/", "÷"), func(b *testing.B) {
			for b.Loop() {
				if _, err := Parse(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestKnown(t *testing.T) {
	for text, want := range map[string]bool{"mm": true, "kg m^2/s^2": true, "µm": true, "%": true, "": false, "wire": false, "in": false, "m/s/s": false, "kkg": false, "m²": true} {
		if Known(text) != want {
			t.Errorf("%q: known is %v", text, !want)
		}
		if _, err := Parse(text); (err == nil) != want {
			t.Errorf("%q: Parse says %v", text, err)
		}
	}
}
