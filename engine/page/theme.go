package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/xml"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"

	"example.org/taut/engine/draw"
	"example.org/taut/engine/tex"
)

// common is what themes share: the page, and the arrangement of what stands in
// it.
//
//go:embed common
var common embed.FS

// Theme is how pages look: a folder with
//
//	style.css   the style, over the one that all themes share: mostly the
//	            custom properties that common/style.css names
//	print.css   the style on paper (optional)
//	page.html   the page (optional) as a template of html/template; it places
//	            {{.Head}} within <head>, and {{.Front}}, {{.Body}} and
//	            {{.Back}} in <body>; {{range .Facts}} has {{.Term}} and
//	            {{.Text}}; Title, Author, Date, Day (the Date if it is one),
//	            Lang and Version are text
//
// Further *.html files of the folder may be used by page.html as templates.
// A Theme does not change once it is loaded and may be used by several
// goroutines.
type Theme struct {
	page *template.Template
	// plain is for pages without mathematics; mathematical carries the font
	// for it.
	plain, mathematical sheet
}

// sheet is a style with the policy that lets it and nothing else be applied.
type sheet struct{ style, policy string }

func newSheet(style string) sheet {
	hash := sha256.Sum256([]byte(style))
	return sheet{style, "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(hash[:]) +
		"'; img-src data:; font-src data:; base-uri 'none'; form-action 'none'"}
}

// fontFace makes the font known that common/README.md tells of.
func fontFace() (string, error) {
	font, err := common.ReadFile("common/mathematics.woff2")
	return `@font-face{font-family:"Taut Mathematics";src:url(data:font/woff2;base64,` + base64.StdEncoding.EncodeToString(font) +
		`) format("woff2")}` + "\n", err
}

// LoadTheme reads a theme's folder. The error says which file is wrong and
// why: a template that does not parse, leaves out a part of the page or holds
// scripts; a style that would fetch something.
func LoadTheme(fsys fs.FS) (*Theme, error) {
	style, err := readStyle(fsys)
	if err != nil {
		return nil, err
	}
	pages, where := fsys, "*.html"
	if _, err := fs.Stat(fsys, "page.html"); errors.Is(err, fs.ErrNotExist) {
		pages, where = common, "common/page.html"
	}
	page, err := template.New("page.html").ParseFS(pages, where)
	if err != nil {
		return nil, fmt.Errorf("theme: %w", err)
	}
	font, err := fontFace()
	if err != nil {
		return nil, err
	}
	t := &Theme{page: page, plain: newSheet("\n" + style), mathematical: newSheet("\n" + font + style)}
	return t, t.try()
}

// readStyle joins the styles of figures and mathematics, what themes share and
// the theme; then the same on paper.
func readStyle(fsys fs.FS) (string, error) {
	style, err := readCSS(fsys, "style.css")
	if err != nil {
		return "", err
	}
	print, err := readCSS(fsys, "print.css")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return "", err
	}
	var shared [2]string
	for i, name := range []string{"common/style.css", "common/print.css"} {
		if shared[i], err = readCSS(common, name); err != nil {
			return "", err
		}
	}
	return draw.CSS() + tex.CSS + "\n" + shared[0] + style + "@media print {\n" + shared[1] + print + "}\n", nil
}

func readCSS(fsys fs.FS, name string) (string, error) {
	css, err := fs.ReadFile(fsys, name)
	if err != nil {
		return "", fmt.Errorf("theme: %s: %w", name, err)
	}
	text := strings.ReplaceAll(string(clean(css)), "\r\n", "\n")
	if err := checkStyle(text); err != nil {
		return "", fmt.Errorf("theme: %s: %w", name, err)
	}
	return text, nil
}

// checkStyle looks for what has no place in a page that needs nothing else.
// A browser would refuse it anyway, by the policy; the author of a theme
// should hear of it here.
func checkStyle(css string) error {
	low := strings.ToLower(css)
	if strings.Contains(low, "</") {
		return errors.New("“</” may not stand in a style: it could end the style element")
	}
	if strings.Contains(low, "@import") {
		return errors.New("@import would fetch another file; put its rules here")
	}
	for rest := low; ; {
		i := strings.Index(rest, "url(")
		if i < 0 {
			return nil
		}
		rest = rest[i+len("url("):]
		if what := strings.TrimLeft(rest, " \t\n\"'"); !strings.HasPrefix(what, "data:") && !strings.HasPrefix(what, "#") {
			what, _, _ = strings.Cut(what, ")")
			return fmt.Errorf("url(%s) would fetch something; only data: addresses can be used", short(strings.TrimRight(what, " \"'"), 60))
		}
	}
}

// try writes a page of marks with the theme and looks whether all parts are
// there, each once, and nothing that does not belong in a page.
func (t *Theme) try() error {
	mark := func(s string) template.HTML { return template.HTML(`<i id="trial-` + s + `"></i>`) }
	d := &shell{Lang: "en", Title: "title", Author: "author", Date: "2000-01-01", Day: "2000-01-01", Version: "0",
		Head:  `<title id="trial-head">t</title>`,
		Facts: []fact{{Term: mark("term"), Text: mark("text")}},
		Front: mark("front"), Body: mark("body"), Back: mark("back")}
	out, err := t.execute(d)
	if err != nil {
		return err
	}
	if !bytes.HasPrefix(bytes.ToLower(out), []byte("<!doctype html>")) {
		return errors.New("theme: page.html: a page begins with <!DOCTYPE html>")
	}
	if err := checkShell(out); err != nil {
		return fmt.Errorf("theme: page.html: %w", err)
	}
	for _, part := range []string{"Head", "Term", "Text", "Front", "Body", "Back"} {
		if n := bytes.Count(out, []byte(`"trial-`+strings.ToLower(part)+`"`)); n != 1 {
			return fmt.Errorf("theme: page.html: {{.%s}} stands %d times in the page, not once", part, n)
		}
	}
	return nil
}

// unfit are the elements that a page may not have from a theme: they run,
// fetch or send, or undo the policy.
var unfit = map[string]bool{
	"script": true, "style": true, "link": true, "base": true, "iframe": true, "frame": true, "object": true,
	"embed": true, "applet": true, "form": true, "meta": true, "portal": true, "video": true, "audio": true,
}

// checkShell reads a page as strictly as XML is read.
func checkShell(page []byte) error {
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Entity = xml.HTMLEntity
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("%w (close every element, and write empty ones as <br />)", err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		if unfit[strings.ToLower(e.Name.Local)] {
			return fmt.Errorf("<%s> may not stand in a theme", e.Name.Local)
		}
		for _, a := range e.Attr {
			name := strings.ToLower(a.Name.Local)
			switch {
			case strings.HasPrefix(name, "on"), name == "style", name == "srcset":
				return fmt.Errorf("attribute %s of <%s> may not stand in a theme", name, e.Name.Local)
			case name == "src" && !strings.HasPrefix(a.Value, "data:"):
				return fmt.Errorf("<%s src=%q> would fetch something; only data: addresses can be used", e.Name.Local, a.Value)
			}
		}
	}
}
