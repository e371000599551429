package page

import (
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// toFillIn is what a sheet has that other pages have not.
func toFillIn() []view.Node {
	table := &view.Table{Fill: true, Columns: []view.Column{{Quantity: view.Text{view.Plain("load")}, Unit: "kg", Numeric: true, Note: "weights, to the nearest 1 g"}},
		Rows: []view.Row{{Cells: make([]view.Cell, 1)}, {Cells: make([]view.Cell, 1)}}}
	steps := &view.Steps{ID: "tasks", Steps: []view.Step{
		{ID: "task-g", Symbol: view.Ident{Name: "g"}, Result: view.Text{view.Blank{Unit: "m/s^2"}}},
		{ID: "task-E", Symbol: view.Ident{Name: "E"}, Label: "Young’s modulus", Room: 3, Result: view.Text{view.Blank{Unit: "GPa"}}},
		{ID: "task-A", Symbol: view.Ident{Name: "A"}, Label: "area", Stages: []view.Math{view.Ident{Name: "B"}}, Result: view.Text{view.Blank{}}},
	}}
	return []view.Node{table, steps, &view.Marks{Of: 1}, &view.Marks{Of: 12},
		&view.Figure{ID: "empty", Grid: true, X: view.Axis{Quantity: "load", Unit: "kg"}, Y: view.Axis{Quantity: "reading", Unit: "mm"}}}
}

// TestSheet: a sheet has lines for name, class, date and marks, room for each
// task and no labels of blocks; another page has none of these lines.
func TestSheet(t *testing.T) {
	page := sample(t)
	page.Sheet, page.Marks = true, 12
	page.Back = append(page.Back, toFillIn()...)
	out := render(t, page)
	check(t, out)
	for _, s := range []string{"<p>Name <span", "<p>Class <span", "<p>Date <span", "</span> / 12</p>", "[1 mark]", "[12 marks]", "to the nearest 1" + noBreak + "g", "room for the calculation"} {
		if !strings.Contains(out, s) {
			t.Errorf("%q is not on the sheet", s)
		}
	}
	if n := strings.Count(out, `<div class="line">`); n != 4+3 { // an answer of the sample, and a task
		t.Errorf("%d ruled lines", n)
	}
	if !regexp.MustCompile(`<p class="wanted"><math><mi>A</mi></math> <span class="equals">=</span> <math>.*<mi>B</mi>.*</math>\x{2003}area</p>\s*<p class="outcome">`).MatchString(out) {
		t.Error("a task does not show its formula, its label and its place")
	}
	if strings.Contains(out, `<span class="kind">`) {
		t.Error("a sheet shows how it was made")
	}
	if strings.Contains(render(t, sample(t)), `class="sheet"`) {
		t.Error("a record has lines for name and date")
	}
}
