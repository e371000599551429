package page

import (
	"example.org/taut/engine/view"
)

// steps writes a worked calculation: for each step its symbol, the formula in
// symbols, the same with numbers and units, and the result, the equals signs
// one below the other.
func (w *writer) steps(s *view.Steps) {
	w.markup(`<section class="steps `, standing(s.Standing), `"`)
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
			w.math(s.Symbol)
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
		w.text(s.Label)
		w.markup("</p>\n")
	}
	if len(uses) > 0 {
		w.markup(`<p class="uses">uses `)
		for i, u := range uses {
			if i > 0 {
				w.markup(", ")
			}
			w.markup("<a")
			w.attr("href", "#"+w.target(u.ID))
			w.markup(">")
			w.text(u.Name)
			w.markup("</a>")
		}
		w.markup("</p>\n")
	}
	w.markup("</div>\n")
}
