package blocks

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/unit"
)

// kayeLaby is a row of the handbook's table: E, G, K, nu as printed.
type kayeLaby struct {
	number     map[string]string
	consistent bool
}

// handbookNames are the materials whose elastic constants are Kaye and Laby's,
// with their names there.
var handbookNames = map[string]string{
	"aluminium": "Aluminium", "brass": "Brass (70 Cu 30 Zn)", "carbon_steel": "Steel (0.75 C)",
	"carbon_steel_hardened": "Steel (0.75 C, hardened)", "cast_iron": "Iron (cast)", "constantan": "Constantan",
	"copper": "Copper", "fused_quartz": "Fused quartz", "glass": "Crown glass", "gold": "Gold",
	"invar": "Invar (36 Ni 63.8 Fe 0.2 C)", "iron": "Iron (soft)", "lead": "Lead", "magnesium": "Magnesium",
	"nickel": "Nickel (unmagnetised, soft)", "platinum": "Platinum", "silver": "Silver",
	"stainless_steel": "Stainless steel (2 Ni 18 Cr)", "steel": "Steel (mild)", "tin": "Tin", "titanium": "Titanium",
	"tungsten": "Tungsten", "zinc": "Zinc",
}

// readData reads a table of testdata/materials: `;` between cells, `#` lines
// are comments. It returns the rows by heading.
func readData(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "materials", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.Comment, r.LazyQuotes = ';', '#', true
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, h := range rows[0] {
			m[h] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func readHandbook(t *testing.T) map[string]kayeLaby {
	t.Helper()
	out := map[string]kayeLaby{}
	for _, m := range readData(t, "kaye-laby.csv") {
		out[m["material"]] = kayeLaby{number: m, consistent: m["consistent"] == "yes"}
	}
	return out
}

// constants are the built-in ones by name, steel.E.
func constants() map[string]method.Constant {
	out := map[string]method.Constant{}
	for _, c := range Built().Constants() {
		out[c.Material+"."+c.Name] = c
	}
	return out
}

// TestTablesRead holds the built-in tables to the language: no findings, and
// what the practicals ask for is there.
func TestTablesRead(t *testing.T) {
	for _, f := range Built().Findings {
		t.Error(f)
	}
	c := constants()
	for _, name := range []string{"steel.E", "steel.G", "steel.K", "steel.nu", "steel.density", "steel.expansion", "piano_wire.E",
		"piano_wire.G", "spring_steel.G", "stainless_steel.E", "copper.E", "brass.E", "brass.G", "aluminium.E", "iron.E", "phosphor_bronze.G",
		"constantan.E", "nickel.E", "tungsten.E", "silver.E", "glass.E", "nylon.E", "copper.strength_annealed", "copper.strength_hard_drawn"} {
		if _, ok := c[name]; !ok {
			t.Errorf("there is no %s", name)
		}
	}
}

// dimensions of the constants, by the beginning of their names.
var dimensions = map[string]string{"E": "Pa", "G": "Pa", "K": "Pa", "nu": "", "density": "kg/m^3", "expansion": "K^-1",
	"yield": "Pa", "strength": "Pa", "proportional_limit": "Pa"}

// TestConstantsPlausible catches a slip of unit or a power of ten.
func TestConstantsPlausible(t *testing.T) {
	limits := map[string][2]float64{"E": {1e9, 600e9}, "G": {5e9, 250e9}, "K": {10e9, 400e9}, "nu": {0.1, 0.5}, "density": {1000, 22000},
		"expansion": {5e-7, 35e-6}, "yield": {20e6, 2e9}, "strength": {50e6, 3e9}, "proportional_limit": {20e6, 1e9}}
	for name, c := range constants() {
		base := c.Name
		for _, b := range []string{"yield_", "strength_"} {
			if strings.HasPrefix(base, b) {
				base = b[:len(b)-1]
			}
		}
		u, known := dimensions[base]
		if !known {
			t.Errorf("%s: no constant is called that", name)
			continue
		}
		dim := unit.Of(unit.Dim{}).Dim()
		if u != "" {
			un, err := unit.Parse(u)
			if err != nil {
				t.Fatal(err)
			}
			dim = un.Dim()
		}
		if c.Value.Q.Dim() != dim {
			t.Errorf("%s has the wrong dimension: %s", name, c.Typed)
		}
		if v, l := c.Value.Q.Value(), limits[base]; v < l[0] || v > l[1] {
			t.Errorf("%s = %g is beyond %v", name, v, l)
		}
		if c.From == "" || c.Value.From != c.From {
			t.Errorf("%s: the value does not carry its source", name)
		}
	}
}

// TestHandbook holds every elastic constant of Kaye and Laby's, 16th ed.,
// 2.2.2, to the digits of that table (from memory, as each says).
func TestHandbook(t *testing.T) {
	book, got := readHandbook(t), constants()
	for ours, theirs := range handbookNames {
		row, ok := book[theirs]
		if !ok {
			t.Errorf("the handbook has no %q", theirs)
			continue
		}
		for _, name := range []string{"E", "G", "K", "nu"} {
			want := row.number[name]
			if name != "nu" {
				want += " GPa"
			}
			c := got[ours+"."+name]
			if c.Typed != want {
				t.Errorf("%s.%s is %q, the handbook has %q", ours, name, c.Typed, want)
			}
			if c.Value.Q.IsUncertain() || !strings.Contains(c.From, "Kaye and Laby") || !strings.Contains(c.From, "from memory") {
				t.Errorf("%s.%s: %q from %q", ours, name, c.Typed, c.From)
			}
		}
	}
}

// TestOtherSources holds every other constant to its source, and each constant
// to exactly one row of the test's data.
func TestOtherSources(t *testing.T) {
	got := constants()
	for _, row := range readData(t, "others.csv") {
		name := row["constant"]
		c, ok := got[name]
		if !ok {
			t.Errorf("there is no %s (or two rows of it)", name)
			continue
		}
		delete(got, name)
		checkPrinted(t, name, c, row)
	}
	for name, c := range got {
		if _, ok := handbookNames[c.Material]; !ok || dimensions[c.Name] != "Pa" && c.Name != "nu" || len(c.Name) > 2 {
			t.Errorf("nothing holds %s to a source", name)
		}
	}
}

// checkPrinted compares a constant with what its source prints.
func checkPrinted(t *testing.T, name string, c method.Constant, row map[string]string) {
	t.Helper()
	low, high, isRange := strings.Cut(row["printed"], " to ")
	value, bound, hasBound := strings.Cut(row["printed"], " ± ")
	scale := factor(t, row["unit"])
	var v, half float64
	switch {
	case isRange:
		a, b := parsed(t, low)*scale, parsed(t, high)*scale
		v, half = (a+b)/2, (b-a)/2
	case hasBound:
		v, half = parsed(t, value)*scale, parsed(t, bound)*scale
	default:
		v = parsed(t, row["printed"]) * scale
	}
	if !near(c.Value.Q.Value(), v) || !near(c.Value.Q.U()*math.Sqrt(3), half) {
		t.Errorf("%s is %s; its source prints %s %s", name, c.Typed, row["printed"], row["unit"])
	}
	for phrase, want := range map[string]bool{"from memory": row["known"] == "memory", "secondary": row["known"] == "secondary", "stated as a range": isRange} {
		if strings.Contains(c.From, phrase) != want {
			t.Errorf("%s: its source %q should say %q: %v", name, c.From, phrase, want)
		}
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Abs(b) }

func parsed(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// factor is that of a unit as others.csv writes it, "1e-6 K^-1".
func factor(t *testing.T, s string) float64 {
	t.Helper()
	f, ok := map[string]float64{"Pa": 1, "MPa": 1e6, "GPa": 1e9, "kg/m^3": 1, "g/cm^3": 1000, "1e-6 K^-1": 1e-6}[s]
	if !ok {
		t.Fatalf("what is %q?", s)
	}
	return f
}

// inconsistent are the rows of the handbook in which E, G, K and nu do not
// agree within their rounding, with what is off. Its four columns are not all
// derived from two.
var inconsistent = map[string]string{
	"Gold":                         "E from G and K is 0.29 % below the printed one",
	"Iron (soft)":                  "E from G and K is 0.19 % below the printed one",
	"Steel (mild)":                 "E from G and K is 0.16 % above the printed one",
	"Steel (0.75 C)":               "E from G and K is 0.14 % below the printed one",
	"Steel (0.75 C, hardened)":     "E from G and K is 0.15 % above the printed one",
	"Stainless steel (2 Ni 18 Cr)": "nu from G and K is 0.2837, printed 0.283",
	"Tungsten carbide":             "nu from G and K is 0.2207, printed 0.22, and E is 0.05 % above the printed one",
	"Crown glass":                  "E from G and K is 0.62 % below the printed one",
	"Heavy flint glass":            "E from G and K is 0.21 % below the printed one",
}

// TestIsotropy tests E = 9KG/(3K+G) and nu = (3K−2G)/(2(3K+G)), which hold in
// every isotropic solid, in each row of the handbook: each printed number may
// be off by half a unit of its last digit. The exceptions are listed, must be
// exceptions, and are those marked in the test's data.
func TestIsotropy(t *testing.T) {
	book := readHandbook(t)
	if len(book) < 30 {
		t.Fatalf("%d rows", len(book))
	}
	for name, row := range book {
		E, G, K, nu := printed(t, row.number["E"]), printed(t, row.number["G"]), printed(t, row.number["K"]), printed(t, row.number["nu"])
		fromE := interval{modulus(K.low, G.low), modulus(K.high, G.high)}  // rises with both
		fromNu := interval{poisson(K.low, G.high), poisson(K.high, G.low)} // rises with K, falls with G
		ok := fromE.meets(E) && fromNu.meets(nu)
		why, exception := inconsistent[name]
		if ok == exception || ok != row.consistent {
			t.Errorf("%s: E %v of %v, nu %v of %v; listed: %q; marked consistent: %v", name, E, fromE, nu, fromNu, why, row.consistent)
		}
		// Even an exception stays within a per cent: a slip of digits would not.
		if e := modulus(K.mid(), G.mid()); math.Abs(e/E.mid()-1) > 0.01 {
			t.Errorf("%s: E = %g GPa, from G and K %g GPa", name, E.mid(), e)
		}
	}
	for name := range inconsistent {
		if _, ok := book[name]; !ok {
			t.Errorf("the handbook has no %q", name)
		}
	}
}

type interval struct{ low, high float64 }

func (a interval) mid() float64          { return (a.low + a.high) / 2 }
func (a interval) meets(b interval) bool { return a.low <= b.high && b.low <= a.high }
func (a interval) String() string        { return fmt.Sprintf("%.5g…%.5g", a.low, a.high) }
func modulus(K, G float64) float64       { return 9 * K * G / (3*K + G) }
func poisson(K, G float64) float64       { return (3*K - 2*G) / (2 * (3*K + G)) }

// printed is what a printed number can stand for.
func printed(t *testing.T, s string) interval {
	t.Helper()
	v, half := parsed(t, s), 0.5
	if _, decimals, ok := strings.Cut(s, "."); ok {
		half *= math.Pow10(-len(decimals))
	}
	return interval{v - half, v + half}
}

// TestElements compares the elements with a second, coarser table (the element
// table of pymatgen 2022.11), within its rounding: K has two figures there.
func TestElements(t *testing.T) {
	exceptions := map[string]string{
		"magnesium.K": "the second table repeats E, 45 GPa, which does not go with its G and nu",
		"zinc.K":      "70 GPa, where 72 GPa goes with its E and nu",
	}
	got := constants()
	for _, row := range readData(t, "elements.csv") {
		for _, name := range []string{"E", "G", "K", "nu"} {
			full := row["material"] + "." + name
			in := printed(t, row[name])
			if name == "K" && in.mid() >= 100 {
				in = interval{in.mid() - 5, in.mid() + 5}
			}
			v := got[full].Value.Q.Value()
			if name != "nu" {
				v /= 1e9
			}
			slack := 1e-9
			ok := v >= in.low-slack && v <= in.high+slack
			if _, exception := exceptions[full]; ok == exception {
				t.Errorf("%s = %g; the second table has %s (exception: %v)", full, v, row[name], exception)
			}
		}
	}
}

// TestMethodsRead holds the built-in method files to no findings.
func TestMethodsRead(t *testing.T) {
	for _, name := range Built().MethodNames() {
		f, _ := Built().Method(name)
		var set finding.Set
		m := method.Read(f, block.KindNames(All()), &set)
		for _, f := range set.Sorted() {
			t.Error(f)
		}
		if m.Name != name || m.Title == "" || len(m.Results) == 0 || len(m.Roles) == 0 {
			t.Errorf("%s: %q %q, %d results, %d roles", name, m.Name, m.Title, len(m.Results), len(m.Roles))
		}
	}
}
