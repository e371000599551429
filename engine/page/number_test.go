package page

import (
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// written returns what write writes on a page, and its text.
func written(t testing.TB, p *view.Page, write func(*writer)) (markup, text string) {
	t.Helper()
	w := &writer{page: p, names: collect(p)}
	write(w)
	if w.err != nil {
		t.Fatal(w.err)
	}
	markup = string(w.b)
	return markup, parse(t, "<x>"+markup+"</x>").content()
}

// TestShortest: value attributes read back as the same number.
func TestShortest(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{1.973e11, "1.973e11"}, {0, "0"}, {-2.5, "-2.5"}, {1e-7, "1e-7"}, {0.1, "0.1"}, {1e21, "1e21"},
		{1.0 / 3, "0.3333333333333333"}, {5e-324, "5e-324"}, {math.MaxFloat64, "1.7976931348623157e308"},
	} {
		if got := shortest(c.v); got != c.want {
			t.Errorf("shortest(%g) = %q, want %q", c.v, got, c.want)
		}
	}
}

// TestDigits follows the examples of the SI Brochure, 9th edition, 5.4.4:
// 43 279.168 29, and 3279.1683 rather than 3 279.168 3.
func TestDigits(t *testing.T) {
	gap := func(s string) string { return strings.ReplaceAll(s, "_", "</span>") }
	for _, c := range []struct{ in, want string }{
		{"43279.16829", gap(`<span class="g">43_279.<span class="g">168_29`)},
		{"3279.1683", "3279.1683"},
		{"123", "123"},
		{"1234567", gap(`<span class="g">1_<span class="g">234_567`)},
		{"123456", gap(`<span class="g">123_456`)},
		{"-0.000123", gap(`−0.<span class="g">000_123`)},
		{"+2", "+2"},
		{"", ""},
		{"not a number", "not a number"},
		{"<b>", "&lt;b&gt;"},
	} {
		if got, _ := written(t, &view.Page{}, func(w *writer) { w.digits(c.in) }); got != c.want {
			t.Errorf("digits(%q) = %s, want %s", c.in, got, c.want)
		}
	}
}

// TestDisplayText: the text of a page, markup left out, is the plain text of
// the quantity, so that what is copied or searched is what is printed
// elsewhere.
func TestDisplayText(t *testing.T) {
	for _, d := range []quantity.Display{
		{Number: "197.3", PlusMinus: "8.8", Unit: "GPa"},
		{Number: "1.973", Concise: "41", Exponent: 11, Unit: "Pa"},
		{Number: "-1.5", PlusMinus: "0.2", Exponent: -12},
		{Number: "0.50", PlusMinus: "0.02"},
		{Number: "1234567.12345", Unit: "kg m^2 s^-2"},
		{Number: "9.81", Unit: "m/s^2"},
		{Number: "30", Unit: "°"},
		{Number: "20", Unit: "°C"},
		{Number: "12", Unit: "%"},
		{Number: "5", Unit: "m^x<b>\"'"},
		{Number: quantity.NoNumber},
	} {
		for _, comma := range []bool{false, true} {
			markup, text := written(t, &view.Page{Comma: comma}, func(w *writer) { w.display(d) })
			// Raised, a minus sign is a minus sign.
			if want := strings.ReplaceAll(d.Text(comma), "^-", "^−"); text != want {
				t.Errorf("text of %+v is %q, want %q; markup %s", d, text, want, markup)
			}
		}
	}
}

func TestNumber(t *testing.T) {
	d := quantity.Display{Number: "197.3", PlusMinus: "8.8", Unit: "GPa", Coverage: "95.45 %"}
	n := view.Number{Value: 1.973e11, Name: "E", Link: "E", Standing: view.Computed, Display: d}
	home := &view.Page{Comma: true, Back: []view.Node{&view.Facts{ID: "E"}}}
	got, text := written(t, home, func(w *writer) { w.number(n) })
	want := `<a class="from" href="#E" title="E"><data class="q computed" value="1.973e11">(197,3 ± 8,8) ` +
		`<span class="unit">GPa</span></data></a> <small class="coverage">(95,45 %)</small>`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if text != "(197,3 ± 8,8) GPa (95,45 %)" {
		t.Errorf("text %q", text)
	}
	if got, _ = written(t, &view.Page{}, func(w *writer) { w.number(n) }); strings.Contains(got, "<a") {
		t.Errorf("a link that leads nowhere: %s", got)
	}
	n.Display = quantity.Display{Number: "2.5", Tail: quantity.Words("k = 2.14")}
	if _, text = written(t, home, func(w *writer) { w.number(n) }); text != "2,5, where k = 2,14" {
		t.Errorf("statement %q", text)
	}
}

// TestAlignment: decimal signs of a column stand in line.
func TestAlignment(t *testing.T) {
	table := &view.Table{Columns: []view.Column{{Numeric: true}}}
	for _, n := range []string{"1.25", "3.5", "12", "0.125"} {
		table.Rows = append(table.Rows, view.Row{Cells: []view.Cell{read(n, 1)}})
	}
	table.Rows = append(table.Rows, view.Row{Cells: []view.Cell{{Hole: true}}})
	markup, _ := written(t, &view.Page{}, func(w *writer) { w.table(table) })
	var got []string
	for _, td := range parse(t, "<x>"+markup+"</x>").find("td", "") {
		got = append(got, td.attr["class"])
	}
	want := "read number pad1|read number pad2|read number pad3p|read number|given number hole"
	if s := strings.Join(got, "|"); s != want {
		t.Errorf("classes %s, want %s", s, want)
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"plain\n\t\r":          "plain\n\t\r",
		"é − 日本":               "é − 日本",
		"\x00\x08\x7f":         "\ufffd\ufffd\ufffd",
		"\u0085\u00a0":         "\ufffd\u00a0",
		"\xff\xc3":             "\ufffd\ufffd",
		"\ufffe\ufdd0\ufeff":   "\ufffd\ufffd\ufeff",
		"\U0001ffff\U0001f600": "\ufffd\U0001f600",
	} {
		if got := string(clean([]byte(in))); got != want {
			t.Errorf("clean(%q) = %q, want %q", in, got, want)
		}
	}
}
