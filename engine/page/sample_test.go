package page

import (
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/text"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// prose reads Markdown for a test. A fence "block N" stands for nodes[N]; code
// that begins with = stands for the inline of that name, with $ or $$ for
// mathematics.
func prose(t testing.TB, md string, blocks map[string][]view.Node, inlines map[string]view.Text) *view.Prose {
	t.Helper()
	file := source.NewFile("wire.md", []byte(md))
	g := goldmark.New(goldmark.WithExtensions(extension.Table, extension.Footnote))
	root := g.Parser().Parse(text.NewReader(file.Text))
	p := &view.Prose{
		Doc:     &record.Document{File: file, Root: root},
		Blocks:  map[*record.Block][]view.Node{},
		Inlines: map[*record.Inline]view.Text{},
	}
	var old []ast.Node
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering && (n.Kind() == ast.KindFencedCodeBlock || n.Kind() == ast.KindCodeSpan) {
			old = append(old, n)
		}
		return ast.WalkContinue, nil
	})
	for _, n := range old {
		if fresh := replacement(p, n, blocks, inlines); fresh != nil {
			n.Parent().ReplaceChild(n.Parent(), n, fresh)
		}
	}
	return p
}

func replacement(p *view.Prose, n ast.Node, blocks map[string][]view.Node, inlines map[string]view.Text) ast.Node {
	file := p.Doc.File
	switch n := n.(type) {
	case *ast.FencedCodeBlock:
		if n.Info == nil {
			return nil
		}
		name, ok := strings.CutPrefix(string(n.Info.Segment.Value(file.Text)), "block ")
		if !ok {
			return nil
		}
		b := &record.Block{Span: file.Span(n.Info.Segment.Start, n.Info.Segment.Stop)}
		if nodes, ok := blocks[name]; ok {
			p.Blocks[b] = nodes
		}
		return &record.BlockNode{Block: b}
	case *ast.CodeSpan:
		seg := n.FirstChild().(*ast.Text).Segment
		code := string(seg.Value(file.Text))
		switch {
		case strings.HasPrefix(code, "$$"):
			return &record.MathNode{Display: true, Span: file.Span(seg.Start+2, seg.Stop)}
		case strings.HasPrefix(code, "$"):
			return &record.MathNode{Span: file.Span(seg.Start+1, seg.Stop)}
		case strings.HasPrefix(code, "="):
			i := &record.Inline{Span: file.Span(seg.Start, seg.Stop)}
			if t, ok := inlines[code[1:]]; ok {
				p.Inlines[i] = t
			}
			return &record.InlineNode{Inline: i}
		}
	}
	return nil
}

var bench = sync.OnceValues(func() (*Theme, error) { return LoadTheme(os.DirFS("../../themes/bench")) })

func theme(t testing.TB) *Theme {
	t.Helper()
	th, err := bench()
	if err != nil {
		t.Fatal(err)
	}
	return th
}

