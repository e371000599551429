package method

import (
	"strings"
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/source"
)

const head = "material, constant, value, from\n"

// readMaterials reads one table of materials.
func readMaterials(text string) (*Materials, []*finding.Finding) {
	var set finding.Set
	m := ReadMaterials([]*source.File{source.NewFile("m.csv", []byte(text))}, &set)
	return m, set.Sorted()
}

func TestReadMaterials(t *testing.T) {
	m, list := readMaterials("# invented\n" + head +
		"zork, E, 12.0 GPa ± 0.3 GPa, \"A. Table, 2nd ed., p. 3\"  # seen\n" +
		"ark, nu, 0.30, a table\n" +
		"zork, density, 7850 kg/m^3, from memory\n")
	if len(list) > 0 {
		t.Fatal(list)
	}
	if got := strings.Join(m.Names(), " "); got != "ark zork" {
		t.Errorf("names %q", got)
	}
	var order []string
	for _, c := range m.Constants {
		order = append(order, c.Material+"."+c.Name)
	}
	if got := strings.Join(order, " "); got != "ark.nu zork.E zork.density" {
		t.Errorf("order %q", got)
	}
	E := m.Constants[1]
	if E.From != "A. Table, 2nd ed., p. 3" || E.Typed != "12.0 GPa ± 0.3 GPa" || E.Value.Q.Value() != 12e9 || E.Value.Q.U() == 0 {
		t.Errorf("E is %+v", E)
	}
	if m.Constants[0].Value.Q.IsUncertain() {
		t.Error("an uncertainty that the table does not state")
	}
}

// TestOneSource: a constant's uncertainty is one source, wherever it is quoted.
func TestOneSource(t *testing.T) {
	m, _ := readMaterials(head + "zork, E, 12.0 GPa ± 0.3 GPa, a table\n")
	a, _ := m.Material("zork")
	b, _ := m.Material("zork")
	x, _ := eval.Field(a, "E")
	y, _ := eval.Field(b, "E")
	if u := x.(eval.Scalar).Q.Sub(y.(eval.Scalar).Q).U(); u != 0 {
		t.Errorf("u of the constant less itself is %g", u)
	}
}

// TestMaterialFindings: each fault of a table is one finding at its place, and
// the other rows are read.
func TestMaterialFindings(t *testing.T) {
	const good = "good, E, 1 GPa, a table\n"
	for _, c := range []struct{ name, row, slug, place, message string }{
		{"three cells", "a, E, 1 GPa\n", "bad-constant", "m.csv:3:1", "3 cells"},
		{"comma", "a, E, 1 GPa, Somebody, a table\n", "bad-constant", "m.csv:3:1", "quotation marks"},
		{"struck", "~a, E, 1 GPa, a table\n", "bad-constant", "m.csv:3:2", "struck"},
		{"struck cell", "a, E, ~1 GPa, a table\n", "bad-constant", "m.csv:3:8", "struck"},
		{"dotted", "a.b, E, 1 GPa, a table\n", "bad-constant", "m.csv:3:1", "`a.b` is no name"},
		{"constant", "a, E modulus, 1 GPa, a table\n", "bad-constant", "m.csv:3:4", "is no name"},
		{"no source", "a, E, 1 GPa,\n", "bad-constant", "m.csv:3:1", "`a.E` has no source"},
		{"twice", "good, E, 2 GPa, a table\n", "bad-constant", "m.csv:3:1", "given twice"},
		{"instrument", "a, E, 1 GPa @screw, a table\n", "bad-constant", "m.csv:3:14", "instrument"},
		{"unit", "a, E, 1 Gpa, a table\n", "unknown-unit", "m.csv:3:9", "Gpa"},
		{"words", "a, E, stiff, a table\n", "", "m.csv:3:7", ""},
		{"empty value", "a, E, , a table\n", "", "m.csv:3", ""},
	} {
		m, list := readMaterials(head + good + c.row)
		if len(list) != 1 {
			t.Errorf("%s: %v", c.name, list)
			continue
		}
		if s := list[0].String(); !strings.HasPrefix(s, c.place) || !strings.Contains(s, c.message) || c.slug != "" && list[0].Slug != c.slug {
			t.Errorf("%s: %s", c.name, s)
		}
		if len(m.Constants) != 1 || len(m.Names()) != 1 {
			t.Errorf("%s: %d constants", c.name, len(m.Constants))
		}
	}
	for _, text := range []string{"", "material, constant, value\n", "constant, material, value, from\n" + good, good} {
		m, list := readMaterials(text)
		if len(list) != 1 || list[0].Slug != "bad-heading" || len(m.Constants) != 0 {
			t.Errorf("%q: %v", text, list)
		}
	}
}

