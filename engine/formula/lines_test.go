package formula

import (
	"fmt"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// within places text in the middle of a larger file, as a block stands in a
// record.
func within(text string) source.Span {
	before := "# Aim\nµm ± – text\n```calc\n"
	f := source.NewFile("r.md", []byte(before+text+"\n```\nmore = text\n"))
	return f.Span(len(before), len(before)+len(text))
}

func clean(t *testing.T, set *finding.Set) {
	t.Helper()
	for _, f := range set.Sorted() {
		t.Error(f)
	}
}

func equalLines(t *testing.T, got []string, want string) {
	t.Helper()
	if g, w := strings.Join(got, "\n"), strings.TrimSpace(want); g != w {
		t.Errorf("got\n%s\nwant\n%s", g, w)
	}
}

func TestStatements(t *testing.T) {
	var set finding.Set
	body := within("g = 9.8124(2) m/s^2\r\n\n# a comment\n  d = mean(wire.across, wire.along)  # in two directions\n" +
		"A = pi * d^2 / 4              in mm²    | cross-section (of the wire # note | x\n" +
		"E = g * L / (A *   # the area\n\n  line.slope\n) in GPa|modulus\nr = 2 m /\\\n" +
		"c = (1 +\nnext = 3\nlast = a == b")
	var got []string
	for _, s := range ParseStatements(body, &set) {
		got = append(got, fmt.Sprintf("%s = %s; %s; %s; %q %q", s.Name, Print(s.X), s.In.Text, s.Label, s.NameAt.Text(), s.At.Text()))
	}
	equalLines(t, got, `
g = 9.8124(2) m/s^2; ; ; "g" "g = 9.8124(2) m/s^2"
d = mean(wire.across, wire.along); ; ; "d" "d = mean(wire.across, wire.along)"
A = pi * d^2 / 4; mm^2; cross-section (of the wire; "A" "A = pi * d^2 / 4              in mm²    | cross-section (of the wire"
E = g * L / (A * line.slope); GPa; modulus; "E" "E = g * L / (A *   # the area\n\n  line.slope\n) in GPa|modulus"
r = ?; ; ; "r" "r = 2 m /\\"
c = ?; ; ; "c" "c = (1 +"
next = 3; ; ; "next" "next = 3"
last = a == b; ; ; "last" "last = a == b"`)
	var found []string
	for _, f := range set.Sorted() {
		line, col := f.At.Position()
		found = append(found, fmt.Sprintf("%d:%d %s", line, col, f.Slug))
	}
	equalLines(t, found, "13:10 character\n14:8 operand-missing")
}

func TestBindings(t *testing.T) {
	var set finding.Set
	body := within("length   = L\ndiameter = wire.across, wire.along  # two\nmaterial = steel\ntemper = \"hard-drawn, old\"\nstrength = 1.2 GPa ± 10 %\nreference_wire = yes\nx = mean(a,\n  b), -c")
	var got []string
	for _, b := range ParseBindings(body, &set) {
		line := b.Name + " ="
		for _, v := range b.Values {
			line += fmt.Sprintf(" %T %s;", v, Print(v))
		}
		got = append(got, line)
	}
	clean(t, &set)
	equalLines(t, got, `
length = *formula.Name L;
diameter = *formula.Name wire.across; *formula.Name wire.along;
material = *formula.Name steel;
temper = *formula.Word "hard-drawn, old";
strength = *formula.Literal 1.2 GPa ± 10 %;
reference_wire = *formula.Name yes;
x = *formula.Call mean(a, b); *formula.Unary -c;`)
}

func TestConditions(t *testing.T) {
	var set finding.Set
	body := within("wrong-sense: line.slope < 0 mm/kg | error | it falls: write `y = =[-y]` | or # 3\n# none\ntoo_few: (count(d) <\n 6) | note | only =[count(d) as 1 sf]\nlast: a == \"")
	var got []string
	for _, c := range ParseConditions(body, &set) {
		got = append(got, fmt.Sprintf("%s: %s; %s; %s; %q %q", c.Slug, Print(c.X), c.Severity, c.Message.Text(), c.SlugAt.Text(), c.SevAt.Text()))
	}
	equalLines(t, got, "wrong-sense: line.slope < 0 mm/kg; error; it falls: write `y = =[-y]` | or # 3; \"wrong-sense\" \"error\"\n"+
		"too_few: (count(d) < 6); note; only =[count(d) as 1 sf]; \"too_few\" \"note\"\nlast: ?; ; ; \"last\" \"\"")
	if n := set.Len(); n != 1 {
		t.Errorf("%d findings", n)
	}
}

func TestInserts(t *testing.T) {
	for _, c := range []struct {
		text  string
		claim bool
		want  string
	}{
		{"E", false, "E"},
		{"E in GPa as interval", false, "E; in GPa; as interval"},
		{"E as 3 sf", false, "E; as 3 sf"},
		{"E/2 in N·m as 0 dp", false, "E / 2; in N m; as 0 dp"},
		{"-line.deleted in mm", false, "-line.deleted; in mm"},
		{"2 m as value", false, "2 m; as value"},
		{"E as statement", false, "E; as statement"},
		{"young.E as concise", false, "young.E; as concise"},
		{"E = 197 GPa", true, "E; claim 197 GPa"},
		{"young.E=197.0 GPa", true, "young.E; claim 197.0 GPa"},
		{"d = −0.5 mm", true, "d; claim -0.5 mm"},
		{" T = ", true, "T"},
		{"T=", true, "T"},
		{"E = 197 GPa marks=3", true, "E; claim 197 GPa; marks 3"},
		{"E = marks=3", true, "E; marks 3"},
		{"E =marks = 12 ", true, "E; marks 12"},
		{"n = 12 marks=1", true, "n; claim 12; marks 1"},
	} {
		var set finding.Set
		in := ParseInsert(within(c.text), c.claim, &set)
		clean(t, &set)
		got := Print(in.X)
		if in.In.Text != "" {
			got += "; in " + in.In.Text
		}
		switch in.Form {
		case "":
		case "sf", "dp":
			got += fmt.Sprintf("; as %d %s", in.Digits, in.Form)
		default:
			got += "; as " + in.Form
		}
		if in.Claim != nil {
			got += "; claim " + map[bool]string{true: "-"}[in.Sign] + Print(in.Claim)
		}
		if in.Marks != 0 {
			got += fmt.Sprintf("; marks %d", in.Marks)
		}
		if got != c.want || in.At.Text() != strings.TrimSpace(c.text) {
			t.Errorf("%s: got %s (%q)", c.text, got, in.At.Text())
		}
	}
}

func TestLiterals(t *testing.T) {
	for _, c := range []struct {
		text string
		cell bool
		want string
	}{
		{"0.01 mm", false, "0.01 mm"},
		{"+0.02 mm", false, "0.02 mm"},
		{"−0.02 mm", false, "-0.02 mm"},
		{"+0.003 mm ± 0.001 mm", false, "0.003 mm ± 0.001 mm"},
		{"20 °C", false, "20 °C"},
		{"0.29", false, "0.29"},
		{"(0.29 ± 0.01) m", false, "(0.29 ± 0.01) m"},
		{"2.846 m @tape", false, "2.846 m @tape"},
		{"3.12(2)", true, "3.12(2)"},
		{"-3.12 ± 0.02 std", true, "-3.12 ± 0.02 std"},
		{"3.12 ± 0.5 %", true, "3.12 ± 0.5 %"},
		{" 3.12 ", true, "3.12"},
	} {
		var set finding.Set
		l, minus := ParseLiteral(within(c.text), c.cell, &set)
		clean(t, &set)
		if l == nil {
			continue
		}
		if got := map[bool]string{true: "-"}[minus] + Print(l); got != c.want {
			t.Errorf("%s: got %s", c.text, got)
		}
	}
	var set finding.Set
	m := ParseLimit(within("± 0.004 mm k=2 dof=50"), &set)
	clean(t, &set)
	if m.Number.Text != "0.004" || m.Unit.Text != "mm" || len(m.Qualifiers) != 2 || m.Qualifiers[0].Key != "k" || m.Qualifiers[1].Value != "50" {
		t.Errorf("%+v", m)
	}
	u := parseUnit(within(" kg·m²/s⁻² "), &set)
	clean(t, &set)
	if u.Text != "kg m^2/s^-2" || u.At.Text() != "kg·m²/s⁻²" {
		t.Errorf("%+v", u)
	}
}

// TestSpans: every node covers exactly the text it was read from, wherever in
// the file that stands.
func TestSpans(t *testing.T) {
	var set finding.Set
	e := ParseExpr(within("-µ.x² * (2.91 ± 0.01) m @tape / line.at(2 kg/m ± 1 % std) + √(π)"), &set)
	clean(t, &set)
	var got []string
	Walk(e, func(e Expr) bool {
		got = append(got, fmt.Sprintf("%T %s", e, e.Span().Text()))
		switch e := e.(type) {
		case *Binary:
			got = append(got, "  op "+e.OpAt.Text())
		case *Call:
			got = append(got, "  name "+e.NmAt.Text())
		case *Literal:
			got = append(got, "  number "+e.Number.At.Text(), "  unit "+e.Unit.At.Text())
			for _, m := range e.Limits {
				got = append(got, "  limit "+m.At.Text())
			}
		}
		return true
	})
	equalLines(t, got, `
*formula.Binary -µ.x² * (2.91 ± 0.01) m @tape / line.at(2 kg/m ± 1 % std) + √(π)
  op +
*formula.Binary -µ.x² * (2.91 ± 0.01) m @tape / line.at(2 kg/m ± 1 % std)
  op /
*formula.Binary -µ.x² * (2.91 ± 0.01) m @tape
  op *
*formula.Unary -µ.x²
*formula.Binary µ.x²
  op ²
*formula.Name µ.x
*formula.Literal ²
  number ²
  unit 
*formula.Literal (2.91 ± 0.01) m @tape
  number 2.91
  unit m
  limit ± 0.01
*formula.Call line.at(2 kg/m ± 1 % std)
  name line.at
*formula.Literal 2 kg/m ± 1 % std
  number 2
  unit kg/m
  limit ± 1 % std
*formula.Call √(π)
  name √
*formula.Pi π`)
	var names []string
	for _, n := range Names(e) {
		names = append(names, n.Name+" "+n.At.Text())
	}
	equalLines(t, names, "μ.x µ.x\nline line")
}

// TestUnread reads a dash in the place of a quantity that is still to be read.
func TestUnread(t *testing.T) {
	for _, line := range []string{"m = –", "m = -", "m=—", "m = −  in g", "m = – | of a spare piece", "m = – # later"} {
		var set finding.Set
		f := source.NewFile("t", []byte(line))
		st := ParseStatement(f.Span(0, len(line)), &set)
		if set.Len() > 0 || st == nil {
			t.Errorf("%q: %v", line, set.Sorted())
			continue
		}
		if _, ok := st.X.(*Unread); !ok || Print(st.X) != "–" || !Equal(st.X, &Unread{}) {
			t.Errorf("%q is %T", line, st.X)
		}
	}
	for _, line := range []string{"m = - x", "m = –1 g", "m = 2 -", "m = (-)"} {
		var set finding.Set
		f := source.NewFile("t", []byte(line))
		if st := ParseStatement(f.Span(0, len(line)), &set); st != nil {
			if _, ok := st.X.(*Unread); ok {
				t.Errorf("%q is taken for unread", line)
			}
		}
	}
	var set finding.Set
	f := source.NewFile("t", []byte("a = –, pull.up"))
	if b := ParseBindings(f.Span(0, len(f.Text)), &set); set.Len() > 0 || len(b) != 1 || len(b[0].Values) != 2 {
		t.Errorf("a binding: %v", set.Sorted())
	}
}
