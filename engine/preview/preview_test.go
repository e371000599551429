package preview_test

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/taut/engine/preview"
)

// TestSaved: the ways in which editors save, of the record and of its data.
func TestSaved(t *testing.T) {
	dir := folder(t)
	rec, data := filepath.Join(dir, "wire.md"), filepath.Join(dir, "pull.csv")
	write := func(path, old, new string) string {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), old) {
			t.Fatalf("%s lacks %q", path, old)
		}
		return strings.ReplaceAll(string(text), old, new)
	}
	for name, noEvents := range map[string]bool{"events": false, "polling": true} {
		t.Run(name, func(t *testing.T) {
			save(t, rec, wire)
			save(t, data, pull)
			o := options()
			o.NoEvents = noEvents
			s := listen(t, serve(t, rec, o)+"/wire.html")

			save(t, rec, write(rec, "The stiffness", "Written in place, it"))
			s.await("Written in place, it is")

			beside := filepath.Join(dir, ".wire.md.swp")
			save(t, beside, write(rec, "Written in place", "Renamed"))
			if err := os.Rename(beside, rec); err != nil {
				t.Fatal(err)
			}
			s.await("Renamed, it is")

			text := write(rec, "Renamed", "With a backup")
			if err := os.Rename(rec, rec+"~"); err != nil {
				t.Fatal(err)
			}
			time.Sleep(20 * time.Millisecond)
			save(t, rec, text)
			s.await("With a backup, it is")

			text = write(rec, "With a backup", "In pieces")
			f, err := os.Create(rec)
			if err != nil {
				t.Fatal(err)
			}
			for len(text) > 0 {
				n := min(100, len(text))
				if _, err := f.WriteString(text[:n]); err != nil {
					t.Fatal(err)
				}
				text = text[n:]
				time.Sleep(2 * time.Millisecond)
			}
			f.Close()
			s.await("In pieces, it is")

			save(t, data, write(data, "5.01", "5.11"))
			s.await("5.11")
			save(t, data, write(data, "5.11", "5.21"))
			save(t, data, write(data, "5.21", "5.31"))
			s.await("5.31", "mean") // with the Monte Carlo evaluation

			if err := os.Remove(rec + "~"); err != nil {
				t.Fatal(err)
			}
			save(t, filepath.Join(dir, "other.txt"), "nothing of this record's")
			s.silent(300 * time.Millisecond)
		})
	}
}

// TestDrawsAreLater: a change is shown at first without the draws, which
// follow by themselves.
func TestDrawsAreLater(t *testing.T) {
	dir := folder(t)
	s := listen(t, serve(t, dir, options())+"/wire.html")
	save(t, filepath.Join(dir, "pull.csv"), strings.Replace(pull, "5.01", "5.07", 1))
	first := s.await("5.07")
	if !strings.Contains(first, "not yet drawn") {
		t.Error("the first page waited for the draws")
	}
	if second := s.await("validated"); strings.Contains(second, "not yet drawn") {
		t.Error("the draws are missing still")
	}
	// The same again needs no draws.
	save(t, filepath.Join(dir, "pull.csv"), pull)
	if again := s.await("5.01"); strings.Contains(again, "not yet drawn") {
		t.Error("draws that are at hand were put off")
	}
}

