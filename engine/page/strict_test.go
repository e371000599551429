package page

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"io"
	"strings"
	"testing"
)

// element is a piece of a parsed page.
type element struct {
	name string
	attr map[string]string
	kids []*element
	text string // of a piece of text, which has no name
}

// parse reads a page as strictly as XML is read: every element closed, every
// attribute quoted, every ampersand escaped.
func parse(t testing.TB, page string) *element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	root := &element{}
	stack := []*element{root}
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return root
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		top := stack[len(stack)-1]
		switch tok := tok.(type) {
		case xml.StartElement:
			e := &element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				if _, twice := e.attr[a.Name.Local]; twice {
					t.Errorf("<%s> has %s twice", e.name, a.Name.Local)
				}
				e.attr[a.Name.Local] = a.Value
			}
			top.kids = append(top.kids, e)
			stack = append(stack, e)
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.CharData:
			top.kids = append(top.kids, &element{text: string(tok)})
		case xml.Comment:
			t.Errorf("a comment in the page: %s", tok)
		}
	}
}

func (e *element) each(visit func(e, parent *element)) {
	for _, k := range e.kids {
		visit(k, e)
		k.each(visit)
	}
}

func (e *element) content() string {
	if e.name == "" && e.text != "" {
		return e.text
	}
	var b strings.Builder
	for _, k := range e.kids {
		b.WriteString(k.content())
	}
	return b.String()
}

func (e *element) find(name, class string) []*element {
	var out []*element
	e.each(func(k, _ *element) {
		if k.name == name && (class == "" || strings.Contains(" "+k.attr["class"]+" ", " "+class+" ")) {
			out = append(out, k)
		}
	})
	return out
}

func (e *element) first(t testing.TB, name, class string) *element {
	t.Helper()
	all := e.find(name, class)
	if len(all) == 0 {
		t.Fatalf("no <%s class=%q>", name, class)
	}
	return all[0]
}

// check holds a page to what every page promises.
func check(t testing.TB, page string) *element {
	t.Helper()
	if !strings.HasPrefix(page, "<!DOCTYPE html>\n") {
		t.Errorf("no document type")
	}
	root := parse(t, page)
	ids, links := map[string]bool{}, []string{}
	banned := " script iframe frame object embed applet link base form input button video audio source foreignObject "
	root.each(func(e, parent *element) {
		if strings.Contains(banned, " "+e.name+" ") {
			t.Errorf("the page has a <%s>", e.name)
		}
		if e.name == "a" && within(root, e, "a") {
			t.Errorf("a link within a link")
		}
		for k, v := range e.attr {
			switch {
			case k == "style", strings.HasPrefix(strings.ToLower(k), "on"), k == "srcset", k == "background":
				t.Errorf("<%s %s=%q>", e.name, k, v)
			case k == "src" && !strings.HasPrefix(v, "data:image/"):
				t.Errorf("<%s src=%q> loads something", e.name, v)
			case k == "id":
				if ids[v] || v == "" || strings.ContainsAny(v, " \t\n") {
					t.Errorf("id %q is there twice or no id", v)
				}
				ids[v] = true
			case k == "href" && strings.HasPrefix(v, "#"):
				links = append(links, v[1:])
			case k == "href":
				if low := strings.ToLower(v); strings.HasPrefix(low, "javascript:") || strings.HasPrefix(low, "vbscript:") || strings.HasPrefix(low, "data:") {
					t.Errorf("dangerous link %q", v)
				}
			}
		}
	})
	for _, l := range links {
		if !ids[l] {
			t.Errorf("link to #%s, which is nowhere", l)
		}
	}
	checkPolicy(t, page, root)
	return root
}

func within(root, e *element, name string) bool {
	found := false
	root.each(func(k, _ *element) {
		if k == e || k.name != name {
			return
		}
		k.each(func(x, _ *element) { found = found || x == e })
	})
	return found
}

func checkPolicy(t testing.TB, page string, root *element) {
	t.Helper()
	styles := root.find("style", "")
	if len(styles) != 1 || strings.Count(page, "<style") != 1 {
		t.Fatalf("%d style elements, want 1", len(styles))
	}
	_, rest, _ := strings.Cut(page, "<style>")
	style, _, _ := strings.Cut(rest, "</style>")
	sum := sha256.Sum256([]byte(style))
	want := "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'"
	for _, m := range root.find("meta", "") {
		if m.attr["http-equiv"] == "Content-Security-Policy" {
			if m.attr["content"] != want {
				t.Errorf("policy is\n%s\nwant\n%s", m.attr["content"], want)
			}
			return
		}
	}
	t.Error("no policy")
}
