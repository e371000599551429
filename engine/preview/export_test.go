package preview

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
)

// AsRead is what stands in the body of a page.
func AsRead(page string) string {
	at := strings.Index(page, "<body")
	_, rest, _ := strings.Cut(page[max(at, 0):], ">")
	return string(asRead([]byte(rest)))
}

// Edits are the edits that make one body of another, as they are sent; false
// where one of them cannot be taken apart.
func Edits(from, to string) (string, bool) {
	old, ok := nodesOf([]byte(from))
	next, fits := nodesOf([]byte(to))
	if !ok || !fits {
		return "", false
	}
	text, err := json.Marshal(edits(old, next))
	if err != nil {
		panic(err)
	}
	return string(text), true
}

// Apply makes edits as a browser does.
func Apply(body, list string) (string, error) {
	var all []edit
	if err := json.Unmarshal([]byte(list), &all); err != nil {
		return "", err
	}
	kids, ok := nodesOf([]byte(body))
	if !ok && (len(all) != 1 || all[0].Of >= 0) {
		return "", errors.New("the body can't be taken apart")
	}
	root := &node{kids: kids}
	for _, e := range all {
		n, foreign := root, false
		for _, i := range e.At {
			if i >= len(n.kids) {
				return "", fmt.Errorf("no node at %v", e.At)
			}
			n = n.kids[i]
			foreign = foreign || string(n.name) == "svg" || string(n.name) == "math"
		}
		if e.Tag != "" {
			n.tag = []byte(e.Tag)
			continue
		}
		if e.Of < 0 {
			e.Of, e.Drop = len(n.kids), len(n.kids)
		}
		if e.Of != len(n.kids) || e.From+e.Drop > e.Of {
			return "", fmt.Errorf("%d children, and an edit %+v", len(n.kids), e)
		}
		p := &parting{html: []byte(e.HTML)}
		next, ok := p.inside(nil, foreign)
		if !ok || p.at < len(e.HTML) {
			return "", fmt.Errorf("an edit of what can't be taken apart: %+v", e)
		}
		n.kids = append(append(append([]*node{}, n.kids[:e.From]...), next...), n.kids[e.From+e.Drop:]...)
	}
	return text(root), nil
}

// text writes a node. Two texts must not stand side by side, since a browser
// reads them as one.
func text(n *node) string {
	if n.tag == nil && n.whole != nil || n.atom {
		return string(n.whole)
	}
	var b strings.Builder
	b.Write(n.tag)
	plain := false
	for _, k := range n.kids {
		isPlain := k.tag == nil && !strings.HasPrefix(string(k.whole), "<")
		if plain && isPlain {
			b.WriteString("<!-- two texts -->")
		}
		plain = isPlain
		b.WriteString(text(k))
	}
	if end := "</" + string(n.name) + ">"; n.tag != nil && strings.HasSuffix(string(n.whole), end) {
		b.WriteString(end)
	}
	return b.String()
}
