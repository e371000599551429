package build

import (
	"fmt"
	"path"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Practical is a practical of a record, and the file of its method.
type Practical struct {
	Name   string
	Method *source.File
	Own    string // the name of the method's own file; "" where it is built in
}

// Practicals returns the practicals of the record at a path, in order, and the
// record itself, read and not worked out. The findings tell of methods that
// cannot be had. The error is a *ReadError or a *MethodError.
func Practicals(file string, kinds []block.Kind, lib block.Library) (*record.Record, []Practical, []*finding.Finding, error) {
	d, text, err := openDoor(file)
	if err != nil {
		return nil, nil, nil, err
	}
	defer d.close()
	rec := record.Parse(text, block.KindNames(kinds), &finding.Set{}) // what else is wrong in it does not matter here
	if rec.Front.Get("method") != nil {
		return nil, nil, nil, &MethodError{d.shown(text)}
	}
	var out []Practical
	var set finding.Set
	for _, b := range rec.Blocks {
		o, ok := b.Option("method")
		if b.Kind != "practical" || !ok || o.Value == "" {
			continue
		}
		p := Practical{Name: b.Name}
		if strings.ContainsAny(o.Value, "/.") {
			if p.Method, err = d.Open(text, o.Value); err != nil {
				set.Add(block.CannotOpen(o.ValueAt, err))
				continue
			}
			p.Own = path.Base(o.Value)
			shown := *p.Method
			shown.Name = d.shown(p.Method)
			p.Method = &shown
		} else if p.Method, ok = lib.Method(o.Value); !ok {
			set.Add(unknownMethod(o, lib))
			continue
		}
		out = append(out, p)
	}
	return rec, out, renamed(set.Sorted(), d.shown), nil
}

// unknownMethod: `method=streched-wire`.
func unknownMethod(o record.Option, lib block.Library) *finding.Finding {
	hint := finding.DidYouMean(o.Value, lib.MethodNames())
	if hint == "" {
		hint = "`taut methods` lists them"
	}
	return &finding.Finding{Severity: finding.Error, Slug: "unknown-method", At: o.ValueAt,
		Message: fmt.Sprintf("there is no method `%s`", o.Value), Hint: hint}
}
