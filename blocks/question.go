package blocks

import (
	"fmt"
	"strconv"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
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
	at       source.Span // of the name
	doc      *record.Document
	standing view.Standing
	marks    int // 0 for none stated
}

// mostMarks is the most that one question can carry.
const mostMarks = 100

// Read implements block.Kind.
func (q question) Read(r *block.Reader, b *record.Block) block.Instance {
	doc, inlines := b.ReadMarkdown(r.Set)
	r.AddText(doc, inlines)
	out := &questionBlock{name: b.Name, at: b.NameAt, doc: doc, standing: q.standing}
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

// Check implements block.Checker: one question has a name, and an answer is one
// to a question.
func (q *questionBlock) Check(c *block.Computing) {
	if q.name == "" {
		return
	}
	var names []string
	for _, other := range c.Beside() {
		o, ok := other.(*questionBlock)
		if !ok || o.standing == view.Answer {
			continue
		}
		if o.name == q.name {
			if q.standing != view.Answer && o != q {
				c.Report(questionTwice(q, o))
			}
			return
		}
		names = append(names, o.name)
	}
	c.Report(noQuestion(q.at, q.name, names))
}

// questionTwice: two questions of one name, of which an answer could not tell
// one from the other.
func questionTwice(q, before *questionBlock) *finding.Finding {
	f := errorAt(q.at, "defined-twice", fmt.Sprintf("there are two questions `%s`", q.name), "give one of them another name")
	f.Also = []finding.Place{{At: before.at, What: "the first is here"}}
	return f
}

// noQuestion: “```answer why” without a question of that name.
func noQuestion(at source.Span, name string, known []string) *finding.Finding {
	hint := finding.DidYouMean(name, known)
	if hint == "" {
		hint = fmt.Sprintf("name it as the question is named, or add a block `question %s`", name)
	}
	return errorAt(at, "no-question", fmt.Sprintf("there is no question `%s` that this would answer", name), hint)
}

// Show implements block.Instance.
func (q *questionBlock) Show(s *block.Shower) []view.Node {
	p := s.Prose(q.doc, s.Scope, 0)
	p.Standing = q.standing
	nodes := []view.Node{p}
	if q.standing == view.Answer && q.doc.Root.FirstChild() == nil && s.View() != view.AsBlank {
		return append(nodes, &view.Paragraph{Text: view.Text{view.Emph("not answered")}, Standing: q.standing})
	}
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
