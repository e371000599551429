package preview

import (
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/view"
)

// sheet is one page: a record in a view, or the list of records.
type sheet struct {
	url    string // "/wire/record.worked.html"
	inside string // "wire/record", below the folder; "" for the list
	record string // path of the file
	view   view.View

	good    *made    // the last build that could be shown; nil before it
	now     *shown   // what is served; nil before the first build
	files   []string // on which it depends, whether they are there or not
	stamps  stamps
	put     bool // Monte Carlo evaluations were put off
	empty   time.Time
	looking map[chan struct{}]bool
}

// made is what is kept of a build whose page can be shown.
type made struct {
	html     []byte
	title    string
	findings []*finding.Finding
}

// tell wakes all who look at the sheet.
func (sh *sheet) tell() {
	for c := range sh.looking {
		select {
		case c <- struct{}{}:
		default: // it is awake
		}
	}
}

// build builds a sheet and serves from then on what came of it. Monte Carlo
// evaluations that are not at hand are put off where later is set. The error
// says why the record cannot be shown.
func (s *Server) build(sh *sheet, later bool) (*build.Output, error) {
	if sh.inside == "" {
		return nil, s.list(sh)
	}
	s.building.Lock()
	defer s.building.Unlock()
	began := time.Now()
	s.mu.Lock()
	before := stampsOf(s.tracked(sh))
	s.mu.Unlock()

	trials := &deferring{TrialCache: s.o.Build.Trials}
	o := s.o.Build
	o.View = sh.view
	if later && o.Trials != nil {
		o.Trials = trials
	}
	out, err := s.run(sh.record, o)
	if err == nil && isEmpty(out) {
		err = errors.New("the file is empty")
	}

	s.mu.Lock()
	defer s.mu.Unlock()
	sh.put = trials.missed
	if err == nil {
		sh.files = out.Sought()
		sh.good = &made{out.HTML, out.Title, out.Findings}
		s.keep(sh.record, out)
	}
	sh.stamps = before.joined(stampsOf(s.tracked(sh)), began)
	s.serve(sh, s.compose(sh, err))
	return out, err
}

// run is a build that ends nothing, whatever happens in it.
func (s *Server) run(record string, o build.Options) (out *build.Output, err error) {
	defer func() {
		if p := recover(); p != nil {
			out, err = nil, fmt.Errorf("a fault of the program itself: %v", p)
		}
	}()
	if s.o.Theme != nil {
		if o.Theme, err = s.o.Theme(); err != nil {
			return nil, err
		}
	}
	return build.Record(record, o)
}

func isEmpty(out *build.Output) bool {
	for _, f := range out.Findings {
		if f.Slug == "empty-record" {
			return true
		}
	}
	return false
}

// tracked lists the files on which a sheet depends, by absolute paths.
func (s *Server) tracked(sh *sheet) []string {
	list := []string{absolute(sh.record)}
	list = append(list, sh.files...)
	if s.o.ThemeDir != "" {
		inside, _ := filepath.Glob(filepath.Join(absolute(s.o.ThemeDir), "*"))
		list = append(list, inside...)
	}
	return list
}

// absolute is a path with the links in its folder resolved, as the system
// names it when it tells of a change.
func absolute(path string) string {
	at, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	if dir, err := filepath.EvalSymlinks(filepath.Dir(at)); err == nil {
		return filepath.Join(dir, filepath.Base(at))
	}
	return at
}

// deferring is a cache that puts off what it does not hold.
type deferring struct {
	build.TrialCache
	missed bool
}

// Get implements build.TrialCache.
func (d *deferring) Get(key [32]byte) (*trial.Result, bool) {
	if r, ok := d.TrialCache.Get(key); ok {
		return r, true
	}
	d.missed = true
	return nil, true
}
