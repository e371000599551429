// Package tex reads TeX mathematics into a tree and prints such trees as
// MathML.
//
// The commands it reads are those of plain mathematical writing; there are no
// macros, no packages and no colours. Reading never fails: what cannot be read
// is reported as a Problem and shown as its own text, so that nothing is lost.
//
// What it prints keeps to MathML Core with three additions that HTML allows:
// links are HTML anchors inside mtext (browsers do not follow href on MathML
// elements), groups of digits are HTML spans inside mn, and data-value
// carries a number in full. No script and no style attribute is
// needed; the rules in CSS complete it.
package tex
