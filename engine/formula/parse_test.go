package formula

import (
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func whole(text string) source.Span {
	f := source.NewFile("t.md", []byte(text))
	return f.Span(0, len(text))
}

// parse reads an expression that must be free of findings.
func parse(t *testing.T, text string) Expr {
	t.Helper()
	var set finding.Set
	e := ParseExpr(whole(text), &set)
	for _, f := range set.Sorted() {
		t.Errorf("%s: %v", text, f)
	}
	return e
}

// bracketed writes an expression with brackets around every operation and
// none that were typed, so that the structure shows.
func bracketed(e Expr) string {
	switch e := e.(type) {
	case *Unary:
		return "(" + e.Op + " " + bracketed(e.X) + ")"
	case *Binary:
		return "(" + bracketed(e.X) + " " + e.Op + " " + bracketed(e.Y) + ")"
	case *Call:
		var args []string
		for _, a := range e.Args {
			args = append(args, bracketed(a))
		}
		return e.Name + "[" + strings.Join(args, ", ") + "]"
	case *Paren:
		return bracketed(e.X)
	case *Literal:
		return "<" + Print(e) + ">"
	}
	return Print(e)
}

var structures = []struct{ text, want string }{
	{"a", "a"},
	{"a + b * c", "(a + (b * c))"},
	{"a - b - c", "((a - b) - c)"},
	{"a / b / c", "((a / b) / c)"},
	{"a / b * c", "((a / b) * c)"},
	{"-a^2", "(- (a ^ <2>))"},
	{"−2^2", "(- (<2> ^ <2>))"},
	{"2^3^2", "(<2> ^ (<3> ^ <2>))"},
	{"2^-3^2", "(<2> ^ (- (<3> ^ <2>)))"},
	{"a^-b * c", "((a ^ (- b)) * c)"},
	{"(-2)^2", "((- <2>) ^ <2>)"},
	{"--a", "(- (- a))"},
	{"a - -b", "(a - (- b))"},
	{"a * -b^2", "(a * (- (b ^ <2>)))"},
	{"-a * b", "((- a) * b)"},
	{"not a == b and c or d", "(((not (a == b)) and c) or d)"},
	{"a or b and not c", "(a or (b and (not c)))"},
	{"not not a", "(not (not a))"},
	{"a + 1 < b * 2", "((a + <1>) < (b * <2>))"},
	{"a ≤ b", "(a <= b)"}, {"a ≥ b", "(a >= b)"}, {"a ≠ b", "(a != b)"}, {"a>=b", "(a >= b)"}, {"a!=b", "(a != b)"},
	{"a·b × c", "((a * b) * c)"},
	{"a − b", "(a - b)"},
	{"π * d² / 4", "((pi * (d ^ <2>)) / <4>)"},
	{"pi*d^2/4", "((pi * (d ^ <2>)) / <4>)"},
	{"x⁻¹²", "(x ^ (- <12>))"},
	{"(a + b)²", "((a + b) ^ <2>)"},
	{"-d²", "(- (d ^ <2>))"},
	{"√2", "sqrt[<2>]"}, {"√(a + b)", "sqrt[(a + b)]"}, {"√√x", "sqrt[sqrt[x]]"}, {"√x * y", "(sqrt[x] * y)"}, {"-√x", "(- sqrt[x])"},
	{"√sin(x)", "sqrt[sin[x]]"}, {"√line.slope", "sqrt[line.slope]"},
	{"mean(wire.across, wire.along)", "mean[wire.across, wire.along]"},
	{"line.at(2 kg)", "line.at[<2 kg>]"},
	{"pull.up.raw", "pull.up.raw"},
	{"f()", "f[]"},
	{"if(a > 1, b, c)", "if[(a > <1>), b, c]"},
	{"g * L / (A * line.slope)", "((g * L) / (A * line.slope))"},
	// units
	{"2 m", "<2 m>"}, {"2m", "<2 m>"}, {"2\u00a0m", "<2 m>"}, {"2\u202fm", "<2 m>"}, {"2\tm", "<2 m>"},
	{"4.5 kg m^2 s^-2", "<4.5 kg m^2 s^-2>"},
	{"4.5 kg·m²·s⁻²", "<4.5 kg m^2 s^-2>"},
	{"4.5 m^2", "<4.5 m^2>"},
	{"(2 m)^2", "(<2 m> ^ <2>)"},
	{"(2 m)²", "(<2 m> ^ <2>)"},
	{"9.81 m/s²", "<9.81 m/s^2>"},
	{"2 m/s", "<2 m/s>"},
	{"2 m / s", "(<2 m> / s)"},
	{"2 m/(s)", "(<2 m> / s)"},
	{"2 m/sin(x)", "(<2 m> / sin[x])"},
	{"2 m/line.slope", "(<2 m> / line.slope)"},
	{"2 m/pi", "(<2 m> / pi)"}, {"2 m/π", "(<2 m> / pi)"},
	{"2 m/2", "(<2 m> / <2>)"},
	{"2/s", "(<2> / s)"},
	{"1/3", "(<1> / <3>)"},
	{"3.5 kg * g", "(<3.5 kg> * g)"},
	{"12 %", "<12 %>"}, {"12% + a", "(<12 %> + a)"}, {"0.1 %/K", "<0.1 %/K>"},
	{"20 °C", "<20 °C>"}, {"20°C", "<20 °C>"}, {"30°", "<30 °>"}, {"30° * a", "(<30 °> * a)"}, {"-5 °C", "(- <5 °C>)"},
	{"5 µm", "<5 μm>"}, {"5 \u212b", "<5 Å>"}, {"5 \u2126", "<5 Ω>"},
	{"2 m as", ""}, {"2 m and 3", "(<2 m> and <3>)"}, {"a > 2 kg or b", "((a > <2 kg>) or b)"},
	{"2 m == 3 m", "(<2 m> == <3 m>)"}, {"2 m - 3 m", "(<2 m> - <3 m>)"}, {"f(2 m, 3 m)", "f[<2 m>, <3 m>]"},
	// numbers
	{"1.97e11 Pa", "<1.97e11 Pa>"}, {"1.97E+11", "<1.97e11>"}, {"1e-3", "<1e-3>"}, {"1e−3", "<1e-3>"},
	{"1.97×10^11 Pa", "<1.97e11 Pa>"}, {"1.97 × 10^11 Pa", "<1.97e11 Pa>"}, {"1.97×10¹¹ Pa", "<1.97e11 Pa>"}, {"1.97×10⁻³", "<1.97e-3>"},
	{"3 × 10^n", "(<3> * (<10> ^ n))"}, {"3 × 10^4^2", "(<3> * (<10> ^ (<4> ^ <2>)))"}, {"3 × 10^0.5", "(<3> * (<10> ^ <0.5>))"},
	{"3 × 10", "(<3> * <10>)"}, {"3 × 100^2", "(<3> * (<100> ^ <2>))"},
	{"2.9140(6) m", "<2.9140(6) m>"}, {"1.973(41)×10^11 Pa", "<1.973(41)e11 Pa>"}, {"2.9140(0.0006) m", "<2.9140(0.0006) m>"},
	{"9.8124(2) m/s^2", "<9.8124(2) m/s^2>"}, {"2(3)^2", "(<2(3)> ^ <2>)"}, {"2e", "<2 e>"}, {"2 eV", "<2 eV>"}, {"2eV", "<2 eV>"},
	// uncertainties
	{"2.914 m ± 1 mm", "<2.914 m ± 1 mm>"}, {"2.914 m +/- 1 mm", "<2.914 m ± 1 mm>"}, {"2.914 m±1mm", "<2.914 m ± 1 mm>"},
	{"2.914 m ± 1 mm triangular", "<2.914 m ± 1 mm triangular>"}, {"2.914 m ± 1 mm arcsine * 2", "(<2.914 m ± 1 mm arcsine> * <2>)"},
	{"2.914 m ± 1 mm std dof=9", "<2.914 m ± 1 mm std dof=9>"}, {"2.914 m ± 1 mm k = 2 dof=9.5", "<2.914 m ± 1 mm k=2 dof=9.5>"},
	{"2.914 m ± 0.5 %", "<2.914 m ± 0.5 %>"}, {"2.914 m ± 0.5%", "<2.914 m ± 0.5 %>"}, {"2.914 m ± 0.5 % std", "<2.914 m ± 0.5 % std>"},
	{"12 % ± 1 %", "<12 % ± 1 %>"}, {"0.29 ± 0.01", "<0.29 ± 0.01>"}, {"0.29 ± 0.01 std", "<0.29 ± 0.01 std>"}, {"0.29 ± 5 %", "<0.29 ± 5 %>"},
	{"2.914 m ± 1 mm ± 0.1 % std", "<2.914 m ± 1 mm ± 0.1 % std>"}, {"2.914(6) m ± 1 mm", "<2.914(6) m ± 1 mm>"},
	{"(2.91 ± 0.01) m", "<(2.91 ± 0.01) m>"}, {"(2.91 ± 0.01) m std", "<(2.91 ± 0.01) m std>"}, {"(2.91 ± 0.01 k=2) m", "<(2.91 ± 0.01) m k=2>"},
	{"(2.91 ± 0.01) m^2 ± 0.1 % @tape", "<(2.91 ± 0.01) m^2 ± 0.1 % @tape>"}, {"(2.91 ± 0.01) * m", "(<2.91 ± 0.01> * m)"},
	{"(-2.91 ± 0.01) m", "(- <(2.91 ± 0.01) m>)"}, {"(2.91 ± 0.01)^2", "(<2.91 ± 0.01> ^ <2>)"}, {"(1.9 ± 0.1)×10^11", "(<1.9 ± 0.1> * (<10> ^ <11>))"},
	{"2.846 m @tape", "<2.846 m @tape>"}, {"2.846 m@tape + a", "(<2.846 m @tape> + a)"}, {"1.2 GPa ± 10 %", "<1.2 GPa ± 10 %>"},
	{"x_1", "x_1"}, {"μ_1", "μ_1"}, {"µ", "μ"}, {"e\u0301", "é"}, {"Länge", "Länge"}, {"inch", "inch"}, {"orange", "orange"}, {"π_1", "π_1"},
}

func TestStructure(t *testing.T) {
	for _, c := range structures {
		if c.want == "" {
			continue
		}
		e := parse(t, c.text)
		if got := bracketed(e); got != c.want {
			t.Errorf("%s\n got %s\nwant %s", c.text, got, c.want)
		}
		printed := Print(e)
		if again := parse(t, printed); !Equal(e, again) {
			t.Errorf("%s prints as %s, which is %s", c.text, printed, bracketed(again))
		}
	}
}
