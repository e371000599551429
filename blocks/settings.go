package blocks

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// expression reads a setting's text as an expression.
func expression(s *record.Setting, set *finding.Set) formula.Expr {
	at, ok := scalarSpan(s, set)
	if !ok {
		return &formula.Bad{At: s.At}
	}
	return formula.ParseExpr(at, set)
}

// scalarSpan returns the stretch of text that holds a scalar. Text that was
// escaped or folded in YAML stands nowhere as such, and what is wrong in it
// would have no place: it is reported.
func scalarSpan(s *record.Setting, set *finding.Set) (at source.Span, ok bool) {
	if s.Broken {
		return s.At, false
	}
	at, ok = s.Inner()
	if !ok {
		set.Add(foldedText(s.At))
	}
	return at, ok
}

// foldedText: `y: "a\u002Fb"`, or an expression over two lines.
func foldedText(at source.Span) *finding.Finding {
	return errorAt(at, "folded-text", "what is computed must stand as it is meant: this is escaped, or goes over several lines",
		"write it in one line; where YAML wants quotes, take those that need no escape")
}

// checkKeys reports the keys of a map that are not known.
func checkKeys(m *record.Setting, where string, known []string, set *finding.Set) {
	for _, p := range m.Pairs {
		found := false
		for _, k := range known {
			found = found || k == p.Key
		}
		if !found {
			set.Add(unknownKey(p.KeyAt, p.Key, where, known))
		}
	}
}

// scalar returns the setting under a key if it is a single value; a list or a
// map is reported.
func scalar(m *record.Setting, key string, set *finding.Set) *record.Setting {
	s := m.Get(key)
	if s == nil || s.Broken {
		return nil
	}
	if s.Kind != record.ScalarSetting {
		set.Add(badValue(s.At, key, "a list or map", "a single value"))
		return nil
	}
	return s
}

var one = unit.Of(unit.Dim{})
