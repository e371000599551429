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
	return formula.ParseExpr(scalarSpan(s), set)
}

// scalarSpan returns the stretch of text that holds a scalar. Text that was
// escaped or folded in YAML stands nowhere as such: a file of its own then
// holds it, under the same name.
func scalarSpan(s *record.Setting) source.Span {
	at, ok := s.Inner()
	if ok {
		return at
	}
	name := ""
	if s.At.File != nil {
		name = s.At.File.Name
	}
	f := source.NewFile(name, []byte(s.Text))
	return f.Span(0, len(s.Text))
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
	if s == nil {
		return nil
	}
	if s.Kind != record.ScalarSetting {
		set.Add(badValue(s.At, key, "a list or map", "a single value"))
		return nil
	}
	return s
}

var one = unit.Of(unit.Dim{})
