package preview

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	entity "html"
	"html/template"
	"io"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"sync"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/view"
)

var (
	//go:embed assets/live.js
	script string
	//go:embed assets/live.css
	style string
	//go:embed assets/plain.css
	plainStyle string
	//go:embed assets/panel.html
	panelText string
	//go:embed assets/plain.html
	plainText string

	panelPage = template.Must(template.New("panel").Parse(panelText))
	plainPage = template.Must(template.New("plain").Parse(plainText))
)

// shown is a page as it is served.
type shown struct {
	version string
	head    string // the sum of all before its body: where that changes the page is loaded anew
	title   string
	policy  string
	page    []byte // without its version
	slot    int    // where the version belongs in it
	body    []byte // what stands in the body element, as a browser reads it
	nodes   []node
	apart   bool // body could be taken apart into nodes
}

// write writes the page with its version.
func (p *shown) write(w io.Writer) error {
	for _, piece := range [][]byte{p.page[:p.slot], []byte(p.version), p.page[p.slot:]} {
		if _, err := w.Write(piece); err != nil {
			return err
		}
	}
	return nil
}

// panel is what stands over the page.
type panel struct {
	State    string // "current", "faulty" or "gone"
	Head     string
	File     string
	Summary  string
	Why      string // why the record cannot be shown
	Old      string // what is not current
	Findings []entry
	Open     bool   // the findings are unfolded
	Fold     string // where it changes, Open counts again
	Views    []link
	All      string // address of the list of records
}

// entry is one finding.
type entry struct{ Severity, Slug, Message, Hint, Place string }

type link struct {
	Name, URL string
	Here      bool
}

// compose makes the page of a sheet from its last good build, and says over it
// why it is not current, if so.
func (s *Server) compose(sh *sheet, why error) *shown {
	p := &panel{State: "current", File: path.Base(sh.inside) + filepath.Ext(sh.record), Summary: "no findings", Views: s.views(sh)}
	if s.record == "" {
		p.All = "/"
	}
	if why != nil {
		return s.gone(sh, p, why)
	}
	g := sh.good
	p.Findings, p.Summary = entries(g.findings), counted(g.findings)
	html := g.html
	if n := count(g.findings, finding.Error); n > 0 {
		p.State, p.Open, p.Fold = "faulty", true, "errors"
	}
	html, old := withLast(html, s.lasting[sh.record], faults(g.findings, sh.record))
	if old > 0 {
		p.Old = strings.ToUpper(since(g.findings, sh.record)[:1]) + since(g.findings, sh.record)[1:]
	}
	return s.over(html, g.title, p)
}

// gone is the page of a record that cannot be shown: the last one there was,
// marked as such, or one that says so.
func (s *Server) gone(sh *sheet, p *panel, why error) *shown {
	p.State, p.Why, p.Summary = "gone", sentence(why), "not current"
	if sh.good == nil {
		return s.over(plain(&plainData{Title: p.File, Say: "There is no page to show yet. It will stand here as soon as the record can be read."}), p.File, p)
	}
	p.Old = "The page under this notice is the last one that could be made. It is not current, nor are its numbers, which are hatched."
	return s.over(sh.good.html, sh.good.title, p)
}

func sentence(err error) string {
	text := strings.TrimRight(strings.ReplaceAll(err.Error(), "\n", " "), ".")
	return "This record can’t be shown now: " + text + "."
}

// over lays the panel over a page. A page that cannot be taken apart is a
// fault of a theme, and is replaced by one that says so.
func (s *Server) over(html []byte, title string, p *panel) *shown {
	out, err := lay(html, p)
	if err != nil {
		p.State, p.Why = "gone", sentence(err)
		out, _ = lay(plain(&plainData{Title: p.File, Say: "The theme makes a page that can’t be shown here."}), p)
	}
	out.title = title
	return out
}

var errShape = errors.New("the page lacks a head or a body")

// lay puts script, style and panel into a page and loosens its policy for
// them, by their hashes.
func lay(html []byte, p *panel) (*shown, error) {
	const meta = `<meta http-equiv="Content-Security-Policy" content="`
	at := bytes.Index(html, []byte(meta))
	endOfHead := bytes.Index(html, []byte("</head>"))
	if at < 0 || endOfHead < at {
		return nil, errShape
	}
	from := at + len(meta)
	to := from + bytes.IndexByte(html[from:], '"')
	inBody := endOfBodyTag(html, endOfHead)
	if inBody < 0 {
		return nil, errShape
	}
	policy := loosened(entity.UnescapeString(string(html[from:to])))
	var b bytes.Buffer
	b.Grow(len(html) + len(script) + len(style) + 4<<10)
	b.Write(html[:from])
	b.WriteString(policy)
	b.Write(html[to:endOfHead])
	fmt.Fprintf(&b, "<style>%s</style>\n<script>%s</script>\n", style, script)
	b.Write(html[endOfHead:inBody])
	p.Head = sumOfHead(b.Bytes())
	from = b.Len()
	b.WriteByte('\n')
	if err := panelPage.Execute(&b, p); err != nil {
		return nil, err
	}
	const version = `data-version="`
	slot := from + bytes.Index(b.Bytes()[from:], []byte(version)) + len(version)
	b.Write(html[inBody:])
	out := &shown{head: p.Head, policy: policy, page: b.Bytes(), slot: slot, body: asRead(b.Bytes()[from:])}
	out.nodes, out.apart = nodesOf(out.body)
	return out, nil
}

