package page

import (
	"example.org/taut/engine/view"
)

// steps writes a worked calculation: for each step its symbol, the formula in
// symbols, the same with numbers and units, and the result, the equals signs
// one below the other.
func (w *writer) steps(s *view.Steps) {
	if s.Title != "" {
		w.markup(`<p class="title">`)
		w.text(s.Title)
		w.markup("</p>\n")
	}
	w.markup(`<section class="steps `, standing(s.Standing), `"`)
	w.id(s)
	w.region(orElse(s.Title, "worked calculation"))
	w.markup(">\n")
	for i := range s.Steps {
		if st := &s.Steps[i]; isTask(st) {
			w.task(st)
		} else {
			w.step(st)
		}
	}
	w.markup("</section>\n")
}

func (w *writer) step(s *view.Step) {
	w.markup(`<div class="step `, standing(s.Standing), `"`)
	w.id(s)
	w.markup(">\n", `<div class="working">`, "\n")
	lines := 0
	line := func(write func()) {
		w.markup(`<div class="stage"><span class="symbol">`)
		if lines == 0 && s.Symbol != nil {
			w.symbol(s)
		}
		w.markup(`</span> <span class="equals">=</span> <span class="side">`)
		write()
		w.markup("</span></div>\n")
		lines++
	}
	for _, m := range s.Stages {
		line(func() { w.math(view.Styled{Style: "displaystyle", Body: m}) })
	}
	if len(s.Result) > 0 {
		line(func() { w.runs(s.Result) })
	}
	w.markup("</div>\n")
	w.aside(s)
	w.findings(s.Findings)
	w.markup("</div>\n")
}

// symbol writes the symbol of a step, which leads to its entry among the
// quantities.
func (w *writer) symbol(s *view.Step) {
	id := w.target(w.names.entries[legal(s.ID)])
	if id == "" {
		w.math(s.Symbol)
		return
	}
	w.markup(`<a class="from" href="#`)
	w.text(id)
	w.markup(`"`)
	w.attr("title", w.names.called[id]) // mathematics alone is no text to all who read aloud
	w.markup(`>`)
	w.math(s.Symbol)
	w.markup(`</a>`)
}

// aside writes what stands beside a step: its label and where its parts come
// from.
func (w *writer) aside(s *view.Step) {
	var uses []view.Ref
	for _, u := range s.Uses {
		if w.target(u.ID) != "" {
			uses = append(uses, u)
		}
	}
	if s.Label == "" && len(uses) == 0 {
		return
	}
	w.markup(`<div class="aside">`, "\n")
	if s.Label != "" {
		w.markup(`<p class="label">`)
		w.runs(view.Inline(s.Label))
		w.markup("</p>\n")
	}
	if len(uses) > 0 {
		w.markup(`<p class="uses">uses `)
		for i, u := range uses {
			if i > 0 {
				w.markup(", ")
			}
			w.ref(u)
		}
		w.markup("</p>\n")
	}
	w.markup("</div>\n")
}

// isTask reports whether a step is to be worked out by the reader.
func isTask(s *view.Step) bool {
	if len(s.Result) == 0 {
		return false
	}
	_, blank := s.Result[len(s.Result)-1].(view.Blank)
	return blank
}

// task writes a step that is to be worked out: what is wanted and by which
// formula, room for the numbers, and a place for the result.
func (w *writer) task(s *view.Step) {
	w.markup(`<div class="task"`)
	w.id(s)
	w.markup(">\n")
	w.wanted(s)
	if s.Room > 0 {
		w.ruled("room for the calculation", s.Room)
	}
	w.markup(`<p class="outcome">`)
	if s.Symbol != nil {
		w.math(s.Symbol)
		w.markup(` <span class="equals">=</span> `)
	}
	w.runs(s.Result)
	w.markup("</p>\n</div>\n")
}

// wanted writes what a task is: its symbol, its formula and its label.
func (w *writer) wanted(s *view.Step) {
	if s.Label == "" && len(s.Stages) == 0 {
		return
	}
	w.markup(`<p class="wanted">`)
	if s.Symbol != nil {
		w.math(s.Symbol)
	}
	for _, m := range s.Stages {
		w.markup(` <span class="equals">=</span> `)
		w.math(view.Styled{Style: "displaystyle", Body: m})
	}
	switch {
	case s.Label == "":
	case len(s.Stages) > 0:
		w.markup("\u2003")
	case s.Symbol != nil:
		w.markup(": ")
	}
	w.runs(view.Inline(s.Label))
	w.markup("</p>\n")
}
