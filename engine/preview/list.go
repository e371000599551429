package preview

import (
	"net/url"
	"path/filepath"
	"sort"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/view"
)

// listed is one record of the list.
type listed struct {
	Name, URL string
	Known     string // what its last build found; "" where it was not built
	Views     []link
}

// records lists the records there are, by their paths below the folder.
func (s *Server) records() ([]string, error) {
	if s.record != "" {
		return []string{s.record}, nil
	}
	paths, err := build.Records(s.folder)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, p := range paths {
		below, err := filepath.Rel(s.folder, p)
		if err != nil {
			return nil, err
		}
		out = append(out, below)
	}
	return out, nil
}

// insideOf is a record's path without its ending, with slashes.
func insideOf(record string) string {
	return filepath.ToSlash(strings.TrimSuffix(record, filepath.Ext(record)))
}

// address is where a record's page is, in a view: at the path at which a build
// would write it, so that links between pages lead the same way.
func address(inside string, v view.View) string {
	return (&url.URL{Path: "/" + pageOf(inside, v)}).EscapedPath()
}

func pageOf(inside string, v view.View) string {
	if v != view.AsRecord {
		inside += "." + v.String()
	}
	return inside + ".html"
}

// sheetAt returns the sheet at an address, nil for none. Only what is listed
// has one: no address is ever a path.
func (s *Server) sheetAt(path string) *sheet {
	s.mu.Lock()
	sh := s.sheets[path]
	s.mu.Unlock()
	if sh != nil {
		return sh
	}
	if path == "/" && s.record == "" {
		return s.enter(&sheet{url: path})
	}
	list, err := s.records()
	if err != nil {
		return nil
	}
	for _, name := range view.Names() {
		v, _ := view.Named(name)
		for _, r := range list {
			if inside := insideOf(r); path == "/"+pageOf(inside, v) {
				return s.enter(&sheet{url: path, inside: inside, record: filepath.Join(s.folder, r), view: v})
			}
		}
	}
	return nil
}

// enter adds a sheet, or returns the one that is there already.
func (s *Server) enter(sh *sheet) *sheet {
	s.mu.Lock()
	defer s.mu.Unlock()
	if there := s.sheets[sh.url]; there != nil {
		return there
	}
	sh.looking = map[chan struct{}]bool{}
	s.sheets[sh.url] = sh
	return sh
}

// list makes the list of the records.
func (s *Server) list(sh *sheet) error {
	records, err := s.records()
	s.mu.Lock()
	defer s.mu.Unlock()
	d := &plainData{Title: "Records in " + filepath.Base(absolute(s.folder))}
	p := &panel{State: "current", File: "taut watch", Summary: "this list is kept up to date"}
	switch {
	case err != nil:
		p.State, p.Why, p.Summary = "gone", "The folder can’t be read now: it is not there, or may not be read.", "not current"
	case len(records) == 0:
		d.Say = "There is no record here: no file NAME.md."
	}
	for _, r := range records {
		inside := insideOf(r)
		l := listed{Name: filepath.ToSlash(r), URL: address(inside, view.AsRecord), Known: s.known(inside)}
		for _, name := range view.Names() {
			if v, _ := view.Named(name); v != view.AsRecord {
				l.Views = append(l.Views, link{Name: name, URL: address(inside, v)})
			}
		}
		d.Records = append(d.Records, l)
	}
	s.serve(sh, s.over(plain(d), d.Title, p))
	return nil
}

// known says what the last build of a record found.
func (s *Server) known(inside string) string {
	var urls []string
	for u, sh := range s.sheets {
		if sh.inside == inside && sh.good != nil {
			urls = append(urls, u)
		}
	}
	if len(urls) == 0 {
		return ""
	}
	sort.Strings(urls)
	list := s.sheets[urls[0]].good.findings
	if count(list, finding.Error) == 0 {
		return ""
	}
	return counted(list)
}
