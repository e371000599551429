package blocks

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var (
	_ = add(silent{block.Info{Name: "simulate", Naming: block.Nameless, MethodOnly: true, What: "how readings come about from chosen truths, for variants, planning and tests"}})
	_ = add(silent{block.Info{Name: "faults", Naming: block.Nameless, MethodOnly: true, What: "the faults that a simulation can be given"}})
)

// silent is a kind that is read with the method file as a whole and shows
// nothing in a record.
type silent struct{ info block.Info }

// Info implements block.Kind.
func (s silent) Info() block.Info { return s.info }

// Read implements block.Kind.
func (silent) Read(*block.Reader, *record.Block) block.Instance { return nothing{} }

// nothing is a block that shows nothing.
type nothing struct{}

// Show implements block.Instance.
func (nothing) Show(*block.Shower) []view.Node { return nil }
