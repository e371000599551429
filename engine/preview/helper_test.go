package preview_test

import (
	"bufio"
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/page"
	"example.org/taut/engine/preview"
	"example.org/taut/themes"
)

type builtIn struct{}

func (builtIn) Names() []string                       { return themes.Names() }
func (builtIn) Load(name string) (*page.Theme, error) { return themes.Load(name) }

func options() preview.Options {
	return preview.Options{Build: build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Version: "0", Trials: build.NewMemory(64)}}
}

// wire is a small record: its data in a file, one line for each fault.
const wire = `---
title: A wire
---

` + "```data pull from=pull.csv\nload / kg = load / kg\ny / mm = y / mm\n```" + `

` + "```fit line\ny: pull.y\nx: pull.load\n```" + `

` + "```calc\ng = 9.81 m/s^2 ± 0.02 m/s^2\nL = 2.846 m ± 1 mm\nE = L * g / line.slope in N | stiffness times length\n```" + `

The stiffness is =[E].

` + "```budget of_E\nof: E\n```\n"

const pull = "load / kg, y / mm\n1, 1.02\n2, 2.01\n3, 2.98\n4, 4.03\n5, 5.01\n"

// folder holds the record wire.md and its data.
func folder(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	save(t, filepath.Join(dir, "wire.md"), wire)
	save(t, filepath.Join(dir, "pull.csv"), pull)
	return dir
}

func save(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// serve starts a preview and returns its address, without a slash at the end.
func serve(t testing.TB, path string, o preview.Options) string {
	t.Helper()
	s, err := preview.New(path, o)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		stop()
		select {
		case err := <-ended:
			if err != nil {
				t.Error(err)
			}
		case <-time.After(10 * time.Second):
			t.Error("the server does not end")
		}
	})
	return "http://" + l.Addr().String()
}

// get asks for an address; change alters the request.
func get(t testing.TB, address string, change func(*http.Request)) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequest(http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		change(r)
	}
	stay := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := stay.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if strings.HasPrefix(res.Header.Get("Content-Type"), "text/event-stream") {
		return res, ""
	}
	body, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, string(body)
}

// stream is what a page is told while it is open.
type stream struct {
	t     testing.TB
	pages chan string
}

// listen opens a page and the stream of its changes.
func listen(t testing.TB, address string) *stream {
	t.Helper()
	_, body := get(t, address, nil)
	_, version, _ := strings.Cut(body, `data-version="`)
	version, _, _ = strings.Cut(version, `"`)
	ctx, stop := context.WithCancel(context.Background())
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"?live="+version, nil)
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	s := &stream{t, make(chan string, 100)}
	ended := make(chan bool)
	go func() {
		defer close(ended)
		in := bufio.NewScanner(res.Body)
		in.Buffer(nil, 64<<20)
		now := preview.AsRead(body)
		var lines []string
		for in.Scan() {
			if data, ok := strings.CutPrefix(in.Text(), "data: "); ok {
				lines = append(lines, data)
			} else if in.Text() == "" && len(lines) > 2 {
				if now, err = preview.Apply(now, lines[2]); err != nil {
					t.Error(err)
				}
				s.pages <- now
				lines = nil
			}
		}
	}()
	t.Cleanup(func() {
		stop()
		res.Body.Close()
		<-ended
	})
	return s
}

// await waits for a page that holds all the texts.
func (s *stream) await(texts ...string) string {
	s.t.Helper()
	late := time.After(10 * time.Second)
	last := ""
	for {
		select {
		case last = <-s.pages:
			all := true
			for _, text := range texts {
				all = all && strings.Contains(last, text)
			}
			if all {
				return last
			}
		case <-late:
			s.t.Fatalf("no page with %q; the last one is\n%.1200s", texts, last)
		}
	}
}

// silent holds that no page comes for a while.
func (s *stream) silent(d time.Duration) {
	s.t.Helper()
	select {
	case p := <-s.pages:
		s.t.Errorf("a page came that nobody asked for:\n%.600s", p)
	case <-time.After(d):
	}
}

func themeIn(dir string) func() (*page.Theme, error) {
	return func() (*page.Theme, error) { return page.LoadTheme(os.DirFS(dir)) }
}
