package block

import (
	"strings"
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// staleProgram is a record of that prose in which E is 197.3 GPa with a
// standard uncertainty of 4.1 GPa, d is 0.4 mm, n is 8, T is 20.6 °C, p is
// 12.4 %, line.slope is 0.586 mm/kg and gone waits.
func staleProgram(prose string) *Program {
	set := &finding.Set{}
	f := source.NewFile("r.md", []byte(prose))
	rec := record.Parse(f, nil, set)
	p := New(rec, nil, nil, noLibrary{}, Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}, set)
	define := func(name string, v eval.Value) {
		p.addDef(&Def{Name: name, At: f.Span(0, 0), value: v}, p.Root, nil)
	}
	in := func(v float64, u string) eval.Scalar {
		un := unit.MustParse(u)
		return eval.Scalar{Q: quantity.Exact(v, un.Dim()), Unit: &un}
	}
	gpa := unit.MustParse("GPa")
	s := quantity.Source{ID: "s", U: 4.1e9, DOF: 9, Unit: gpa}
	define("E", eval.Scalar{Q: quantity.Uncertain(197.3e9, gpa.Dim(), quantity.Term{Source: s.New(), C: 1}), Unit: &gpa})
	define("d", in(0.4e-3, "mm"))
	define("n", in(8, "1"))
	define("T", in(293.75, "°C"))
	define("p", in(0.124, "%"))
	define("E_1", in(2, "m"))
	define("line", &eval.Space{Get: func(n string) (eval.Value, bool) {
		return in(0.586e-3, "mm/kg"), n == "slope"
	}})
	define("gone", eval.Waiting{})
	return p
}

type noLibrary struct{}

func (noLibrary) Method(string) (*source.File, bool) { return nil, false }
func (noLibrary) MethodNames() []string              { return nil }
func (noLibrary) Material(string) (eval.Value, bool) { return nil, false }
func (noLibrary) MaterialNames() []string            { return nil }

