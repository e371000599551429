package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// someRecords lays n small records out in a new folder.
func someRecords(t *testing.T, n int) string {
	t.Helper()
	dir := t.TempDir()
	for i := range n {
		text := fmt.Sprintf("# Wire %d\n\n```calc\nx = %d mm ± 1 mm\ny = 2 * x\n```\n\n```budget b\nof: y\ntrials: 2000\n```\n", i, i+10)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("wire-%03d.md", i)), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// taut is the program as a process of its own.
func taut(t *testing.T, kept string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return &exec.Cmd{Path: self, Args: append([]string{"taut"}, args...), Env: append(os.Environ(), keepVariable+"="+kept)}
}

// pages are the files of a folder by name.
func pages(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := os.ReadFile(p)
		out[e.Name()] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestBuildKilled kills builds at many points. What was written by then is
// whole, and the next build makes what is missing.
func TestBuildKilled(t *testing.T) {
	const n = 40
	dir, whole := someRecords(t, n), t.TempDir()
	began := time.Now()
	if text, err := taut(t, "off", "build", dir, "-o", whole).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	took := time.Since(began)
	want := pages(t, whole)
	if len(want) != n {
		t.Fatalf("%d pages", len(want))
	}
	out, kept := t.TempDir(), t.TempDir()
	cut := 0
	for i := range 12 {
		c := taut(t, kept, "build", dir, "-o", out, "--anew")
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(took * time.Duration(i+1) / 12)
		c.Process.Kill()
		if c.Wait() != nil {
			cut++
		}
		for name, text := range pages(t, out) {
			if !strings.HasPrefix(name, ".") && text != want[name] {
				t.Fatalf("%s is torn, or another page", name)
			}
		}
	}
	if cut == 0 {
		t.Error("no build was killed before its end")
	}
	if text, err := taut(t, kept, "build", dir, "-o", out).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	for name, text := range want {
		if pages(t, out)[name] != text {
			t.Errorf("%s was not made after all", name)
		}
	}
}

// TestBuildInterrupted asks a build to end. It finishes what is begun, leaves
// nothing behind, says how far it came, and ends by the signal.
func TestBuildInterrupted(t *testing.T) {
	dir, out := someRecords(t, 300), t.TempDir()
	c := taut(t, "off", "build", dir, "-o", out, "-j", "2")
	var errs bytes.Buffer
	c.Stderr = &errs
	first, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	if _, err := first.Read(make([]byte, 1)); err != nil {
		t.Fatal(err)
	}
	c.Process.Signal(os.Interrupt)
	go func() { // what else it prints is of no interest
		for buf := make([]byte, 4096); ; {
			if _, err := first.Read(buf); err != nil {
				return
			}
		}
	}()
	c.Wait()
	if s, ok := c.ProcessState.Sys().(syscall.WaitStatus); !ok || !s.Signaled() || s.Signal() != syscall.SIGINT {
		t.Errorf("it ended with %v", c.ProcessState)
	}
	if !strings.Contains(errs.String(), "taut: stopped: ") {
		t.Errorf("it said %q", errs.String())
	}
	for name := range pages(t, out) {
		if strings.HasPrefix(name, ".") {
			t.Errorf("left behind: %s", name)
		}
	}
}

// TestBuildDiskFull fills a disk half way: the pages made until then are whole
// and the trouble is told of once.
func TestBuildDiskFull(t *testing.T) {
	dir, out := someRecords(t, 40), t.TempDir()
	if err := exec.Command("unshare", "-m", "mount", "-t", "tmpfs", "-o", "size=300k", "none", out).Run(); err != nil {
		t.Skip("no disk of its own can be had here: ", err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	script := `mount -t tmpfs -o size=300k none "$1" && ln -s "$2" "$1/taut" && "$1/taut" build "$3" -o "$1/out" -j 2; code=$?
tail -qc 8 "$1"/out/*.html; ls -A "$1"/out >&2; exit $code`
	c := exec.Command("unshare", "-m", "sh", "-c", script, "sh", out, self, dir)
	var text, errs strings.Builder
	c.Stdout, c.Stderr = &text, &errs
	c.Run()
	if code := c.ProcessState.ExitCode(); code != exitFiles {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	lines := strings.Split(errs.String(), "\n")
	if n := strings.Count(errs.String(), "no space left on device"); n != 1 || strings.Contains(errs.String(), ".new") {
		t.Errorf("it said %d times that the disk is full:\n%s", n, errs.String())
	}
	made := strings.Count(text.String(), ".html\n")
	if made == 0 || made == 40 || strings.Count(text.String(), "</html>\n") != made {
		t.Errorf("%d pages are not whole:\n%s", made, text.String())
	}
	if want := fmt.Sprintf("taut: stopped: %d of 40 records have their pages", made); !slices.Contains(lines, want) {
		t.Errorf("it does not say %q:\n%s", want, errs.String())
	}
}

// TestProgress walks a clock of its own.
func TestProgress(t *testing.T) {
	var w strings.Builder
	now := time.Unix(0, 0)
	p := &progress{w: &w, what: "records", total: 1000, now: func() time.Time { return now }, began: now}
	step := func(after time.Duration) string {
		now = now.Add(after)
		w.Reset()
		p.step()
		return w.String()
	}
	for _, c := range []struct {
		after time.Duration
		want  string
	}{
		{100 * time.Millisecond, ""},
		{300 * time.Millisecond, ""},
		{200 * time.Millisecond, "\r\x1b[K3 of 1000 records, about 3 min left"},
		{50 * time.Millisecond, ""},
		{350 * time.Millisecond, "\r\x1b[K5 of 1000 records, about 3 min left"},
	} {
		if got := step(c.after); got != c.want {
			t.Errorf("after %v: %q, not %q", c.after, got, c.want)
		}
	}
	w.Reset()
	p.clear()
	p.clear()
	if w.String() != "\r\x1b[K" {
		t.Errorf("cleared by %q", w.String())
	}
	p.done = 998
	if got := step(time.Second); got != "\r\x1b[K999 of 1000 records, less than 1 s left" {
		t.Error(got)
	}
	p.clear()
	if got := step(time.Second); got != "" {
		t.Errorf("at the end: %q", got)
	}
	for d, want := range map[time.Duration]string{
		0: "less than 1 s", 59 * time.Second: "about 59 s", 90 * time.Second: "about 2 min",
		59*time.Minute + 20*time.Second: "about 59 min", 100 * time.Minute: "about 1 h 40 min", 50*time.Hour + 29*time.Second: "about 50 h 0 min",
	} {
		if got := aboutTime(d); got != want {
			t.Errorf("%v is %q, not %q", d, got, want)
		}
	}
	if newProgress(&w, "records", 3).w != nil {
		t.Error("what is no terminal has a progress line")
	}
}
