package page

import "unicode/utf8"

// buffer gathers the bytes of a page. It is a util.BufWriter, so that
// goldmark's renderers and ours write into the same place.
type buffer struct{ b []byte }

func (w *buffer) Available() int { return cap(w.b) - len(w.b) }
func (w *buffer) Buffered() int  { return 0 }
func (w *buffer) Flush() error   { return nil }

func (w *buffer) Write(p []byte) (int, error) {
	w.b = append(w.b, p...)
	return len(p), nil
}

func (w *buffer) WriteByte(c byte) error {
	w.b = append(w.b, c)
	return nil
}

func (w *buffer) WriteRune(r rune) (int, error) {
	n := len(w.b)
	w.b = utf8.AppendRune(w.b, r)
	return len(w.b) - n, nil
}

func (w *buffer) WriteString(s string) (int, error) {
	w.b = append(w.b, s...)
	return len(s), nil
}

// markup appends pieces of our own markup as they stand.
func (w *buffer) markup(pieces ...string) {
	for _, s := range pieces {
		w.b = append(w.b, s...)
	}
}

// text appends text that was written by others, escaped for an element's
// content and for an attribute's value in double quotes alike.
func (w *buffer) text(s string) {
	from := 0
	for i := 0; i < len(s); i++ {
		e := escapes[s[i]]
		if e == "" {
			continue
		}
		w.b = append(w.b, s[from:i]...)
		w.b = append(w.b, e...)
		from = i + 1
	}
	w.b = append(w.b, s[from:]...)
}

var escapes = [256]string{'&': "&amp;", '<': "&lt;", '>': "&gt;", '"': "&quot;", '\'': "&#39;"}

// attr appends an attribute whose value was written by others.
func (w *buffer) attr(name, value string) {
	w.markup(" ", name, `="`)
	w.text(value)
	w.markup(`"`)
}

// clean returns text without what may not stand in a document: bytes that are
// not UTF-8, control characters and noncharacters become U+FFFD. Almost
// always that is the text itself.
func clean(b []byte) []byte {
	if utf8.Valid(b) && !hasForbidden(b) {
		return b
	}
	out := make([]byte, 0, len(b)+8)
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		if forbidden(r) {
			r = utf8.RuneError
		}
		out = utf8.AppendRune(out, r)
		b = b[n:]
	}
	return out
}

// hasForbidden looks at valid UTF-8: a forbidden character begins with one of
// few bytes, so that most are passed over quickly.
func hasForbidden(b []byte) bool {
	for i, c := range b {
		switch {
		case c >= ' ' && c < 0x7f, c == '\n':
		case c == 0xc2, c == 0xef, c >= 0xf0, c < ' ', c == 0x7f:
			if r, _ := utf8.DecodeRune(b[i:]); forbidden(r) {
				return true
			}
		}
	}
	return false
}

// forbidden reports whether a character is a control or noncharacter of the
// HTML standard, "Preprocessing the input stream".
func forbidden(r rune) bool {
	switch {
	case r == '\t', r == '\n', r == '\r':
		return false
	case r < ' ', r >= 0x7f && r <= 0x9f:
		return true
	case r >= 0xfdd0 && r <= 0xfdef:
		return true
	}
	return r&0xfffe == 0xfffe
}
