package block

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Open opens a file that the block asks for, relative to the file in which it
// stands, and reports where that fails; nil then.
func (r *Reader) Open(path string, at source.Span) *source.File {
	f, err := r.Files.Open(at.File, path)
	if err != nil {
		r.Set.Add(CannotOpen(at, err))
		return nil
	}
	r.unit.Files = append(r.unit.Files, f)
	r.program.data[f] = true
	return f
}

// OpenError is why a file could not be opened, with a hint.
type OpenError struct{ Message, Hint string }

func (e *OpenError) Error() string { return e.Message }

// CannotOpen reports why a file could not be opened: `from=readngs.csv`.
func CannotOpen(at source.Span, err error) *finding.Finding {
	hint := ""
	if o, ok := err.(*OpenError); ok {
		hint = o.Hint
	}
	return errorAt(at, "cannot-open", err.Error(), hint)
}

// ID returns the ID of the block on the page.
func (r *Reader) ID() string { return r.unit.ID }
