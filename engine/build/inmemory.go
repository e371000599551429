package build

import (
	"fmt"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Shown is what the page of a record would show.
type Shown struct {
	Title    string
	Cautions []view.Node // of safety, before everything else
	Body     *view.Prose
	Findings []*finding.Finding
}

// InMemory works out a record that is no file and may read none. Of the options
// it takes Kinds, Library, Themes, View, Workers and Trials.
func InMemory(text *source.File, o Options) *Shown {
	set := &finding.Set{}
	rec := record.Parse(text, block.KindNames(o.Kinds), set)
	front := readFront(rec, o.Kinds, o.Themes.Names(), set)
	program := block.New(rec, o.Kinds, noFiles{}, o.Library, front.Settings, set)
	program.Evaluate()
	program.CheckProse(front.Comma)
	runTrials(program, o)
	program.View = o.View
	return &Shown{front.title(rec), program.Warnings(), program.Show(), set.Sorted()}
}

// noFiles is a door that stays shut.
type noFiles struct{}

func (noFiles) Open(_ *source.File, path string) (*source.File, error) {
	return nil, &block.OpenError{Message: fmt.Sprintf("`%s` can't be read here", path)}
}
