package blocks

import (
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(plot{})

// plot is the kind `plot`: a graph of columns, with a fit.
//
// Beside y, x, fit, show and title it takes `paper:`, the size of the graph
// paper, ruled in centimetres of true size: A4 (a whole page), A5 (half a page)
// or `12 x 16 cm`; and `scale: yes`, which prints what one centimetre stands
// for (yes where `paper:` is given, else no).
type plot struct{}

// Info implements block.Kind.
func (plot) Info() block.Info {
	return block.Info{Name: "plot", Naming: block.Named, Keys: []block.Keys{{Of: "a plot", Names: plotKeys}}, What: "a graph of columns, with a fitted line, limits, slope triangle and residuals, on graph paper if wanted"}
}

var (
	plotKeys  = []string{"y", "x", "fit", "show", "title", "paper", "scale"}
	plotParts = []string{"points", "bars", "line", "limits", "triangle", "residuals"}
)

type plotBlock struct {
	name   string
	at     source.Span
	y      []formula.Expr
	x      formula.Expr
	fit    string
	fitAt  source.Span
	show   map[string]bool
	title  []block.Part
	paper  *view.Paper // nil for a drawing of the usual size
	ys     []*eval.Column
	xs     *eval.Column
	fitted *eval.Fitted
	frames []int // the frame of each column
	waits  *eval.Waiting
}

// Read implements block.Kind.
func (plot) Read(r *block.Reader, b *record.Block) block.Instance {
	m := b.ReadSettings(r.Set)
	p := &plotBlock{name: b.Name, at: b.NameAt, show: map[string]bool{}}
	checkKeys(m, "a plot", plotKeys, r.Set)
	p.y = expressions(m, "y", r.Set)
	if s := scalar(m, "x", r.Set); s != nil {
		p.x = expression(s, r.Set)
	}
	if s := scalar(m, "fit", r.Set); s != nil {
		p.fit, p.fitAt = s.Text, s.At
	}
	if s := scalar(m, "title", r.Set); s != nil {
		p.title = titleOf(s, r.Set)
	}
	for _, key := range []string{"y", "x"} {
		if m.Lacks(key) {
			r.Set.Add(missingKey(b.KindAt, key, "a plot"))
		}
	}
	p.readShow(m.Get("show"), r.Set)
	p.readPaper(scalar(m, "paper", r.Set), scalar(m, "scale", r.Set), r.Set)
	return p
}

// titleOf reads a title, which may hold inline values if it stands in the file
// as it is meant.
func titleOf(s *record.Setting, set *finding.Set) []block.Part {
	if _, plain := s.Inner(); !plain && !strings.Contains(s.Text, "=[") {
		return []block.Part{{Text: s.Text}}
	}
	at, ok := scalarSpan(s, set)
	if !ok {
		return nil
	}
	return block.ParseMessage(at, set)
}

func (p *plotBlock) readShow(s *record.Setting, set *finding.Set) {
	if s == nil {
		p.show["points"] = true
		p.show["line"] = p.fit != ""
		return
	}
	for _, item := range s.List() {
		for _, word := range strings.Fields(item.Text) {
			if !has(plotParts, word) {
				set.Add(badValue(item.At, "show", word, "any of "+strings.Join(plotParts, ", ")))
				continue
			}
			p.show[word] = true
			if word != "points" && word != "bars" && p.fit == "" {
				set.Add(badValue(item.At, "show", word, "used together with `fit:`"))
			}
		}
	}
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// Defs implements block.Definer.
func (p *plotBlock) Defs() []*block.Def {
	if p.name == "" {
		return nil
	}
	d := &block.Def{Name: p.name, At: p.at, Quiet: true, Compute: p.compute}
	for _, x := range append(append([]formula.Expr(nil), p.y...), p.x) {
		if x != nil {
			d.Uses = append(d.Uses, block.UsesOf(x)...)
		}
	}
	if p.fit != "" {
		d.Uses = append(d.Uses, block.Use{Name: p.fit, At: p.fitAt})
	}
	for _, part := range p.title {
		if part.Insert != nil {
			d.Uses = append(d.Uses, block.UsesOf(part.Insert.X)...)
		}
	}
	return []*block.Def{d}
}

// compute gathers the columns; the value itself is good for nothing but to be
// named.
func (p *plotBlock) compute(c *block.Computing) eval.Value {
	space := &eval.Space{What: "plot", Name: p.name, Get: func(string) (eval.Value, bool) { return nil, false }}
	if p.x == nil || len(p.y) == 0 {
		p.waits = &eval.Waiting{}
		return space
	}
	e := c.Eval(p.name)
	ys, wait := columnsOf(e, p.y)
	if wait == nil {
		var xs []*eval.Column
		if xs, wait = columnsOf(e, []formula.Expr{p.x}); wait == nil && len(xs) == 1 {
			p.ys, p.xs = ys, xs[0]
		}
	}
	if w, ok := wait.(eval.Waiting); ok {
		p.waits = &w
		return space
	}
	for i, y := range p.ys {
		at := p.y[min(i, len(p.y)-1)].Span()
		if f := misfit(at, y, p.ys[0], p.xs, "plot"); f != nil {
			c.Report(f)
			p.waits = &eval.Waiting{}
			return space
		}
	}
	p.readFit(c, e)
	return space
}

func (p *plotBlock) readFit(c *block.Computing, e *eval.Eval) {
	if p.fit == "" {
		return
	}
	v, rest := e.Env.Lookup(p.fit)
	if s, ok := v.(*eval.Space); ok && len(rest) == 0 {
		if f, ok := s.Data.(*eval.Fitted); ok {
			p.fitted = f
			if f.Y[0].Dim != p.ys[0].Dim || f.X.Dim != p.xs.Dim {
				c.Report(errorAt(p.fitAt, "unit-clash", fmt.Sprintf("the fit `%s` is of other quantities than this plot", p.fit), "plot the columns that were fitted"))
				p.fitted = nil
			}
			return
		}
	}
	if _, waits := v.(eval.Waiting); !waits {
		c.Report(errorAt(p.fitAt, "wrong-argument", fmt.Sprintf("`%s` is not a fit, it is %s", p.fit, eval.Describe(v)), "name a `fit` block"))
	}
}

// Show implements block.Instance.
func (p *plotBlock) Show(s *block.Shower) []view.Node {
	if s.View() == view.AsBlank {
		return append([]view.Node{p.grid(s)}, p.fitTask(s)...)
	}
	if p.waits == nil && (p.ys == nil || p.points() == 0) {
		w := eval.Waiting{Unread: true, On: "the readings"}
		p.waits = &w
	}
	if p.waits != nil {
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain("Graph "), view.Code(p.name), view.Plain(": "), view.Missing{Why: block.WaitsFor(*p.waits)}}}}
	}
	fig := &view.Figure{ID: s.ID() + "-figure", Standing: view.Computed, Paper: p.paper}
	fig.X, fig.Y = p.axes(s)
	ux, uy := unitOf(p.xs), unitOf(p.ys[0])
	fig.Title = p.titleText(fig, block.PlainText(s.Message(p.title, s.Eval(p.name))))
	p.setFrames()
	k := p.coverageFactor(s.Settings.Coverage)
	for g, y := range p.ys {
		fig.Series = append(fig.Series, p.series(g, y, k, ux, uy))
	}
	if note := p.barsNote(fig, k, s.Settings.CoverageText); note != nil {
		fig.Notes = append(fig.Notes, note)
	}
	if p.fitted != nil {
		p.addFit(s, fig, ux, uy)
	}
	fig.Desc = p.describe(s, fig)
	nodes := []view.Node{fig}
	if fig.Triangle != nil && s.View() == view.AsWorked {
		nodes = append(nodes, p.slopeSteps(s, fig.Triangle))
	}
	return nodes
}

