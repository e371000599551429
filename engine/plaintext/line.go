package plaintext

import "example.org/taut/engine/view"

// Line is a label in an author's Markdown as text: code stays between its
// backticks.
func Line(label string) string { return spaced(runs(view.Inline(label))) }