func render(t testing.TB, p *view.Page) string {
	t.Helper()
	out, err := Render(p, theme(t))
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func read(number string, v float64) view.Cell {
	return view.Cell{
		Text:     view.Text{view.Number{Value: v, Display: quantity.Display{Number: number}, Standing: view.Read}},
		Standing: view.Read,
	}
}

func said(s string) view.Cell { return view.Cell{Text: view.Text{view.Plain(s)}} }

func worked(number, unit string, v float64, link string) view.Cell {
	return view.Cell{
		Text: view.Text{view.Number{Value: v, Display: quantity.Display{Number: number, Unit: unit}, Link: link,
			Standing: view.Computed}},
		Standing: view.Computed,
	}
}

var modulus = view.Number{
	Value: 1.973e11, Name: "E", Link: "E", Standing: view.Computed,
	Display: quantity.Display{Number: "197.3", PlusMinus: "8.8", Unit: "GPa", Coverage: "95 %"},
}

// sample is a page with every kind of node and run. Its numbers are invented.
func sample(t testing.TB) *view.Page {
	file := source.NewFile("wire.md", []byte(sampleText))
	at := func(s string) source.Span {
		i := strings.Index(sampleText, s)
		return file.Span(i, i+len(s))
	}
	overload := &finding.Finding{
		Severity: finding.Caution, Slug: "near-strength", At: at("## Loading"),
		Message: "the largest stress, 262 MPa, is more than a third of the tensile strength 640 MPa",
		Hint:    "use a smaller top load or a stronger wire",
	}
	clash := &finding.Finding{
		Severity: finding.Error, Slug: "dimensions", At: at("## Working"),
		Message: "a length cannot be added to a mass",
		Also:    []finding.Place{{At: at("# Theory"), What: "L is a length, from here"}, {At: at("## Loading"), What: "m is a mass, from here"}},
	}
	remark := &finding.Finding{Severity: finding.Note, Slug: "no-instrument", At: at("## Diameter"), Message: "column across has no instrument; its resolution is unknown"}
	safety := &view.Warning{ID: "wire-snaps", Name: "snap", Body: prose(t, "A loaded wire that snaps whips. **Eye protection on** while the wire is loaded, hands and faces out of line, feet clear of the weights.\n\nLocal rules and the staff in charge come first.\n", nil, nil)}

	blocks := map[string][]view.Node{
		"pull":     {pull()},
		"across":   {&view.Group{ID: "wire", Kind: "data", Name: "wire", Nodes: []view.Node{across(), &view.Notice{Findings: []*finding.Finding{remark}}}}},
		"calc":     {&view.Group{ID: "calc-2", Kind: "calc", Name: "modulus", Nodes: []view.Node{steps(overload)}}},
		"line":     {lineGroup()},
		"budget":   {budget()},
		"faulty":   {&view.Group{Kind: "calc", Name: "wrong", Nodes: []view.Node{&view.Notice{Findings: []*finding.Finding{clash}}, &view.Source{Text: "wrong = L + m   # <b>?</b>"}}}},
		"question": {&view.Group{ID: "why", Kind: "question", Name: "why", Nodes: []view.Node{prose(t, "Why does the dead load leave the slope unchanged?\n", nil, nil), &view.Ruled{Label: "space for the answer", Lines: 4}}}},
		"quiet":    {},
	}
	inlines := map[string]view.Text{
		"E":  {modulus},
		"Ec": {view.Number{Value: 1.973e11, Link: "E", Standing: view.Computed, Display: quantity.Display{Number: "1.973", Concise: "41", Exponent: 11, Unit: "Pa"}}},
		"Es": {view.Number{Value: 1.973e11, Link: "E", Standing: view.Computed, Display: quantity.Display{Number: "197.3", PlusMinus: "8.8", Unit: "GPa",
			Tail: quantity.Words("the number after ± is the expanded uncertainty U = k u with k = 2.14; the coverage probability of the interval is about 95 %")}}},
		"L":    {view.Number{Value: 2.914, Link: "nowhere", Standing: view.Given, Display: quantity.Display{Number: "2.914", Unit: "m"}}},
		"wait": {view.Missing{Why: "waits for T"}},
		"fill": {view.Blank{Label: "T", Unit: "s"}},
		"tiny": {view.Number{Value: -0.000123456, Standing: view.Computed, Display: quantity.Display{Number: "-0.000123456", Unit: "m s^-2"}}},
		"big":  {view.Number{Value: 1234567, Standing: view.Computed, Display: quantity.Display{Number: "1234567", Unit: "N/m^2"}}},
	}
	body := prose(t, sampleText, blocks, inlines)
	body.Shift = 1
	return &view.Page{
		Title: "Young’s modulus of a steel wire", Author: "A. Student, bench 4", Date: "2026-03-04", Lang: "en", Version: "1.0",
		Facts: []view.Fact{
			{Term: view.Text{view.Plain("Apparatus")}, Text: view.Text{view.Plain("frame F3, screw F3-S")}},
			{Term: view.Text{view.Plain("Calibration due")}, Text: view.Text{view.Plain("2027-01-20")}},
		},
		Front: []view.Node{&view.Notice{Findings: []*finding.Finding{overload}}, safety},
		Body:  body,
		Back:  []view.Node{named(), inputs()},
	}
}

func pull() *view.Group {
	t := &view.Table{
		ID: "pull.table", Caption: view.Text{view.Plain("Readings of the screw as the load is raised and lowered")}, Standing: view.Read,
		Columns: []view.Column{
			{Quantity: view.Text{view.Plain("load")}, Unit: "kg", Numeric: true},
			{Quantity: view.Text{view.Plain("up")}, Unit: "mm", Note: "screw", Numeric: true},
			{Quantity: view.Text{view.Plain("down")}, Unit: "mm", Note: "screw", Numeric: true},
		},
		Rows: []view.Row{
			{Cells: []view.Cell{read("0.50", 0.5), read("3.12", 3.12e-3), read("3.14", 3.14e-3)}},
			{Cells: []view.Cell{read("1.00", 1), read("3.41", 3.41e-3), read("3.4", 3.4e-3)}},
			{Struck: true, Reason: "misread by one turn of the screw", Cells: []view.Cell{read("1.50", 1.5), read("4.72", 4.72e-3), read("3.71", 3.71e-3)}},
			{Cells: []view.Cell{read("2.00", 2), read("4", 4e-3), {Hole: true, Standing: view.Read}}},
			{Cells: []view.Cell{read("2.50", 2.5), {Text: read("4.43", 4.43e-3).Text, Struck: true, Reason: "lens not level", Standing: view.Read}, read("4.31", 4.31e-3)}},
			{Sum: true, Cells: []view.Cell{worked("1.50", "", 1.5, ""), worked("3.51", "", 3.51e-3, ""), worked("3.62", "", 3.62e-3, "")}},
		},
		Notes: []view.Text{{view.Plain("The last row holds the means of what was not struck.")}},
	}
	return &view.Group{ID: "pull", Kind: "data", Name: "pull", Nodes: []view.Node{t}}
}

func across() *view.Table {
	return &view.Table{
		ID: "wire.table", Caption: view.Text{view.Plain("Diameter")}, Standing: view.Read,
		Columns: []view.Column{{Quantity: view.Text{view.Plain("place")}}, {Quantity: view.Text{view.Formula{Math: view.Ident{Name: "d"}}}, Unit: "mm", Numeric: true}},
		Rows: []view.Row{
			{Cells: []view.Cell{said("top"), read("0.502", 0.502e-3)}},
			{Cells: []view.Cell{said("middle"), {Text: view.Text{view.Blank{}}}}},
		},
	}
}

func steps(f *finding.Finding) *view.Steps {
	id := func(s string) view.Math { return view.Ident{Name: s} }
	op := func(s string) view.Math { return view.Op{Symbol: s} }
	sq := func(m view.Math) view.Math { return view.Script{Base: m, Sup: view.Num{Digits: "2"}} }
	q := func(n, u string) view.Math {
		return view.Seq{Items: []view.Math{view.Num{Digits: n}, view.Space{Em: 0.2}, view.Upright{Name: u}}}
	}
	area := view.Step{
		ID: "A", Symbol: id("A"), Label: "cross-section", Uses: []view.Ref{{Name: "d", ID: "wire"}}, Standing: view.Computed,
		Stages: []view.Math{
			view.Frac{Num: view.Seq{Items: []view.Math{id("π"), sq(view.Linked{ID: "wire", Body: id("d")})}}, Den: view.Num{Digits: "4"}},
			view.Frac{Num: view.Seq{Items: []view.Math{id("π"), sq(view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, q("0.5023", "mm"), view.Op{Symbol: ")", Fence: true}}})}}, Den: view.Num{Digits: "4"}},
		},
		Result: view.Text{view.Number{Value: 1.982e-7, Standing: view.Computed, Display: quantity.Display{Number: "0.1982", Concise: "31", Unit: "mm^2"}}},
	}
	young := view.Step{
		ID: "E", Symbol: id("E"), Label: "modulus from the graph", Uses: []view.Ref{{Name: "A", ID: "A"}, {Name: "line.slope", ID: "nowhere"}}, Standing: view.Computed, Findings: []*finding.Finding{f},
		Stages: []view.Math{
			view.Frac{Num: view.Seq{Items: []view.Math{id("g"), id("L")}}, Den: view.Seq{Items: []view.Math{view.Linked{ID: "A", Body: id("A")}, op("⋅"), view.Linked{ID: "nowhere", Body: view.Upright{Name: "line.slope"}}}}},
			view.Frac{
				Num: view.Seq{Items: []view.Math{q("9.8124", "m/s²"), op("×"), q("2.914", "m")}},
				Den: view.Seq{Items: []view.Math{view.Valued{Value: 1.982e-7, Link: "A", Body: q("0.1982", "mm²")}, op("×"), q("0.7312", "mm/kg")}},
			},
		},
		Result: view.Text{modulus},
	}
	waits := view.Step{ID: "T", Symbol: id("T"), Stages: []view.Math{view.Seq{Items: []view.Math{id("t"), op("/"), id("n")}}}, Result: view.Text{view.Missing{Why: "waits for t"}}}
	return &view.Steps{Title: "Worked calculation", Standing: view.Computed, Steps: []view.Step{area, young, waits}}
}

