package draw

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// class is the class of what is drawn next. It passes through gonum's drawing
// as a colour; the style sheet gives it its look.
type class string

// RGBA implements color.Color: a class is opaque, its colour is not known here.
func (class) RGBA() (r, g, b, a uint32) { return 0, 0, 0, 0xffff }

// canvas is a vg.Canvas that writes SVG with classes. One point of gonum's is
// one px; widths and dashes are left to the style sheet. Its origin is at the
// bottom left, as everywhere in gonum.
type canvas struct {
	width, height float64
	b             strings.Builder
	class         class
	to            matrix
	stack         []state
	groups        int
	err           error
}

type state struct {
	class class
	to    matrix
}

// matrix maps (x, y) to (a x + c y + e, b x + d y + f).
type matrix struct{ a, b, c, d, e, f float64 }

func (m matrix) times(n matrix) matrix {
	return matrix{
		a: float64(m.a*n.a) + float64(m.c*n.b), b: float64(m.b*n.a) + float64(m.d*n.b),
		c: float64(m.a*n.c) + float64(m.c*n.d), d: float64(m.b*n.c) + float64(m.d*n.d),
		e: float64(m.a*n.e) + float64(m.c*n.f) + m.e, f: float64(m.b*n.e) + float64(m.d*n.f) + m.f,
	}
}

var (
	_ vg.CanvasSizer = (*canvas)(nil)
	_ color.Color    = class("")
)

func newCanvas(width, height float64) *canvas {
	return &canvas{width: width, height: height, class: "fig-frame", to: matrix{a: 1, d: 1}}
}

// open begins the document.
func (c *canvas) open(id, title, desc string) {
	fmt.Fprintf(&c.b, `<svg xmlns="http://www.w3.org/2000/svg" class="fig" viewBox="0 0 %s %s" width="%[1]s" height="%[2]s" role="img"`,
		decimal(hundredths(c.width)), decimal(hundredths(c.height)))
	id = escape(id)
	c.b.WriteString(` aria-labelledby="` + id + `-title ` + id + `-desc">` + "\n")
	c.b.WriteString(`<title id="` + id + `-title">` + escape(title) + "</title>\n")
	c.b.WriteString(`<desc id="` + id + `-desc">` + escape(desc) + "</desc>\n")
}

// bytes ends the document and returns it.
func (c *canvas) bytes() ([]byte, error) {
	if c.err == nil && (c.groups != 0 || len(c.stack) != 0) {
		c.err = errors.New("draw: a group was left open")
	}
	if c.err != nil {
		return nil, c.err
	}
	c.b.WriteString("</svg>\n")
	return []byte(c.b.String()), nil
}

// group begins a group; an empty class is none.
func (c *canvas) group(k class) {
	c.groups++
	if k == "" {
		c.b.WriteString("<g>")
		return
	}
	c.b.WriteString(`<g class="` + string(k) + `">`)
}

// end ends the innermost group.
func (c *canvas) end() {
	c.groups--
	c.b.WriteString("</g>\n")
}

// title names the group that was just begun.
func (c *canvas) title(s string) {
	if s != "" {
		c.b.WriteString("<title>" + escape(s) + "</title>")
	}
}

// Size implements vg.CanvasSizer.
func (c *canvas) Size() (x, y vg.Length) { return vg.Length(c.width), vg.Length(c.height) }

// SetLineWidth implements vg.Canvas; widths belong to the style sheet.
func (c *canvas) SetLineWidth(vg.Length) {}

// SetLineDash implements vg.Canvas; dashes belong to the style sheet.
func (c *canvas) SetLineDash([]vg.Length, vg.Length) {}

// SetColor implements vg.Canvas: it sets the class.
func (c *canvas) SetColor(k color.Color) {
	if k, ok := k.(class); ok {
		c.class = k
		return
	}
	c.class = "fig-frame"
}

