package build

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"

	"example.org/taut/engine/block"
)

// ReadError says that a record could not be read.
type ReadError struct{ Err error }

// Error is the message with its hint.
func (e *ReadError) Error() string {
	var o *block.OpenError
	if errors.As(e.Err, &o) && o.Hint != "" {
		return o.Message + "; " + o.Hint
	}
	return e.Err.Error()
}

// Unwrap returns what was wrong.
func (e *ReadError) Unwrap() error { return e.Err }

func unreadable(record string, err error) error {
	name := filepath.ToSlash(filepath.Clean(record))
	if errors.Is(err, fs.ErrNotExist) {
		return &ReadError{&block.OpenError{Message: fmt.Sprintf("there is no file `%s`, nor its folder", name)}}
	}
	return &ReadError{&block.OpenError{Message: fmt.Sprintf("`%s` can't be read: %s", name, reason(err))}}
}

// MethodError says that a file is a method and not a record.
type MethodError struct{ Name string }

// Error is the message with its hint.
func (e *MethodError) Error() string {
	return fmt.Sprintf("`%s` is a method file, not a record: its front matter has `method:`; a record binds it, `practical NAME method=./%s`; `taut check` tries it",
		e.Name, filepath.Base(e.Name))
}
