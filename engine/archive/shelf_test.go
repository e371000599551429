package archive

import (
	"bytes"
	"encoding/xml"
	"io"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/themes"
)

// shelfRecords are invented records of two apparatus and of none: four of a
// wire that is exchanged, one that amends another, one with a title for every
// escape.
func shelfRecords(t testing.TB) (dir string) {
	dir = t.TempDir()
	frame := func(zero, specimens string) string {
		return "apparatus: wire frame\nidentity: WF 7\nplace: Ashmere Hall (invented)\ninstruments:\n  screw: {what: screw, resolution: 0.01 mm, zero: " + zero +
			" mm, serial: S-1, calibrated: 2025-01-01, due: 2026-01-01, certificate: C-1}\n  tape: {resolution: 1 mm}\nspecimens:\n" + specimens
	}
	first := "  - {name: W-1, material: steel, fitted: 2025-03-01, certified: {E: 205 GPa ± 3 GPa k=2}"
	record := func(title, date, e, frame string) string {
		return "---\ntitle: " + title + "\ndate: " + date + "\napparatus: " + frame + "\n---\n\n```data pull\nload / kg\n1\n3\n```\n```calc\ndead_load = 2 kg\nE = " + e + "\n```\n"
	}
	writeFiles(t, dir, map[string]string{
		"taut.root": "",
		"f1.yaml":   frame("+0.02", first+"}\n"),
		"f2.yaml":   frame("+0.03", first+", removed: 2025-05-01, reason: it snapped}\n  - {name: W-2, material: steel, fitted: 2025-05-01}\n"),
		"th.yaml":   "apparatus: torsion head\nidentity: TH 2\ninstruments:\n  clock: {resolution: 0.01 s, due: 2025-12-01}\n",
		"a.md":      record("Ärger & <Dehnung>", "2025-03-10", "204 GPa ± 4 GPa k=2", "f1.yaml"),
		"b.md":      record("A wire", "2025-04-10", "207 GPa ± 4 GPa k=2", "f1.yaml"),
		"c.md":      record("A wire", "2025-05-10", "198 GPa ± 4 GPa k=2", "f2.yaml"),
		"th.md":     record("\"2nd wire\"", "2025-06-10", "1 GPa", "th.yaml"),
		"none.md":   "---\ntitle: Nothing stands on it\ndate: 2025-06-11\n---\n\n```calc\nx = 1 m\n```\n",
	})
	return dir
}

func shelfArchive(t testing.TB) string {
	t.Helper()
	dir := shelfRecords(t)
	at := filepath.Join(dir, "archive")
	sealTo(t, at, sealing(), filepath.Join(dir, "a.md"), filepath.Join(dir, "b.md"), filepath.Join(dir, "c.md"), filepath.Join(dir, "th.md"), filepath.Join(dir, "none.md"))
	text, err := os.ReadFile(filepath.Join(dir, "b.md"))
	if err != nil {
		t.Fatal(err)
	}
	writeFiles(t, dir, map[string]string{"b.md": strings.Replace(string(text), "207", "206", 1)})
	sealTo(t, at, sealing(), filepath.Join(dir, "b.md")) // it amends the first b
	return at
}

