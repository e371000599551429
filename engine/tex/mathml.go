package tex

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/view"
)

// CSS holds the style rules that the printed mathematics relies on: columns of
// tables that are not centred, and the thin gaps between groups of digits,
// which are margins so that a copied number stays a number. Without them all
// is legible, but centred and ungrouped.
const CSS = `mtd.left{text-align:left;text-align:-webkit-left}mtd.right{text-align:right;text-align:-webkit-right}mtd.right{padding-inline-end:0}mtd.right+mtd.left{padding-inline-start:0}mtd.left+mtd.right{padding-inline-start:2em}`

// Options says how mathematics is printed.
type Options struct {
	Display bool   // set apart from the text, not within a line
	Comma   bool   // decimal comma
	Source  string // the TeX, kept as an annotation; "" for none
}

// MathML returns the math element for m, with a decimal point.
func MathML(m view.Math, display bool) string {
	return Options{Display: display}.MathML(m)
}

// Append appends the inside of a math element for m to b, as it is set within
// a line.
func Append(b []byte, m view.Math) []byte {
	return Options{}.Append(b, m)
}

// MathML returns the math element for m: HTML text that is well-formed XML
// too.
func (o Options) MathML(m view.Math) string {
	b := []byte("<math>")
	if o.Display {
		b = []byte(`<math display="block">`)
	}
	if o.Source == "" {
		return string(append(o.Append(b, m), "</math>"...))
	}
	p := o.printer(append(b, "<semantics>"...))
	p.element(m)
	p.raw(`<annotation encoding="application/x-tex">`)
	p.text(o.Source)
	p.raw("</annotation></semantics></math>")
	return string(p.b)
}

// Append appends the inside of a math element for m to b.
func (o Options) Append(b []byte, m view.Math) []byte {
	p := o.printer(b)
	p.inside(m)
	return p.b
}

func (o Options) printer(b []byte) *printer {
	return &printer{b: b, comma: o.Comma, display: o.Display}
}

// printer writes nodes. Each node becomes exactly one element, since the
// number of an element's children matters in MathML.
type printer struct {
	b       []byte
	comma   bool
	display bool   // set as displayed
	script  bool   // within a subscript or superscript
	style   string // alphabet
	linked  bool   // within a link, which cannot hold another
}

func (p *printer) raw(s string) { p.b = append(p.b, s...) }

// inside writes the children of an element that forms a row by itself.
func (p *printer) inside(m view.Math) {
	if s, ok := m.(view.Seq); ok {
		for _, it := range s.Items {
			p.element(it)
		}
		return
	}
	p.element(m)
}

func (p *printer) element(m view.Math) {
	switch m := m.(type) {
	case view.Ident:
		p.leaf("mi", "", m.Name)
	case view.Upright:
		attr := ""
		if single(m.Name) && p.style == "" {
			attr = ` mathvariant="normal"`
		}
		p.leaf("mi", attr, m.Name)
	case view.Num:
		p.number(m.Digits)
	case view.Op:
		p.operator(m)
	case view.Sized:
		size := ems(m.Em)
		p.leaf("mo", form(m.Form)+` stretchy="true" symmetric="true" minsize="`+size+`" maxsize="`+size+`"`, m.Symbol)
	case view.Words:
		p.leaf("mtext", "", hardSpaces(m.Text))
	case view.Space:
		p.raw(`<mspace width="` + ems(m.Em) + `"/>`)
	case view.Seq:
		p.raw("<mrow>")
		p.inside(m)
		p.raw("</mrow>")
	case view.Frac:
		p.fraction(m)
	case view.Root:
		p.root(m)
	case view.Script:
		p.scripts([3]string{"msub", "msup", "msubsup"}, "", m.Base, m.Sub, m.Sup)
	case view.Limits:
		p.limits(m)
	case view.Grid:
		p.grid(m)
	case view.Styled:
		p.styled(m)
	case view.Linked:
		p.linkTo(m.ID, m.Body)
	case view.Valued:
		p.valued(m)
	case view.Measure:
		p.element(Quantity(m.Number, m.Unit))
	default: // nil, or a node that this printer does not know
		p.raw("<mrow></mrow>")
	}
}

// leaf writes a token element around text.
func (p *printer) leaf(name, attr, text string) {
	p.raw("<" + name + attr + ">")
	p.text(letterforms(p.style, text))
	p.raw("</" + name + ">")
}

// fragment escapes what a URL's fragment cannot hold.
var fragment = strings.NewReplacer("%", "%25", " ", "%20", `"`, "%22", "<", "%3C", ">", "%3E", "`", "%60", "\t", "%09", "\n", "%0A", "\r", "%0D")

func form(f string) string {
	switch f {
	case "prefix", "infix", "postfix":
		return ` form="` + f + `"`
	}
	return ""
}

func ems(em float64) string {
	return strconv.FormatFloat(math.Round(em*1e4)/1e4, 'f', -1, 64) + "em"
}

// Operators that stretch unless told otherwise (MathML Core, appendix B).
const (
	brackets = "()[]{}|‖⟨⟩⌈⌉⌊⌋"
	growing  = brackets + "↑↓↕⇑⇓→←^~¯‾_ˇ˜⏞⏟"
)

