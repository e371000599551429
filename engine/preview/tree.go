package preview

import (
	"bytes"
	"math"
	"strings"
)

// tree is a part of a page, taken apart. Its nodes stand in the order of the
// text, each before those in it: there are many, and most are never asked for,
// so that each takes little room.
type tree struct {
	html  []byte
	spans []span
}

// span is where a node stands.
type span struct {
	from, to int32 // in the text
	within   int32 // where the start tag of an element ends; from for others
	next     int32 // the number of the node behind it and all in it
	foreign  bool  // of a figure or a formula, which are no HTML
}

// node is an element of a page, or what stands between two of them: a text or
// a comment. Pages are well-formed, so that a browser makes the same nodes in
// the same order of them; where it does not, see live.js.
type node struct {
	*tree
	n int32
}

// whole is a node as it stands in the page.
func (n node) whole() []byte { return n.html[n.spans[n.n].from:n.spans[n.n].to] }

// tag is the start tag of an element; empty for others.
func (n node) tag() []byte { return n.html[n.spans[n.n].from:n.spans[n.n].within] }

// children are the nodes that stand in an element and in no other in it.
func (n node) children() []node { return n.between(n.n+1, n.spans[n.n].next) }

// between are the nodes from one number to another, without those in them.
func (t *tree) between(from, to int32) (nodes []node) {
	for ; from < to; from = t.spans[from].next {
		nodes = append(nodes, node{t, from})
	}
	return nodes
}

// isAtom tells of an element that the nodes inside are of no account: how a
// browser reads them hangs on more than their tags.
func (n node) isAtom() bool {
	name := string(nameOf(n.tag()))
	return !n.spans[n.n].foreign && (asWhole[name] || name == "table" && !isFull(n.children()))
}

// nodesOf takes a part of a page apart into the nodes that stand in no other.
// It is false where elements, however deep, don't end as they began, or hold
// what is no markup.
func nodesOf(html []byte) ([]node, bool) {
	p := &parting{tree: &tree{html: html, spans: make([]span, 0, len(html)/16)}}
	if int64(len(html)) > math.MaxInt32 || !p.inside(nil, false) || p.at < len(html) {
		return nil, false
	}
	return p.between(0, int32(len(p.spans))), true
}

// parting is how far a page has been taken apart.
type parting struct {
	*tree
	at int
}

// add adds a node that ends where the reading is.
func (p *parting) add(from int) {
	p.spans = append(p.spans, span{from: int32(from), within: int32(from), to: int32(p.at), next: int32(len(p.spans) + 1)})
}

// inside reads nodes up to the end tag of the element around them, or to the
// end of the page.
func (p *parting) inside(around []byte, foreign bool) bool {
	for p.at < len(p.html) {
		from, rest := p.at, p.html[p.at:]
		switch {
		case rest[0] != '<':
			n := bytes.IndexByte(rest, '<')
			if n < 0 {
				n = len(rest)
			}
			p.at += n
			p.add(from)
		case bytes.HasPrefix(rest, []byte("</")):
			return p.end(around)
		case bytes.HasPrefix(rest, []byte("<!--")):
			n := bytes.Index(rest, []byte("-->"))
			if n < 0 {
				return false
			}
			p.at += n + len("-->")
			p.add(from)
		default:
			if !p.element(foreign) {
				return false
			}
		}
	}
	return around == nil
}

// end reads an end tag, which is to be of that name.
func (p *parting) end(name []byte) bool {
	rest := p.html[p.at+len("</"):]
	if name == nil || len(rest) <= len(name) || !bytes.HasPrefix(rest, name) || rest[len(name)] != '>' {
		return false
	}
	p.at += len("</") + len(name) + len(">")
	return true
}

// without are the elements of HTML that have no end tag.
var without = words("area base br col embed hr img input link meta source track wbr")

// unread are those whose text is not read as markup, or not in any place.
var unread = words("script style textarea title iframe noscript noembed noframes plaintext xmp template select")

// asWhole are those that lose a new line at their beginning.
var asWhole = words("pre listing")

func words(list string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(list) {
		out[w] = true
	}
	return out
}

// isFull tells that a table names all its parts: a browser adds those that are
// left out.
func isFull(kids []node) bool {
	for _, k := range kids {
		switch string(nameOf(k.tag())) {
		case "caption", "colgroup", "thead", "tbody", "tfoot":
		case "":
			if len(bytes.TrimSpace(k.whole())) > 0 {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// element reads an element to its end; foreign tells that it stands in a
// figure or a formula.
func (p *parting) element(foreign bool) bool {
	from, n := p.at, len(p.spans)
	to := endOfTag(p.html, from)
	if to < 0 {
		return false
	}
	p.at = to
	p.add(from)
	tag := p.html[from:to]
	name := nameOf(tag)
	foreign = foreign || string(name) == "svg" || string(name) == "math"
	closed := tag[len(tag)-2] == '/'
	switch {
	case len(name) == 0 || !foreign && unread[string(name)] || foreign && string(name) == "foreignObject":
		return false
	case !foreign && without[string(name)]:
	case closed && !foreign:
		return false
	case !closed:
		if !p.inside(name, foreign) {
			return false
		}
	}
	p.spans[n] = span{from: int32(from), within: int32(to), to: int32(p.at), next: int32(len(p.spans)), foreign: foreign}
	return true
}

// endOfTag is where a tag ends that begins there; -1 where it does not.
func endOfTag(html []byte, from int) int {
	quote := byte(0)
	for i := from; i < len(html); i++ {
		switch c := html[i]; {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '>':
			return i + 1
		case c == '"', c == '\'':
			quote = c
		}
	}
	return -1
}

// nameOf is the name of an element by its start tag.
func nameOf(tag []byte) []byte {
	for i, c := range tag {
		switch c {
		case ' ', '\t', '\n', '/', '>':
			return tag[1:max(i, 1)]
		}
	}
	return nil
}

// idOf is its id.
func idOf(tag []byte) []byte {
	_, rest, ok := bytes.Cut(tag, []byte(` id="`))
	if !ok {
		return nil
	}
	value, _, _ := bytes.Cut(rest, []byte(`"`))
	return value
}