func shelve(t testing.TB, at string) *Shelf {
	t.Helper()
	a, err := Open(at)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	theme, err := themes.Load("")
	if err != nil {
		t.Fatal(err)
	}
	s, err := a.Shelve(ShelfOptions{Theme: theme, Version: "0", Today: "2025-12-20", Records: "../archive"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *Shelf) page(t testing.TB, name string) string {
	t.Helper()
	for _, p := range s.Pages {
		if p.Path == name {
			return string(p.HTML)
		}
	}
	t.Fatalf("there is no page %s", name)
	return ""
}

func demands(t *testing.T, page string, wants ...string) {
	t.Helper()
	page = strings.ReplaceAll(page, "\u00a0", " ")
	for _, want := range wants {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}

// TestShelf: what the pages say of a small archive.
func TestShelf(t *testing.T) {
	at := shelfArchive(t)
	s := shelve(t, at)
	if len(s.Findings) > 0 || len(s.Linked) != 6 || len(s.Pages) != 4+3 {
		t.Errorf("%v, %d linked, %d pages", s.Findings, len(s.Linked), len(s.Pages))
	}
	demands(t, s.page(t, "index.html"), "2025-12-20", "wire frame WF 7", "1 due soon", "1 OVERDUE", "Records without an apparatus", ">4<", "W-2")
	wire := s.page(t, "apparatus/wf-7.html")
	demands(t, wire, "DUE SOON: in 12 days", "W-1", "it snapped", "still fitted", "certified value", "Ärger &amp; &lt;Dehnung&gt;", "AMENDED by ", "amends ",
		"On 2025-05-01 W-2 was fitted in the place of W-1: it snapped", "3.000 kg", "E = (205.0 ± 2.9) GPa", "PROVISIONAL: they rest on 2 values", "ISO 7870-2")
	if strings.Contains(wire, "207.0") {
		t.Error("an amended value counts")
	}
	demands(t, s.page(t, "apparatus/th-2.html"), "OVERDUE by 19 days", "calibration-overdue")
	demands(t, s.page(t, "methods.html"), "Without a method")
	demands(t, s.page(t, "materials.html"), ">steel<", "Material not given")
	titles := s.page(t, "titles.html")
	demands(t, titles, ">0–9<", ">A<", ">N<")
	if i, j := strings.Index(titles, "A wire"), strings.Index(titles, "Ärger"); i < 0 || j < i {
		t.Error("Ärger stands before A wire")
	}
	for i, p := range shelve(t, at).Pages {
		if !bytes.Equal(p.HTML, s.Pages[i].HTML) || p.Path != s.Pages[i].Path {
			t.Errorf("%s: the second time it differs", p.Path)
		}
	}
}

// TestShelfLinks: every link leads to a place on a page of the shelf, or to a
// file of the archive; no page has a script or asks for anything.
func TestShelfLinks(t *testing.T) {
	at := shelfArchive(t)
	s := shelve(t, at)
	ids := map[string]map[string]bool{}
	links := map[string][]string{}
	for _, p := range s.Pages {
		ids[p.Path] = map[string]bool{}
		d := xml.NewDecoder(bytes.NewReader(p.HTML))
		d.Entity = xml.HTMLEntity
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", p.Path, err)
			}
			e, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			if e.Name.Local == "script" || e.Name.Local == "link" || e.Name.Local == "img" {
				t.Errorf("%s has a <%s>", p.Path, e.Name.Local)
			}
			for _, a := range e.Attr {
				switch {
				case a.Name.Local == "id":
					ids[p.Path][a.Value] = true
				case a.Name.Local == "href":
					links[p.Path] = append(links[p.Path], a.Value)
				}
			}
		}
	}
	n := 0
	for from, all := range links {
		for _, l := range all {
			u, err := url.Parse(l)
			if err != nil || u.IsAbs() {
				t.Fatalf("%s: %q %v", from, l, err)
			}
			to := from
			if u.Path != "" {
				to = path.Join("shelf", path.Dir(from), u.Path)
				if rest, in := strings.CutPrefix(to, "shelf/"); in {
					to = rest
				} else if _, err := os.Stat(filepath.Join(filepath.Dir(at), to)); err != nil {
					t.Errorf("%s: %v", from, err)
				} else {
					n++
					continue
				}
			}
			if ids[to] == nil || u.Fragment != "" && !ids[to][u.Fragment] {
				t.Errorf("%s: %q leads nowhere", from, l)
			}
		}
	}
	if n < 4*6 {
		t.Errorf("only %d links to records", n)
	}
}

// TestShelfDamaged: what can't be read is told on the pages and among the
// findings, and all else is shelved.
func TestShelfDamaged(t *testing.T) {
	whole := shelfArchive(t)
	bag := func(at, pattern string) string {
		all, err := filepath.Glob(filepath.Join(at, pattern))
		if err != nil || len(all) == 0 {
			t.Fatal(pattern, err)
		}
		return all[0]
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name, slug, said string
		records          int // that the apparatus' page still lists
		hurt             func(at string)
	}{
		{"no results", "missing", "can’t be read", 4, func(at string) { must(os.Remove(bag(at, "wf-7/2025-03-10-*/data/results.json"))) }},
		{"no JSON", "bad-results", "no results file", 4, func(at string) {
			must(os.WriteFile(bag(at, "wf-7/2025-03-10-*/data/results.json"), []byte("{}"), 0o666))
		}},
		{"cut results", "bad-results", "results:", 4, func(at string) { must(os.Truncate(bag(at, "wf-7/2025-03-10-*/data/results.json"), 100)) }},
		{"no bag", "missing", "the ledger lists this bag, but it is not there", 4, func(at string) { must(os.RemoveAll(bag(at, "wf-7/2025-03-10-*"))) }},
		{"no page", "missing", "record.html", 4, func(at string) { must(os.Remove(bag(at, "wf-7/2025-03-10-*/data/record.html"))) }},
		{"a link for a page", "not-a-file", "symbolic link", 4, func(at string) {
			p := bag(at, "wf-7/2025-03-10-*/data/record.html")
			must(os.Remove(p))
			must(os.Symlink("/etc/hostname", p))
		}},
		{"no ledger", "missing", "the apparatus has no ledger", 0, func(at string) { must(os.Remove(filepath.Join(at, "wf-7/ledger.jsonl"))) }},
		{"a cut ledger", "bad-line", "the file was cut off", 3, func(at string) {
			text, err := os.ReadFile(filepath.Join(at, "wf-7/ledger.jsonl"))
			must(err)
			must(os.WriteFile(filepath.Join(at, "wf-7/ledger.jsonl"), text[:len(text)-20], 0o666))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			at := copyTree(t, whole)
			c.hurt(at)
			s := shelve(t, at)
			if len(s.Findings) == 0 || s.Findings[0].Slug != c.slug {
				t.Fatalf("%v", s.Findings)
			}
			shown := strings.ReplaceAll(c.said, "can’t", "can&#39;t")
			page := s.page(t, "apparatus/wf-7.html")
			if !strings.Contains(page, c.said) && !strings.Contains(page, shown) && !strings.Contains(page, strings.ReplaceAll(c.said, "’", "'")) {
				t.Errorf("the page of the apparatus does not say %q", c.said)
			}
			demands(t, s.page(t, "index.html"), c.slug)
			demands(t, s.page(t, "apparatus/th-2.html"), "OVERDUE by 19 days")
			_, table, _ := strings.Cut(page, `id="records-table"`)
			if n := strings.Count(table, "<tr>") - 1; n != c.records {
				t.Errorf("%d records are listed, not %d", n, c.records)
			}
		})
	}
}

// TestShelfHostile: a results file that was made to harm does none.
func TestShelfHostile(t *testing.T) {
	at := copyTree(t, shelfArchive(t))
	all, _ := filepath.Glob(filepath.Join(at, "wf-7/2025-03-10-*/data/results.json"))
	evil := `{"taut":"<script>","record":{"title":"<script>"},"values":{"p.E":{"value":1e400,"unit":"<b>","display":"<script>"},"q.E":{"value":1e308,"U":1e308,"unit":"Pa","display":"x <b>"},"r.E":{"value":null,"unit":"Pa"}},` +
		`"columns":{"load":{"unit":"kg","values":[null,1e308]}},"practicals":{"p":{"method":"<script>","results":["E"]},"q":{"method":"a\"b","results":["E","E",""]},"r":{"method":"m","results":["E"]}},` +
		`"apparatus":{"identity":"<script>","name":"<script>alert(1)</script>"},"instruments":{"<i>":{"due":"9999-99-99","zero":{"value":1,"unit":"nonsense"},"resolution":{"value":-1,"unit":"?","display":""}},"x":{"zero":{"value":1e-320,"unit":"m","readings":null}}},` +
		`"specimen":{"name":"<script>","fitted":"x","certified":{"E":{"value":0,"U":-1,"unit":"Pa"}}},"specimens":[null,{"name":"<script>"}],"findings":[{"severity":"<b>"}]}`
	for _, text := range []string{evil, strings.Replace(evil, "1e400", "1", 1)} {
		if err := os.WriteFile(all[0], []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		for _, p := range shelve(t, at).Pages {
			if strings.Contains(string(p.HTML), "<script") || strings.Contains(string(p.HTML), "NaN") {
				t.Errorf("%s holds what it should not", p.Path)
			}
		}
	}
}
