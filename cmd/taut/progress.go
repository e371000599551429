package main

import (
	"fmt"
	"io"
	"time"
)

// progress is a line on a terminal that says how far a long piece of work is.
// Elsewhere it shows nothing: a file or a pipe holds only what would be there
// without it. It is used by one goroutine.
type progress struct {
	w     io.Writer // nil to show nothing
	what  string    // of the things that are counted, "records"
	total int
	now   func() time.Time

	done       int
	began      time.Time
	drawn      time.Time
	isOnScreen bool
}

const (
	quietFor   = 500 * time.Millisecond // work that ends before is not worth a line
	drawnEvery = 100 * time.Millisecond
)

// newProgress returns a progress over so many things.
func newProgress(w io.Writer, what string, total int) *progress {
	p := &progress{what: what, total: total, now: time.Now}
	if isTerminal(w) {
		p.w = w
	}
	p.began = p.now()
	return p
}

// step counts one thing as done.
func (p *progress) step() {
	p.done++
	if p.w == nil || p.done == p.total {
		return
	}
	now := p.now()
	if elapsed := now.Sub(p.began); elapsed >= quietFor && now.Sub(p.drawn) >= drawnEvery {
		p.drawn, p.isOnScreen = now, true
		left := elapsed / time.Duration(p.done) * time.Duration(p.total-p.done)
		fmt.Fprintf(p.w, "\r\x1b[K%d of %d %s, %s left", p.done, p.total, p.what, aboutTime(left))
	}
}

// clear takes the line away, before anything else is printed.
func (p *progress) clear() {
	if p.isOnScreen {
		p.isOnScreen = false
		io.WriteString(p.w, "\r\x1b[K")
	}
}

// aboutTime says a duration as roughly as it is known.
func aboutTime(d time.Duration) string {
	switch {
	case d < time.Second:
		return "less than 1 s"
	case d < time.Minute:
		return fmt.Sprintf("about %d s", d.Round(time.Second)/time.Second)
	case d < time.Hour:
		return fmt.Sprintf("about %d min", d.Round(time.Minute)/time.Minute)
	}
	d = d.Round(time.Minute)
	return fmt.Sprintf("about %d h %d min", d/time.Hour, d%time.Hour/time.Minute)
}
