package draw

import (
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
)

// Sizes of text, in px. The style sheet is made from the same numbers.
const (
	titleSize  = 16
	labelSize  = 15
	scriptSize = 0.72 // of a superscript, in ems of its line
	scriptRise = 0.38 // of a superscript, in ems of its line
	scriptDrop = 0.18 // of a subscript
)

// longest is how many characters of a text are ever set; no figure has room
// for more.
const longest = 300

// run is a piece of a label in one look.
type run struct {
	text   string
	italic bool
	script int // 1 for a superscript, -1 for a subscript
}

// label is one line of text.
type label struct {
	runs []run
	size float64
	bold bool
}

type anchor string

const (
	start  anchor = ""
	middle anchor = "middle"
	finish anchor = "end"
)

func plainLabel(s string, size float64) label {
	return label{runs: []run{{text: oneLine(s)}}, size: size}
}

// oneLine returns s with every run of white space made one space.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

func (l label) String() string {
	var b strings.Builder
	for _, r := range l.runs {
		b.WriteString(r.text)
	}
	return b.String()
}

// fonts are the faces by whose measures room is made: those that gonum brings.
// Fonts of the same measures come first in the style sheet.
var fonts = sync.OnceValue(func() *font.Cache { return font.NewCache(liberation.Collection()) })

// face is one font with the advances of its characters in ems, looked up once.
type face struct {
	mu   sync.RWMutex
	ems  map[rune]float64
	font font.Font
}

var faces = [...]face{
	{font: font.Font{Typeface: "Liberation", Variant: "Sans"}},
	{font: font.Font{Typeface: "Liberation", Variant: "Sans", Style: stdfont.StyleItalic}},
	{font: font.Font{Typeface: "Liberation", Variant: "Sans", Weight: stdfont.WeightBold}},
}

// advance returns the width of r in ems; below zero, it is a guess for a
// character that the font does not have or that is shaped by its neighbours.
func (f *face) advance(r rune) float64 {
	f.mu.RLock()
	em, ok := f.ems[r]
	f.mu.RUnlock()
	if ok {
		return em
	}
	em = f.lookup(r)
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.ems == nil || len(f.ems) > 4096 {
		f.ems = make(map[rune]float64)
	}
	f.ems[r] = em
	return em
}

func (f *face) lookup(r rune) float64 {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return -1e-9
	case r >= 0x590 && r < 0x900:
		return -0.6
	}
	got := fonts().Lookup(f.font, 1)
	var buf sfnt.Buffer
	if i, err := got.Face.GlyphIndex(&buf, r); err == nil && i != 0 {
		return float64(got.Width(string(r)))
	}
	if r >= 0x1100 {
		return -1
	}
	return -0.65
}

// width returns the width of l in px, and whether it is sure.
func (l label) width() (w float64, sure bool) {
	sure = true
	for _, r := range l.runs {
		f := &faces[0]
		switch {
		case l.bold:
			f = &faces[2]
		case r.italic:
			f = &faces[1]
		}
		size := l.size
		if r.script != 0 {
			size *= scriptSize
		}
		ems := 0.0
		for _, c := range r.text {
			em := f.advance(c)
			if em < 0 {
				em, sure = -em, false
			}
			ems += em
		}
		w += float64(ems * size)
	}
	return w, sure
}

func (l label) px() float64 {
	w, _ := l.width()
	return w
}

// fit returns l, cut short with an ellipsis if it is wider than room, and
// whether it was cut.
func (l label) fit(room float64) (label, bool) {
	cut := false
	if n := utf8.RuneCountInString(l.String()); n > longest {
		l, cut = l.dropped(n-longest), true
	}
	if !cut && l.px() <= room {
		return l, false
	}
	n := utf8.RuneCountInString(l.String())
	for drop := 0; drop < n; drop++ {
		if short := l.dropped(drop).ellipsis(); short.px() <= room {
			return short, true
		}
	}
	return label{runs: []run{{text: "…"}}, size: l.size, bold: l.bold}, true
}