// Rotate implements vg.Canvas.
func (c *canvas) Rotate(rad float64) {
	sin, cos := math.Sincos(rad)
	c.to = c.to.times(matrix{a: cos, b: sin, c: -sin, d: cos})
}

// Translate implements vg.Canvas.
func (c *canvas) Translate(p vg.Point) {
	c.to = c.to.times(matrix{a: 1, d: 1, e: float64(p.X), f: float64(p.Y)})
}

// Scale implements vg.Canvas.
func (c *canvas) Scale(x, y float64) { c.to = c.to.times(matrix{a: x, d: y}) }

// Push implements vg.Canvas.
func (c *canvas) Push() { c.stack = append(c.stack, state{c.class, c.to}) }

// Pop implements vg.Canvas.
func (c *canvas) Pop() {
	if len(c.stack) == 0 {
		c.err = errors.New("draw: Pop without Push")
		return
	}
	top := c.stack[len(c.stack)-1]
	c.stack = c.stack[:len(c.stack)-1]
	c.class, c.to = top.class, top.to
}

// Stroke implements vg.Canvas.
func (c *canvas) Stroke(p vg.Path) { c.path(p) }

// Fill implements vg.Canvas; the style sheet knows which classes are filled.
func (c *canvas) Fill(p vg.Path) { c.path(p) }

// DrawImage implements vg.Canvas. No figure holds an image.
func (c *canvas) DrawImage(vg.Rectangle, image.Image) {
	c.err = errors.New("draw: a figure cannot hold an image")
}

// FillString implements vg.Canvas.
func (c *canvas) FillString(f font.Face, at vg.Point, s string) {
	if f.Font.Size > 0 {
		c.text(at, c.class, start, plainLabel(s, float64(f.Font.Size)), "")
	}
}

// place returns where a point falls in the drawing, in hundredths of a px from
// its top left.
func (c *canvas) place(p vg.Point) (x, y int64) {
	m, px, py := c.to, float64(p.X), float64(p.Y)
	return hundredths(float64(m.a*px) + float64(m.c*py) + m.e),
		hundredths(c.height - (float64(m.b*px) + float64(m.d*py) + m.f))
}

// hundredths returns v in hundredths, to the nearest. It rounds to millionths
// first, so that a number that falls between two hundredths, but for its last
// bits, goes the same way on every processor.
func hundredths(v float64) int64 {
	const most = 1e7
	if math.IsNaN(v) {
		return 0
	}
	v = math.Max(-most, math.Min(v, most))
	micro := int64(math.Round(v * 1e6))
	if micro < 0 {
		return -((-micro + 5000) / 10000)
	}
	return (micro + 5000) / 10000
}

// decimal returns n hundredths without idle zeros.
func decimal(n int64) string { return string(appendDecimal(nil, n)) }

func appendDecimal(b []byte, n int64) []byte {
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	whole, part := n/100, n%100
	if whole != 0 || part == 0 {
		b = strconv.AppendInt(b, whole, 10)
	}
	if part != 0 {
		b = append(b, '.', byte('0'+part/10))
		if part%10 != 0 {
			b = append(b, byte('0'+part%10))
		}
	}
	return b
}

// turned writes the turn of a text that stands at (x, y), if there is one.
func (c *canvas) turned(x, y int64) {
	degrees := hundredths(-math.Atan2(c.to.b, c.to.a) * 180 / math.Pi)
	if degrees != 0 {
		fmt.Fprintf(&c.b, ` transform="rotate(%s %s %s)"`, decimal(degrees), decimal(x), decimal(y))
	}
}

// path writes a path of the current class.
func (c *canvas) path(p vg.Path) {
	if len(p) == 0 {
		return
	}
	d := pather{c: c}
	for i := range p {
		d.add(&p[i])
	}
	c.b.WriteString(`<path class="` + string(c.class) + `" d="`)
	c.b.Write(d.b)
	c.b.WriteString("\"/>\n")
}