// TestLastGood: a value that is lost is shown as it was, with the words that
// it is not current; nothing else is shown that is not.
func TestLastGood(t *testing.T) {
	dir := folder(t)
	rec := filepath.Join(dir, "wire.md")
	s := listen(t, serve(t, rec, options())+"/wire.html")
	save(t, rec, strings.Replace(wire, "L = 2.846 m", "L = 2.846 mmm", 1))
	p := s.await(`data-state="faulty"`)
	const before = `<small>not current, from before the fault of line 17:</small>`
	for _, want := range []string{
		`1 error`, `unknown-unit`, `wire.md:17:`, ` open>`,
		`<span class="missing" data-of="E">not yet: waits for L</span> <span class="taut-last">` + before + ` E = `,
		`not current: they are from before the fault of line 17`,
	} {
		if !strings.Contains(p, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if n := strings.Count(p, `class="taut-last"`); n < 2 || n != strings.Count(p, before) {
		t.Errorf("%d last values, %d of them marked", n, strings.Count(p, before))
	}
	good, _, _ := strings.Cut(p[strings.Index(p, before+" E = "):], "</span>")
	if !strings.Contains(good, "±") {
		t.Errorf("the last value is %q", good)
	}

	// A second fault: both are named. The first one is mended: the other stays.
	save(t, rec, strings.Replace(strings.Replace(wire, "L = 2.846 m", "L = 2.846 mmm", 1), "9.81 m/s^2 ±", "9.81 m/ss ±", 1))
	s.await("from before the faults of line 16 and line 17:")
	save(t, rec, strings.Replace(wire, "9.81 m/s^2 ±", "9.81 m/ss ±", 1))
	s.await("from before the fault of line 16:")
	save(t, rec, wire)
	if p := s.await(`data-state="current"`); strings.Contains(p, "taut-last") {
		t.Error("a value is marked that is current")
	}

	// What was taken away is not brought back by a later fault.
	save(t, rec, strings.Replace(wire, "E = L * g / line.slope in N | stiffness times length\n", "F = L * g\n", 1))
	if p := s.await(`data-state="faulty"`, "undefined"); strings.Contains(p, "taut-last") {
		t.Error("a value came back of a name that is not there any more")
	}
}

// TestGone: a record that cannot be shown leaves the last page, marked, and
// comes back by itself.
func TestGone(t *testing.T) {
	for name, noEvents := range map[string]bool{"events": false, "polling": true} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "lab")
			if err := os.Mkdir(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			rec := filepath.Join(dir, "wire.md")
			save(t, filepath.Join(dir, "pull.csv"), pull)
			save(t, rec, wire)
			o := options()
			o.NoEvents = noEvents
			s := listen(t, serve(t, dir, o)+"/wire.html")
			back := func(say string) {
				t.Helper()
				save(t, rec, strings.Replace(wire, "The stiffness", say, 1))
				s.await(`data-state="current"`, say)
			}
			must := func(err error) {
				t.Helper()
				if err != nil {
					t.Fatal(err)
				}
			}
			must(os.Remove(rec))
			if p := s.await(`data-state="gone"`, "there is no file", "It is not current"); !strings.Contains(p, "The stiffness") {
				t.Error("the last page is not shown")
			}
			back("Back again, it")
			save(t, rec, "")
			s.await(`data-state="gone"`, "the file is empty")
			back("Full again, it")
			save(t, rec, "\x7fELF\x00\x01\xff\xfe")
			s.await(`data-state="gone"`, "not current")
			back("Text again, it")
			must(os.Rename(dir, dir+"-moved"))
			s.await(`data-state="gone"`)
			must(os.Rename(dir+"-moved", dir))
			s.await(`data-state="current"`)
			back("At home again, it")

			must(os.Remove(filepath.Join(dir, "pull.csv")))
			s.await(`data-state="faulty"`, "cannot-open", "not current, from before the fault")
			save(t, filepath.Join(dir, "pull.csv"), pull)
			s.await(`data-state="current"`)
		})
	}
}

// TestNothingYet: a record that is no page from the beginning.
func TestNothingYet(t *testing.T) {
	dir := t.TempDir()
	rec := filepath.Join(dir, "wire.md")
	save(t, rec, "")
	s := listen(t, serve(t, rec, options())+"/wire.html")
	save(t, filepath.Join(dir, "pull.csv"), pull)
	save(t, rec, wire)
	s.await(`data-state="current"`, "The stiffness")
}

