package tex

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var update = flag.Bool("update", false, "rewrite the golden file")

func parse(s string) (view.Math, []*Problem) {
	f := source.NewFile("record.md", []byte("$"+s+"$"))
	return Parse(f.Span(1, 1+len(s)))
}

// TestGolden holds the output and the problems of each case of the archive: a
// file NAME.tex and what becomes of it, NAME.out.
func TestGolden(t *testing.T) {
	const path = "testdata/golden.txtar"
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	comment, cases, _ := strings.Cut(string(raw), "-- ")
	all := comment
	for _, file := range strings.Split(cases, "\n-- ") {
		name, body, _ := strings.Cut(strings.TrimSuffix(file, "\n"), " --\n")
		if name, ok := strings.CutSuffix(name, ".tex"); ok {
			all += "-- " + name + ".tex --\n" + body + "\n-- " + name + ".out --\n" + render(body)
		}
	}
	if *update {
		if err := os.WriteFile(path, []byte(all), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	got, want := strings.Split(all, "\n"), strings.Split(string(raw), "\n")
	for i := range max(len(got), len(want)) {
		if i >= len(got) || i >= len(want) || got[i] != want[i] {
			t.Fatalf("line %d\ngot  %s\nwant %s", i+1, strings.Join(got[min(i, len(got)):min(i+1, len(got))], ""), strings.Join(want[min(i, len(want)):min(i+1, len(want))], ""))
		}
	}
}

func render(s string) string {
	m, problems := parse(s)
	var b strings.Builder
	fmt.Fprintln(&b, string(Append(nil, m)))
	for _, p := range problems {
		line, col := p.At.Position()
		fmt.Fprintf(&b, "%d:%d %q %s", line, col, p.At.Text(), p.Message)
		if p.Hint != "" {
			fmt.Fprintf(&b, "; %s", p.Hint)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// TestPrint holds the output of trees that no TeX gives.
func TestPrint(t *testing.T) {
	num := func(s string) view.Math { return view.Num{Digits: s} }
	half := view.Frac{Num: num("1"), Den: num("2")}
	name := view.Ident{Name: "E"}
	for _, c := range []struct {
		m    view.Math
		want string
	}{
		{nil, `<mrow></mrow>`},
		{view.Seq{}, ``},
		{view.Ident{Name: `<&">`}, `<mi>&lt;&amp;&quot;&gt;</mi>`},
		{view.Words{Text: " if\x00\xff "}, "<mtext>\u00a0if\ufffd\ufffd\u00a0</mtext>"},
		{num("1234"), `<mn>1234</mn>`},
		{num("-12345"), `<mrow><mo>−</mo><mn>12</mn><mspace width="0.1667em"/><mn>345</mn></mrow>`},
		{num("123456.1234"), `<mrow><mn>123</mn><mspace width="0.1667em"/><mn>456.1234</mn></mrow>`},
		{num("0.123456"), `<mrow><mn>0.123</mn><mspace width="0.1667em"/><mn>456</mn></mrow>`},
		{num("0.00012"), `<mrow><mn>0.000</mn><mspace width="0.1667em"/><mn>12</mn></mrow>`},
		{num("1.97345(41)"), `<mrow><mn>1.973</mn><mspace width="0.1667em"/><mn>45(41)</mn></mrow>`},
		{num("<x>"), `<mn>&lt;x&gt;</mn>`},
		{view.Linked{ID: `a b"<`, Body: name}, `<mtext><a href="#a%20b%22%3C"><math><mi>E</mi></math></a></mtext>`},
		{view.Linked{Body: name}, `<mi>E</mi>`},
		{view.Measure{Number: half, Unit: "°"}, `<mrow><mrow><mo form="prefix">(</mo><mfrac><mn>1</mn><mn>2</mn></mfrac><mo form="postfix">)</mo></mrow><mi mathvariant="normal">°</mi></mrow>`},
		{view.Measure{Number: num("5"), Unit: "1/mm"}, `<mrow><mn>5</mn><mspace width="0.1667em"/><msup><mi>mm</mi><mrow><mo>−</mo><mn>1</mn></mrow></msup></mrow>`},
		{view.Linked{ID: "n", Body: num("12345")}, `<mtext><a href="#n"><math><mrow><mn>12</mn><mspace width="0.1667em"/><mn>345</mn></mrow></math></a></mtext>`},
		{view.Linked{ID: "n", Body: num("-1")}, `<mtext><a href="#n"><math><mrow><mo>−</mo><mn>1</mn></mrow></math></a></mtext>`},
		{view.Linked{ID: "f", Body: half}, `<mtext><a href="#f"><math><mfrac><mn>1</mn><mn>2</mn></mfrac></math></a></mtext>`},
		{view.Linked{ID: "f", Body: view.Seq{Items: []view.Math{view.Linked{ID: "n", Body: name}}}},
			`<mtext><a href="#f"><math><mi>E</mi></math></a></mtext>`},
		{view.Styled{Style: "displaystyle", Body: view.Linked{ID: "f", Body: half}},
			`<mstyle displaystyle="true" scriptlevel="0"><mtext><a href="#f"><math displaystyle="true"><mfrac><mn>1</mn><mn>2</mn></mfrac></math></a></mtext></mstyle>`},
		{view.Valued{Value: 1.25e11, Link: "v", Body: num("125")}, `<mrow data-value="1.25e+11"><mtext><a href="#v"><math><mn>125</mn></math></a></mtext></mrow>`},
		{view.Valued{Value: 0.1, Body: num("0.1")}, `<mrow data-value="0.1"><mn>0.1</mn></mrow>`},
		{view.Linked{ID: "o", Body: view.Valued{Value: 2, Link: "v", Body: num("2")}}, `<mrow data-value="2"><mtext><a href="#o"><math><mn>2</mn></math></a></mtext></mrow>`},
		{view.Valued{Value: math.NaN(), Body: num("?")}, `<mrow><mn>?</mn></mrow>`},
		{view.Measure{Number: num("2"), Unit: "GPa"}, `<mrow><mn>2</mn><mspace width="0.1667em"/><mi>GPa</mi></mrow>`},
		{view.Measure{Number: num("2")}, `<mn>2</mn>`},
		{view.Script{Base: name}, `<mi>E</mi>`},
		{view.Styled{Style: "normal", Body: name}, `<mi mathvariant="normal">E</mi>`},
		{view.Styled{Style: "bold", Body: num("12345")}, `<mrow><mn>𝟏𝟐</mn><mspace width="0.1667em"/><mn>𝟑𝟒𝟓</mn></mrow>`},
		{view.Op{}, `<mrow></mrow>`},
		{view.Frac{}, `<mfrac><mrow></mrow><mrow></mrow></mfrac>`},
	} {
		if got := string(Append(nil, c.m)); got != c.want {
			t.Errorf("%#v\ngot  %s\nwant %s", c.m, got, c.want)
		}
	}
}

func TestOptions(t *testing.T) {
	m := view.Num{Digits: "12345.5"}
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{}, `<math><mrow><mn>12</mn><mspace width="0.1667em"/><mn>345.5</mn></mrow></math>`},
		{Options{Comma: true, Display: true}, `<math display="block"><mrow><mn>12</mn><mspace width="0.1667em"/><mn>345,5</mn></mrow></math>`},
		{Options{Source: "a<b"}, `<math><semantics><mrow><mn>12</mn><mspace width="0.1667em"/><mn>345.5</mn></mrow><annotation encoding="application/x-tex">a&lt;b</annotation></semantics></math>`},
	} {
		if got := c.o.MathML(m); got != c.want {
			t.Errorf("%+v\ngot  %s\nwant %s", c.o, got, c.want)
		}
	}
	if got := string(Append([]byte("x"), m)); !strings.HasPrefix(got, "x<mrow><mn>12</mn>") {
		t.Errorf("Append does not append: %s", got)
	}
}

// TestQuantity holds the layout rules of the SI Brochure, 9th edition, 5.4.1
// to 5.4.3, with its own examples where it has them.
func TestQuantity(t *testing.T) {
	const thin = `<mspace width="0.1667em"/>`
	upright := func(s string) string { return `<mi mathvariant="normal">` + s + `</mi>` }
	power := func(unit, exponent string) string { return `<msup>` + unit + exponent + `</msup>` }
	slash := `<mo lspace="0em" rspace="0em">/</mo>`
	minus := func(n string) string { return `<mrow><mo>−</mo><mn>` + n + `</mn></mrow>` }
	for unit, want := range map[string]string{
		"":                  ``,
		"°":                 upright("°"),
		"%":                 thin + upright("%"),
		"µm":                thin + `<mi>µm</mi>`,
		"GPa":               thin + `<mi>GPa</mi>`,
		"°C":                thin + `<mi>°C</mi>`,
		"mm/kg":             thin + `<mrow><mi>mm</mi>` + slash + `<mi>kg</mi></mrow>`,
		"m/s^2":             thin + `<mrow>` + upright("m") + slash + power(upright("s"), "<mn>2</mn>") + `</mrow>`,
		"m / s":             thin + `<mrow>` + upright("m") + slash + upright("s") + `</mrow>`,
		"kg m^2 s^-2":       thin + `<mrow><mi>kg</mi>` + thin + power(upright("m"), "<mn>2</mn>") + thin + power(upright("s"), minus("2")) + `</mrow>`,
		"J/(kg K)":          thin + `<mrow>` + upright("J") + slash + `<mo form="prefix" stretchy="false">(</mo><mi>kg</mi>` + thin + upright("K") + `<mo form="postfix" stretchy="false">)</mo></mrow>`,
		"m^(1/2)":           thin + power(upright("m"), `<mrow><mn>1</mn>`+slash+`<mn>2</mn></mrow>`),
		"m^1/2":             thin + `<mrow>` + power(upright("m"), "<mn>1</mn>") + slash + upright("2") + `</mrow>`,
		"m^":                thin + `<mi>m^</mi>`,
		"^(":                thin + `<mi>^(</mi>`,
		" ":                 thin + `<mrow></mrow>`,
		"kg m^(-1/2) s^0.5": thin + `<mrow><mi>kg</mi>` + thin + power(upright("m"), `<mrow>`+minus("1")+slash+`<mn>2</mn></mrow>`) + thin + power(upright("s"), "<mn>0.5</mn>") + `</mrow>`,
	} {
		got := string(Append(nil, Quantity(view.Num{Digits: "1"}, unit)))
		if want = "<mn>1</mn>" + want; got != want {
			t.Errorf("%q\ngot  %s\nwant %s", unit, got, want)
		}
	}
}

// TestEveryCommand reads each known command alone and with plenty of
// arguments: none may be called unknown, and all give well-formed output.
func TestEveryCommand(t *testing.T) {
	if len(commandNames) < 300 {
		t.Errorf("only %d commands", len(commandNames))
	}
	for _, name := range commandNames {
		for _, tail := range []string{"", "{a}{b}", "(a", "^2_3'"} {
			m, problems := parse(`\` + name + tail)
			for _, p := range problems {
				if strings.Contains(p.Message, "unknown command") {
					t.Errorf(`\%s: %s`, name, p.Message)
				}
			}
			if err := wellFormed(MathML(m, false)); err != nil {
				t.Errorf(`\%s%s: %v`, name, tail, err)
			}
		}
	}
}

// TestLetterforms compares with code points of The Unicode Standard's chart of
// block 1D400–1D7FF.
func TestLetterforms(t *testing.T) {
	for _, c := range []struct{ style, from, to string }{
		{"bold", "AZaz09αωΩ", "𝐀𝐙𝐚𝐳𝟎𝟗𝛂𝛚𝛀"},
		{"italic", "hix", "ℎ𝑖𝑥"},
		{"bold-italic", "Aαϖ", "𝑨𝜶𝝕"},
		{"script", "LABg", "ℒ𝒜ℬℊ"},
		{"fraktur", "CgZ", "ℭ𝔤ℨ"},
		{"double-struck", "RNQZC1", "ℝℕℚℤℂ𝟙"},
		{"sans-serif", "Aa0", "𝖠𝖺𝟢"},
		{"monospace", "Aa0", "𝙰𝚊𝟶"},
		{"no such style", "Aa0", "Aa0"},
	} {
		if got := letterforms(c.style, c.from); got != c.to {
			t.Errorf("%s: got %s, want %s", c.style, got, c.to)
		}
	}
}

// TestHostile checks that inputs made to exhaust the parser end in a problem
// and keep their text.
func TestHostile(t *testing.T) {
	for _, s := range []string{
		strings.Repeat("{", 9000), strings.Repeat(`\frac`, 3000), strings.Repeat("x^{", 5000),
		strings.Repeat(`\left(`, 3000), strings.Repeat(`\sqrt[`, 3000), strings.Repeat(`\displaystyle`, 1400),
		strings.Repeat(`\begin{aligned}`, 1000), strings.Repeat("x_", 9000), strings.Repeat(`\unkown`, 2500),
		strings.Repeat("}", 20000), strings.Repeat(`&\\`, 5000), strings.Repeat("x", maxLength+1), strings.Repeat(`a\over `, 2500),
		strings.Repeat(`\substack{`, 1500), strings.Repeat(`\not`, 4000), strings.Repeat("'", 20000),
	} {
		m, problems := parse(s)
		if len(problems) == 0 && s[0] != '\'' || len(problems) > maxProblems {
			t.Errorf("%.20s: %d problems", s, len(problems))
		}
		if err := wellFormed(MathML(m, true)); err != nil {
			t.Errorf("%.20s: %v", s, err)
		}
	}
	if m, problems := Parse(source.Span{}); m == nil || problems != nil {
		t.Errorf("the zero span: %v, %v", m, problems)
	}
}

// wellFormed checks that the text is one element of XML.
func wellFormed(s string) error {
	d := xml.NewDecoder(strings.NewReader(s))
	for depth, first := 0, true; ; first = false {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		switch t.(type) {
		case xml.StartElement:
			if depth == 0 && !first {
				return errors.New("a second root element")
			}
			depth++
		case xml.EndElement:
			depth--
		}
	}
}

// FuzzParse: whatever the text, no panic, every problem within the text, and
// output that is well-formed.
func FuzzParse(f *testing.F) {
	for _, s := range formulas(f) {
		f.Add(s)
	}
	for _, s := range []string{`\`, `\\`, "{", "x^", `\left`, `\begin{cases}&`, `\text{a\`, "a\x00\xff", `\frac`, `\big`, `\sqrt[`, `3{,}5`, "\\\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, problems := parse(s)
		for _, p := range problems {
			if p.At.Start < 1 || p.At.End > len(s)+1 || p.At.End < p.At.Start || p.Message == "" {
				t.Errorf("problem out of place: %+v", p)
			}
		}
		if err := wellFormed(Options{Display: true, Source: s}.MathML(m)); err != nil {
			t.Error(err)
		}
		u := MathML(UnitMath(s), false)
		if err := wellFormed(u); err != nil {
			t.Error(err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	const s = `u_c^2(y) = \sum_{i=1}^N \left(\frac{\partial f}{\partial x_i}\right)^2 u^2(x_i)`
	span := source.NewFile("record.md", []byte(s)).Span(0, len(s))
	b.ReportAllocs()
	for b.Loop() {
		Parse(span)
	}
}

func BenchmarkMathML(b *testing.B) {
	m, _ := parse(`u_c^2(y) = \sum_{i=1}^N \left(\frac{\partial f}{\partial x_i}\right)^2 u^2(x_i)`)
	b.ReportAllocs()
	for b.Loop() {
		MathML(m, true)
	}
}
