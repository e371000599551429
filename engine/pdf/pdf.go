// Package pdf prints pages to PDF by an installed Chromium, which is called by
// its command line. A PDF is tagged and has an outline of the page's headings.
// It holds the time at which it was made, so its bytes are not the same twice.
package pdf

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"example.org/taut/engine/internal/chromium"
)

// Printer prints pages by one program. It may be used by several goroutines.
type Printer struct {
	Program string        // path of a Chromium
	Timeout time.Duration // for one page; 0 for DefaultTimeout
}

// DefaultTimeout is the longest time that one page may take.
const DefaultTimeout = 2 * time.Minute

// Find returns a printer that uses the program named by the environment
// variable TAUT_CHROMIUM, or else an installed one. The error says what to do
// where there is none.
func Find() (*Printer, error) {
	path, err := chromium.Find()
	if err != nil {
		return nil, err
	}
	return &Printer{Program: path}, nil
}

// Print returns a page, a file of HTML, as PDF. The browser has a profile of
// its own, which is deleted again, and no way to any network. When the context
// is done, or the time is over, it is ended with all that it started.
func (p *Printer) Print(ctx context.Context, page string) ([]byte, error) {
	at, err := filepath.Abs(page)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(at); err != nil {
		return nil, err // the browser would print its own page about that
	}
	dir, err := os.MkdirTemp("", "taut-pdf-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "page.pdf")
	if err := p.call(ctx, dir, append(p.arguments(dir, out), addressOf(at))); err != nil {
		return nil, fmt.Errorf("%s can't print `%s`: %w", filepath.Base(p.Program), filepath.Base(page), err)
	}
	text, err := os.ReadFile(out)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("%s wrote no PDF of `%s`; if it may not use the folder for temporary files, name another in TMPDIR", filepath.Base(p.Program), filepath.Base(page))
	case err != nil:
		return nil, err
	case !IsPDF(text):
		return nil, fmt.Errorf("what %s made of `%s` is no PDF", filepath.Base(p.Program), filepath.Base(page))
	}
	return text, nil
}

// IsPDF reports whether bytes begin as a PDF does (ISO 32000-1, 7.5.2).
func IsPDF(text []byte) bool { return bytes.HasPrefix(text, []byte("%PDF-")) }

func (p *Printer) arguments(dir, out string) []string {
	var args []string
	for _, f := range chromium.Flags() {
		args = append(args, f.String())
	}
	return append(args, "--user-data-dir="+filepath.Join(dir, "profile"), "--proxy-server=127.0.0.1:9", "--no-pdf-header-footer",
		"--export-tagged-pdf", "--generate-pdf-document-outline", "--print-to-pdf="+out)
}

// addressOf is the file: address of a path.
func addressOf(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/…
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}

// call runs the program to its end.
func (p *Printer) call(ctx context.Context, dir string, args []string) error {
	limit := p.Timeout
	if limit == 0 {
		limit = DefaultTimeout
	}
	timed, stop := context.WithTimeout(ctx, limit)
	defer stop()
	cmd := exec.CommandContext(timed, p.Program, args...)
	cmd.Dir, cmd.Stdout, cmd.Stderr = dir, io.Discard, &tail{}
	cmd.WaitDelay = 3 * time.Second
	alone(cmd)
	err := cmd.Run()
	endAll(cmd)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case timed.Err() != nil:
		return fmt.Errorf("it was not done after %s", limit)
	case err != nil:
		return fmt.Errorf("%w%s", err, cmd.Stderr.(*tail).last())
	}
	return nil
}

// tail keeps the end of what a program says.
type tail struct{ text []byte }

func (t *tail) Write(p []byte) (int, error) {
	t.text = append(t.text, p...)
	if len(t.text) > 8<<10 {
		t.text = t.text[len(t.text)-4<<10:]
	}
	return len(p), nil
}

// last is the last line, in brackets.
func (t *tail) last() string {
	lines := strings.Split(strings.TrimSpace(string(t.text)), "\n")
	if last := strings.TrimSpace(lines[len(lines)-1]); last != "" {
		return " (" + last + ")"
	}
	return ""
}
