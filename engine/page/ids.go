package page

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/yuin/goldmark/ast"
	east "github.com/yuin/goldmark/extension/ast"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

// names knows every ID of a page before it is written, so that a link is only
// made where it leads somewhere, and no ID stands twice.
type names struct {
	of      map[any]string    // by node: its ID, unique
	entries map[string]string // by ID of what is worked out on the page: the ID of its entry
	called  map[string]string // by ID of an entry: the name of the value
	known   map[string]bool
	written map[string]bool
	sought  map[string]bool        // headings that prose links to
	notes   map[*view.Prose]string // prefix of a document's footnotes
	regions map[string]int         // how often each name of a region was given
	err     error
}

func collect(p *view.Page) *names {
	n := &names{
		of:      map[any]string{},
		entries: map[string]string{},
		called:  map[string]string{},
		known:   map[string]bool{},
		written: map[string]bool{},
		sought:  map[string]bool{},
		notes:   map[*view.Prose]string{},
		regions: map[string]int{},
	}
	var docs []*view.Prose
	add := func(key any, id string) { n.add(key, id) }
	walk(p, add, func(d *view.Prose) { docs = append(docs, d) })
	for _, b := range p.Back {
		if q, ok := b.(*view.Quantities); ok {
			for i := range q.Entries {
				e := &q.Entries[i]
				if at := legal(e.At); e.At != "" && n.entries[at] == "" {
					n.entries[at] = n.of[e]
					n.called[n.of[e]] = e.Name
				}
			}
		}
	}
	for _, d := range docs {
		n.seek(d)
	}
	for i, d := range docs {
		if d != p.Body {
			n.notes[d] = "part" + strconv.Itoa(i+1) + "-"
		}
		n.headings(d)
	}
	return n
}

func (n *names) add(key any, id string) {
	if id == "" || n.of[key] != "" {
		return
	}
	id = legal(id)
	free := id
	for i := 2; n.known[free]; i++ {
		free = id + "-" + strconv.Itoa(i)
	}
	n.known[free] = true
	n.of[key] = free
}

// legal makes an ID that HTML allows: at least one character, no spaces.
func legal(id string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) || forbidden(r) {
			return '-'
		}
		return r
	}, id)
}

// walk visits what has an ID and each document, in the order of the page.
func walk(p *view.Page, add func(any, string), doc func(*view.Prose)) {
	var nodes func([]view.Node)
	found := func(list []*finding.Finding) {
		for _, f := range list {
			add(f, "finding-"+f.Slug)
		}
	}
	prose := func(d *view.Prose) {
		if d == nil || d.Doc == nil || d.Doc.Root == nil {
			return
		}
		doc(d)
		_ = ast.Walk(d.Doc.Root, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
			switch a := a.(type) {
			case *record.BlockNode:
				if entering {
					nodes(d.Blocks[a.Block])
				}
			case *record.InlineNode:
				if entering {
					add(spot{d, a.Inline}, markOf(d.Inlines[a.Inline]))
				}
			}
			return ast.WalkContinue, nil
		})
	}
	nodes = func(list []view.Node) {
		for _, v := range list {
			switch v := v.(type) {
			case *view.Prose:
				prose(v)
			case *view.Group:
				add(v, v.ID)
				nodes(v.Nodes)
			case *view.Table:
				add(v, v.ID)
				for i := range v.Columns {
					add(&v.Columns[i], v.Columns[i].ID)
				}
				for i := range v.Rows {
					add(&v.Rows[i], v.Rows[i].ID)
				}
			case *view.Quantities:
				add(v, v.ID)
				for i := range v.Entries {
					add(&v.Entries[i], v.Entries[i].ID)
				}
			case *view.Steps:
				add(v, v.ID)
				for i := range v.Steps {
					add(&v.Steps[i], v.Steps[i].ID)
					found(v.Steps[i].Findings)
				}
			case *view.Facts:
				add(v, v.ID)
			case *view.Figure:
				add(v, orElse(v.ID, "figure"))
			case *view.Bars:
				add(v, orElse(v.ID, "figure"))
			case *view.Chart:
				add(v, orElse(v.ID, "figure"))
			case *view.Heading:
				add(v, v.ID)
			case *view.Notice:
				if !v.Overview {
					found(v.Findings)
				}
			case *view.Warning:
				add(v, v.ID)
				prose(v.Body)
			}
		}
	}
	nodes(p.Front)
	prose(p.Body)
	nodes(p.Back)
}

