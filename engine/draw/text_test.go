package draw

import (
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// marked shows the look of a label: /italic/, ^{superscript}, _{subscript}.
func marked(l label) string {
	var b strings.Builder
	for _, r := range l.runs {
		switch {
		case r.script > 0:
			b.WriteString("^{" + r.text + "}")
		case r.script < 0:
			b.WriteString("_{" + r.text + "}")
		case r.italic:
			b.WriteString("/" + r.text + "/")
		default:
			b.WriteString(r.text)
		}
	}
	return b.String()
}

// TestAxisLabel holds labels to SI Brochure (9th edition) 5.4.1: the axis of a
// graph carries the quotient of quantity and unit, so that its numbers are pure;
// symbols for quantities italic, units upright (5.2, 5.4.1). The quotient T/K and
// the factor of ten beside a unit are its own examples, given there with a table;
// the brackets about a compound unit follow ISO 80000-1 (from memory).
func TestAxisLabel(t *testing.T) {
	for _, c := range []struct {
		quantity, unit string
		exp            int
		want           string
	}{
		{"T", "K", 0, "/T/ / K"},
		{"p", "MPa", 0, "/p/ / MPa"},
		{"load", "kg", 0, "load / kg"},
		{"a", "m/s^2", 0, "/a/ / (m/s^{2})"},
		{"a", "m s^-2", 0, "/a/ / m s^{−2}"},
		{"σ", "Pa", 6, "/σ/ / (10^{6} Pa)"},
		{"ε", "1", -3, "/ε/ / 10^{−3}"},
		{"ratio", "", 0, "ratio"},
		{"L^3", "m^3", 0, "/L/^{3} / m^{3}"},
		{"y_0", "mm", 0, "/y/_{0} / mm"},
		{"ΔL", "mm", 0, "Δ/L/ / mm"},
		{"rise of a wire", "µm", 0, "rise of a wire / µm"},
		{"1/T^2", "1/s^2", 0, "1//T/^{2} / (1/s^{2})"},
		{"", "", 0, ""},
		{"", "", 3, "value / 10^{3}"},
		{"x^", "m^x", 0, "/x/^ / m^x"},
	} {
		if got := marked(axisLabel(view.Axis{Quantity: c.quantity, Unit: c.unit}, c.exp)); got != c.want {
			t.Errorf("%q in %q times 10^%d: %q, want %q", c.quantity, c.unit, c.exp, got, c.want)
		}
	}
}

// TestLongAxisLabelKeepsItsUnit: the name is cut short, never the unit.
func TestLongAxisLabelKeepsItsUnit(t *testing.T) {
	a := view.Axis{Quantity: strings.Repeat("long ", 1000), Unit: "m/s^2"}
	l, cut := fitAxis(a, 3, 300)
	if !cut || l.px() > 300 || !strings.HasSuffix(marked(l), "… / (10^{3} m/s^{2})") {
		t.Errorf("%q of %g px, cut %v", marked(l), l.px(), cut)
	}
	a.Quantity, a.Unit = "a", strings.Repeat("m ", 1000)
	if l, cut := fitAxis(a, 0, 300); !cut || l.px() > 300 || !strings.HasPrefix(marked(l), "/a/ / m") {
		t.Errorf("%q of %g px, cut %v", marked(l), l.px(), cut)
	}
}

func TestTypeset(t *testing.T) {
	for _, c := range [][3]string{
		{"row 3: load 1.00 kg, up -3.70 mm", "row 3: load 1.00 kg, up −3.70 mm", "row 3: load 1,00 kg, up −3,70 mm"},
		{"2-3. of 4", "2-3. of 4", "2-3. of 4"},
		{"1e-5", "1e−5", "1e−5"},
		{"", "", ""},
	} {
		if got := typeset(c[0], false); got != c[1] {
			t.Errorf("%q becomes %q, want %q", c[0], got, c[1])
		}
		if got := typeset(c[0], true); got != c[2] {
			t.Errorf("%q becomes %q, want %q", c[0], got, c[2])
		}
	}
	if got, want := inline("4 kg m^2 s^-12 ^2"), "4 kg m² s⁻¹² ²"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestFit(t *testing.T) {
	l := plainLabel(strings.Repeat("e\u0301", 50), labelSize)
	short, cut := l.fit(100)
	if !cut || short.px() > 100 {
		t.Errorf("a label of %g px is cut (%v) to %g", l.px(), cut, short.px())
	}
	if s := strings.TrimSuffix(short.String(), "…"); !strings.HasSuffix(s, "e\u0301") || s == short.String() {
		t.Errorf("%q is cut within a letter", short.String())
	}
	if same, cut := l.fit(1e6); cut || same.String() != l.String() {
		t.Error("a label that fits was cut")
	}
	lines, cut := wrap("one two three four five six seven", labelSize, false, 80, 2)
	if !cut || len(lines) != 2 || lines[0].px() > 80 || lines[1].px() > 80 {
		t.Errorf("wrapped into %v, cut %v", lines, cut)
	}
}

// TestWidth compares with the advance widths of Arial, which those of the fonts
// here equal by design (from memory): 556/1000 of an em for a digit, 278 for a
// space or a full stop, 944 for W.
func TestWidth(t *testing.T) {
	for s, want := range map[string]float64{"0": 556, "42": 1112, ".": 278, " ": 278, "W": 944} {
		l := label{runs: []run{{text: s}}, size: 1000}
		if got := l.px(); got < want-1 || got > want+1 {
			t.Errorf("%q is %g wide, want %g", s, got, want)
		}
	}
}

func TestEscape(t *testing.T) {
	const in, want = "<a b=\"c\" d='e'>&\x01\xff\uFFFE\r\n", "&lt;a b=&#34;c&#34; d=&#39;e&#39;&gt;&amp;\uFFFD\uFFFD\uFFFD \n"
	if got := escape(in); got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
