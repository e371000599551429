package editor

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"

	"github.com/sourcegraph/jsonrpc2"

	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

// document is an open text.
type document struct {
	path string
	uri  string // as the editor writes it
	file *source.File
	// worked is what the record came to; nil where the text is no record or
	// can't be read.
	worked *build.WorkedOut
	// method says that the text is a method file.
	method bool
	// reads holds the absolute paths of the files that it rests on.
	reads map[string]bool
}

func (s *server) didOpen(c *jsonrpc2.Conn, p didOpenParams) error {
	return s.put(c, p.TextDocument.URI, p.TextDocument.Text)
}

func (s *server) didChange(c *jsonrpc2.Conn, p didChangeParams) error {
	if len(p.ContentChanges) == 0 {
		return nil
	}
	last := p.ContentChanges[len(p.ContentChanges)-1]
	if last.Range != nil {
		return errors.New("a change of a part of the text came, though the whole text was asked for")
	}
	return s.put(c, p.TextDocument.URI, last.Text)
}

// put takes the text of an open file and has all that rests on it looked at
// again.
func (s *server) put(c *jsonrpc2.Conn, uri, text string) error {
	path := pathOf(uri)
	if path == "" {
		return fmt.Errorf("%s is not the URI of a file", uri)
	}
	d := s.documents[path]
	if d == nil {
		d = &document{path: path, uri: uri}
		s.documents[path] = d
	}
	d.file = source.NewFile(filepath.ToSlash(path), []byte(text))
	return s.changed(c, path)
}

func (s *server) didClose(c *jsonrpc2.Conn, p documentParams) error {
	path := pathOf(p.TextDocument.URI)
	delete(s.documents, path)
	if err := s.report(c, path, nil); err != nil {
		return err
	}
	return s.changed(c, path) // the file on the disk counts again for those who read it
}

func (s *server) didSave(c *jsonrpc2.Conn, p documentParams) error {
	return s.changed(c, pathOf(p.TextDocument.URI))
}

func (s *server) didChangeWatched(c *jsonrpc2.Conn, p watchedParams) error {
	for _, ch := range p.Changes {
		if err := s.changed(c, pathOf(ch.URI)); err != nil {
			return err
		}
	}
	return nil
}

// changed looks again at every open record that rests on a file.
func (s *server) changed(c *jsonrpc2.Conn, path string) error {
	for _, p := range slices.Sorted(maps.Keys(s.documents)) {
		d := s.documents[p]
		if filepath.Ext(p) != ".md" || p != path && !d.reads[path] && !s.missing(d, path) {
			continue
		}
		if err := s.look(c, d); err != nil {
			return err
		}
	}
	return nil
}

// missing reports whether a file that lies below the folder of a record may be
// one that it looked for in vain.
func (s *server) missing(d *document, path string) bool {
	if d.worked == nil {
		return false
	}
	rel, err := filepath.Rel(d.worked.Root, path)
	return err == nil && filepath.IsLocal(rel) && !d.reads[path] && hasErrors(d.worked.Findings)
}

func hasErrors(list []*finding.Finding) bool {
	return slices.ContainsFunc(list, func(f *finding.Finding) bool { return f.Severity == finding.Error })
}

// look works a record out, or reads a method, and reports what was found.
func (s *server) look(c *jsonrpc2.Conn, d *document) error {
	unsaved := map[string][]byte{}
	for p, other := range s.documents {
		unsaved[p] = other.file.Text
	}
	w, err := build.WorkOut(d.path, unsaved, s.options)
	d.worked, d.method, d.reads = w, false, map[string]bool{d.path: true}
	by := map[string][]diagnostic{}
	var isMethod *build.MethodError
	switch {
	case errors.As(err, &isMethod):
		d.method = true
		by[d.path] = s.methodDiagnostics(d)
	case err != nil:
		by[d.path] = []diagnostic{{Severity: severityError, Code: "unreadable", Source: "taut", Message: err.Error()}}
	default:
		for _, f := range w.Files() {
			d.reads[f] = true
		}
		for _, f := range w.Findings {
			path, diag := s.diagnose(f, d, w)
			by[path] = append(by[path], diag)
		}
	}
	return s.report(c, d.path, by)
}

// methodDiagnostics are what the rules of method files say; it is not tried on
// its simulation, which takes too long while one types.
func (s *server) methodDiagnostics(d *document) []diagnostic {
	var set finding.Set
	m := method.Read(d.file, block.KindNames(s.options.Kinds), &set)
	_, more := m.Simulation()
	var out []diagnostic
	for _, f := range append(set.Sorted(), more...) {
		if f.At.File == d.file {
			out = append(out, diagnostic{Range: rangeOf(f.At, s.encoding), Severity: severityOf(f), Code: f.Slug, Source: "taut", Message: f.Full()})
		}
	}
	return out
}

// diagnose turns a finding into a diagnostic and the path of the file to which
// it belongs: that of the record where the finding stands in what is built in.
func (s *server) diagnose(f *finding.Finding, d *document, w *build.WorkedOut) (string, diagnostic) {
	out := diagnostic{Severity: severityOf(f), Code: f.Slug, Source: "taut", Message: f.Full()}
	path := d.path
	if f.At.File != nil {
		if p := w.Path(f.At.File); p != "" {
			path, out.Range = p, rangeOf(f.At, s.encoding)
		}
	}
	for _, p := range f.Also {
		if at := p.At.File; at != nil && w.Path(at) != "" {
			out.Related = append(out.Related, related{Location: location{s.uri(w.Path(at)), rangeOf(p.At, s.encoding)}, Message: p.What})
		}
	}
	return path, out
}

func severityOf(f *finding.Finding) int {
	switch f.Severity {
	case finding.Error:
		return severityError
	case finding.Caution:
		return severityWarning
	}
	return severityInformation
}

// report takes what one record says of files in the place of what it said
// before, and publishes every file of which something else is said now.
func (s *server) report(c *jsonrpc2.Conn, record string, by map[string][]diagnostic) error {
	touched := map[string]bool{}
	for file := range s.reports[record] {
		touched[file] = true
	}
	for file := range by {
		touched[file] = true
	}
	if by == nil {
		delete(s.reports, record)
	} else {
		touched[record] = true // "nothing is wrong" is said too
		s.reports[record] = by
	}
	for _, file := range slices.Sorted(maps.Keys(touched)) {
		if err := s.publish(c, file); err != nil {
			return err
		}
	}
	return nil
}

// publish sends all that is said of a file, each thing once, in order.
func (s *server) publish(c *jsonrpc2.Conn, file string) error {
	all := []diagnostic{}
	for _, record := range slices.Sorted(maps.Keys(s.reports)) {
		for _, d := range s.reports[record][file] {
			same := func(o diagnostic) bool { return o.Range == d.Range && o.Code == d.Code && o.Message == d.Message }
			if !slices.ContainsFunc(all, same) {
				all = append(all, d)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b diagnostic) int {
		return cmp.Or(cmp.Compare(a.Range.Start.Line, b.Range.Start.Line), cmp.Compare(a.Range.Start.Character, b.Range.Start.Character))
	})
	return c.Notify(context.Background(), "textDocument/publishDiagnostics", publishParams{URI: s.uri(file), Diagnostics: all})
}

// uri is the URI of a file: of an open one as the editor writes it.
func (s *server) uri(path string) string {
	if d := s.documents[path]; d != nil {
		return d.uri
	}
	return uriOf(path)
}
