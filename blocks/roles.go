package blocks

import "example.org/taut/engine/block"

// roles is the kind `roles`: what a practical needs. The table is read with
// the method file as a whole.
var _ = add(silent{block.Info{Name: "roles", Naming: block.Nameless, MethodOnly: true, What: "what a practical needs: the roles that a record binds"}})
