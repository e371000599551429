package build

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Opened is a record that is read and not built, with the one door to the
// files that it reads.
type Opened struct {
	File  *source.File
	Files block.Files
	door  *door
}

// Open opens the record at a path. It is to be closed. The error is a
// *ReadError.
func Open(path string) (*Opened, error) {
	d, f, err := openDoor(path)
	if err != nil {
		return nil, err
	}
	return &Opened{File: f, Files: d, door: d}, nil
}

// Close closes the door.
func (o *Opened) Close() { o.door.close() }

// Shown returns findings with their files named as the reader would type them.
func (o *Opened) Shown(list []*finding.Finding) []*finding.Finding {
	return renamed(list, o.door.shown)
}
