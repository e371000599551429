package preview

import (
	"context"
	"os"
	"path/filepath"
	"time"

	"github.com/fsnotify/fsnotify"

	"example.org/taut/engine/build"
)

const (
	// settle is how long after a word of a change the files are looked at:
	// editors write in several steps.
	settle = 2 * time.Millisecond
	// patience is the longest time for which words that go on are waited for.
	patience = 25 * time.Millisecond
	// grace is how long a file may be away or empty before the page says so:
	// editors save by putting a new file in the place of the old one.
	grace = 100 * time.Millisecond
	// quiet is how long after a page was shown without them the Monte Carlo
	// evaluations that it lacks are made.
	quiet = 60 * time.Millisecond
	// round is how often the files are looked at unasked, in case that the
	// system did not tell of a change.
	round = time.Second
	// shortRound is that where the system tells of none.
	shortRound = 150 * time.Millisecond
)

// watcher notices that files are saved.
type watcher struct {
	s      *Server
	system *fsnotify.Watcher // nil where there is none
	dirs   map[string]os.FileInfo
	named  map[string]bool // files that the system named since they were looked at
	since  time.Time       // when it named the first of them
	due    *time.Timer     // the files are to be looked at
	fill   *time.Timer     // what was put off is to be made
}

// watch builds again what is looked at when its files change, until the
// context is done.
func (s *Server) watch(ctx context.Context) {
	w := &watcher{s: s, dirs: map[string]os.FileInfo{}, named: map[string]bool{}, due: idle(), fill: idle()}
	var events <-chan fsnotify.Event
	var failures <-chan error
	every := shortRound
	if system, err := fsnotify.NewWatcher(); err == nil && !s.o.NoEvents {
		defer system.Close()
		w.system, events, failures, every = system, system.Events, system.Errors, round
	}
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case e, ok := <-events:
			if !ok {
				return
			}
			w.hear(e)
		case <-failures: // events were lost: look at all
			w.look(nil)
		case <-s.opened:
			w.follow()
			w.look(nil)
		case <-tick.C:
			w.follow()
			w.look(nil)
		case <-w.due.C:
			named := w.named
			w.named = map[string]bool{}
			w.look(named)
		case <-w.fill.C:
			w.fillIn()
		}
	}
}

func idle() *time.Timer {
	t := time.NewTimer(time.Hour)
	t.Stop()
	return t
}

// hear notes what the system says.
func (w *watcher) hear(e fsnotify.Event) {
	if e.Op == fsnotify.Chmod {
		return // of no weight, and some programs do it all the time; see round
	}
	now := time.Now()
	if len(w.named) == 0 {
		w.since = now
	}
	w.named[filepath.Clean(e.Name)] = true
	w.due.Reset(min(settle, max(0, w.since.Add(patience).Sub(now))))
}

// looked lists the sheets that somebody looks at.
func (w *watcher) looked() []*sheet {
	w.s.mu.Lock()
	defer w.s.mu.Unlock()
	var out []*sheet
	for _, sh := range w.s.sheets {
		if len(sh.looking) > 0 {
			out = append(out, sh)
		}
	}
	return out
}

// follow asks the system to tell of the folders of all files that count. A
// folder that is another than it was under the same name is asked for anew.
func (w *watcher) follow() {
	if w.system == nil {
		return
	}
	wanted := map[string]bool{}
	for _, sh := range w.looked() {
		if sh.inside == "" {
			wanted[absolute(filepath.Join(w.s.folder, "x"))] = true
			continue
		}
		w.s.mu.Lock()
		for _, p := range w.s.tracked(sh) {
			wanted[p] = true
		}
		w.s.mu.Unlock()
	}
	dirs := map[string]bool{}
	for p := range wanted {
		dirs[filepath.Dir(p)] = true
	}
	for d := range w.dirs {
		if !dirs[d] {
			_ = w.system.Remove(d)
			delete(w.dirs, d)
		}
	}
	for d := range dirs {
		info, err := os.Stat(d)
		if err != nil {
			delete(w.dirs, d)
			continue
		}
		if old := w.dirs[d]; old != nil && os.SameFile(old, info) {
			continue
		}
		_ = w.system.Remove(d)
		if w.system.Add(d) == nil {
			w.dirs[d] = info
		}
	}
}

// look builds the sheets whose files changed, or were named.
func (w *watcher) look(named map[string]bool) {
	for _, sh := range w.looked() {
		if sh.inside == "" {
			_ = w.s.list(sh)
			continue
		}
		if w.hasChanged(sh, named) && !w.waits(sh) {
			w.rebuild(sh)
		}
	}
}

func (w *watcher) hasChanged(sh *sheet, named map[string]bool) bool {
	w.s.mu.Lock()
	defer w.s.mu.Unlock()
	tracked := w.s.tracked(sh)
	for _, p := range tracked {
		if named[p] {
			return true
		}
	}
	return sh.stamps.changed(stampsOf(tracked))
}

// waits reports whether a sheet is left as it is for a moment more, because a
// file was taken away or emptied just now.
func (w *watcher) waits(sh *sheet) bool {
	w.s.mu.Lock()
	defer w.s.mu.Unlock()
	hollow := false
	for p, info := range stampsOf(w.s.tracked(sh)) {
		if was, known := sh.stamps[p]; isHollow(info) && known && !isHollow(was) {
			hollow = true
		}
	}
	if !hollow {
		sh.empty = time.Time{}
		return false
	}
	if sh.empty.IsZero() {
		sh.empty = time.Now()
	}
	if time.Since(sh.empty) >= grace {
		sh.empty = time.Time{}
		return false
	}
	w.due.Reset(grace)
	return true
}

func (w *watcher) rebuild(sh *sheet) {
	out, err := w.s.build(sh, true)
	w.follow()
	if w.putOff(sh) {
		w.fill.Reset(quiet)
		return
	}
	w.report(sh, out, err)
}

// fillIn makes what was put off.
func (w *watcher) fillIn() {
	for _, sh := range w.looked() {
		if w.putOff(sh) {
			out, err := w.s.build(sh, false)
			w.report(sh, out, err)
		}
	}
}

func (w *watcher) putOff(sh *sheet) bool {
	w.s.mu.Lock()
	defer w.s.mu.Unlock()
	return sh.put
}

// report tells whoever asked of a build.
func (w *watcher) report(sh *sheet, out *build.Output, err error) {
	if w.s.o.Saved != nil {
		w.s.o.Saved(sh.record, out, err)
	}
}
