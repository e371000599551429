package view

import "example.org/taut/engine/finding"

// Told is a name within text that leads to the place where the page shows a
// finding.
type Told struct {
	Name string
	Of   *finding.Finding
}

// Fold is a sentence with more behind it, for those who ask.
type Fold struct {
	Text  Text
	Items []Fact
}

func (Told) run()   {}
func (*Fold) node() {}
