package page

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// findings shows what the engine has to say: the sentence first, then what it
// is called and where it stands. The severity is a word and a mark, never a
// colour alone.
func (w *writer) findings(list []*finding.Finding) {
	if len(list) == 0 {
		return
	}
	w.markup(`<ul class="findings">`, "\n")
	for _, f := range list {
		w.finding(f)
	}
	w.markup("</ul>\n")
}

func (w *writer) finding(f *finding.Finding) {
	sev := f.Severity.String()
	w.markup(`<li class="finding `, sev, `"`)
	w.id(f)
	w.markup(`><strong class="severity">`, sev, `</strong> <span class="message">`)
	w.withCode(sentence(f.Message))
	w.markup(`</span>`)
	if f.Hint != "" {
		w.markup(` <span class="hint">`)
		w.withCode(f.Hint)
		w.markup(`</span>`)
	}
	w.markup(` <small class="place"><code class="slug">`)
	w.text(f.Slug)
	w.markup(`</code>`)
	w.place(" ", f.At)
	for _, p := range f.Also {
		w.markup("; ")
		w.withCode(p.What)
		w.place(": ", p.At)
	}
	w.markup("</small></li>\n")
}

// place writes where something stands, as a terminal shows it.
func (w *writer) place(before string, at source.Span) {
	if at.IsZero() {
		return
	}
	line, col := at.Position()
	w.markup(before)
	w.text(at.File.Name)
	w.markup(":", strconv.Itoa(line), ":", strconv.Itoa(col))
}

// overview lists findings that the page shows elsewhere, a line for each; those
// that it does not are shown in full.
func (w *writer) overview(list []*finding.Finding) {
	var here []*finding.Finding
	var elsewhere []*finding.Finding
	for _, f := range list {
		if w.names.of[f] == "" {
			here = append(here, f)
		} else {
			elsewhere = append(elsewhere, f)
		}
	}
	w.findings(here)
	if len(elsewhere) == 0 {
		return
	}
	w.markup(`<section`)
	w.label("Findings")
	w.markup(">\n<p>")
	w.text(counts(elsewhere) + " on this page:")
	w.markup("</p>\n<ul>\n")
	for _, f := range elsewhere {
		w.markup(`<li>`, f.Severity.String(), `: <a href="#`)
		w.text(w.names.of[f])
		w.markup(`">`)
		w.withCode(sentence(f.Message))
		w.markup("</a>")
		if !f.At.IsZero() { // it tells equal messages apart
			w.markup(" <small>(")
			if name := f.At.Text(); record.IsName(name) {
				w.text(name + ", ")
			}
			w.place("", f.At)
			w.markup(")</small>")
		}
		w.markup("</li>\n")
	}
	w.markup("</ul>\n</section>\n")
}

// counts says how many findings there are of each severity, the gravest first.
func counts(list []*finding.Finding) string {
	n := map[finding.Severity]int{}
	for _, f := range list {
		n[f.Severity]++
	}
	var out []string
	for _, s := range []finding.Severity{finding.Error, finding.Caution, finding.Note} {
		if n[s] > 0 {
			out = append(out, counted(n[s], s.String(), s.String()+"s"))
		}
	}
	return strings.Join(out, ", ")
}

// sentence is a message with a capital letter where it begins with a word; a
// symbol or a name stays as it is.
func sentence(message string) string {
	word := message
	if i := strings.IndexAny(message, " ,:;"); i >= 0 {
		word = message[:i]
	}
	if word == "" || strings.IndexFunc(word, func(r rune) bool { return !unicode.IsLower(r) && r != '\'' && r != '’' }) >= 0 {
		return message
	}
	if len(word) == 1 && (word != "a" || !wordNext(message[1:])) {
		return message // a symbol
	}
	r, n := utf8.DecodeRuneInString(message)
	return string(unicode.ToUpper(r)) + message[n:]
}

// wordNext reports whether a text goes on with a word.
func wordNext(s string) bool {
	r, _ := utf8.DecodeRuneInString(strings.TrimPrefix(s, " "))
	return unicode.IsLetter(r)
}

// told writes a name that leads to where a finding is shown.
func (w *writer) told(r view.Told) {
	id := w.names.of[r.Of]
	if id == "" || w.inLink > 0 {
		w.text(r.Name)
		return
	}
	w.markup(`<a href="#`)
	w.text(id)
	w.markup(`">`)
	w.text(r.Name)
	w.markup(`</a>`)
}

// fold writes a sentence with more behind it. What is pressed to unfold stands
// apart from the sentence, which can hold links.
func (w *writer) fold(f *view.Fold) {
	w.node(&view.Paragraph{Standing: view.Computed, Text: f.Text})
	w.markup("<details>\n<summary>")
	w.text(f.Label)
	w.markup("</summary>\n")
	w.facts(f.Items)
	w.markup("</details>\n")
}

// withCode writes a message; what stands between backticks in it is code.
func (w *writer) withCode(message string) {
	parts := strings.Split(message, "`")
	for i, part := range parts {
		switch {
		case i%2 == 0:
			w.text(part)
		case i == len(parts)-1: // a backtick that nothing closes
			w.text("`" + part)
		default:
			w.markup("<code>")
			w.text(part)
			w.markup("</code>")
		}
	}
}
