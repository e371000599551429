package page

import (
	"strconv"
	"strings"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// number writes a quantity: its SI value for programs, its display for
// readers, and a link to the block that it comes from.
func (w *writer) number(n view.Number) {
	href := w.target(n.Link)
	mark := w.mark
	w.mark = ""
	if href != "" {
		w.markup(`<a class="from" href="#`)
		w.text(href)
		w.markup(`"`)
		if n.Name != "" {
			w.attr("title", n.Name)
		}
		if mark != "" {
			w.attr("id", mark)
			mark = ""
		}
		w.markup(`>`)
	}
	w.markup(`<data class="q `, standing(n.Standing), `" value="`, shortest(n.Value), `"`)
	if mark != "" {
		w.attr("id", mark)
	}
	w.markup(`>`)
	w.display(n.Display)
	w.markup(`</data>`)
	if href != "" {
		w.markup(`</a>`)
	}
	if n.Display.Coverage != "" {
		w.markup(` <small class="coverage">(`)
		w.text(w.decimal(n.Display.Coverage))
		w.markup(`)</small>`)
	}
	if len(n.Display.Tail) > 0 {
		w.markup(", where ")
		w.sentence(n.Display.Tail)
	}
}

// sentence writes words with the numbers in them.
func (w *writer) sentence(s quantity.Sentence) {
	for _, p := range s {
		if p.Words != "" {
			w.text(w.decimal(p.Words))
			continue
		}
		w.markup(`<span class="q">`)
		w.display(p.Number)
		w.markup(`</span>`)
	}
}

// shortest is the shortest text that reads back as the same float64.
func shortest(v float64) string {
	s := strconv.FormatFloat(v, 'g', -1, 64)
	mantissa, exp, ok := strings.Cut(s, "e")
	if !ok {
		return s
	}
	sign := ""
	if exp[0] == '-' {
		sign = "-"
	}
	return mantissa + "e" + sign + strings.TrimLeft(exp, "+-0")
}

// display writes the pieces of a quantity as quantity.Display.Text joins them,
// with groups of digits and raised exponents.
func (w *writer) display(d quantity.Display) {
	bracket := d.PlusMinus != "" && (d.Exponent != 0 || d.Unit != "")
	if bracket {
		w.markup("(")
	}
	w.digits(d.Number)
	if d.PlusMinus != "" {
		w.markup(" ± ")
		w.digits(d.PlusMinus)
	}
	if d.Concise != "" {
		w.markup("(")
		w.digits(d.Concise)
		w.markup(")")
	}
	if bracket {
		w.markup(")")
	}
	if d.Exponent != 0 {
		w.markup("×10")
		w.power(strconv.Itoa(d.Exponent))
	}
	if d.Unit != "" {
		if d.SpaceBeforeUnit() {
			w.markup(" ")
		}
		w.unit(quantity.UnitSymbol(d.Unit))
	}
}

// power writes a raised exponent. The caret is there for readers who copy the
// text, search it or hear it; it is not drawn.
func (w *writer) power(exp string) {
	w.markup(`<sup><span class="unseen">^</span>`)
	w.text(strings.Replace(exp, "-", "−", 1))
	w.markup(`</sup>`)
}

// unit writes a unit symbol: upright, powers raised.
func (w *writer) unit(u string) {
	w.markup(`<span class="unit">`)
	for u != "" {
		base, rest, ok := strings.Cut(u, "^")
		w.text(base)
		if !ok {
			break
		}
		n := 0
		for n < len(rest) && (rest[n] >= '0' && rest[n] <= '9' || n == 0 && rest[n] == '-') {
			n++
		}
		if n == 0 {
			w.markup("^")
		} else {
			w.power(rest[:n])
		}
		u = rest[n:]
	}
	w.markup(`</span>`)
}

// digits writes a number in ASCII with a true minus sign, the decimal sign of
// the page, and groups of three where five or more digits stand on one side of
// it (SI Brochure 5.4.4). The gaps between groups are margins, not characters,
// so that the number can be searched for and copied.
func (w *writer) digits(s string) {
	if s != "" && (s[0] == '-' || s[0] == '+') {
		if s[0] == '-' {
			w.markup("−")
		} else {
			w.markup("+")
		}
		s = s[1:]
	}
	whole, part, point := strings.Cut(s, ".")
	if !allDigits(whole) || !allDigits(part) {
		w.text(s)
		return
	}
	w.groups(whole, len(whole)%3)
	if point {
		if w.page.Comma {
			w.markup(",")
		} else {
			w.markup(".")
		}
		w.groups(part, 0)
	}
}

// groups writes digits in threes after a first group of the given length.
func (w *writer) groups(s string, first int) {
	if len(s) < 5 {
		w.markup(s)
		return
	}
	if first == 0 {
		first = 3
	}
	for n := first; n < len(s); n = 3 {
		w.markup(`<span class="g">`, s[:n], `</span>`)
		s = s[n:]
	}
	w.markup(s)
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// decimal sets a short text that was printed already with the decimal sign of
// the page.
func (w *writer) decimal(s string) string {
	return quantity.DecimalSign(s, w.page.Comma)
}

// standing is the class of a standing.
func standing(s view.Standing) string {
	switch s {
	case view.Read:
		return "read"
	case view.Computed:
		return "computed"
	case view.Answer:
		return "answer"
	}
	return "given"
}
