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
	name  string // of an element
	id    string // likewise; "" for none
	kids  []*node
	// atom is an element of which the nodes inside are of no account: how a
	// browser reads them hangs on more than their tags.
	atom bool
}

// nodesOf takes a part of a page apart. It is false where elements don't end
// as they began, or hold what is no markup.
func nodesOf(html []byte) ([]*node, bool) {
	p := &parting{html: html}
	nodes, ok := p.inside("", false)
	return nodes, ok && p.at == len(html)
}

// parting is how far a page has been taken apart.
type parting struct {
	html []byte
	at   int
}

// inside reads nodes up to the end tag of the element around them, or to the
// end of the page.
func (p *parting) inside(around string, foreign bool) (nodes []*node, ok bool) {
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
			nodes = append(nodes, &node{whole: rest[:n+3]})
			p.at += n + 3
		default:
			n, ok := p.element(foreign)
			if !ok {
				return nil, false
			}
			nodes = append(nodes, n)
		}
	}
	return nodes, around == ""
}

// plain reads a text.
func (p *parting) plain() *node {
	rest := p.html[p.at:]
	n := bytes.IndexByte(rest, '<')
	if n < 0 {
		n = len(rest)
	}
	p.at += n
	return &node{whole: rest[:n]}
}

// end reads an end tag, which is to be of that name.
func (p *parting) end(name string) bool {
	tag := "</" + name + ">"
	if name == "" || !bytes.HasPrefix(p.html[p.at:], []byte(tag)) {
		return false
	}
	p.at += len(tag)
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
		switch k.name {
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
	n := &node{tag: p.html[from:to]}
	n.name, n.id = nameOf(n.tag), idOf(n.tag)
	p.at = to
	foreign = foreign || n.name == "svg" || n.name == "math"
	closed := n.tag[len(n.tag)-2] == '/'
	switch {
	case n.name == "" || !foreign && unread[n.name] || foreign && n.name == "foreignObject":
		return nil, false
	case !foreign && without[n.name]:
	case closed && !foreign:
		return nil, false
	case !closed:
		var ok bool
		if n.kids, ok = p.inside(n.name, foreign); !ok {
			return nil, false
		}
		if !foreign && (asWhole[n.name] || n.name == "table" && !isFull(n.kids)) {
			n.kids, n.atom = nil, true
		}
	}
	n.whole = p.html[from:p.at]
	return n, true
}

// endOfTag is where a tag ends that begins there; -1 where it does not.
func endOfTag(html []byte, from int) int {
	for i := from; ; {
		n := bytes.IndexAny(html[i:], `"'>`)
		if n < 0 {
			return -1
		}
		i += n
		quote := html[i]
		i++
		if quote == '>' {
			return i
		}
		if n = bytes.IndexByte(html[i:], quote); n < 0 {
			return -1
		}
		i += n + 1
	}
}

// nameOf is the name of an element by its start tag.
func nameOf(tag []byte) string {
	n := bytes.IndexAny(tag, " \t\n/>")
	return string(tag[1:max(n, 1)])
}

// idOf is its id.
func idOf(tag []byte) string {
	const id = ` id="`
	_, rest, ok := bytes.Cut(tag, []byte(id))
	if !ok {
		return ""
	}
	value, _, _ := bytes.Cut(rest, []byte(`"`))
	return string(value)
}
