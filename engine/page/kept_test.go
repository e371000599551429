package page

import "testing"

// TestKept: no mark is parted from the formula or the value before it, no ±
// from the blanks beside it, and nothing but these is put into spans.
func TestKept(t *testing.T) {
	const (
		x     = `<math><mi>x</mi></math>`
		v     = `<data class="q" value="4">4</data>`
		from  = `<a class="from" href="#v" title="v">` + v + `</a>`
		rule  = `<span class="rule"><span class="unseen">to fill in</span></span>`
		blank = `<span class="blank">` + rule + `</span>`
		unit  = `<span class="blank">x = ` + rule + ` <span class="unit">m<sup><span class="unseen">^</span>2</sup></span></span>`
	)
	for _, c := range []struct{ in, want string }{
		{"a " + x + ". b " + x + " c", "a " + keptOpen + x + "." + keptClose + " b " + x + " c"},
		{x + ", " + x + "), c", keptOpen + x + "," + keptClose + " " + keptOpen + x + ")," + keptClose + " c"},
		{v + " " + from + ".", v + " " + keptOpen + from + "." + keptClose},
		{v + " %.", keptOpen + v + " %." + keptClose},
		{v + " mm.", v + " mm."},
		{`<a href="#b">see ` + x + `</a>.`, `<a href="#b">see ` + x + `</a>.`},
		{`<a class="from" href="#b">see ` + x + `</a>.`, `<a class="from" href="#b">see ` + x + `</a>.`},
		{`<math><mtext>` + x + `</mtext></math>.`, `<math><mtext>` + x + `</mtext></math>.`},
		{"is " + blank + " ± " + unit + ".", "is " + keptOpen + blank + " ± " + unit + "." + keptClose},
		{blank + " and " + unit + ";", blank + " and " + keptOpen + unit + ";" + keptClose},
		{"</data>.", "</data>."},
		{"no value.", "no value."},
	} {
		if got := kept(c.in); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.in, got, c.want)
		}
	}
}
