// Package manual holds the chapters of the manual. Each is a record.
package manual

import "embed"

// Chapters holds the chapters: NAME.md, or NAME/record.md where a chapter has
// files of its own beside it.
//
//go:embed *.md own-method/record.md
var Chapters embed.FS
