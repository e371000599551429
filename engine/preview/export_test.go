package preview

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
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
	root, err := grownFrom(body)
	if err != nil && (len(all) != 1 || all[0].Of >= 0) {
		return "", err
	}
	for _, e := range all {
		n := root
		for _, i := range e.At {
			if i >= len(n.kids) {
				return "", fmt.Errorf("no node at %v", e.At)
			}
			n = n.kids[i]
		}
		if e.Tag != "" {
			n.tag = e.Tag
			continue
		}
		if e.Of < 0 {
			e.Of, e.Drop = len(n.kids), len(n.kids)
		}
		if e.Of != len(n.kids) || e.From+e.Drop > e.Of {
			return "", fmt.Errorf("%d children, and an edit %+v", len(n.kids), e)
		}
		html := e.HTML
		if n.foreign {
			html = "<svg>" + html + "</svg>"
		}
		next, err := grownFrom(html)
		if err != nil {
			return "", fmt.Errorf("an edit %+v: %w", e, err)
		}
		if n.foreign {
			next = next.kids[0]
		}
		n.kids = slices.Concat(n.kids[:e.From], next.kids, n.kids[e.From+e.Drop:])
	}
	return root.text(), nil
}

// grown is a node that can be changed.
type grown struct {
	tag, end string // of an element
	whole    string // of all else, and of what is changed as a whole only
	foreign  bool
	kids     []*grown
}

func grownFrom(html string) (*grown, error) {
	nodes, ok := nodesOf([]byte(html))
	if !ok {
		return &grown{}, errors.New("it can't be taken apart")
	}
	return &grown{kids: grow(nodes)}, nil
}

func grow(nodes []node) (out []*grown) {
	for _, n := range nodes {
		g := &grown{tag: string(n.tag()), whole: string(n.whole()), foreign: n.spans[n.n].foreign}
		if g.tag != "" && !n.isAtom() {
			if end := "</" + string(nameOf(n.tag())) + ">"; strings.HasSuffix(g.whole, end) {
				g.end = end
			}
			g.kids, g.whole = grow(n.children()), ""
		}
		out = append(out, g)
	}
	return out
}

// text writes a node. Two texts must not stand side by side, since a browser
// reads them as one.
func (g *grown) text() string {
	if g.whole != "" {
		return g.whole
	}
	var b strings.Builder
	b.WriteString(g.tag)
	plain := false
	for _, k := range g.kids {
		isPlain := k.tag == "" && !strings.HasPrefix(k.whole, "<")
		if plain && isPlain {
			b.WriteString("<!-- two texts -->")
		}
		plain = isPlain
		b.WriteString(k.text())
	}
	b.WriteString(g.end)
	return b.String()
}
