package page

import (
	"html"
	"strings"

	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var (
	parseTeX = func(s source.Span) view.Math { return view.Words{Text: s.Text()} }
	mathML   = func(m view.Math, display bool) string {
		var b strings.Builder
		b.WriteString("<math")
		if display {
			b.WriteString(` display="block"`)
		}
		b.WriteString(">")
		plainML(&b, m)
		b.WriteString("</math>")
		return b.String()
	}
	figureSVG = func(f *view.Figure, comma bool) ([]byte, error) {
		return []byte(`<svg viewBox="0 0 600 360" role="img"><title>` + html.EscapeString(f.Title) + `</title><rect x="60" y="10" width="520" height="300" fill="none" stroke="currentColor"/></svg>`), nil
	}
	barsSVG = func(f *view.Bars, comma bool) ([]byte, error) {
		return []byte(`<svg viewBox="0 0 600 120" role="img"><title>` + html.EscapeString(f.Title) + `</title></svg>`), nil
	}
	figureCSS = func() string { return "" }
)

func plainML(b *strings.Builder, m view.Math) {
	tag := func(t string, parts ...view.Math) {
		b.WriteString("<" + t + ">")
		for _, p := range parts {
			plainML(b, p)
		}
		b.WriteString("</" + t + ">")
	}
	leaf := func(t, s string) { b.WriteString("<" + t + ">" + html.EscapeString(s) + "</" + t + ">") }
	switch m := m.(type) {
	case view.Ident:
		leaf("mi", m.Name)
	case view.Upright:
		b.WriteString(`<mi mathvariant="normal">` + html.EscapeString(m.Name) + `</mi>`)
	case view.Num:
		leaf("mn", m.Digits)
	case view.Op:
		leaf("mo", m.Symbol)
	case view.Words:
		leaf("mtext", m.Text)
	case view.Seq:
		tag("mrow", m.Items...)
	case view.Frac:
		tag("mfrac", m.Num, m.Den)
	case view.Script:
		if m.Sub == nil {
			tag("msup", m.Base, m.Sup)
		} else {
			tag("msub", m.Base, m.Sub)
		}
	case view.Linked:
		plainML(b, m.Body)
	case view.Valued:
		plainML(b, m.Body)
	}
}
