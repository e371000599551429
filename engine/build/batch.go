package build

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"syscall"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Batch builds records into files, several at once, and leaves those alone
// that would come out as they are.
type Batch struct {
	Options Options
	Keep    *Keep // what is known of earlier builds; nil for nothing
	Anew    bool  // build even what has not changed
	Workers int   // how many records at once; 0 for one on each processor
}

// Target says where a record is and where what is made of it goes.
type Target struct{ Record, Page, Results string } // Results may be ""

// Made is what came of one record.
type Made struct {
	Target
	Findings  []Reported // in order
	Unchanged bool       // the files were as they should be, and were not written
	// Err is why there is no page: an error of Record, an *OverInputError, or
	// one of the file system.
	Err error
}

// OverInputError says that a file was not written since the record reads it.
type OverInputError struct{ Path string }

// Error is the message.
func (e *OverInputError) Error() string {
	return fmt.Sprintf("`%s` is a file that the record reads: a build does not write over it", filepath.ToSlash(e.Path))
}

// Run builds the records and hands what came of each to done, in their order
// and from one goroutine. It ends early, once what is begun is finished, when
// ctx ends or done returns false; see InOrder. It returns how many were done.
// The files depend on no number of workers, and each is written as a whole or
// not at all.
func (b *Batch) Run(ctx context.Context, targets []Target, done func(*Made) bool) int {
	workers := b.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	var building atomic.Int64
	tidied := false
	return InOrder(ctx, len(targets), workers,
		func(i int) *Made {
			m := &Made{Target: targets[i]}
			if m.Findings, m.Unchanged = b.unchanged(m.Target); m.Unchanged {
				return m
			}
			// Where few records are built, the draws of each have the workers
			// that the others leave.
			o := b.Options
			o.Workers = max(1, workers/int(building.Add(1)))
			defer building.Add(-1)
			m.Findings, m.Err = b.build(m.Target, o)
			return m
		},
		func(_ int, m *Made) bool {
			if b.Keep != nil && m.Err == nil && !m.Unchanged && !tidied {
				b.Keep.tidy(absolute(m.Page))
				tidied = true
			}
			return done(m)
		})
}

func absolute(path string) string {
	if path == "" {
		return ""
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return filepath.Clean(path)
	}
	return abs
}

// unchanged reports whether a record would come out as it is, and returns the
// findings on it.
func (b *Batch) unchanged(t Target) ([]Reported, bool) {
	if b.Keep == nil || b.Anew {
		return nil, false
	}
	e := b.Keep.get(absolute(t.Page))
	if e == nil || e.Record != absolute(t.Record) || e.Results != absolute(t.Results) || e.View != b.Options.View.String() || len(e.Asked) == 0 {
		return nil, false
	}
	d, err := newDoor(t.Record)
	if err != nil {
		return nil, false
	}
	defer d.close()
	if d.marked != e.Marked || d.dir != e.Dir || !d.still(e.Asked) {
		return nil, false
	}
	if sumOfFile(t.Page) != e.PageSum || t.Results != "" && sumOfFile(t.Results) != e.ResultsSum {
		return nil, false
	}
	if engine, err := b.Keep.engine(); err != nil || engine != e.Engine {
		return nil, false
	}
	return shownFrom(e.Findings, d), true
}

// build builds a record and writes what comes of it. The findings are those on
// the record even where a file can't be written.
func (b *Batch) build(t Target, o Options) ([]Reported, error) {
	d, text, err := openDoor(t.Record)
	if err != nil {
		return nil, err
	}
	defer d.close()
	out, err := recordBehind(d, text, o)
	if err != nil {
		return nil, err
	}
	e := &kept{Page: absolute(t.Page), Record: absolute(t.Record), Results: absolute(t.Results), View: o.View.String(),
		Marked: d.marked, Dir: d.dir, Asked: d.asked, PageSum: sumOf(out.HTML), Findings: reported(out.findings, d)}
	findings := shownFrom(e.Findings, d)
	if err := sparesInputs(out, t); err != nil {
		return findings, err
	}
	if t.Results != "" {
		text, err := out.Results.Bytes()
		if err != nil {
			return findings, err
		}
		e.ResultsSum = sumOf(text)
		if err := CreateFile(t.Results, text); err != nil {
			return findings, err
		}
	}
	if err := CreateFile(t.Page, out.HTML); err != nil {
		return findings, err
	}
	if b.Keep != nil {
		if e.Engine, err = b.Keep.engine(); err == nil {
			b.Keep.put(e)
		}
	}
	return findings, nil
}

// sparesInputs refuses to write over a file that the record was made from.
func sparesInputs(out *Output, t Target) error {
	for _, path := range []string{t.Page, t.Results} {
		if path == "" {
			continue
		}
		for _, in := range out.Files() {
			if SamePath(path, in) {
				return &OverInputError{path}
			}
		}
	}
	return nil
}

// IsDiskFault reports whether an error is one of the disk as a whole: whatever
// else is written there would fail as well.
func IsDiskFault(err error) bool {
	for _, e := range []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EROFS} {
		if errors.Is(err, e) {
			return true
		}
	}
	return false
}

// nameMark stands before and after the name of a file in a finding that is
// kept. No text that is read holds it.
const nameMark = "\x00"

// reported are findings as they are printed, the names of files that the door
// opened between marks and relative to its root: how the reader calls them may
// differ at the next build.
func reported(list []*finding.Finding, d *door) []Reported {
	marked := renamed(list, func(f *source.File) string {
		if d.known[f] {
			return nameMark + f.Name + nameMark
		}
		return f.Name
	})
	out := make([]Reported, len(list))
	for i, f := range marked {
		var b strings.Builder
		_ = finding.WriteText(&b, []*finding.Finding{f}) // a Builder takes all
		out[i] = Reported{f.Severity, b.String()}
	}
	return out
}

// shownFrom names the files of such findings as the reader would type them.
func shownFrom(list []Reported, d *door) []Reported {
	out := make([]Reported, len(list))
	for i, r := range list {
		pieces := strings.Split(r.Text, nameMark)
		for j := 1; j < len(pieces); j += 2 {
			pieces[j] = d.shownPath(pieces[j])
		}
		out[i] = Reported{r.Severity, strings.Join(pieces, "")}
	}
	return out
}
