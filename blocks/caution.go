package blocks

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var _ = add(caution{})

// caution is the kind `caution`: a safety caution.
type caution struct{}

// Info implements block.Kind.
func (caution) Info() block.Info {
	return block.Info{Name: "caution", Naming: block.Labelled, What: "a safety caution, printed once a record before everything else"}
}

type cautionBlock struct {
	name string
	doc  *record.Document
}

// Read implements block.Kind.
func (caution) Read(r *block.Reader, b *record.Block) block.Instance {
	doc, inlines := b.ReadMarkdown(r.Set)
	r.AddText(doc, inlines)
	return &cautionBlock{name: b.Name, doc: doc}
}

// Show implements block.Instance: the caution stands before everything else.
func (*cautionBlock) Show(*block.Shower) []view.Node { return nil }

// Warn implements block.Warner.
func (c *cautionBlock) Warn(s *block.Shower) *view.Warning {
	return &view.Warning{ID: s.ID(), Name: c.name, Body: s.Prose(c.doc, s.Scope, 0)}
}
