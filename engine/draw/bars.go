package draw

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"

	"example.org/taut/engine/view"
)

// Rows of a bar chart, in px.
const (
	barHeight = 16.0
	lineRow   = 19.0 // one line of a label
	barGap    = 9.0  // between the rows
)

// barsWidth is the usual width of a bar chart: it is seen whole on a phone, its
// words still 11 px high.
const barsWidth = 450

// row is one bar made ready.
type row struct {
	label []label
	cut   bool
	name  string
	share float64
	value label
	note  string
}

// chart is a bar chart made ready. Shares run from lo ≤ 0 to hi ≥ 0.
type chart struct {
	rows          []row
	lo, hi        float64
	title         []label
	titleCut      bool
	labels        float64 // width of the column of labels
	width, height float64
}

// Bars returns b as an SVG element: a bar for each share, from the top in the
// order given, with its label at the left and its printed value at the end. The
// longest bar fills the width. A negative share goes to the left. The drawing is
// as tall as its bars need; Options.Height is the least. Shares that are not
// finite are left out, which the description says; if none is left the error
// wraps ErrNothing.
func Bars(b *view.Bars, o Options) ([]byte, error) {
	id, err := checkID(b.ID)
	if err != nil {
		return nil, err
	}
	h, remarks, err := newChart(b, o)
	if err != nil {
		return nil, fmt.Errorf("draw: bars %q: %w", b.ID, err)
	}
	c := newCanvas(h.width, h.height)
	name := oneLine(b.Title)
	if name == "" {
		name = "bar chart"
	}
	c.open(id, name, sentences(b.Desc, append(h.told(), remarks...)...))
	h.draw(c, b.Title)
	return c.bytes()
}

// told lists the bars with their values: the text that stands in a drawing is
// not read out.
func (h *chart) told() []string {
	var said []string
	for _, b := range h.rows {
		said = append(said, b.note)
	}
	if len(said) == 0 {
		return nil
	}
	return []string{strings.Join(said, "; ") + "."}
}

func newChart(b *view.Bars, o Options) (*chart, []string, error) {
	h := &chart{}
	if o.Width == 0 {
		o.Width = barsWidth
	}
	h.width, h.height = o.size(240)
	if o.Height == 0 {
		h.height = 0
	}
	h.title, h.titleCut = wrap(o.title(b.Title), titleSize, true, h.width-2*edge, 3)
	left := 0
	for _, item := range b.Items {
		if !finite(item.Share) {
			left++
			continue
		}
		h.add(item, o.Comma)
	}
	if len(h.rows) == 0 {
		return nil, nil, fmt.Errorf("%w: no share is a finite number", ErrNothing)
	}
	if !finite(h.hi - h.lo) {
		return nil, nil, errors.New("the shares are too large to be drawn")
	}
	need := edge + titleRow*float64(len(h.title)) + edge
	for _, r := range h.rows {
		need += r.height()
	}
	h.height = math.Max(h.height, math.Ceil(need))
	var remarks []string
	if left > 0 {
		remarks = append(remarks, count(left, "share", "shares")+" without a finite value "+isAre(left)+" left out.")
	}
	return h, remarks, nil
}

// column is the greatest part of the width that labels take.
const column = 0.47

func (h *chart) add(item view.Bar, comma bool) {
	r := row{share: item.Share, name: oneLine(item.Label)}
	text := item.Text
	if text == "" {
		text = fmt.Sprintf("%.1f %%", 100*item.Share)
	}
	text = typeset(oneLine(text), comma)
	r.value, _ = plainLabel(text, labelSize).fit(h.width / 4)
	r.label, r.cut = wrap(item.Label, labelSize, false, column*h.width, 3)
	for i, l := range r.label {
		r.label[i].runs = joined(scripts(l.String(), false))
		h.labels = math.Max(h.labels, r.label[i].px())
	}
	r.note = strings.TrimPrefix(r.name+": "+text, ": ")
	h.lo, h.hi = math.Min(h.lo, item.Share), math.Max(h.hi, item.Share)
	h.rows = append(h.rows, r)
}

func (r row) height() float64 { return barGap + lineRow*float64(max(1, len(r.label))) }

// span returns where shares lie: the px of a share of 0, and the px of a unit.
func (h *chart) span() (zero, unit float64) {
	left, right := edge, edge
	if h.labels > 0 {
		left += math.Ceil(h.labels) + 10
	}
	for _, r := range h.rows {
		w := math.Ceil(r.value.px()) + 8
		if r.share < 0 {
			left = math.Max(left, edge+h.labels+10+w)
		} else {
			right = math.Max(right, edge+w)
		}
	}
	all := h.hi - h.lo
	if all == 0 {
		return left, 0
	}
	unit = math.Max(10, h.width-left-right) / all
	return left - float64(unit*h.lo), unit
}

func (h *chart) draw(c *canvas, title string) {
	y := edge
	for i, l := range h.title {
		hint := ""
		if i == len(h.title)-1 {
			hint = full(h.titleCut, title)
		}
		c.text(c.up(edge, y+titleSize), "fig-title", start, l, hint)
		y += titleRow
	}
	zero, unit := h.span()
	top := y
	for _, r := range h.rows {
		h.drawRow(c, r, y, zero, unit)
		y += r.height()
	}
	c.line("fig-frame", c.up(zero, top+barGap/2), c.up(zero, y-barGap/2+barGap))
}

func (h *chart) drawRow(c *canvas, r row, y, zero, unit float64) {
	mid := y + barGap/2 + r.height()/2
	c.group("")
	c.title(r.note)
	base := mid + 5.2 - lineRow*float64(len(r.label)-1)/2
	for _, l := range r.label {
		c.text(c.up(edge+h.labels, base), "fig-label", finish, l, full(r.cut, r.name))
		base += lineRow
	}
	end := zero + float64(unit*r.share)
	c.SetColor(class("fig-share"))
	c.Fill(vg.Path{
		{Type: vg.MoveComp, Pos: c.up(zero, mid-barHeight/2)},
		{Type: vg.LineComp, Pos: c.up(end, mid-barHeight/2)},
		{Type: vg.LineComp, Pos: c.up(end, mid+barHeight/2)},
		{Type: vg.LineComp, Pos: c.up(zero, mid+barHeight/2)},
		{Type: vg.CloseComp},
	})
	if r.share < 0 {
		c.text(c.up(end-7, mid+5.2), "fig-value", finish, r.value, "")
	} else {
		c.text(c.up(end+7, mid+5.2), "fig-value", start, r.value, "")
	}
	c.end()
}
