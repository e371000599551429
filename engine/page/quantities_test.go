package page

import (
	"strings"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// TestQuantities: a number leads to where it is worked out, or to its entry
// where the page does not show that; the entry leads to both ends.
func TestQuantities(t *testing.T) {
	p := sample(t)
	p.Front = append(p.Front, &view.Paragraph{Text: view.Text{
		view.Number{Value: 1, Link: "line", Display: quantity.Display{Number: "111"}},
		view.Number{Value: 1, Link: "hidden", Display: quantity.Display{Number: "222"}},
		view.Number{Value: 1, Link: "nowhere", Display: quantity.Display{Number: "333"}},
	}})
	out := render(t, p)
	check(t, out)
	for _, want := range []string{
		`<a class="from" href="#line"><data class="q given" value="1">111</data></a>`,
		`<a class="from" href="#q-E"><data class="q given" value="1">222</data></a>`,
		`</a><data class="q given" value="1">333</data>`,
		`<tr id="q-line"><th scope="row"><a href="#line">line</a>: <i>fit</i> <small>(line 3)</small></th>`,
		`<code>2 * <a href="#q-line">line.slope</a></code>`,
		`<td>zero of screw (97` + noBreak + `%); <a href="#q-line">scatter</a> (3` + noBreak + `%)</td>`,
		`<code>y: pull.up &lt;x&gt;</code>`,
		`<details>
<summary>1 further quantity, for the checks</summary>`,
	} {
		if !strings.Contains(out, want) {
			t.Errorf("not in the page: %s", want)
		}
	}
	if strings.Index(out, `id="q-p"`) < strings.Index(out, "<details>") {
		t.Error("what is behind a check stands before the fold")
	}
}

// TestQuantitiesAreNoPartOfASheet: nor is anything that leads to them.
func TestQuantitiesAreNoPartOfASheet(t *testing.T) {
	p := sample(t)
	view.BlankSheet(p)
	if out := render(t, p); strings.Contains(out, "q-") {
		t.Error("an entry is in the sheet")
	}
}

// TestQuantitiesUsedBy: the places in the text are counted, and lead to the
// first that is on the page.
func TestQuantitiesUsedBy(t *testing.T) {
	p := sample(t)
	for _, n := range p.Back {
		if q, ok := n.(*view.Quantities); ok {
			e := &q.Entries[0]
			e.Name, e.Label = "young.longest_name", "at **each** end, `rest.k`"
			e.UsedBy = []view.Ref{{Name: "checks", ID: "nowhere"}, {Name: "text", ID: "nowhere", Places: true}, {Name: "text", ID: "line", Places: true}, {Name: "text", ID: "E", Places: true}}
		}
	}
	out := render(t, p)
	check(t, out)
	for _, want := range []string{
		`<td>checks, <a href="#line">text</a> (3 places)</td>`,
		`young.<wbr />longest_<wbr />name`,
		`: <i>at <strong>each</strong> end, <code>rest.k</code></i>`,
	} {
		if !strings.Contains(out, want) {
			t.Errorf("not in the page: %s", want)
		}
	}
}

// TestBreakable: names part at their marks, never within a number, and never
// for a letter or two.
func TestBreakable(t *testing.T) {
	for name, want := range map[string]string{
		"record.md":             "record.md",
		"young.other_reading_1": "young.|other_|reading_1",
		"data/frame-12.yaml":    "data/|frame-12.|yaml",
		"at 1234567.89012 m":    "at 1234567.89012 m",
		"young.long_name.":      "young.|long_|name.",
	} {
		w := &writer{}
		w.breakable(name)
		if got := strings.ReplaceAll(string(w.b), "<wbr />", "|"); got != want {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
}
