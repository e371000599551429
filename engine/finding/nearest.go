package finding

import (
	"fmt"

	"example.org/taut/engine/internal/near"
)

// DidYouMean returns the hint that offers the known name nearest to a mistyped
// one, or "" where none is near.
func DidYouMean(name string, known []string) string {
	if n := near.Name(name, known); n != "" {
		return fmt.Sprintf("did you mean `%s`?", n)
	}
	return ""
}
