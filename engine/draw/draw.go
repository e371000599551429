// Package draw sets figures as SVG.
//
// A graph follows the customs of the teaching laboratory: axes labelled
// quantity divided by unit, ticks at 1, 2 or 5 times a power of ten, a grid
// like graph paper, crosses for points, and the data filling more than half of
// the paper. The drawing holds classes only, never a colour or a style
// attribute; [CSS] is the style sheet that goes with it, and a theme recolours
// it by custom properties. The bytes are the same on every machine.
package draw

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"

	"example.org/taut/engine/view"
)

// Options sets the size of a drawing and how its numbers are printed.
type Options struct {
	// Width and Height are the size of the drawing in CSS px, which is also
	// the size of its view box: it scales down to its container, text and all.
	// Zero means the usual size; anything else is held between 320 by 240 and
	// 4000 by 4000.
	Width, Height float64
	// Comma prints a decimal comma.
	Comma bool
	// Captioned leaves the title undrawn, since a caption shows it. It still
	// names the drawing for those who cannot see it.
	Captioned bool
}

// The usual sizes, in px, chosen so that numbers are 9 px high or more where a
// drawing is shown 340 px wide.
const (
	usualWidth   = 560
	usualHeight  = 400
	panelsHeight = 530 // with a panel of residuals
	frameHeight  = 130 // more for each further frame
)

// ErrNothing is wrapped by the errors for figures without a finite number.
var ErrNothing = errors.New("there is nothing to draw")

func (o Options) size(height float64) (float64, float64) {
	return within(o.Width, usualWidth, 320), within(o.Height, height, 240)
}

// title is the title that is drawn.
func (o Options) title(s string) string {
	if o.Captioned {
		return ""
	}
	return s
}

func within(v, usual, least float64) float64 {
	if v == 0 || math.IsNaN(v) {
		return usual
	}
	return math.Round(math.Max(least, math.Min(v, 4000)))
}

// checkID returns id with every space replaced, since a reference to an
// element may hold none.
func checkID(id string) (string, error) {
	id = strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || unicode.IsControl(r) {
			return '-'
		}
		return r
	}, id)
	if id == "" {
		return "", errors.New("draw: a figure needs an ID")
	}
	return id, nil
}

// Figure returns f as an SVG element. Points and lines that are not finite are
// left out, which the description says; if no finite number is left the error
// wraps ErrNothing.
func Figure(f *view.Figure, o Options) ([]byte, error) {
	id, err := checkID(f.ID)
	if err != nil {
		return nil, err
	}
	g, err := newGraph(f, o)
	if err != nil {
		return nil, fmt.Errorf("draw: figure %q: %w", f.ID, err)
	}
	g.arrange()
	c := newCanvas(g.width, g.height)
	c.open(id, g.name(), sentences(f.Desc, g.remarks...))
	g.draw(c)
	return c.bytes()
}

// name is the title, or what one would be.
func (g *graph) name() string {
	if t := oneLine(g.fig.Title); t != "" {
		return t
	}
	return named(g.fig.Y, "y") + " against " + named(g.fig.X, "x")
}

func named(a view.Axis, other string) string {
	if q := oneLine(a.Quantity); q != "" {
		return q
	}
	return other
}

// sentences joins a description and further sentences.
func sentences(desc string, more ...string) string {
	desc = strings.TrimSpace(desc)
	if len(more) == 0 {
		return desc
	}
	if desc != "" && !strings.ContainsAny(desc[len(desc)-1:], ".!?") {
		desc += "."
	}
	return strings.TrimSpace(desc + " " + strings.Join(more, " "))
}
