package plaintext

import "example.org/taut/engine/view"

// Line is a label in an author's Markdown as text: code stays between its
// backticks.
func Line(label string) string { return spaced(runs(view.Inline(label))) }

// Wrap sets the words of a text in lines of at most width columns, or of one
// word where that is longer; no line ends at a no-break space.
func Wrap(s string, width int) string { return wrap(s, width) }
