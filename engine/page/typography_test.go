package page

import (
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// TestBind: a number and its unit stay on one line, as do k and its value, and
// what stands about ± (SI Brochure 5.4.3; the rest is common practice).
// In the table ~ is a no-break space.
func TestBind(t *testing.T) {
	for text, want := range map[string]string{
		"a limit of 0.01 mm, or 3 % of it.":   "a limit of 0.01~mm, or 3~% of it.",
		"(201.5 ± 7.0) GPa at 95 %":           "(201.5~±~7.0)~GPa at 95~%",
		"limits ± 0.004 mm":                   "limits ±~0.004~mm",
		"(|Eₙ| ≤ 1).":                         "(|Eₙ| ≤~1).",
		"12 m/s^2 and 4 kg m^2":               "12~m/s^2 and 4~kg m^2",
		"U = k u, u = 3.6 GPa and k = 1.96":   "U~=~k~u, u~=~3.6~GPa and k~=~1.96",
		"row 3 metres":                        "row 3 metres",
		"5 in a row":                          "5 in a row",
		"from 2026-03-12, by -0.01 mm, F-2-3": "from 2026-03-12, by −0.01~mm, F-2-3",
		"value = 3":                           "value = 3",
		"2.91(2) m &lt; 3 m":                  "2.91(2)~m &lt; 3~m",
		"the mean of 5":                       "the mean of 5",
		"":                                    "",
	} {
		if got := strings.ReplaceAll(bind(text), noBreak, "~"); got != want {
			t.Errorf("%q\n got  %q\n want %q", text, got, want)
		}
		if again := bind(bind(text)); again != bind(text) {
			t.Errorf("%q: the second time gives %q", text, again)
		}
	}
}

// TestCommas: decimal fractions only (SI Brochure 5.4.4).
func TestCommas(t *testing.T) {
	for text, want := range map[string]string{
		"0.004 mm, 1.08×10^3":    "0,004 mm, 1,08×10^3",
		"10.67(87) and -0.5":     "10,67(87) and -0,5",
		"16th ed., 2.2.2; G.4.1": "16th ed., 2.2.2; G.4.1",
		"clause 7.2 says 7.2":    "clause 7.2 says 7,2",
		"3.5.":                   "3,5.",
		"v1.2 of x_1.5":          "v1.2 of x_1.5",
		"E/G = 2.6":              "E/G = 2,6",
		"from 3. 4":              "from 3. 4",
		".5":                     ".5",
		"1.5":                    "1,5",
	} {
		if got := commas(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestTypesetLeavesCode: and what programs read, and the author's own prose.
func TestTypesetLeavesCode(t *testing.T) {
	p := &view.Page{Comma: true, Body: prose(t, "By hand: 1.5 m and `1.5`.", nil, nil), Front: []view.Node{
		&view.Paragraph{Text: view.Text{view.Plain("set: 2.5 m, "), view.Code("2.5 m"), view.Plain(" <2.5 m>")}},
		&view.Figure{ID: "f", Title: "At 3.5 m", Series: []view.Series{{Name: "a", Marks: true, Points: []view.Point{{X: 1, Y: 1}, {X: 2, Y: 2.5}}}}},
	}}
	out := render(t, p)
	check(t, out)
	for _, want := range []string{"By hand: 1.5 m and <code>1.5</code>.", "set: 2,5" + noBreak + "m, <code>2.5 m</code> &lt;2,5" + noBreak + "m&gt;", "At 3,5" + noBreak + "m"} {
		if !strings.Contains(out, want) {
			t.Errorf("not in the page: %s", want)
		}
	}
}
