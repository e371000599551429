package page

import (
	"errors"
	"strconv"

	"example.org/taut/engine/draw"
	"example.org/taut/engine/view"
)

func (w *writer) figure(f *view.Figure) {
	w.markup(`<figure class="graph `, standing(f.Standing), `"`)
	own := *f
	own.ID = w.figureID(f)
	w.drawing(draw.Figure(&own, w.drawn()))
	w.figcaption(f.Title)
	w.markup("</figure>\n")
}

func (w *writer) bars(b *view.Bars) {
	w.markup(`<figure class="bars `, standing(b.Standing), `"`)
	own := *b
	own.Items = append([]view.Bar(nil), b.Items...)
	for i := range own.Items {
		own.Items[i].Label = bind(own.Items[i].Label)
	}
	own.ID = w.figureID(b)
	w.drawing(draw.Bars(&own, w.drawn()))
	w.figcaption(b.Title)
	w.markup("</figure>\n")
}

// drawn is how figures are drawn. A title is the caption, where it can be read,
// copied and wrapped as text, so it is not drawn as well.
func (w *writer) drawn() draw.Options {
	return draw.Options{Comma: w.page.Comma, Captioned: true}
}

// figureID ends the tag of a figure and returns the ID for the parts of its
// drawing; one that is shown again has others.
func (w *writer) figureID(key any) string {
	w.shown++
	w.id(key)
	w.markup(">\n")
	return w.names.of[key] + "-" + strconv.Itoa(w.shown)
}

// drawing writes a finished drawing. Where there is nothing to draw the page
// says so and goes on.
func (w *writer) drawing(svg []byte, err error) {
	if errors.Is(err, draw.ErrNothing) {
		w.runs(view.Text{view.Missing{Why: "there is nothing to draw"}})
		return
	}
	if err != nil {
		w.fail(err)
		return
	}
	w.b = append(w.b, svg...)
}

func (w *writer) figcaption(title string) {
	if title != "" {
		w.markup("<figcaption>")
		w.text(title)
		w.markup("</figcaption>\n")
	}
}
