package page

import (
	"strconv"
	"strings"

	"example.org/taut/engine/view"
)

// quantities writes the table of named values: the values that the page rests
// on, and, folded away, those behind the checks.
func (w *writer) quantities(q *view.Quantities) {
	var main, behind []*view.Entry
	for i := range q.Entries {
		if e := &q.Entries[i]; e.Behind {
			behind = append(behind, e)
		} else {
			main = append(main, e)
		}
	}
	class := "quantities"
	if q.OnScreen {
		class += " onscreen"
	}
	w.markup(`<section class="`, class, `"`)
	w.id(q)
	w.label("Quantities")
	w.markup(">\n")
	caption := "Quantities: where each comes from, and what uses it."
	if q.Coverage != "" {
		caption += " After ± stands the expanded uncertainty (" + w.decimal(q.Coverage) + ")."
	}
	if len(main) > 0 {
		w.entries(main, caption)
	}
	if len(behind) > 0 {
		w.markup("<details>\n<summary>", counted(len(behind), "further quantity", "further quantities"), ", for the checks</summary>\n")
		w.entries(behind, "Quantities that only the checks use")
		w.markup("</details>\n")
	}
	w.markup("</section>\n")
}

func (w *writer) entries(list []*view.Entry, caption string) {
	w.markup(`<section class="scroll"`)
	w.region(caption)
	w.markup(">\n<table>\n<caption>")
	w.text(caption)
	w.markup("</caption>\n<thead>\n<tr>")
	for _, h := range []string{"name", "value", "defined as", "uncertainty from", "used by"} {
		w.markup(`<th scope="col">`, h, "</th>")
	}
	w.markup("</tr>\n</thead>\n<tbody>\n")
	for _, e := range list {
		w.entry(e)
	}
	w.markup("</tbody>\n</table>\n</section>\n")
}

func (w *writer) entry(e *view.Entry) {
	w.markup("<tr")
	w.id(e)
	w.markup(`><th scope="row">`)
	w.named(view.Ref{Name: e.Name, ID: w.shownAt(e)})
	if e.Label != "" {
		w.markup(`: <i>`)
		w.runs(view.Inline(e.Label))
		w.markup(`</i>`)
	}
	if e.Place != "" {
		w.markup(` <small>(`)
		w.breakable(e.Place)
		w.markup(`)</small>`)
	}
	w.markup(`</th><td>`)
	w.runs(e.Value)
	w.markup(`</td><td>`)
	if len(e.How) > 0 {
		w.markup(`<code>`)
		w.runs(e.How)
		w.markup(`</code>`)
	}
	w.markup(`</td><td>`)
	for i, s := range e.Sources {
		if i > 0 {
			w.markup("; ")
		}
		w.ref(s.Source)
		w.markup(" (")
		w.text(s.Text)
		w.markup(")")
	}
	w.markup(`</td><td>`)
	w.usedBy(e.UsedBy)
	w.markup("</td></tr>\n")
}

// usedBy lists what uses a value; its places in the text are one entry, which
// leads to the first of them, with their number.
func (w *writer) usedBy(list []view.Ref) {
	texts := 0
	var out []view.Ref
	at := -1
	for _, u := range list {
		switch {
		case !u.Places:
			out = append(out, u)
			continue
		case at < 0:
			at = len(out)
			out = append(out, u)
		case w.target(out[at].ID) == "":
			out[at] = u
		}
		texts++
	}
	for i, u := range out {
		comma := ","
		if i == len(out)-1 {
			comma = ""
		}
		switch short := len(u.Name) <= shortName; {
		case u.Places && texts > 1:
			w.named(u)
			w.markup(" (", strconv.Itoa(texts), " places)", comma)
		case short: // too narrow for fingers, so that a theme may widen it, but not part it from its comma
			w.markup(`<span class="bound">`)
			w.named(u)
			w.markup(comma, `</span>`)
		default:
			w.named(u)
			w.markup(comma)
		}
		if comma != "" {
			w.markup(" ")
		}
	}
}

// shortName is the longest name that is narrower than a finger.
const shortName = 3

// shownAt is the ID of the node that shows how an entry's value is worked out,
// where the page has one other than the entry.
func (w *writer) shownAt(e *view.Entry) string {
	if e.At == e.ID || !w.names.known[legal(e.At)] {
		return ""
	}
	return e.At
}

// ref writes a name that leads somewhere; the name alone where that is not on
// the page.
func (w *writer) ref(r view.Ref) { w.leading(r, w.text) }

// named is ref for a name, which may be long.
func (w *writer) named(r view.Ref) { w.leading(r, w.breakable) }

func (w *writer) leading(r view.Ref, write func(string)) {
	id := w.target(r.ID)
	if id == "" {
		write(r.Name)
		return
	}
	w.markup("<a")
	w.attr("href", "#"+id)
	w.markup(">")
	write(r.Name)
	w.markup("</a>")
}

// longName is the longest name that a narrow column holds.
const longName = 12

// breakable writes a name; a long one may be parted behind its dots, low
// lines and slashes.
func (w *writer) breakable(name string) {
	if len(name) <= longName {
		w.text(name)
		return
	}
	for name != "" {
		i := partedAt(name)
		if i == len(name) {
			w.text(name)
			return
		}
		w.text(name[:i])
		w.markup("<wbr />")
		name = name[i:]
	}
}

// partedAt is where a name may first be parted, or its length: never within a
// number.
func partedAt(name string) int {
	for i := 1; i < len(name)-3; i++ { // three letters go on at least
		if strings.IndexByte("._/", name[i]) >= 0 && !(digit(name[i-1]) && digit(name[i+1])) {
			return i + 1
		}
	}
	return len(name)
}
