package block

import "example.org/taut/engine/eval"

// SourceOf returns where a handbook value comes from, as its sources tell; ""
// where that is not stated.
func SourceOf(v eval.Value) string {
	if s, ok := v.(eval.Scalar); ok {
		return s.From
	}
	return ""
}
