package view

import "example.org/taut/engine/finding"

// Told is a name within text that leads to the place where the page shows a
// finding.
type Told struct {
	Name string
	Of   *finding.Finding
}

// Fold is a sentence, and more for those who ask, folded away under a label.
// The label holds no link.
type Fold struct {
	Text  Text
	Label string
	Items []Fact
}

func (Told) run()   {}
func (*Fold) node() {}