func lineGroup() *view.Group {
	graph := &view.Figure{
		ID: "graph.figure", Title: "Reading against load, with the fitted line", Desc: "Four points and a straight line of slope 0.731 mm/kg.", Standing: view.Computed,
		X: view.Axis{Quantity: "load", Unit: "kg"}, Y: view.Axis{Quantity: "reading", Unit: "mm"},
		Series: []view.Series{{Name: "up", Marks: true, Bars: true, Points: []view.Point{
			{X: 0.5, Y: 3.12, UY: 0.005, Note: "row 1: load 0.50 kg, up 3.12 mm"}, {X: 1, Y: 3.41, UY: 0.005, Note: "row 2"},
			{X: 2, Y: 4.05, UY: 0.005, Note: "row 4"}, {X: 2.5, Y: 4.43, UY: 0.005, Note: "row 5"}}}},
		Lines: []view.Line{{Name: "fitted line", Kind: view.Fitted, Points: []view.Point{{X: 0.5, Y: 3.08}, {X: 2.5, Y: 4.42}}}},
	}
	facts := &view.Facts{
		ID: "line.facts", Title: view.Text{view.Plain("Straight line, equal weights")}, Standing: view.Computed,
		Items: []view.Fact{
			{Term: view.Text{view.Plain("slope")}, Text: view.Text{view.Number{Value: 7.312e-4, Standing: view.Computed, Display: quantity.Display{Number: "0.7312", Concise: "42", Unit: "mm kg^-1"}}}},
			{Term: view.Text{view.Plain("degrees of freedom, "), view.Emph("ν")}, Text: view.Text{view.Number{Value: 13, Standing: view.Computed, Display: quantity.Display{Number: "13"}}}},
			{Term: view.Text{view.Plain("model")}, Text: view.Text{view.Code("straight")}},
		},
	}
	para := &view.Paragraph{Text: view.Text{view.Plain("The line is straight within the scatter of its points.")}, Standing: view.Computed}
	return &view.Group{ID: "line", Kind: "fit", Name: "line", Nodes: []view.Node{facts, para, graph}}
}