// TestList: the list of a folder's records is kept up to date, and leads to
// their pages.
func TestList(t *testing.T) {
	dir := folder(t)
	if err := os.MkdirAll(filepath.Join(dir, "b c"), 0o755); err != nil {
		t.Fatal(err)
	}
	save(t, filepath.Join(dir, "b c", "ü&x.md"), "# Other\n\nText.\n")
	at := serve(t, dir, options())
	_, body := get(t, at+"/", nil)
	for _, want := range []string{`href="/wire.html"`, `href="/wire.worked.html"`, `href="/b%20c/%C3%BC&amp;x.html"`, `b c/ü&amp;x.md`} {
		if !strings.Contains(body, want) {
			t.Errorf("the list lacks %q:\n%s", want, body)
		}
	}
	if res, other := get(t, at+"/b%20c/%C3%BC&x.html", nil); res.StatusCode != 200 || !strings.Contains(other, "Other") {
		t.Errorf("%s: %s", res.Status, other)
	}
	s := listen(t, at+"/")
	save(t, filepath.Join(dir, "new.md"), "# New\n")
	s.await("new.md")
}

// TestNothingIsWritten: the folder is as it was.
func TestNothingIsWritten(t *testing.T) {
	dir := folder(t)
	at := serve(t, dir, options())
	for _, p := range []string{"/", "/wire.html", "/wire.worked.html", "/wire.blank.html"} {
		if res, _ := get(t, at+p, nil); res.StatusCode != 200 {
			t.Errorf("%s: %s", p, res.Status)
		}
	}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 2 {
		t.Errorf("the folder holds %v", list)
	}
}

// TestRefused: what is not for this browser, or no page.
func TestRefused(t *testing.T) {
	dir := folder(t)
	save(t, filepath.Join(filepath.Dir(dir), "outside.md"), "# Outside\n")
	at := serve(t, dir, options())
	port := at[strings.LastIndex(at, ":"):]
	header := func(name, value string) func(*http.Request) {
		return func(r *http.Request) {
			if name == "Host" {
				r.Host = value
			} else {
				r.Header.Set(name, value)
			}
		}
	}
	cross := func(mode, dest string) func(*http.Request) {
		return func(r *http.Request) {
			r.Header.Set("Sec-Fetch-Site", "cross-site")
			r.Header.Set("Sec-Fetch-Mode", mode)
			r.Header.Set("Sec-Fetch-Dest", dest)
		}
	}
	for _, c := range []struct {
		path   string
		change func(*http.Request)
		code   int
	}{
		{"/wire.html", nil, 200},
		{"/wire.html", header("Host", "localhost"+port), 200},
		{"/wire.html", header("Host", "[::1]"+port), 200},
		{"/wire.html", header("Host", "LOCALHOST"+port), 200},
		{"/wire.html", header("Host", "wire.example"+port), 421},
		{"/wire.html", header("Host", "127.0.0.1.wire.example"+port), 421},
		{"/wire.html", header("Host", "192.0.2.7"+port), 421},
		{"/wire.html", header("Host", "localhost"), 421},
		{"/wire.html", header("Host", "localhost:1"), 421},
		{"/wire.html", header("Host", ""), 200}, // Go's client then sends the address
		{"/wire.html?live=0", header("Host", "wire.example"+port), 421},
		{"/wire.html?live=0", header("Origin", "http://wire.example"), 403},
		{"/wire.html?live=0", header("Origin", "null"), 403},
		{"/wire.html?live=0", header("Origin", "https://127.0.0.1"+port), 403},
		{"/wire.html?live=0", header("Origin", at), 200},
		{"/wire.html?live=0", cross("cors", "empty"), 403},
		{"/wire.html", cross("no-cors", "script"), 403},
		{"/wire.html", cross("navigate", "iframe"), 403},
		{"/wire.html", cross("navigate", "document"), 200},
		{"/wire.html", func(r *http.Request) { r.Method = http.MethodPost }, 405},
		{"/wire.html", func(r *http.Request) { r.Method = "TRACE" }, 405},
		{"/wire.html", func(r *http.Request) { r.Method = http.MethodHead }, 200},
		{"/wire.md", nil, 404},
		{"/pull.csv", nil, 404},
		{"/../outside.html", nil, 404},
		{"/%2e%2e/outside.html", nil, 404},
		{"/..%2foutside.html", nil, 404},
		{"//outside.html", nil, 404},
		{"/wire.html/../../outside.html", nil, 404},
		{"/wire.html%00", nil, 404},
		{"/nothing.html?live=0", nil, 404},
		{"/" + strings.Repeat("a", 5000), nil, 404},
	} {
		res, body := get(t, at+c.path, c.change)
		if res.StatusCode != c.code {
			t.Errorf("%s: %s, not %d: %.200s", c.path, res.Status, c.code, body)
		}
		h := res.Header
		if !strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") || !strings.Contains(h.Get("Content-Security-Policy"), "frame-ancestors 'none'") ||
			h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cache-Control") != "no-store" || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: headers %v", c.path, h)
		}
	}
}

