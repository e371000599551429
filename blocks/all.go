// Package blocks holds the kinds of blocks, one file each. Each file adds its
// kind to a private list.
package blocks

import (
	"sort"

	"example.org/taut/engine/block"
)

var kinds []block.Kind

// add puts a kind into the list; the files of this package call it when the
// program starts.
func add(k block.Kind) struct{} {
	kinds = append(kinds, k)
	return struct{}{}
}

// All returns the kinds of blocks, sorted by name.
func All() []block.Kind {
	out := append([]block.Kind(nil), kinds...)
	sort.Slice(out, func(i, j int) bool { return out[i].Info().Name < out[j].Info().Name })
	return out
}
