package build

import (
	"fmt"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// InMemory works out a record that is no file and may read none, and returns
// what its body shows, its title and the findings. Of the options it takes
// Kinds, Library, Themes, View, Workers and Trials.
func InMemory(text *source.File, o Options) (body *view.Prose, title string, findings []*finding.Finding) {
	set := &finding.Set{}
	rec := record.Parse(text, block.KindNames(o.Kinds), set)
	front := readFront(rec, o.Kinds, o.Themes.Names(), set)
	program := block.New(rec, o.Kinds, noFiles{}, o.Library, front.Settings, set)
	program.Evaluate()
	program.CheckProse(front.Comma)
	runTrials(program, o)
	program.View = o.View
	return program.Show(), front.title(rec), set.Sorted()
}

// noFiles is a door that stays shut.
type noFiles struct{}

func (noFiles) Open(_ *source.File, path string) (*source.File, error) {
	return nil, &block.OpenError{Message: fmt.Sprintf("`%s` can't be read here", path)}
}
