package blocks

import (
	"strconv"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// onPaper reports whether a blank sheet asks for a fit below the graph paper on
// which its line is drawn: points and intercepts are read off the line.
func (f *fitBlock) onPaper(s *block.Shower) bool { return firstPlotOf(s, f.name) != nil }

// firstPlotOf is the first graph that shows a fit; nil where none does.
func firstPlotOf(s *block.Shower, fit string) *plotBlock {
	for _, inst := range s.Beside() {
		if p, ok := inst.(*plotBlock); ok && p.fit == fit && s.Shown(p) {
			return p
		}
	}
	return nil
}

// fitTask is what is asked for below the paper of a graph.
func (p *plotBlock) fitTask(s *block.Shower) []view.Node {
	if p.fit == "" || firstPlotOf(s, p.fit) != p {
		return nil
	}
	u := s.Block(p.fit)
	if u == nil {
		return nil
	}
	f, ok := u.Inst.(*fitBlock)
	if !ok || !s.Shown(f) {
		return nil
	}
	return f.task(s.ShowerFor(u))
}

// task is what a blank sheet asks for in place of a fit: for a straight line,
// two points read off the line that was drawn, the slope and the intercepts; of
// parallel lines, a point of each, since each has its own intercept.
func (f *fitBlock) task(s *block.Shower) []view.Node {
	ux, uy := f.units(s)
	if f.options.Model == fit.Polynomial {
		facts := &view.Facts{ID: s.ID() + "-facts", Standing: view.Given, Title: view.Text{view.Plain("Coefficients of "), view.Code(f.name)}}
		for k := 0; k <= f.options.Degree; k++ {
			name := "c" + strconv.Itoa(k)
			facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Formula{Math: block.Symbol(name)}}, Text: view.Text{view.Blank{}}})
		}
		return []view.Node{facts}
	}
	lines := f.lines(s)
	facts := &view.Facts{ID: s.ID() + "-facts", Standing: view.Given, Title: view.Text{view.Plain("Two points of the line, far apart; not readings")}}
	terms := []string{"first point", "second point"}
	if len(lines) > 1 {
		facts.Title = view.Text{view.Plain("Two points of the first line, far apart, and one of each other; not readings")}
		terms = []string{"first point, of " + lines[0], "second point, of " + lines[0]}
		for _, name := range lines[1:] {
			terms = append(terms, "point of "+name)
		}
	}
	for i, term := range terms {
		n := strconv.Itoa(i + 1)
		facts.Items = append(facts.Items, view.Fact{Term: view.Text{view.Plain(term)}, Text: view.Text{
			view.Formula{Math: ofPoint("x", n)}, view.Plain(" = "), view.Blank{Unit: axisUnit(ux)}, view.Plain(",\u2003"),
			view.Formula{Math: ofPoint("y", n)}, view.Plain(" = "), view.Blank{Unit: axisUnit(uy)}}})
	}
	steps := &view.Steps{ID: s.ID() + "-work", Standing: view.Given}
	add := func(name string, room int, label string, stage view.Math, un unit.Unit) {
		steps.Steps = append(steps.Steps, view.Step{ID: s.ID() + "-work-" + name, Symbol: block.Symbol(f.name + "." + name), Label: label, Room: room,
			Stages: []view.Math{stage}, Result: view.Text{view.Blank{Unit: axisUnit(un)}}, Standing: view.Given})
	}
	rise := view.Frac{Num: minusMath(ofPoint("y", "2"), ofPoint("y", "1")), Den: minusMath(ofPoint("x", "2"), ofPoint("x", "1"))}
	add("slope", stepRoom, "slope of the line", rise, unit.Quotient(uy.Difference(), ux.Difference()))
	crossing := func(point string) view.Math {
		return minusMath(ofPoint("y", point), product(block.Symbol(f.name+".slope"), ofPoint("x", point)))
	}
	switch {
	case f.options.Model != fit.Straight:
	case len(lines) <= 1:
		add("intercept", 1, "where the line crosses x = 0", crossing("1"), uy)
	default:
		for g, name := range lines {
			point := "1"
			if g > 0 {
				point = strconv.Itoa(g + 2) // points 1 and 2 are both of the first line
			}
			add("intercept_"+strconv.Itoa(g+1), 1, "of "+name+": where the line through its points crosses x = 0", crossing(point), uy)
		}
	}
	return []view.Node{facts, steps}
}

// ofPoint is the symbol of a coordinate of one of the points.
func ofPoint(axis, point string) view.Math {
	return view.Script{Base: ident(axis), Sub: view.Num{Digits: point}}
}

// lines names the parallel lines that a fit has, each with an intercept of its
// own, by their columns of y; none where one line is fitted to all.
func (f *fitBlock) lines(s *block.Shower) []string {
	if f.one || f.options.Model != fit.Straight {
		return nil
	}
	return readingsNames(f.columns(s))
}

// columns are those of y, as far as they can be had.
func (f *fitBlock) columns(s *block.Shower) []*eval.Column {
	if f.fitted != nil {
		return f.fitted.Y
	}
	ys, _ := columnsOf(quietly(s, f.name), f.y)
	return ys
}

// units are those of the axes; of one where the columns cannot be had.
func (f *fitBlock) units(s *block.Shower) (ux, uy unit.Unit) {
	if ys := f.columns(s); len(ys) > 0 {
		uy = unitOf(ys[0])
	}
	if f.x != nil {
		if x, ok := quietly(s, f.name).Expr(f.x).(*eval.Column); ok {
			ux = unitOf(x)
		}
	}
	return ux, uy
}