// TestToken: with a token nothing is served to who does not know it, whatever
// the name by which the server is called.
func TestToken(t *testing.T) {
	o := options()
	o.Token = "an-invented-token"
	o.Names = []string{"Bench.example"}
	at := serve(t, folder(t), o)
	port := at[strings.LastIndex(at, ":"):]
	for _, p := range []string{"/wire.html", "/", "/wire.html?live=0", "/wire.html?token=", "/wire.html?token=an-invented-toke", "/wire.html?token=an-invented-token2", "/no"} {
		if res, body := get(t, at+p, nil); res.StatusCode != 403 || strings.Contains(body, "wire") {
			t.Errorf("%s: %s %s", p, res.Status, body)
		}
	}
	res, _ := get(t, at+"/wire.html?token="+o.Token, nil)
	if res.StatusCode != 303 || res.Header.Get("Location") != "/wire.html" || len(res.Cookies()) != 1 {
		t.Fatalf("%s %v", res.Status, res.Header)
	}
	c := res.Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" {
		t.Errorf("cookie %v", c)
	}
	for host, code := range map[string]int{"192.0.2.7" + port: 200, "bench.example" + port: 200, "[2001:db8::7]" + port: 200, "other.example" + port: 421} {
		res, body := get(t, at+"/wire.html", func(r *http.Request) { r.Host = host; r.AddCookie(c) })
		if res.StatusCode != code {
			t.Errorf("%s: %s", host, res.Status)
		}
		if strings.Contains(body, o.Token) {
			t.Error("the page holds the token")
		}
	}
}

// TestPolicy: the page keeps its policy, but for what the preview adds.
func TestPolicy(t *testing.T) {
	res, body := get(t, serve(t, folder(t), options())+"/wire.html", nil)
	_, meta, _ := strings.Cut(body, `http-equiv="Content-Security-Policy" content="`)
	meta, _, _ = strings.Cut(meta, `"`)
	for from, policy := range map[string]string{"header": res.Header.Get("Content-Security-Policy"), "page": meta} {
		for _, want := range []string{"default-src 'none'", "script-src 'sha256-", "connect-src 'self'", "base-uri 'none'", "form-action 'none'", "style-src 'sha256-"} {
			if !strings.Contains(policy, want) {
				t.Errorf("%s: %q lacks %q", from, policy, want)
			}
		}
		for _, bad := range []string{"unsafe", "*", "http:", "https:"} {
			if strings.Contains(policy, bad) {
				t.Errorf("%s: %q holds %q", from, policy, bad)
			}
		}
	}
	if n := strings.Count(body, "<script"); n != 1 {
		t.Errorf("%d scripts", n)
	}
}

// TestNoSuchPath: there is nothing to show.
func TestNoSuchPath(t *testing.T) {
	if _, err := preview.New(filepath.Join(t.TempDir(), "none"), options()); err == nil {
		t.Error("no error")
	}
}