func (p *printer) operator(m view.Op) {
	if m.Symbol == "" {
		p.raw("<mrow></mrow>")
		return
	}
	attr := form(m.Form)
	switch { // within a row a browser takes a bracket for infix, and sets it apart
	case m.Form != "":
	case strings.Contains("([{⟨⌈⌊", m.Symbol):
		attr = form("prefix")
	case strings.Contains(")]}⟩⌉⌋", m.Symbol):
		attr = form("postfix")
	}
	if grows := strings.Contains(growing, m.Symbol); grows != m.Fence {
		attr += ` stretchy="` + strconv.FormatBool(m.Fence) + `"`
	}
	r, _ := utf8.DecodeRuneInString(m.Symbol)
	switch word := unicode.IsLetter(r); {
	case word:
		attr += ` movablelimits="true" lspace="0em" rspace="0em"`
	case r == '/', p.script && m.Form == "" && !strings.Contains(brackets+"\u2061", m.Symbol):
		attr += ` lspace="0em" rspace="0em"` // TeX sets scripts without gaps
	}
	p.leaf("mo", attr, m.Symbol)
}

func (p *printer) fraction(m view.Frac) {
	p.raw("<mfrac")
	if m.NoBar {
		p.raw(` linethickness="0"`)
	}
	p.raw(">")
	display := p.display
	p.display = false
	p.element(m.Num)
	p.element(m.Den)
	p.display = display
	p.raw("</mfrac>")
}

func (p *printer) root(m view.Root) {
	if m.Index == nil {
		p.raw("<msqrt>")
		p.inside(m.Body)
		p.raw("</msqrt>")
		return
	}
	p.raw("<mroot>")
	p.element(m.Body)
	p.small(m.Index)
	p.raw("</mroot>")
}

// small writes a script.
func (p *printer) small(m view.Math) {
	display, script := p.display, p.script
	p.display, p.script = false, true
	p.element(m)
	p.display, p.script = display, script
}

// scripts writes a base with what stands below and above it; names are those
// of the elements with the first, the second and both.
func (p *printer) scripts(names [3]string, attr string, base, under, over view.Math) {
	name := names[2]
	switch {
	case under == nil && over == nil:
		p.element(base)
		return
	case over == nil:
		name = names[0]
	case under == nil:
		name = names[1]
	}
	p.raw("<" + name + attr + ">")
	p.element(base)
	if under != nil {
		p.small(under)
	}
	if over != nil {
		p.small(over)
	}
	p.raw("</" + name + ">")
}

func (p *printer) limits(m view.Limits) {
	attr := ""
	switch {
	case m.Accent && m.Over == nil:
		attr = ` accentunder="true"`
	case m.Accent:
		attr = ` accent="true"`
	}
	p.scripts([3]string{"munder", "mover", "munderover"}, attr, m.Base, m.Under, m.Over)
}

func (p *printer) grid(m view.Grid) {
	display := p.display
	p.display = false
	p.raw("<mtable>")
	for _, r := range m.Rows {
		p.raw("<mtr>")
		for c, cell := range r {
			if c < len(m.Align) && (m.Align[c] == "left" || m.Align[c] == "right") {
				p.raw(`<mtd class="` + m.Align[c] + `">`)
			} else {
				p.raw("<mtd>")
			}
			p.inside(cell)
			p.raw("</mtd>")
		}
		p.raw("</mtr>")
	}
	p.raw("</mtable>")
	p.display = display
}

func (p *printer) styled(m view.Styled) {
	display, style := p.display, p.style
	switch m.Style {
	case "displaystyle", "textstyle":
		p.display = m.Style == "displaystyle"
		p.raw(`<mstyle displaystyle="` + strconv.FormatBool(p.display) + `" scriptlevel="0">`)
		p.inside(m.Body)
		p.raw("</mstyle>")
	case "normal":
		p.style = ""
		p.element(letters(m.Body))
	default:
		p.style = m.Style
		p.element(m.Body)
	}
	p.display, p.style = display, style
}

// linkTo writes a body that leads to an ID. Browsers do not follow links on
// MathML elements, but HTML may stand in an mtext: the body becomes
// mathematics within an anchor there. Links cannot be nested; the outer one
// holds.
func (p *printer) linkTo(id string, body view.Math) {
	if id == "" || p.linked {
		p.element(body)
		return
	}
	if v, ok := body.(view.Valued); ok {
		p.valued(view.Valued{Value: v.Value, Link: id, Body: v.Body})
		return
	}
	p.raw(`<mtext><a href="#`)
	p.text(fragment.Replace(id))
	p.raw(`"><math`)
	if p.display {
		p.raw(` displaystyle="true"`)
	}
	p.raw(">")
	p.linked = true
	p.inside(body)
	p.linked = false
	p.raw("</math></a></mtext>")
}

// valued writes a computed number or quantity with its full value.
func (p *printer) valued(m view.Valued) {
	p.raw("<mrow")
	if !math.IsNaN(m.Value) && !math.IsInf(m.Value, 0) {
		p.raw(` data-value="` + strconv.FormatFloat(m.Value, 'g', -1, 64) + `"`)
	}
	p.raw(">")
	p.linkTo(m.Link, m.Body)
	p.raw("</mrow>")
}

// text writes text escaped; what XML cannot hold becomes U+FFFD.
func (p *printer) text(s string) {
	for _, r := range s {
		switch {
		case r == '&':
			p.raw("&amp;")
		case r == '<':
			p.raw("&lt;")
		case r == '>':
			p.raw("&gt;")
		case r == '"':
			p.raw("&quot;")
		case r < ' ' && r != '\t' && r != '\n', r == 0xFFFE, r == 0xFFFF:
			p.b = utf8.AppendRune(p.b, utf8.RuneError)
		default:
			p.b = utf8.AppendRune(p.b, r)
		}
	}
}

// hardSpaces keeps the spaces at the ends of a text, which MathML drops.
func hardSpaces(s string) string {
	trimmed := strings.TrimLeft(s, " ")
	left := len(s) - len(trimmed)
	s = strings.TrimRight(trimmed, " ")
	return strings.Repeat("\u00a0", left) + s + strings.Repeat("\u00a0", len(trimmed)-len(s))
}
