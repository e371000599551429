package build

import (
	"crypto/sha256"
	"sync"

	"example.org/taut/engine/source"
)

// Texts keeps files that were read lately, so that the same text under the same
// name is the same *source.File in every record that reads it, and what was
// found out about a file, such as what is wrong with a method, need not be
// found out again. Each record reads its files all the same. A Texts may be
// used by several goroutines at once; a nil one keeps nothing.
type Texts struct {
	mu    sync.Mutex
	limit int // bytes in each of young and old
	size  int // bytes in young
	// What is asked for moves to young; when that is full it becomes old, and
	// what was old and not asked for since is forgotten.
	young, old map[textKey]*source.File
}

type textKey struct {
	name string
	sum  [sha256.Size]byte
}

// NewTexts returns a Texts for about that many bytes of text.
func NewTexts(limit int) *Texts { return &Texts{limit: limit / 2, young: map[textKey]*source.File{}} }

// file returns the file of a name and a text, whose sum is given.
func (t *Texts) file(name string, text []byte, sum [sha256.Size]byte) *source.File {
	if t == nil || len(text) > t.limit {
		return source.NewFile(name, text)
	}
	key := textKey{name, sum}
	t.mu.Lock()
	defer t.mu.Unlock()
	f := t.young[key]
	if f != nil {
		return f
	}
	if f = t.old[key]; f == nil {
		f = source.NewFile(name, text)
	}
	if t.size += len(text); t.size > t.limit {
		t.old, t.young, t.size = t.young, map[textKey]*source.File{}, len(text)
	}
	t.young[key] = f
	return f
}
