package editor

import (
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// asked finds what a question points at; ok is false where the text is no
// record that can be asked about.
func (s *server) asked(p positionParams) (d *document, at place, ok bool) {
	d = s.documents[pathOf(p.TextDocument.URI)]
	if d == nil || d.worked == nil {
		return nil, place{}, false
	}
	// The record was read from a copy of the text without a byte order mark.
	f := d.worked.Record.File
	return d, placeOf(d.worked.Record, f, offsetOf(f, p.Position, s.encoding)), true
}

func (s *server) hover(p positionParams) (any, error) {
	d, at, ok := s.asked(p)
	if !ok {
		return nil, nil
	}
	text := s.tell(d, at)
	if text == "" {
		return nil, nil
	}
	return hover{Contents: markup{Kind: "plaintext", Value: text}, Range: rangeOf(at.word, s.encoding)}, nil
}

// tell says what a word stands for; "" where it stands for nothing.
func (s *server) tell(d *document, at place) string {
	word := at.word.Text()
	if word == "" {
		return ""
	}
	if at.region == inHead {
		return s.tellHead(at, word)
	}
	if r := s.role(d, at, word); r != nil {
		return strings.TrimSpace(word + ": " + r.TakesWords() + ". " + r.What)
	}
	if t, _, ok := told(d.worked.Program, word, at.upTo()); ok {
		return entryText(t)
	}
	for _, f := range eval.Functions() {
		if f.Name == word {
			return f.Usage + "\n" + f.What
		}
	}
	for _, u := range unit.All() {
		if u.Symbol == word || u.Also == word && word != "" {
			return u.Symbol + ": " + u.Name + ", " + u.Factor
		}
	}
	if head, _, _ := strings.Cut(word, "."); head != "" {
		if v, ok := s.options.Library.Material(head); ok {
			return materialText(v, word)
		}
	}
	return ""
}

func (s *server) tellHead(at place, word string) string {
	for _, k := range s.options.Kinds {
		if i := k.Info(); i.Name == word && at.block != nil && at.word.Start == at.block.KindAt.Start {
			return i.Name + ": " + i.What
		}
	}
	if f, ok := s.options.Library.Method(word); ok {
		m := s.readMethod(f)
		return m.Name + ": " + m.Title
	}
	return ""
}

// materialText tells a constant of a material with its source.
func materialText(v eval.Value, word string) string {
	_, field, _ := strings.Cut(word, ".")
	if field == "" {
		return "material " + word
	}
	c, ok := eval.Field(v, field)
	if !ok {
		return ""
	}
	sc, ok := c.(eval.Scalar)
	if !ok {
		return ""
	}
	out := word + " = " + block.Settings{Digits: 2}.Display(sc, block.FormOf(""), 0).String()
	if src := block.SourceOf(c); src != "" {
		out += "\n" + src
	}
	return out
}

// entryText is an entry of the table of quantities as plain text.
func entryText(t block.Told) string {
	e := t.Entry
	var b strings.Builder
	b.WriteString(e.Name)
	if v := block.PlainText(e.Value); v != "" {
		b.WriteString(" = " + v)
	}
	if e.Label != "" {
		b.WriteString("\n" + block.PlainText(view.Inline(e.Label)))
	}
	if how := plain(e.How); how != "" {
		b.WriteString("\n" + how)
	}
	if len(e.Sources) > 0 {
		b.WriteString("\nuncertainty from ")
		for i, s := range e.Sources {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(s.Source.Name + " (" + s.Text + ")")
		}
	}
	if e.Place != "" {
		b.WriteString("\n" + e.Place)
	}
	return b.String()
}

// plain is running text with its references by their names.
func plain(t view.Text) string {
	var b strings.Builder
	for _, r := range t {
		if ref, ok := r.(view.Ref); ok {
			b.WriteString(ref.Name)
		} else {
			b.WriteString(block.PlainText(view.Text{r}))
		}
	}
	return b.String()
}

// upTo is the word up to the end of the part in which the question was asked:
// of young.line.slope, asked within line, young.line.
func (p place) upTo() string {
	word := p.word.Text()
	if i := strings.IndexByte(word[len(p.typed):], '.'); i >= 0 {
		return word[:len(p.typed)+i]
	}
	return word
}

// told looks a word up as a whole, then up to the part that was pointed at.
func told(p *block.Program, word, upTo string) (block.Told, string, bool) {
	if upTo != "" && upTo != word {
		if t, ok := p.Tell(upTo); ok {
			return t, upTo, true
		}
	}
	t, ok := p.Tell(word)
	return t, word, ok
}

func (s *server) definition(p positionParams) (any, error) {
	d, at, ok := s.asked(p)
	if !ok || at.word.Text() == "" {
		return nil, nil
	}
	var span source.Span
	if t, _, ok := told(d.worked.Program, at.word.Text(), at.upTo()); ok && at.region != inHead {
		span = t.At
	} else if at.region == inHead {
		span = s.methodOf(d, at)
	}
	if span.File == nil || d.worked.Path(span.File) == "" {
		return nil, nil // built in: there is no file to go to
	}
	return location{URI: s.uri(d.worked.Path(span.File)), Range: rangeOf(span, s.encoding)}, nil
}

// methodOf is the beginning of an author's own method that a head names.
func (s *server) methodOf(d *document, at place) source.Span {
	if at.block == nil {
		return source.Span{}
	}
	o, ok := at.block.Option("method")
	if !ok || at.word.Start < o.ValueAt.Start || at.word.Start > o.ValueAt.End {
		return source.Span{}
	}
	if f := d.worked.Opened(o.Value); f != nil {
		return f.Span(0, 0)
	}
	return source.Span{}
}

// role is the role of a practical to which a word at the beginning of a
// binding belongs; nil where it is none.
func (s *server) role(d *document, at place, word string) *method.Role {
	if at.region != inBody || strings.TrimSpace(at.before) != "" {
		return nil
	}
	if m := s.boundMethod(d, at.block); m != nil {
		return m.Role(word)
	}
	return nil
}

// boundMethod is the method that a block follows; nil for none.
func (s *server) boundMethod(d *document, b *record.Block) *method.Method {
	o, ok := b.Option("method")
	if !ok {
		return nil
	}
	if f, ok := s.options.Library.Method(o.Value); ok {
		return s.readMethod(f)
	}
	if f := d.worked.Opened(o.Value); f != nil {
		return s.readMethod(f)
	}
	return nil
}
