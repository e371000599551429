package page

import (
	"strconv"

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
	w.ref(view.Ref{Name: e.Name, ID: w.shownAt(e)})
	if e.Label != "" {
		w.markup(` <i>`)
		w.text(e.Label)
		w.markup(`</i>`)
	}
	w.markup(` <small>`)
	w.text(e.Place)
	w.markup(`</small></th><td>`)
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
		w.markup(" ")
		w.text(s.Text)
	}
	w.markup(`</td><td>`)
	texts := 0
	for i, u := range e.UsedBy {
		if i > 0 {
			w.markup(", ")
		}
		if u.Name == "text" {
			if texts++; texts > 1 {
				u.Name = strconv.Itoa(texts)
			}
		}
		w.ref(u)
	}
	w.markup("</td></tr>\n")
}

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
func (w *writer) ref(r view.Ref) {
	id := w.target(r.ID)
	if id == "" {
		w.text(r.Name)
		return
	}
	w.markup("<a")
	w.attr("href", "#"+id)
	w.markup(">")
	w.text(r.Name)
	w.markup("</a>")
}
