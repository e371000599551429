package pdf

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// program writes a script that stands for a browser.
func program(t *testing.T, body string) *Printer {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("needs a shell")
	}
	path := filepath.Join(t.TempDir(), "browser")
	if err := os.WriteFile(path, []byte("#!/bin/sh\n"+body+"\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	return &Printer{Program: path}
}

func page(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a page #1 100%.html")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestFind(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("PATH", dir)
	t.Setenv("TAUT_CHROMIUM", "")
	if _, err := Find(); runtime.GOOS == "linux" && (err == nil || !strings.Contains(err.Error(), "TAUT_CHROMIUM")) {
		t.Errorf("without any: %v", err)
	}
	t.Setenv("TAUT_CHROMIUM", filepath.Join(dir, "none"))
	if _, err := Find(); err == nil || !strings.Contains(err.Error(), "none") {
		t.Errorf("with a name of nothing: %v", err)
	}
	mine := program(t, "exit 0").Program
	t.Setenv("TAUT_CHROMIUM", mine)
	if p, err := Find(); err != nil || p.Program != mine {
		t.Errorf("%v, %v", p, err)
	}
}

// TestFails: each way in which a browser can fail is told apart.
func TestFails(t *testing.T) {
	const out = `for a; do case "$a" in --print-to-pdf=*) out="${a#--print-to-pdf=}";; esac; done; `
	for _, c := range []struct{ name, body, want string }{
		{"ends with an error", "echo first >&2; echo the last word >&2; exit 7", "exit status 7 (the last word)"},
		{"writes nothing", "exit 0", "wrote no PDF"},
		{"writes something else", out + `echo text > "$out"`, "no PDF"},
		{"hangs", "sleep 60", "not done after"},
	} {
		p := program(t, c.body)
		p.Timeout = 300 * time.Millisecond
		if c.name != "hangs" {
			p.Timeout = time.Minute
		}
		_, err := p.Print(t.Context(), page(t, "<p>x</p>"))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("a browser that %s: %v", c.name, err)
		}
	}
	if _, err := program(t, "exit 0").Print(t.Context(), filepath.Join(t.TempDir(), "none.html")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no page: %v", err)
	}
}

// TestCancelled: what the browser started ends with it, and its files go.
func TestCancelled(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("looks for processes in /proc")
	}
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	p := program(t, `sleep 61.25 & echo $! > "`+tmp+`/child"; trap '' TERM; sleep 61.25; sleep 61.25`)
	ctx, stop := context.WithCancel(t.Context())
	go func() {
		for !exists(filepath.Join(tmp, "child")) {
			time.Sleep(5 * time.Millisecond)
		}
		stop()
	}()
	if _, err := p.Print(ctx, page(t, "x")); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	child, err := os.ReadFile(filepath.Join(tmp, "child"))
	if err != nil {
		t.Fatal(err)
	}
	for tries := 0; running(strings.TrimSpace(string(child))); tries++ {
		if tries > 400 {
			t.Fatal("a process is left")
		}
		time.Sleep(5 * time.Millisecond)
	}
	if left, _ := filepath.Glob(filepath.Join(tmp, "taut-pdf-*")); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// running reports whether a process runs; one that is over and not fetched
// does not.
func running(pid string) bool {
	stat, err := os.ReadFile("/proc/" + pid + "/stat")
	_, rest, _ := strings.Cut(string(stat), ") ") // behind the name of the program
	return err == nil && !strings.HasPrefix(rest, "Z")
}

// TestArguments: the browser is alone, and without a way out.
func TestArguments(t *testing.T) {
	seen := filepath.Join(t.TempDir(), "seen")
	p := program(t, `for a; do echo "$a"; done > "`+seen+`"; exit 1`)
	_, _ = p.Print(t.Context(), page(t, "x"))
	text, err := os.ReadFile(seen)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"--headless\n", "--user-data-dir=", "--proxy-server=127.0.0.1:9\n", "~NOTFOUND", "--disable-background-networking\n", "--generate-pdf-document-outline\n", "/a%20page%20%231%20100%25.html\n"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
	if os.Geteuid() != 0 && strings.Contains(string(text), "no-sandbox") {
		t.Error("the browser's own walls are down")
	}
}