func (p *plotBlock) titleText(fig *view.Figure, title string) string {
	if title == "" {
		return fmt.Sprintf("%s against %s", sentenceCase(fig.Y.Quantity), fig.X.Quantity)
	}
	return title
}

// sentenceCase begins a name that is a word with a capital letter; a symbol
// stays as it is.
func sentenceCase(name string) string {
	word, _, _ := strings.Cut(name, " ")
	word = strings.TrimSuffix(word, ",")
	if len(word) < 2 || strings.ContainsFunc(word, func(r rune) bool { return r < 'a' || r > 'z' }) {
		return name
	}
	return strings.ToUpper(name[:1]) + name[1:]
}

func (p *plotBlock) points() int {
	n := 0
	for _, y := range p.ys {
		for i, c := range y.Cells {
			if !c.Hole && !p.xs.Cells[i].Hole {
				n++
			}
		}
	}
	return n
}

func unitOf(c *eval.Column) unit.Unit { return eval.UnitOf(c) }

func axisUnit(u unit.Unit) string {
	if u.IsOne() {
		return ""
	}
	return u.String()
}

// axisName names an axis by its columns: the last part of their names.
func axisName(x formula.Expr, cols []*eval.Column) string {
	var names []string
	for _, c := range cols {
		if c.Name == "" {
			return formula.Print(x)
		}
		names = append(names, c.Name[strings.LastIndexByte(c.Name, '.')+1:])
	}
	return strings.Join(names, ", ")
}

// scattered reports whether the scatter about a line is counted with each point.
func (p *plotBlock) scattered() bool {
	return p.fitted != nil && p.fitted.Options.Weights == fit.Equal
}

func (p *plotBlock) series(g int, y *eval.Column, k float64, ux, uy unit.Unit) view.Series {
	s := view.Series{Name: p.seriesName(g), Frame: p.frame(g), Marks: p.show["points"], Bars: p.show["bars"]}
	scatter := 0.0
	if p.scattered() {
		scatter = p.fitted.Result.Scatter
	}
	for i, c := range y.Cells {
		x := p.xs.Cells[i]
		if c.Hole || x.Hole {
			continue
		}
		pt := view.Point{X: ux.FromSI(x.Q.Value()), Y: uy.FromSI(c.Q.Value())}
		pt.Note = fmt.Sprintf("%s: row %d, x %s, y %s", s.Name, c.Row, cellText(x, p.xs), cellText(c, y))
		if s.Bars {
			pt.UY = k * math.Max(scatter, eval.OwnU(c.Q)) / uy.Factor()
			pt.UX = k * eval.OwnU(x.Q) / ux.Factor()
		}
		s.Points = append(s.Points, pt)
	}
	return s
}

// seriesName is the name of column g, its expression, or its place in the list.
func (p *plotBlock) seriesName(g int) string {
	switch n := eval.NamesOf(p.ys)[g]; {
	case n != "" && (len(p.ys) > 1 || p.ys[g].Name != ""):
		return n
	case len(p.ys) == len(p.y):
		return formula.Print(p.y[g])
	default:
		return fmt.Sprintf("%s, column %d", formula.Print(p.y[0]), g+1)
	}
}

func cellText(c eval.Cell, col *eval.Column) string {
	u := eval.UnitOf(col)
	if c.Typed != "" && col.Raw == nil {
		return quantity.Typed(c.Typed, u).String()
	}
	return quantity.Format(c.Q.Value(), 0, 0, u, quantity.Auto, quantity.Options{}).String()
}
