package blocks

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var (
	_ = add(question{block.Info{Name: "question", Naming: block.Named, Options: []string{"marks"}, What: "a question of a teaching sheet"}, view.Given})
	_ = add(question{block.Info{Name: "answer", Naming: block.Referring, What: "the answer to a question"}, view.Answer})
)

// question is the kind `question`, and the kind `answer` that refers to one.
type question struct {
	info     block.Info
	standing view.Standing
}

// Info implements block.Kind.
func (q question) Info() block.Info { return q.info }

type questionBlock struct {
	doc      *record.Document
	standing view.Standing
}

// Read implements block.Kind.
func (q question) Read(r *block.Reader, b *record.Block) block.Instance {
	doc, inlines := b.ReadMarkdown(r.Set)
	r.AddInlines(inlines)
	return &questionBlock{doc, q.standing}
}

// Show implements block.Instance.
func (q *questionBlock) Show(s *block.Shower) []view.Node {
	p := s.Prose(q.doc, s.Scope, 0)
	p.Standing = q.standing
	return []view.Node{p}
}