func budget() *view.Group {
	names := []string{"source", "value", "distribution", "standard uncertainty", "ν", "sensitivity coefficient", "contribution", "share of variance"}
	t := &view.Table{ID: "E.budget", Ledger: true, Standing: view.Computed, Caption: view.Text{view.Plain("Uncertainty budget of "), view.Emph("E")}}
	for i, n := range names {
		t.Columns = append(t.Columns, view.Column{Quantity: view.Text{view.Plain(n)}, Numeric: i != 0 && i != 2})
	}
	t.Columns[7].Unit = "%"
	row := func(name, value, unit, dist, u, dof, coef, part, share string) view.Row {
		return view.Row{Cells: []view.Cell{said(name), worked(value, unit, 1, ""), said(dist), worked(u, unit, 1, ""), worked(dof, "", 1, ""), said(coef), worked(part, "GPa", 1, ""), worked(share, "", 1, "")}}
	}
	t.Rows = []view.Row{
		row("micrometer, calibration", "0.5023", "mm", "rectangular", "0.0023", "50", "−785 GPa/mm", "1.8", "81.2"),
		row("slope of the line", "0.7312", "mm/kg", "normal", "0.0042", "13", "−270 GPa kg/mm", "1.13", "16"),
		row("tape, resolution", "2.9140", "m", "rectangular", "0.0012", "1000000", "68 GPa/m", "0.08", "2.8"),
	}
	sum := row("combined", "197.3", "GPa", "normal", "4.1", "14", "", "4.1", "100.0")
	sum.Sum = true
	t.Rows = append(t.Rows, sum)
	bars := &view.Bars{ID: "E.shares", Title: "Shares of the variance of E", Standing: view.Computed, Desc: "micrometer 81 %, slope 16 %, tape 3 %",
		Items: []view.Bar{{Label: "micrometer, calibration", Share: 0.812, Text: "81.2 %"}, {Label: "slope of the line", Share: 0.16, Text: "16.0 %"}, {Label: "tape, resolution", Share: 0.028, Text: "2.8 %"}}}
	return &view.Group{ID: "E.group", Kind: "budget", Name: "of E", Nodes: []view.Node{t, bars}}
}

