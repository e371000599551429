package page

import (
	"strings"
	"testing"
	"testing/fstest"

	"example.org/taut/engine/view"
)

const plainPage = `<!DOCTYPE html>
<html lang="{{.Lang}}"><head>{{.Head}}</head><body><h1>{{.Title}}</h1>
<ul>{{range .Facts}}<li>{{.Term}}: {{.Text}}</li>{{end}}</ul>{{.Front}}{{.Body}}{{.Back}}</body></html>
`

func folder(files map[string]string) fstest.MapFS {
	m := fstest.MapFS{}
	for name, text := range files {
		m[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return m
}

func TestOwnTheme(t *testing.T) {
	th, err := LoadTheme(folder(map[string]string{
		"page.html":  strings.Replace(plainPage, "{{.Back}}", `{{template "end.html" .}}`, 1),
		"end.html":   `<p>{{.Author}}</p>{{.Back}}`,
		"style.css":  "p{color:#123; background:url( 'data:image/png;base64,AA' )}\r\n",
		"README.txt": "left alone",
	}))
	if err != nil {
		t.Fatal(err)
	}
	out, err := Render(&view.Page{Title: "<i>", Author: "</p><script>x</script>"}, th)
	if err != nil {
		t.Fatal(err)
	}
	check(t, string(out))
	if strings.Contains(string(out), "\r") {
		t.Error("line ends differ by system")
	}
}

// TestPlainTheme: a style alone is a theme.
func TestPlainTheme(t *testing.T) {
	th, err := LoadTheme(folder(map[string]string{"style.css": ":root { --link: #123456; }\n"}))
	if err != nil {
		t.Fatal(err)
	}
	out, err := Render(&view.Page{Title: "A page"}, th)
	if err != nil {
		t.Fatal(err)
	}
	check(t, string(out))
}

// TestFontForMathematics: a page carries it where it has mathematics, and only
// there; its licence stands beside it.
func TestFontForMathematics(t *testing.T) {
	const most = 100 << 10
	for text, want := range map[string]bool{"No formula.": false, "A length `$L$`.": true} {
		out := render(t, &view.Page{Body: prose(t, text, nil, nil)})
		check(t, out)
		_, rest, has := strings.Cut(out, "url(data:font/woff2;base64,")
		if has != want {
			t.Errorf("%s: the font is there: %v", text, has)
		}
		if font, _, _ := strings.Cut(rest, ")"); len(font) > most {
			t.Errorf("the font takes %d bytes of the page", len(font))
		}
	}
	for _, name := range []string{"GUST-FONT-LICENSE.txt", "README.md"} {
		if b, err := common.ReadFile("common/" + name); err != nil || len(b) < 500 {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestBrokenTheme: the error names the file and what is wrong in it.
func TestBrokenTheme(t *testing.T) {
	edit := func(old, new string) map[string]string {
		page := strings.Replace(plainPage, old, new, 1)
		return map[string]string{"page.html": page, "style.css": ""}
	}
	style := func(css string) map[string]string {
		return map[string]string{"page.html": plainPage, "style.css": css}
	}
	for _, c := range []struct {
		name  string
		files map[string]string
		want  string
	}{
		{"empty", nil, "style.css: open style.css"},
		{"no style", map[string]string{"page.html": plainPage}, "style.css"},
		{"syntax", edit("{{.Title}}", "{{.Title"), "page.html:2: "},
		{"field", edit("{{.Title}}", "{{.Titel}}"), "can't evaluate field Titel"},
		{"no body", edit("{{.Body}}", ""), "{{.Body}} stands 0 times"},
		{"twice", edit("{{.Body}}", "{{.Body}}{{.Body}}"), "{{.Body}} stands 2 times"},
		{"no facts", edit("{{.Term}}", ""), "{{.Term}} stands 0 times"},
		{"no head", edit("{{.Head}}", ""), "{{.Head}} stands 0 times"},
		{"no doctype", edit("<!DOCTYPE html>", ""), "<!DOCTYPE html>"},
		{"script", edit("</h1>", "</h1><script>x()</script>"), "<script> may not stand"},
		{"handler", edit("<h1>", `<h1 onclick="x()">`), "attribute onclick of <h1>"},
		{"style attribute", edit("<h1>", `<h1 style="color:red">`), "attribute style of <h1>"},
		{"second policy", edit("</head>", `<meta charset="utf-8" /></head>`), "<meta> may not stand"},
		{"remote picture", edit("</h1>", `</h1><img src="https://example.org/a.png" alt="" />`), "would fetch"},
		{"not closed", edit("</h1>", "</h1><br>"), "write empty ones as <br />"},
		{"end of style", style("</style>"), "style.css: “</”"},
		{"import", style("@IMPORT 'a.css';"), "style.css: @import"},
		{"remote", style("p{background:URL( \"//example.org/a.png\")}"), "style.css: url(//example.org/a.png) would fetch"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := LoadTheme(folder(c.files))
			if err == nil {
				t.Fatal("no error")
			}
			if !strings.HasPrefix(err.Error(), "theme: ") || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %q lacks %q", err, c.want)
			}
		})
	}
}
