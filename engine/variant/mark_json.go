package variant

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// jsonNode is a JSON value with its place. Members keep their order, and names
// that stand twice.
type jsonNode struct {
	at      source.Span
	kind    byte   // { [ " n (a number) or w (true, false, null)
	text    string // of a string or a number
	names   []string
	nameAt  []source.Span
	members []*jsonNode
}

// deepest bounds how deep a list is read.
const deepest = 20

type jsonReader struct {
	file *source.File
	d    *json.Decoder
}

// parseJSON reads one JSON value that fills a file. The error tells where.
func parseJSON(f *source.File) (*jsonNode, source.Span, error) {
	text := bytes.TrimPrefix(f.Text, []byte("\uFEFF"))
	skipped := len(f.Text) - len(text)
	// The whole first: what the decoder says of a place counts from the token.
	if err := json.Unmarshal(text, new(any)); err != nil {
		at := len(f.Text)
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) {
			at = int(syntax.Offset) + skipped
		}
		return nil, f.Span(max(at-1, 0), at), err
	}
	r := &jsonReader{file: f, d: json.NewDecoder(bytes.NewReader(text))}
	r.d.UseNumber()
	n, err := r.value(0, skipped)
	return n, f.Span(0, 0), err
}

// token returns the next token with its place.
func (r *jsonReader) token(skipped int) (json.Token, source.Span, error) {
	from := int(r.d.InputOffset()) + skipped
	t, err := r.d.Token()
	if err != nil {
		return nil, source.Span{}, err
	}
	to := int(r.d.InputOffset()) + skipped
	for from < to && bytes.IndexByte([]byte(" \t\r\n,:"), r.file.Text[from]) >= 0 {
		from++
	}
	return t, r.file.Span(from, to), nil
}

func (r *jsonReader) value(depth, skipped int) (*jsonNode, error) {
	if depth > deepest {
		return nil, errors.New("the list is too deep")
	}
	t, at, err := r.token(skipped)
	if err != nil {
		return nil, err
	}
	n := &jsonNode{at: at, kind: 'w'}
	switch t := t.(type) {
	case string:
		n.kind, n.text = '"', t
	case json.Number:
		n.kind, n.text = 'n', string(t)
	case json.Delim:
		n.kind = byte(t)
		for r.d.More() {
			if t == '{' {
				name, at, err := r.token(skipped)
				if err != nil {
					return nil, err
				}
				n.names, n.nameAt = append(n.names, fmt.Sprint(name)), append(n.nameAt, at)
			}
			m, err := r.value(depth+1, skipped)
			if err != nil {
				return nil, err
			}
			n.members = append(n.members, m)
		}
		if _, _, err := r.token(skipped); err != nil {
			return nil, err
		}
	}
	return n, nil
}

// json reads {"id": "001", "values": {"E": "197 GPa"}}, or a list of such.
func (l *list) json() {
	n, at, err := parseJSON(l.file)
	if err != nil {
		l.set.Add(badJSON(at, err))
		return
	}
	list := []*jsonNode{n}
	if n.kind == '[' {
		list = n.members
	}
	if len(list) == 0 {
		l.set.Add(emptyList(n.at))
	}
	for _, s := range list {
		l.jsonStudent(s)
	}
}

func (l *list) jsonStudent(n *jsonNode) {
	var id, values *jsonNode
	for i, name := range n.names {
		switch {
		case name == "id" && id == nil:
			id = n.members[i]
		case name == "values" && values == nil:
			values = n.members[i]
		default:
			l.set.Add(jsonForm(n.nameAt[i], fmt.Sprintf("`%s` is not expected here", name)))
		}
	}
	if id == nil || id.text == "" || values == nil || values.kind != '{' {
		l.set.Add(jsonForm(n.at, "a student needs `id` and `values`"))
		return
	}
	e := l.entry(id.text, id.at)
	for i, name := range values.names {
		v := values.members[i]
		switch v.kind {
		case 'n':
			l.add(e, name, values.nameAt[i], v.at, "")
		case '"':
			l.add(e, name, values.nameAt[i], inQuotes(v), "")
		default:
			if v.at.Text() != "null" {
				e.findings = append(e.findings, jsonForm(v.at, fmt.Sprintf("`%s` is no number", name)))
			}
		}
	}
}

// inQuotes is the text of a string at its place; a text that is written with
// escapes stands in no file as it is meant.
func inQuotes(v *jsonNode) source.Span {
	s := v.at.Sub(1, max(1, len(v.at.Text())-1))
	if s.Text() != v.text {
		return source.NewFile(v.at.File.Name, []byte(v.text)).Span(0, len(v.text))
	}
	return s
}

// badJSON: a list that is cut off, or no JSON at all.
func badJSON(at source.Span, err error) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-json", At: at,
		Message: fmt.Sprintf("this can't be read as JSON: %s; nothing of the file is marked", err), Hint: "hand in the whole file"}
}

// jsonForm: JSON of another form.
func jsonForm(at source.Span, message string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "list-form", At: at, Message: message,
		Hint: `write {"id": "001", "values": {"E": "197 GPa"}}, or a list of such in [ ]`}
}
