package blocks

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

var _ = add(roles{})

// roles is the kind `roles`: what a practical needs. The table is read with
// the method file as a whole.
type roles struct{}

// Info implements block.Kind.
func (roles) Info() block.Info {
	return block.Info{Name: "roles", Naming: block.Nameless, MethodOnly: true, What: "what a practical needs: the roles that a record binds"}
}

type rolesBlock struct{}

// Read implements block.Kind.
func (roles) Read(*block.Reader, *record.Block) block.Instance { return rolesBlock{} }

// Show implements block.Instance.
func (rolesBlock) Show(*block.Shower) []view.Node { return nil }
