package blocks

import (
	"fmt"
	"strconv"

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
	name     string
	doc      *record.Document
	standing view.Standing
	marks    int // 0 for none stated
}

// mostMarks is the most that one question can carry.
const mostMarks = 100

// Read implements block.Kind.
func (q question) Read(r *block.Reader, b *record.Block) block.Instance {
	doc, inlines := b.ReadMarkdown(r.Set)
	r.AddInlines(inlines)
	out := &questionBlock{name: b.Name, doc: doc, standing: q.standing}
	if o, ok := b.Option("marks"); ok && q.standing != view.Answer {
		n, err := strconv.Atoi(o.Value)
		if err != nil || n < 1 || n > mostMarks {
			r.Set.Add(badValue(o.ValueAt, "marks", o.Value, fmt.Sprintf("a whole number from 1 to %d", mostMarks)))
		} else {
			out.marks = n
		}
	}
	return out
}

// Show implements block.Instance.
func (q *questionBlock) Show(s *block.Shower) []view.Node {
	p := s.Prose(q.doc, s.Scope, 0)
	p.Standing = q.standing
	nodes := []view.Node{p}
	if q.marks > 0 {
		nodes = append(nodes, &view.Marks{Of: q.marks})
	}
	if s.View() == view.AsBlank && q.standing != view.Answer && !q.answered(s) {
		nodes = append(nodes, &view.Ruled{Label: "room for the answer", Lines: linesPerMark * max(1, q.marks)})
	}
	return nodes
}

// linesPerMark is the room for a question that has no answer in the record.
const linesPerMark = 3

// answered reports whether an answer to the question stands in its scope: its
// room is left in that place.
func (q *questionBlock) answered(s *block.Shower) bool {
	for _, other := range s.Beside() {
		if a, ok := other.(*questionBlock); ok && a.standing == view.Answer && a.name == q.name {
			return true
		}
	}
	return false
}