// oneName is an environment with a material and a word.
type oneName struct{ material, temper eval.Value }

func (e oneName) Lookup(name string) (eval.Value, []string) {
	first, rest, dotted := strings.Cut(name, ".")
	switch {
	case first == "material" && dotted:
		return e.material, []string{rest}
	case first == "material":
		return e.material, nil
	case first == "temper":
		return e.temper, nil
	}
	return eval.Waiting{On: name}, nil
}

func (oneName) Instrument(string) (*instrument.Instrument, eval.Waiting, bool) {
	return nil, eval.Waiting{}, false
}
func (oneName) Given(string) (bool, bool)  { return false, false }
func (oneName) Defined(string) source.Span { return source.Span{} }

// TestTemper: strength(temper) is the constant of that temper, and nothing
// else stands in for one that is missing.
func TestTemper(t *testing.T) {
	m, list := readMaterials(head + "cu, strength, 220 MPa, a table\ncu, strength_annealed, 237 MPa, a table\ncu, strength_hard_drawn, 400 MPa, a table\nzork, E, 1 GPa, a table\n")
	if len(list) > 0 {
		t.Fatal(list)
	}
	eq := func(material, expr, temper string) (eval.Value, []*finding.Finding) {
		mat, _ := m.Material(material)
		var set finding.Set
		f := source.NewFile("r.md", []byte(expr))
		e := &eval.Eval{Env: oneName{mat, eval.Word{Text: temper}}, Owner: "x", Report: set.Add}
		return e.Expr(formula.ParseExpr(f.Span(0, len(f.Text)), &set)), set.Sorted()
	}
	for _, temper := range []string{"hard-drawn", "hard drawn", "hard_drawn", "Hard-drawn"} {
		v, list := eq("cu", "material.strength(temper)", temper)
		if s, ok := v.(eval.Scalar); !ok || s.Q.Value() != 400e6 || s.From != "a table" || len(list) > 0 {
			t.Errorf("%q: %v %v", temper, v, list)
		}
	}
	if v, _ := eq("cu", "material.strength", ""); v.(eval.Scalar).Q.Value() != 220e6 {
		t.Error("the constant without a temper")
	}
	for _, c := range []struct{ material, expr, temper, slug, message string }{
		{"cu", "material.strength(temper)", "half-hard", "unknown-temper", `no strength of cu "half-hard"; they hold "annealed", "hard-drawn"`},
		{"cu", "material.strength(temper)", "", "unknown-temper", "no strength"},
		{"cu", "material.yield(temper)", "annealed", "unknown-temper", "no tempers of cu"},
		{"zork", "material.strength(temper)", "annealed", "unknown-temper", "no tempers of zork"},
		{"cu", "material.strength(2)", "", "wrong-argument", "this is a number"},
		{"cu", "material.strength(temper, temper)", "annealed", "wrong-arguments", "one temper"},
		{"cu", "material.hardness(temper)", "annealed", "", "hardness"},
	} {
		v, list := eq(c.material, c.expr, c.temper)
		if _, waits := v.(eval.Waiting); !waits || len(list) != 1 || c.slug != "" && list[0].Slug != c.slug || !strings.Contains(list[0].Full(), c.message) {
			t.Errorf("%s of %s, %q: %v, %v", c.expr, c.material, c.temper, v, list)
		}
	}
}

// FuzzReadMaterials: whatever a table holds, reading it does not fail, and
// what is read has a name, a source and a finite value.
func FuzzReadMaterials(f *testing.F) {
	f.Add(head + "a, E, 1 GPa ± 1 %, b\n")
	f.Add(head + "\"a\", E, (1 ± 0.1) GPa, \"b, c\"\n~x\n")
	f.Add("material | constant | value | from\n--- | --- | --- | ---\na | E | -5 °C | b\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, _ := readMaterials(text)
		for _, c := range m.Constants {
			if c.Material == "" || c.Name == "" || c.From == "" || !c.Value.Q.Finite() {
				t.Errorf("%+v", c)
			}
		}
	})
}