// spot is an inline value as it stands in a document.
type spot struct {
	doc *view.Prose
	in  *record.Inline
}

// markOf is the ID of the first number of a text that has one.
func markOf(t view.Text) string {
	for _, r := range t {
		if n, ok := r.(view.Number); ok && n.ID != "" {
			return n.ID
		}
	}
	return ""
}

// shown are the kinds of nodes that the renderers of prose know. Another kind
// would be left out in silence, or make goldmark panic.
var shown = map[ast.NodeKind]bool{
	ast.KindDocument: true, ast.KindTextBlock: true, ast.KindParagraph: true, ast.KindHeading: true,
	ast.KindThematicBreak: true, ast.KindCodeBlock: true, ast.KindFencedCodeBlock: true, ast.KindBlockquote: true,
	ast.KindList: true, ast.KindListItem: true, ast.KindHTMLBlock: true, ast.KindLinkReferenceDefinition: true,
	ast.KindText: true, ast.KindString: true, ast.KindCodeSpan: true, ast.KindEmphasis: true, ast.KindLink: true,
	ast.KindImage: true, ast.KindAutoLink: true, ast.KindRawHTML: true,
	east.KindTable: true, east.KindTableHeader: true, east.KindTableRow: true, east.KindTableCell: true,
	east.KindFootnote: true, east.KindFootnoteLink: true, east.KindFootnoteBacklink: true, east.KindFootnoteList: true,
	record.KindBlock: true, record.KindInline: true, record.KindMath: true,
}

// seek notes which places of the page the prose links to.
func (n *names) seek(d *view.Prose) {
	_ = ast.Walk(d.Doc.Root, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
		if l, ok := a.(*ast.Link); ok && entering && len(l.Destination) > 1 && l.Destination[0] == '#' {
			n.sought[string(l.Destination[1:])] = true
		}
		if !shown[a.Kind()] {
			n.err = fmt.Errorf("page: no way to show a node of kind %s in prose", a.Kind())
		}
		return ast.WalkContinue, nil
	})
}

// headings gives an ID to each heading that prose links to; a heading without
// a link stays exactly as CommonMark has it.
func (n *names) headings(d *view.Prose) {
	_ = ast.Walk(d.Doc.Root, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
		if h, ok := a.(*ast.Heading); ok && entering {
			if s := slug(plain(h, d.Doc.File.Text)); n.sought[s] && !n.known[s] {
				n.add(h, s)
			}
		}
		return ast.WalkContinue, nil
	})
}

// slug is the usual address of a heading: letters and digits in lower case,
// a hyphen for each space.
func slug(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(strings.TrimSpace(s)) {
		switch {
		case unicode.IsLetter(r), unicode.IsDigit(r), r == '-', r == '_':
			b.WriteRune(r)
		case unicode.IsSpace(r):
			b.WriteByte('-')
		}
	}
	return b.String()
}

// plain is the text of a node of goldmark's tree without its markup.
func plain(n ast.Node, src []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch a := a.(type) {
		case *ast.Text:
			b.Write(a.Segment.Value(src))
			if a.SoftLineBreak() || a.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(a.Value)
		case *record.MathNode:
			b.WriteString(a.Span.Text())
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// target is the ID that a link leads to; "" where there is no such place or
// no link may stand.
func (w *writer) target(link string) string {
	if link == "" || w.inLink > 0 {
		return ""
	}
	if link = legal(link); w.names.known[link] {
		return link
	}
	return w.names.entries[link]
}

// id writes the id attribute of a node. What is shown twice has it once.
func (w *writer) id(key any) {
	id := w.names.of[key]
	if id == "" || w.names.written[id] {
		return
	}
	w.names.written[id] = true
	w.attr("id", id)
}