// named is a table of quantities: one that the page shows, one that it does
// not, and one behind a check.
func named() *view.Quantities {
	value := func(n string) view.Text {
		return view.Text{view.Number{Value: 1, Standing: view.Computed, Display: quantity.Display{Number: n, Unit: "m"}}}
	}
	return &view.Quantities{ID: "quantities", Coverage: "95 %", Entries: []view.Entry{
		{ID: "q-line", At: "line", Name: "line", Label: "fit", Value: value("1.5"), Place: "line 3", UsedBy: []view.Ref{{Name: "E", ID: "q-E"}},
			How: view.Text{view.Plain("y: pull.up <x>")}},
		{ID: "q-E", At: "hidden", Name: "E", Value: value("2"), Place: "line 4", How: view.Text{view.Plain("2 * "), view.Ref{Name: "line.slope", ID: "q-line"}},
			Sources: []view.Share{{Source: view.Ref{Name: "zero of screw"}, Text: "97 %"}, {Source: view.Ref{Name: "scatter", ID: "q-line"}, Text: "3 %"}},
			UsedBy:  []view.Ref{{Name: "text", ID: "text-1", Places: true}, {Name: "text", ID: "nowhere", Places: true}}},
		{ID: "q-p", At: "elsewhere", Name: "p", Value: value("3"), Behind: true},
	}}
}

func inputs() *view.Table {
	return &view.Table{
		ID: "inputs", Caption: view.Text{view.Plain("Files that this page was made from")},
		Columns: []view.Column{{Quantity: view.Text{view.Plain("file")}}, {Quantity: view.Text{view.Plain("SHA-256")}}},
		Rows:    []view.Row{{Cells: []view.Cell{said("wire.md"), {Text: view.Text{view.Code("9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08")}}}}},
	}
}

const sampleText = `# Theory

The modulus found here is *E* = ` + "`=E`" + `, or ` + "`=Ec`" + `; a wire of length ` + "`=L`" + ` was used[^1].
In full: *E* = ` + "`=Es`" + `. See [the working](#working), [the pull](#pull) and **[a page](https://example.org/ "elsewhere")**.

A wire of length ` + "`$L`" + ` stretches by ` + "`$x`" + `:

` + "`$$E = gL/(A b)`" + `

[^1]: Between the chucks, under the dead load.

## Loading

` + "```block pull\n```" + `

1. Raise the load in steps of half a kilogram.
2. Wait a minute at each.
   - Tap the frame gently.

> A remark set apart.

| quantity | symbol | value |
|:---------|:------:|------:|
| length   | L      | 2.914 |
| load     | m      | 4.5   |

## Diameter

` + "```block across\n```" + `

## Working

` + "```block calc\n```" + `

` + "```block line\n```" + `

` + "```block budget\n```" + `

The period is ` + "`=wait`" + `; fill in ` + "`=fill`" + `. Small: ` + "`=tiny`" + `, large: ` + "`=big`" + `.

` + "```block faulty\n```" + `

` + "```block question\n```" + `

` + "```block quiet\n```" + `

` + "```python\nprint(\"ordinary code\")\n```" + `

![The frame](frame.jpg) and ![afar](https://example.org/x.png)
`
