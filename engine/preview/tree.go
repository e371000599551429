package preview

import (
	"bytes"
	"strings"
)

// node is an element of a page, or what stands between two of them: a text or
// a comment. Pages are well-formed, so that a browser makes the same nodes in
// the same order of them; where it does not, see live.js.
type node struct {
	whole []byte // as it stands in the page
	tag   []byte // the start tag of an element; nil for others
	name  []byte // of an element
	id    []byte // likewise; nil for none
	kids  []*node
	// atom is an element of which the nodes inside are of no account: how a
	// browser reads them hangs on more than their tags.
	atom bool
}

// nodesOf takes a part of a page apart. It is false where elements don't end
// as they began, or hold what is no markup.
func nodesOf(html []byte) ([]*node, bool) {
	p := &parting{html: html}
	nodes, ok := p.inside(nil, false)
	return nodes, ok && p.at == len(html)
}

// parting is how far a page has been taken apart.
type parting struct {
	html []byte
	at   int
	room []node // for those that are still to come
}

// node is a new one.
func (p *parting) node(n node) *node {
	if len(p.room) == 0 {
		p.room = make([]node, 256)
	}
	out := &p.room[0]
	p.room = p.room[1:]
	*out = n
	return out
}

// inside reads nodes up to the end tag of the element around them, or to the
// end of the page.
func (p *parting) inside(around []byte, foreign bool) (nodes []*node, ok bool) {
	for p.at < len(p.html) {
		rest := p.html[p.at:]
		switch {
		case rest[0] != '<':
			nodes = append(nodes, p.plain())
		case bytes.HasPrefix(rest, []byte("</")):
			return nodes, p.end(around)
		case bytes.HasPrefix(rest, []byte("<!--")):
			n := bytes.Index(rest, []byte("-->"))
			if n < 0 {
				return nil, false
			}
			nodes = append(nodes, p.node(node{whole: rest[:n+3]}))
			p.at += n + 3
		default:
			n, ok := p.element(foreign)
			if !ok {
				return nil, false
			}
			nodes = append(nodes, n)
		}
	}
	return nodes, around == nil
}

// plain reads a text.
func (p *parting) plain() *node {
	rest := p.html[p.at:]
	n := bytes.IndexByte(rest, '<')
	if n < 0 {
		n = len(rest)
	}
	p.at += n
	return p.node(node{whole: rest[:n]})
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
func isFull(kids []*node) bool {
	for _, k := range kids {
		switch string(k.name) {
		case "caption", "colgroup", "thead", "tbody", "tfoot":
		case "":
			if len(bytes.TrimSpace(k.whole)) > 0 {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// element reads an element to its end; foreign tells that it stands in a
// figure or a formula, which are no HTML.
func (p *parting) element(foreign bool) (*node, bool) {
	from := p.at
	to := endOfTag(p.html, from)
	if to < 0 {
		return nil, false
	}
	n := p.node(node{tag: p.html[from:to]})
	n.name, n.id = nameOf(n.tag), idOf(n.tag)
	name := string(n.name)
	p.at = to
	foreign = foreign || name == "svg" || name == "math"
	closed := n.tag[len(n.tag)-2] == '/'
	switch {
	case name == "" || !foreign && unread[name] || foreign && name == "foreignObject":
		return nil, false
	case !foreign && without[name]:
	case closed && !foreign:
		return nil, false
	case !closed:
		var ok bool
		if n.kids, ok = p.inside(n.name, foreign); !ok {
			return nil, false
		}
		if !foreign && (asWhole[name] || name == "table" && !isFull(n.kids)) {
			n.kids, n.atom = nil, true
		}
	}
	n.whole = p.html[from:p.at]
	return n, true
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
