package page

import (
	"errors"
	"strconv"

	"example.org/taut/engine/draw"
	"example.org/taut/engine/view"
)

// figure writes a graph. Its title is the caption, where it can be read, copied
// and wrapped as text, so it is not drawn as well.
func (w *writer) figure(f *view.Figure) {
	w.markup(`<figure class="graph `, standing(f.Standing), `"`)
	untitled := *f
	untitled.ID = w.figureID(f)
	untitled.Title, untitled.Desc = "", orElse(f.Desc, f.Title)
	w.drawing(draw.Figure(&untitled, draw.Options{Comma: w.page.Comma}))
	w.figcaption(f.Title)
	w.markup("</figure>\n")
}

func (w *writer) bars(b *view.Bars) {
	w.markup(`<figure class="bars `, standing(b.Standing), `"`)
	untitled := *b
	untitled.ID = w.figureID(b)
	untitled.Title, untitled.Desc = "", orElse(b.Desc, b.Title)
	w.drawing(draw.Bars(&untitled, draw.Options{Comma: w.page.Comma}))
	w.figcaption(b.Title)
	w.markup("</figure>\n")
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