func TestStaleNumbers(t *testing.T) {
	for _, c := range []struct {
		prose string
		want  string // the place of the caution; "" for none
	}{
		// Numbers that agree, rounded to their own decimals.
		{"so that E = 197 GPa.", ""},
		{"so that E = 197.3 GPa.", ""},
		{"so that E = 1.97e11 Pa.", ""},
		{"so that E = 1.973×10^11 Pa", ""},
		{"so that E = 1.973 · 10¹¹ Pa", ""},
		{"so that E = 197.3(41) GPa", ""},
		{"so that E=197 300 MPa", ""},
		{"with T = 20.6 °C", ""},
		{"with T = 293.8 K", ""},
		{"we took n = 8 readings", ""},
		{"p = 12 % of them, or p = 0.12", ""},
		{"line.slope = 0.59 mm/kg", ""},

		// Numbers that do not.
		{"so that E = 196 GPa.", "196 GPa"},
		{"so that E = 197.2 GPa, in short", "197.2 GPa"},
		{"so that E = 197 MPa", "197 MPa"},
		{"so that E = −197 GPa", "−197 GPa"},
		{"so that E = 1.97×10^10 Pa", "1.97×10^10 Pa"},
		{"so that E = 1.97 × 10¹² Pa", "1.97 × 10¹² Pa"},
		{"so that *E* = **190 GPa**", "190 GPa"},
		{"so that E =\n190\nGPa", "190\nGPa"},
		{"so that E = 190 kN/mm² now", "190 kN/mm²"},
		{"so that E = 190 N m^-2 of force", "190 N m^-2"},
		{"## Result: E = 190 GPa", "190 GPa"},
		{"| a |\n|---|\n| E = 190 GPa |", "190 GPa"},
		{"- E = 190 GPa", "190 GPa"},
		{"> E = 190 GPa", "190 GPa"},
		{"[E = 190 GPa](#e)", "190 GPa"},
		{"with T = 21.6 °C", "21.6 °C"},
		{"with n = 9, we", "9"},
		{"with n = 9", "9"},
		{"(n = 9)", "9"},
		{"p = 13 %", "13 %"},
		{"the slope line.slope = 0.60 mm/kg is", "0.60 mm/kg"},
		{"E\\_1 = 3 m", "3 m"},
		{"E_1 = 3 m", "3 m"},
		{"d = 0.5 mm at the top", "0.5 mm"}, // at is also the attotonne

		// What is no assertion about the name.
		{"`E = 190 GPa`", ""},
		{"$E = 190$ GPa", ""},
		{"<b>E = 190 GPa</b> in `E` = 190 GPa", "190 GPa"}, // the tags are shown as text
		{"    E = 190 GPa", ""},
		{"```\nE = 190 GPa\n```", ""},
		{"![E = 190 GPa](x.png)", ""},
		{"FE = 190 GPa", ""},
		{"x.E = 190 GPa", ""},
		{"E' = 190 GPa", ""},
		{"2·E = 190 GPa", ""},
		{"E == 190 GPa", ""},
		{"E = 190 kg", ""},      // something else by that name
		{"E = 190", ""},         // the same
		{"n = 9 kg", "9"},       // a number is due, and nine stands there
		{"n = 9th", ""},         //
		{"n = 9–12", ""},        // ranges, sums, dates and groups are no numbers
		{"n = 9 + 1", ""},       //
		{"n = 9.1.2", ""},       //
		{"n = 9 000", ""},       //
		{"n = 9,5", ""},         // a decimal comma, or a list
		{"E = 190 GPa · 2", ""}, //
		{"unknown = 190 GPa", ""},
		{"gone = 190 GPa", ""},
		{"line.foo = 190 GPa", ""},
		{"line = 190 GPa", ""},
		{"E = g L", ""},
	} {
		p := staleProgram(c.prose)
		p.CheckProse(false)
		got := ""
		for _, f := range p.Set.Sorted() {
			if f.Slug == "stale-number" {
				got += f.At.Text()
			}
		}
		if got != c.want {
			t.Errorf("%q: caution at %q, not %q", c.prose, got, c.want)
		}
	}
}

func TestStaleNumberTellsBoth(t *testing.T) {
	p := staleProgram("E = 190.0 kN/mm^2")
	p.CheckProse(false)
	want := "r.md:1:5: caution: stale-number: the text says `E` = 190.0 kN/mm^2, the data give (197.3 ± 9.3) kN/mm^2 (rounded alike: 197.3); write `=[E in kN/mm^2]` in its place, which can't go stale"
	if got := p.Set.Sorted(); len(got) != 1 || got[0].String() != want {
		t.Errorf("got %v, want %s", got, want)
	}
}

func TestStaleDecimalComma(t *testing.T) {
	for prose, want := range map[string]string{
		"d = 0,4 mm":      "",
		"d = 0,5 mm":      "0,5 mm",
		"d = 0.5 mm":      "0.5 mm",
		"E = 197.300 MPa": "", // groups of thousands
	} {
		p := staleProgram(prose)
		p.CheckProse(true)
		got := ""
		for _, f := range p.Set.Sorted() {
			got += f.At.Text()
		}
		if got != want {
			t.Errorf("%q: caution at %q, not %q", prose, got, want)
		}
	}
}

func FuzzCheckProse(f *testing.F) {
	for _, s := range []string{"E = 190 GPa", "*E* = 1.9×10¹¹ Pa", "n = 9,", "T = 21 °C\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, prose string) {
		if !strings.Contains(prose, "=") {
			return
		}
		p := staleProgram(prose)
		p.CheckProse(len(prose)%2 == 0)
		for _, f := range p.Set.Sorted() {
			if f.At.File == nil || f.Slug == "stale-number" && f.At.Text() == "" {
				t.Errorf("%q: a finding without a place: %s", prose, f)
			}
		}
	})
}
