package page

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/yuin/goldmark/ast"
	east "github.com/yuin/goldmark/extension/ast"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// TestGolden compares the page with every kind of node, without its style.
func TestGolden(t *testing.T) {
	got := render(t, sample(t))
	check(t, got)
	before, rest, _ := strings.Cut(got, "<style>")
	_, after, _ := strings.Cut(rest, "</style>")
	// The policy names the hash of the style, which is not compared.
	i := strings.Index(before, "sha256-")
	j := i + strings.Index(before[i:], "'")
	got = before[:i] + "sha256-…" + before[j:] + "<style>…</style>" + after
	const path = "testdata/sample.html"
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("page differs from %s; see the difference with -update and version control", path)
	}
}

func TestSameBytes(t *testing.T) {
	th := theme(t)
	var first []byte
	for range 5 {
		got, err := Render(sample(t), th)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
		}
		if !bytes.Equal(first, got) {
			t.Fatal("two runs differ")
		}
	}
}

func TestHead(t *testing.T) {
	root := check(t, render(t, sample(t)))
	html := root.first(t, "html", "")
	if html.attr["lang"] != "en" {
		t.Errorf("lang %q", html.attr["lang"])
	}
	if got := root.first(t, "title", "").content(); got != "Young’s modulus of a steel wire" {
		t.Errorf("title %q", got)
	}
	metas := map[string]string{}
	for _, m := range root.find("meta", "") {
		metas[m.attr["name"]] = m.attr["content"]
	}
	for name, want := range map[string]string{"generator": "Taut 1.0", "color-scheme": "light dark", "viewport": "width=device-width, initial-scale=1"} {
		if metas[name] != want {
			t.Errorf("meta %s is %q, want %q", name, metas[name], want)
		}
	}
	for _, landmark := range []string{"header", "main", "footer"} {
		if n := len(root.find(landmark, "")); n != 1 {
			t.Errorf("%d <%s>, want 1", n, landmark)
		}
	}
	if got := root.first(t, "time", "").attr["datetime"]; got != "2026-03-04" {
		t.Errorf("date %q", got)
	}
}

// TestSafetyFirst: whatever the order of the view, the safety caution comes
// before everything else of the page but its head.
func TestSafetyFirst(t *testing.T) {
	root := check(t, render(t, sample(t)))
	for _, k := range root.first(t, "div", "front").kids {
		if k.name != "" {
			if k.attr["class"] != "safety" {
				t.Errorf("the page begins with <%s class=%q>", k.name, k.attr["class"])
			}
			return
		}
	}
}

func TestNothing(t *testing.T) {
	root := check(t, render(t, &view.Page{}))
	if got := root.first(t, "title", "").content(); got == "" {
		t.Error("a page must have a title")
	}
}

// TestProse compares prose with what CommonMark 0.31.2 gives, but for raw HTML
// and pictures, and what tables and footnotes give.
func TestProse(t *testing.T) {
	for _, c := range []struct{ name, md, want string }{
		{"paragraph", "a *b* **c** `d`", "<p>a <em>b</em> <strong>c</strong> <code>d</code></p>\n"},
		{"entities", "a < b & \"c\" &copy;", "<p>a &lt; b &amp; &quot;c&quot; ©</p>\n"},
		{"heading", "# One", "<h1>One</h1>\n"},
		{"heading attributes are text", "# One {#x style=y}", "<h1>One {#x style=y}</h1>\n"},
		{"linked heading", "# Two words\n\n[to](#two-words)", "<h1 id=\"two-words\">Two words</h1>\n<p><a href=\"#two-words\">to</a></p>\n"},
		{"twin headings", "# A\n\n# A\n\n[a](#a)", "<h1 id=\"a\">A</h1>\n<h1>A</h1>\n<p><a href=\"#a\">a</a></p>\n"},
		{"html block", "<script>alert(1)</script>", "<pre class=\"raw\"><code>&lt;script&gt;alert(1)&lt;/script&gt;</code></pre>\n"},
		{"html block to the end", "<div onclick=\"x()\">\n*a*\n\nb", "<pre class=\"raw\"><code>&lt;div onclick=&quot;x()&quot;&gt;\n*a*</code></pre>\n<p>b</p>\n"},
		{"inline html", "a <b onclick='x'>b</b>", "<p>a &lt;b onclick=&#39;x&#39;&gt;b&lt;/b&gt;</p>\n"},
		{"comment", "<!-- for the\nteacher -->\n\na <!-- b --> c", "<p>a  c</p>\n"},
		{"comment and more", "<!-- a --> <b> -->", "<pre class=\"raw\"><code>&lt;!-- a --&gt; &lt;b&gt; --&gt;</code></pre>\n"},
		{"link", "[a](b.html \"c\")", "<p><a href=\"b.html\" title=\"c\">a</a></p>\n"},
		{"script link", "[a](javascript:x) <vbscript:y>", "<p><a href=\"\">a</a> <a href=\"\">vbscript:y</a></p>\n"},
		{"data link", "[a](data:text/html,x)", "<p><a href=\"\">a</a></p>\n"},
		{"remote picture", "![the *frame*](https://example.org/f.png)", "<p><span class=\"picture\">the frame <span class=\"address\">(https://example.org/f.png)</span></span></p>\n"},
		{"picture in a link", "[![f](f.png)](g.html)", "<p><a href=\"g.html\"><span class=\"picture\">f <span class=\"address\">(f.png)</span></span></a></p>\n"},
		{"carried picture", "![f](held.png)", "<figure class=\"photo\"><img src=\"data:image/png;base64,AAAA\" alt=\"f\" /></figure>\n"},
		{"picture with a caption", "![f](held.png \"The frame\")", "<figure class=\"photo\"><img src=\"data:image/png;base64,AAAA\" alt=\"f\" /><figcaption>The frame</figcaption>\n</figure>\n"},
		{"picture among words", "see ![f](held.png \"The frame\")", "<p>see <img src=\"data:image/png;base64,AAAA\" alt=\"f\" title=\"The frame\" /></p>\n"},
		{"not a picture", "![f](held.html)", "<p><span class=\"picture\">f <span class=\"address\">(held.html)</span></span></p>\n"},
		{"code", "```python\na < b\n```", "<pre><code class=\"language-python\">a &lt; b\n</code></pre>\n"},
		{"break", "a  \nb\n\n---", "<p>a<br />\nb</p>\n<hr />\n"},
		{"table", "| a | b |\n|:--|--:|\n| 1 | 2 |", "<section class=\"scroll\" tabindex=\"0\" aria-label=\"table\">\n<table>\n<thead>\n<tr>\n<th scope=\"col\" class=\"left\">a</th>\n<th scope=\"col\" class=\"right\">b</th>\n</tr>\n</thead>\n<tbody>\n<tr>\n<td class=\"left\">1</td>\n<td class=\"right\">2</td>\n</tr>\n</tbody>\n</table>\n</section>\n"},
		{"unknown inline", "`=nothing`", "<p><code class=\"unread\">=nothing</code></p>\n"},
		{"unknown block", "```block what\n```", "<pre class=\"source\"><code>block what</code></pre>\n"},
		{"number in a link", "[`=E`](x.html)", "<p><a href=\"x.html\"><data class=\"q computed\" value=\"2\">2</data></a></p>\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := &view.Page{
				Body: prose(t, c.md, nil, map[string]view.Text{"E": {view.Number{Value: 2, Link: "E", Standing: view.Computed, Display: quantity.Display{Number: "2"}}}}),
				Back: []view.Node{&view.Facts{ID: "E"}},
				Images: map[string]string{
					"held.png":  "data:image/png;base64,AAAA",
					"held.html": "data:text/html,<script>x</script>",
				},
			}
			out := render(t, p)
			parse(t, out)
			_, body, _ := strings.Cut(out, "<main>\n")
			body, _, _ = strings.Cut(body, `<div class="back">`)
			if body != c.want {
				t.Errorf("got\n%s\nwant\n%s", body, c.want)
			}
		})
	}
}

