package page

import (
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var hostile = []string{
	`</style><script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	`</title></head><body onload=alert(1)>`,
	`<![CDATA[ ]]> <!-- --!> <?xml ?>`,
	`&lt;b&gt; &#x3c;b&#x3e; {{.Body}} {{define "x"}}`,
	"javascript:alert(1)",
	"data:text/html;base64,PHNjcmlwdD4=",
	"; } body { background: url(https://example.org/x) } /*",
	"a\x00b\x1b[31m\u0085 \xff\xfe \ufffe",
	"two words\tand\nlines",
}

// poisoned is a page with one text in every place that takes a text.
func poisoned(t testing.TB, s string) *view.Page {
	text := view.Text{view.Plain(s), view.Code(s), view.Emph(s), view.Missing{Why: s}, view.Blank{Label: s, Unit: s},
		view.Number{Link: s, Name: s, Display: quantity.Display{Number: s, Concise: s, PlusMinus: s, Exponent: 3, Unit: s, Coverage: s, Tail: quantity.Words(s)}},
		view.Number{Display: quantity.Display{Number: "1", Unit: s + "^-1^" + s}},
		view.Formula{Math: view.Seq{Items: []view.Math{view.Ident{Name: s}, view.Upright{Name: s}, view.Num{Digits: s}, view.Op{Symbol: s, Form: s},
			view.Words{Text: s}, view.Linked{ID: s, Body: view.Ident{Name: s}}, view.Styled{Style: s, Body: view.Ident{Name: s}},
			view.Grid{Rows: [][]view.Math{{view.Ident{Name: s}}}, Align: []string{s}}}}}}
	f := &finding.Finding{Slug: s, Message: s, Hint: s, At: source.NewFile(s, []byte("x")).Span(0, 1)}
	f.Also = []finding.Place{{At: f.At, What: s}}
	axis := view.Axis{Quantity: s, Unit: s}
	points := []view.Point{{X: 1, Y: 1, Note: s}, {X: 2, Y: 2, Note: s}}
	nodes := []view.Node{
		&view.Group{ID: s, Kind: s, Name: s, Nodes: []view.Node{&view.Paragraph{Text: text}}},
		&view.Table{ID: s, Caption: text, Columns: []view.Column{{Quantity: text, Unit: s, Note: s}},
			Rows:  []view.Row{{Cells: []view.Cell{{Text: text, Struck: true, Reason: s}}, Struck: true, Reason: s}},
			Notes: []view.Text{text}},
		&view.Steps{ID: s, Title: s, Steps: []view.Step{{ID: s, Symbol: view.Ident{Name: s}, Stages: []view.Math{view.Linked{ID: s, Body: view.Ident{Name: s}}}, Result: text, Label: s, Findings: []*finding.Finding{f}}}},
		&view.Facts{ID: s, Title: text, Items: []view.Fact{{Term: text, Text: text}}},
		&view.Figure{ID: s, Title: s, Desc: s, X: axis, Y: axis, Series: []view.Series{{Name: s, Points: points, Marks: true}}, Lines: []view.Line{{Name: s, Points: points}}},
		&view.Bars{ID: s, Title: s, Desc: s, Items: []view.Bar{{Label: s, Share: 1, Text: s}}},
		&view.Notice{Findings: []*finding.Finding{f}},
		&view.Warning{ID: s, Name: s, Body: prose(t, s, nil, nil)},
		&view.Ruled{Label: s, Lines: 1 << 30},
		&view.Source{Text: s},
	}
	md := "# " + s + "\n\n" + s + "\n\n[" + s + "](" + s + ")\n\n![" + s + "](<" + s + "> '" + s + "')\n\n| a |\n|:-:|\n| " + s + " |\n\n```" + s + "\n" + s + "\n```\n\n`$" + s + "`\n"
	return &view.Page{Title: s, Author: s, Date: s, Lang: s, Version: s, Facts: []view.Fact{{Term: text, Text: text}},
		Front: nodes, Body: prose(t, md, nil, nil), Back: nodes, Images: map[string]string{s: s}}
}

func TestHostile(t *testing.T) {
	for _, s := range hostile {
		t.Run("", func(t *testing.T) {
			out := render(t, poisoned(t, s))
			check(t, out)
			if strings.Contains(out, "\x00") {
				t.Error("a control character came through")
			}
		})
	}
}

func FuzzRender(f *testing.F) {
	for _, s := range hostile {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if len(s) > 200 {
			return
		}
		check(t, render(t, poisoned(t, s)))
	})
}