// asRead is what stands behind the tag of the body, as a browser reads it: new
// lines behind the body's end belong to the body, and each line ends alike.
func asRead(rest []byte) []byte {
	out := make([]byte, 0, len(rest))
	for i, end := range []string{"</body>", "</html>"} {
		n := bytes.LastIndex(rest, []byte(end))
		if n < 0 || i == 1 && len(bytes.TrimSpace(rest[:n])) > 0 {
			continue
		}
		out = append(out, rest[:n]...)
		rest = rest[n+len(end):]
	}
	return onlyNewlines(append(out, rest...))
}

// endOfBodyTag is where the content of the body begins; -1 where there is
// none.
func endOfBodyTag(html []byte, from int) int {
	at := bytes.Index(html[from:], []byte("<body"))
	if at < 0 {
		return -1
	}
	return endOfTag(html, from+at)
}

// loosened is a page's policy that allows the preview's script and style too,
// and the event stream.
func loosened(policy string) string {
	policy = strings.Replace(policy, "style-src ", "style-src '"+styleHash()+"' ", 1)
	return policy + "; script-src '" + scriptHash() + "'; connect-src 'self'"
}

var (
	styleHash  = sync.OnceValue(func() string { return hashOf(style) })
	scriptHash = sync.OnceValue(func() string { return hashOf(script) })
)

// hashOf is a source of a policy: the hash of an element's text.
func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

// sumOfHead tells heads, and the tags of the bodies, apart, but for the title.
func sumOfHead(head []byte) string {
	h := sha256.New()
	if i, j := bytes.Index(head, []byte("<title>")), bytes.Index(head, []byte("</title>")); i >= 0 && j > i {
		h.Write(head[:i])
		head = head[j:]
	}
	h.Write(head)
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// serve makes a page the one that is served, under a version of its own; one
// that is the same as the present one changes nothing.
func (s *Server) serve(sh *sheet, next *shown) {
	if sh.now != nil && next.title == sh.now.title && bytes.Equal(next.page, sh.now.page) {
		return
	}
	s.versions++
	next.version = s.stamp + "-" + strconv.Itoa(s.versions)
	sh.now = next
	sh.tell()
}

func count(list []*finding.Finding, sev finding.Severity) (n int) {
	for _, f := range list {
		if f.Severity == sev {
			n++
		}
	}
	return n
}

// counted says how many findings there are of each severity.
func counted(list []*finding.Finding) string {
	var parts []string
	for _, sev := range []finding.Severity{finding.Error, finding.Caution, finding.Note} {
		switch n := count(list, sev); n {
		case 0:
		case 1:
			parts = append(parts, "1 "+sev.String())
		default:
			parts = append(parts, fmt.Sprintf("%d %ss", n, sev))
		}
	}
	if len(parts) == 0 {
		return "no findings"
	}
	return strings.Join(parts, ", ")
}

// entries lists findings, the gravest first.
func entries(list []*finding.Finding) []entry {
	var out []entry
	for _, sev := range []finding.Severity{finding.Error, finding.Caution, finding.Note} {
		for _, f := range list {
			if f.Severity == sev {
				out = append(out, entry{sev.String(), f.Slug, f.Message, f.Hint, placeOf(f)})
			}
		}
	}
	return out
}

func placeOf(f *finding.Finding) string {
	if f.At.IsZero() {
		return ""
	}
	line, col := f.At.Position()
	return fmt.Sprintf("%s:%d:%d", path.Base(f.At.File.Name), line, col)
}

// views are the links to the views of a record.
func (s *Server) views(sh *sheet) []link {
	var out []link
	for _, name := range view.Names() {
		v, _ := view.Named(name)
		out = append(out, link{name, address(sh.inside, v), v == sh.view})
	}
	return out
}

// plainData is what a page that is no record's is made of.
type plainData struct {
	Title, Say string
	StyleSum   template.HTML
	Style      template.CSS
	Records    []listed
}

// plain makes a page that is no record's.
func plain(d *plainData) []byte {
	d.Style, d.StyleSum = template.CSS(plainStyle), template.HTML(strings.TrimPrefix(hashOf(plainStyle), "sha256-"))
	var b bytes.Buffer
	if err := plainPage.Execute(&b, d); err != nil {
		panic(err) // the template is ours
	}
	return b.Bytes()
}