// dropped returns l without its last n characters, nor half of one made of a
// letter and marks.
func (l label) dropped(n int) label {
	runs := append([]run(nil), l.runs...)
	for n > 0 && len(runs) > 0 {
		last := &runs[len(runs)-1]
		text := []rune(last.text)
		if len(text) <= n {
			n -= len(text)
			runs = runs[:len(runs)-1]
			continue
		}
		keep := len(text) - n
		for keep > 0 && joins(text[keep-1], text[keep]) {
			keep--
		}
		last.text, n = string(text[:keep]), 0
	}
	l.runs = runs
	return l
}

// joins reports whether b belongs to the same written character as a.
func joins(a, b rune) bool {
	return unicode.In(b, unicode.Mn, unicode.Me, unicode.Cf) || a == '\u200d'
}

func (l label) ellipsis() label {
	runs := append([]run(nil), l.runs...)
	if n := len(runs); n > 0 {
		runs[n-1].text = strings.TrimRight(runs[n-1].text, " ")
	}
	l.runs = append(runs, run{text: "…"})
	return l
}

// noBreak is a space at which no line is broken.
const noBreak = '\u00a0'

// wrap sets s in at most n lines no wider than room, the last cut short if
// need be, and reports whether it was.
func wrap(s string, size float64, bold bool, room float64, n int) (lines []label, cut bool) {
	words := strings.FieldsFunc(s, func(r rune) bool { return r != noBreak && unicode.IsSpace(r) })
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, string(noBreak), " ")
	}
	for len(words) > 0 {
		line := label{runs: []run{{text: words[0]}}, size: size, bold: bold}
		used := 1
		for last := len(lines) == n-1; used < len(words); used++ {
			next := line
			next.runs = []run{{text: line.runs[0].text + " " + words[used]}}
			if (!last && next.px() > room) || len(next.runs[0].text) > 8*longest {
				break
			}
			line = next
		}
		line, short := line.fit(room)
		lines, cut, words = append(lines, line), cut || short, words[used:]
		if len(lines) == n {
			return lines, cut || len(words) > 0
		}
	}
	return lines, cut
}

// text writes l with its anchor at a point of the baseline. If full is not
// empty it is what a reader who asks is told.
func (c *canvas) text(at vg.Point, k class, a anchor, l label, full string) {
	if len(l.runs) == 0 {
		return
	}
	x, y := c.place(at)
	c.b.WriteString(`<text class="` + string(k) + `" x="` + decimal(x) + `" y="` + decimal(y) + `"`)
	if a != start {
		c.b.WriteString(` text-anchor="` + string(a) + `"`)
	}
	if w, sure := l.width(); sure && k != "fig-num" {
		c.b.WriteString(` textLength="` + decimal(hundredths(w)) + `" lengthAdjust="spacingAndGlyphs"`)
	}
	c.turned(x, y)
	c.b.WriteByte('>')
	c.title(full)
	level := 0.0 // how far we are above the baseline
	for _, r := range l.runs {
		level = c.run(r, l.size, level)
	}
	c.b.WriteString("</text>\n")
}

// run writes one run and returns its level in px above the baseline.
func (c *canvas) run(r run, size, level float64) float64 {
	to, k := 0.0, ""
	switch {
	case r.script > 0:
		to, k = scriptRise*size, "fig-script"
	case r.script < 0:
		to, k = -scriptDrop*size, "fig-script"
	case r.italic:
		k = "fig-symbol"
	}
	if to == level && k == "" {
		c.b.WriteString(escape(r.text))
		return to
	}
	c.b.WriteString("<tspan")
	if to != level {
		c.b.WriteString(` dy="` + decimal(hundredths(level-to)) + `"`)
	}
	if k != "" {
		c.b.WriteString(` class="` + k + `"`)
	}
	c.b.WriteString(">" + escape(r.text) + "</tspan>")
	return to
}
