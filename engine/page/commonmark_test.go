package page

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/util"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// example is one example of the CommonMark Spec.
type example struct {
	Markdown, HTML, Section string
	Example                 int
}

// examples reads the 652 examples of CommonMark 0.31.2; the README beside them
// names source and licence.
func examples(t *testing.T) []example {
	t.Helper()
	text, err := os.ReadFile("../../testdata/commonmark/spec.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []example
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	if len(list) != 652 {
		t.Fatalf("%d examples", len(list))
	}
	return list
}

// kinds are names of blocks, so that fences are looked at as in a record.
var kinds = []string{"answer", "budget", "calc", "caution", "checks", "compare", "data", "fit", "instruments", "plot", "practical", "question"}

// asProse reads a text as a record and writes it as prose. With open, HTML and
// pictures are passed on as CommonMark has it, which no record can ask for.
func asProse(t *testing.T, text string, open bool) (string, []*finding.Finding) {
	t.Helper()
	var set finding.Set
	rec := record.Parse(source.NewFile("spec.md", []byte(text)), kinds, &set)
	body := &view.Prose{Doc: rec.Doc, Blocks: map[*record.Block][]view.Node{}, Inlines: map[*record.Inline]view.Text{}}
	p := &view.Page{Body: body}
	w := &writer{page: p, names: collect(p)}
	if w.names.err != nil {
		t.Fatal(w.names.err)
	}
	if open {
		w.markdown = newMarkdown(w, util.Prioritized(asWritten{html.NewRenderer(html.WithXHTML(), html.WithUnsafe())}, 50))
	}
	w.prose(body)
	if w.err != nil {
		t.Fatal(w.err)
	}
	return string(w.b), set.Sorted()
}

// asWritten renders what an author may write in CommonMark but not in a
// record: raw HTML, pictures from anywhere, links with any scheme.
type asWritten struct{ renderer.NodeRenderer }

func (r asWritten) RegisterFuncs(to renderer.NodeRendererFuncRegisterer) {
	r.NodeRenderer.RegisterFuncs(chosenKinds{to})
}

type chosenKinds struct {
	to renderer.NodeRendererFuncRegisterer
}

func (c chosenKinds) Register(k ast.NodeKind, f renderer.NodeRendererFunc) {
	switch k {
	case ast.KindHTMLBlock, ast.KindRawHTML, ast.KindImage, ast.KindLink, ast.KindAutoLink:
		c.to.Register(k, f)
	}
}

// frontMatter are the examples that begin with a line of three hyphens and have
// another below: there a record has its front matter. Example 96 is one whose
// settings cannot be read, which is an error; in example 98 it is empty. After a
// blank line both are what CommonMark says.
var frontMatter = map[int]bool{96: true, 98: true}

// A record that uses none of our syntax renders exactly as CommonMark says,
// and nothing is found wrong with it.
func TestCommonMark(t *testing.T) {
	for _, x := range examples(t) {
		text := x.Markdown
		if frontMatter[x.Example] {
			if got, _ := asProse(t, text, true); got == x.HTML {
				t.Errorf("example %d has no front matter", x.Example)
			}
			text = "\n" + text
		}
		got, list := asProse(t, text, true)
		if got != x.HTML {
			t.Errorf("example %d (%s): %q gives\n%s\nwant\n%s", x.Example, x.Section, x.Markdown, got, x.HTML)
		}
		for _, f := range list {
			t.Errorf("example %d (%s): %q: %s: %s", x.Example, x.Section, x.Markdown, f.Slug, f.Message)
		}
	}
}

// On a page HTML is shown as the text that it is, and pictures are named. That
// touches the examples that hold one of them, and no other.
func TestCommonMarkEscaped(t *testing.T) {
	withHTML, withPicture := 0, 0
	for _, x := range examples(t) {
		got, _ := asProse(t, "\n"+x.Markdown, false)
		hasHTML, hasPicture := holds(t, x.Markdown)
		if hasHTML {
			withHTML++
		} else if hasPicture {
			withPicture++
		}
		if touched := got != x.HTML; touched != (hasHTML || hasPicture) {
			t.Errorf("example %d (%s): %q gives\n%s\nwant\n%s", x.Example, x.Section, x.Markdown, got, x.HTML)
		}
		for _, tag := range []string{"<script", "<style", "<img", "<div", "<table", "<!", "<?", "<del", "<ins"} {
			if strings.Contains(got, tag) {
				t.Errorf("example %d: %q passes %s", x.Example, x.Markdown, tag)
			}
		}
	}
	if withHTML != 72 || withPicture != 22 {
		t.Errorf("%d examples with HTML and %d more with pictures", withHTML, withPicture)
	}
}

// holds reports whether a text holds HTML and whether it holds a picture.
func holds(t *testing.T, text string) (html, picture bool) {
	t.Helper()
	rec := record.Parse(source.NewFile("spec.md", []byte("\n"+text)), kinds, &finding.Set{})
	_ = ast.Walk(rec.Doc.Root, func(n ast.Node, _ bool) (ast.WalkStatus, error) {
		switch n.Kind() {
		case ast.KindHTMLBlock, ast.KindRawHTML:
			html = true
		case ast.KindImage:
			picture = true
		}
		return ast.WalkContinue, nil
	})
	return html, picture
}