func TestShift(t *testing.T) {
	p := prose(t, "# a\n\n##### e\n\n###### f", nil, nil)
	p.Shift = 2
	out := render(t, &view.Page{Body: p})
	if want := "<h3>a</h3>\n<h6>e</h6>\n<h6>f</h6>\n"; !strings.Contains(out, want) {
		t.Errorf("no %q in the page", want)
	}
}

// TestFootnotes: notes of two documents on one page keep apart.
func TestFootnotes(t *testing.T) {
	const md = "a[^1] b[^1]\n\n[^1]: note\n"
	p := &view.Page{
		Front: []view.Node{prose(t, md, nil, nil)},
		Body:  prose(t, md, nil, nil),
		Back:  []view.Node{prose(t, md, nil, nil)},
	}
	root := check(t, render(t, p))
	if n := len(root.find("li", "")); n != 3 {
		t.Errorf("%d notes, want 3", n)
	}
}

// TestUnknown: a view that cannot be shown in full is an error.
func TestUnknown(t *testing.T) {
	d := prose(t, "a", nil, nil)
	d.Doc.Root.AppendChild(d.Doc.Root, east.NewDefinitionList(0, nil))
	if _, err := Render(&view.Page{Body: d}, theme(t)); err == nil || !strings.Contains(err.Error(), "DefinitionList") {
		t.Errorf("error %v", err)
	}
	nodes := &view.Page{Front: []view.Node{nil}}
	if _, err := Render(nodes, theme(t)); err == nil {
		t.Error("no error for a nil node")
	}
}

// TestEmptyDocument: a document without a tree is nothing to show.
func TestEmptyDocument(t *testing.T) {
	check(t, render(t, &view.Page{Body: &view.Prose{}, Front: []view.Node{&view.Warning{}, &view.Prose{Doc: &record.Document{}}}}))
}

// TestTwice: what stands twice on a page has its ID once.
func TestTwice(t *testing.T) {
	g := pull()
	twin := *g
	root := check(t, render(t, &view.Page{Front: []view.Node{g, g, &twin, lineGroup(), lineGroup()}}))
	if n := len(root.find("section", "block")); n != 5 {
		t.Errorf("%d blocks, want 5", n)
	}
}

func TestMathOfTheAuthor(t *testing.T) {
	file := source.NewFile("a.md", []byte(`\frac{1}{2}<script>`))
	doc := ast.NewDocument()
	para := ast.NewParagraph()
	doc.AppendChild(doc, para)
	para.AppendChild(para, &record.MathNode{Display: true, Span: file.Span(0, len(file.Text))})
	root := check(t, render(t, &view.Page{Body: &view.Prose{Doc: &record.Document{File: file, Root: doc}}}))
	if n := len(root.find("mfrac", "")); n != 1 {
		t.Errorf("%d fractions, want 1", n)
	}
}
