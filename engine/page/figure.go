package page

import "example.org/taut/engine/view"

func (w *writer) figure(f *view.Figure) {
	w.markup(`<figure class="graph `, standing(f.Standing), `"`)
	w.id(f)
	w.markup(">\n")
	w.drawing(figureSVG(f, w.page.Comma))
	w.figcaption(f.Title)
	w.markup("</figure>\n")
}

func (w *writer) bars(b *view.Bars) {
	w.markup(`<figure class="bars `, standing(b.Standing), `"`)
	w.id(b)
	w.markup(">\n")
	w.drawing(barsSVG(b, w.page.Comma))
	w.figcaption(b.Title)
	w.markup("</figure>\n")
}

func (w *writer) drawing(svg []byte, err error) {
	if err != nil {
		w.fail(err)
		return
	}
	w.b = append(w.b, svg...)
	w.markup("\n")
}

func (w *writer) figcaption(title string) {
	if title != "" {
		w.markup("<figcaption>")
		w.text(title)
		w.markup("</figcaption>\n")
	}
}
