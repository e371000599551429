package page

import (
	"errors"
	"strconv"
	"strings"

	"example.org/taut/engine/draw"
	"example.org/taut/engine/view"
)

func (w *writer) figure(f *view.Figure) {
	w.markup(`<figure class="graph `, standing(f.Standing), `"`)
	own := *f
	own.ID = w.figureID(f)
	svg, err := draw.Figure(&own, w.drawn())
	w.drawing(orElse(f.Title, "graph"), svg, err)
	w.figcaption(f.Title, f.Notes...)
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
	svg, err := draw.Bars(&own, w.drawn())
	w.drawing(orElse(b.Title, "bars"), svg, err)
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

// drawing writes a finished drawing, which scrolls where the page is too narrow
// for its words. Where there is nothing to draw the page says so and goes on.
func (w *writer) drawing(name string, svg []byte, err error) {
	if errors.Is(err, draw.ErrNothing) {
		w.runs(view.Text{view.Missing{Why: "there is nothing to draw"}})
		return
	}
	if err != nil {
		w.fail(err)
		return
	}
	w.markup(`<section class="scroll"`)
	w.region(name)
	w.markup(">\n")
	w.b = append(w.b, svg...)
	w.markup("</section>\n")
}

// figcaption writes a title and, as sentences after it, the notes.
func (w *writer) figcaption(title string, notes ...view.Text) {
	if title == "" && len(notes) == 0 {
		return
	}
	w.markup("<figcaption>")
	w.text(title)
	if title != "" && len(notes) > 0 && !strings.ContainsAny(title[len(title)-1:], ".!?") {
		w.text(".")
	}
	for _, n := range notes {
		if title != "" {
			w.text(" ")
		}
		title = "."
		w.runs(n)
		w.text(".")
	}
	w.markup("</figcaption>\n")
}
