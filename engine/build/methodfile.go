package build

import (
	"fmt"
	"path/filepath"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// MethodFile reads the method file at a path; the file is named as the reader
// typed it. The error is a *ReadError where it cannot be read and a
// *RecordError where it is no method.
func MethodFile(path string) (*source.File, error) {
	d, f, err := openDoor(path)
	if err != nil {
		return nil, err
	}
	defer d.close()
	name := filepath.ToSlash(filepath.Clean(path))
	if record.Parse(f, nil, &finding.Set{}).Front.Get("method") == nil {
		return nil, &RecordError{name}
	}
	return source.NewFile(name, f.Text), nil
}

// TextFile reads a file that stands by itself, such as a plan; it is named as
// the reader typed it. The error is a *ReadError.
func TextFile(path string) (*source.File, error) {
	d, f, err := openDoor(path)
	if err != nil {
		return nil, err
	}
	defer d.close()
	return source.NewFile(filepath.ToSlash(filepath.Clean(path)), f.Text), nil
}

// RecordError says that a file is no method.
type RecordError struct{ Name string }

// Error is the message with its hint.
func (e *RecordError) Error() string {
	return fmt.Sprintf("`%s` is no method file: its front matter has no `method:`", e.Name)
}