// pather writes path data, each step relative to the point before it, which is
// shorter and, as all are whole hundredths, exact.
type pather struct {
	c      *canvas
	b      []byte
	x, y   int64 // where we are
	x0, y0 int64 // where this part of the path began
}

func (d *pather) add(s *vg.PathComp) {
	x, y := d.c.place(s.Pos)
	switch s.Type {
	case vg.MoveComp:
		if len(d.b) == 0 {
			d.write('M', x, y)
		} else {
			d.write('m', x-d.x, y-d.y)
		}
		d.x, d.y, d.x0, d.y0 = x, y, x, y
	case vg.LineComp:
		d.line(x, y)
	case vg.ArcComp:
		d.arc(s)
	case vg.CurveComp:
		d.curve(s, x, y)
	case vg.CloseComp:
		d.b = append(d.b, 'z')
		d.x, d.y = d.x0, d.y0
	default:
		d.c.err = fmt.Errorf("draw: unknown step %d of a path", s.Type)
	}
}

func (d *pather) line(x, y int64) {
	switch {
	case y == d.y:
		d.write('h', x-d.x)
	case x == d.x:
		d.write('v', y-d.y)
	default:
		d.write('l', x-d.x, y-d.y)
	}
	d.x, d.y = x, y
}

func (d *pather) curve(s *vg.PathComp, x, y int64) {
	args := make([]int64, 0, 6)
	for _, p := range s.Control {
		px, py := d.c.place(p)
		args = append(args, px-d.x, py-d.y)
	}
	switch args = append(args, x-d.x, y-d.y); len(s.Control) {
	case 1:
		d.write('q', args...)
	case 2:
		d.write('c', args...)
	default:
		d.c.err = fmt.Errorf("draw: a curve with %d control points", len(s.Control))
	}
	d.x, d.y = x, y
}

// arc writes an arc in pieces of at most half a turn, since SVG can draw no
// whole circle.
func (d *pather) arc(s *vg.PathComp) {
	m := d.c.to
	r := hundredths(float64(s.Radius) * math.Sqrt(math.Abs(float64(m.a*m.d)-float64(m.b*m.c))))
	at := func(angle float64) (x, y int64) {
		sin, cos := math.Sincos(angle)
		return d.c.place(vg.Point{
			X: s.Pos.X + vg.Length(float64(s.Radius)*cos),
			Y: s.Pos.Y + vg.Length(float64(s.Radius)*sin),
		})
	}
	if x, y := at(s.Start); len(d.b) == 0 {
		d.write('M', x, y)
		d.x, d.y, d.x0, d.y0 = x, y, x, y
	} else if x != d.x || y != d.y {
		d.line(x, y)
	}
	pieces := math.Max(1, math.Ceil(math.Abs(s.Angle)/math.Pi-1e-9))
	sweep := int64(0) // counted clockwise in SVG
	if (s.Angle < 0) == (float64(m.a*m.d)-float64(m.b*m.c) > 0) {
		sweep = 100
	}
	for i := 1.0; i <= pieces && pieces < 1000; i++ {
		x, y := at(s.Start + s.Angle*i/pieces)
		d.write('a', r, r, 0, 0, sweep, x-d.x, y-d.y)
		d.x, d.y = x, y
	}
}

func (d *pather) write(op byte, args ...int64) {
	d.b = append(d.b, op)
	for i, a := range args {
		if i > 0 && a >= 0 {
			d.b = append(d.b, ' ')
		}
		d.b = appendDecimal(d.b, a)
	}
}

// escape returns s as XML text or the value of an attribute. What XML cannot
// hold becomes U+FFFD.
func escape(s string) string {
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&#34;")
		case r == '\'':
			b.WriteString("&#39;")
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD"),
			r < ' ' && r != '\t' && r != '\n' && r != '\r',
			r == 0xFFFE, r == 0xFFFF:
			b.WriteRune('\uFFFD')
		case r == '\r':
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
