package page

import (
	"example.org/taut/engine/view"
)

// steps writes a worked calculation: for each step its symbol, the formula in
// symbols, the same with numbers and units, and the result, the equals signs
// one below the other.
func (w *writer) steps(s *view.Steps) {
	w.markup(`<div class="steps `, standing(s.Standing), `"`)
	w.id(s)
	w.region(orElse(s.Title, "worked calculation"))
	w.markup(">\n")
	if s.Title != "" {
		w.markup(`<p class="title">`)
		w.text(s.Title)
		w.markup("</p>\n")
	}
	for i := range s.Steps {
		w.step(&s.Steps[i])
	}
	w.markup("</div>\n")
}

func (w *writer) step(s *view.Step) {
	w.markup(`<div class="step `, standing(s.Standing), `"`)
	w.id(s)
	w.markup(">\n", `<div class="working">`, "\n")
	lines := 0
	line := func(write func()) {
		w.markup(`<div class="stage"><span class="symbol">`)
		if lines == 0 && s.Symbol != nil {
			w.math(s.Symbol, true)
		}
		w.markup(`</span> <span class="equals">=</span> <span class="side">`)
		write()
		w.markup("</span></div>\n")
		lines++
	}
	for _, m := range s.Stages {
		line(func() { w.math(m, true) })
	}
	if len(s.Result) > 0 {
		line(func() { w.runs(s.Result) })
	}
	w.markup("</div>\n")
	if s.Label != "" {
		w.markup(`<p class="label">`)
		w.text(s.Label)
		w.markup("</p>\n")
	}
	w.findings(s.Findings)
	w.markup("</div>\n")
}

// math writes mathematics of the view.
func (w *writer) math(m view.Math, display bool) {
	if m != nil {
		w.markup(mathML(w.settle(m), display))
	}
}
