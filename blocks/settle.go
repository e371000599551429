package blocks

import (
	"sync"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
)

// settlements keeps what is wrong with methods by their files, so that a
// method is settled once however often it is used.
var settlements struct {
	sync.Mutex
	by map[*source.File][]*finding.Finding
}

// maxSettlements bounds how many are kept.
const maxSettlements = 64

// settled returns what is wrong with a method however its roles are bound. A
// method within a method that is being settled is passed over.
func settled(m *method.Method, x *block.Expansion) []*finding.Finding {
	if x.Rehearsing() {
		return nil
	}
	settlements.Lock()
	defer settlements.Unlock()
	if out, done := settlements.by[m.File]; done {
		return out
	}
	out := settle(m, x)
	if settlements.by == nil || len(settlements.by) >= maxSettlements {
		settlements.by = map[*source.File][]*finding.Finding{}
	}
	settlements.by[m.File] = out
	return out
}

func settle(m *method.Method, x *block.Expansion) []*finding.Finding {
	var set finding.Set
	s := &block.Script{Blocks: m.Record.Blocks, Inlines: m.Record.Inlines}
	for i := range m.Roles {
		r := &m.Roles[i]
		s.Roles = append(s.Roles, block.ScriptRole{Name: r.Name, At: r.At, Needed: r.Needed(), Optional: r.Optional(), Two: r.Most() == 2})
	}
	for i, name := range m.Results {
		s.Results = append(s.Results, block.Use{Name: name, At: m.ResultsAt[i]})
	}
	lib := x.Library()
	for _, c := range m.Casts(method.AnyMaterial(lib.MaterialNames(), lib.Material), &set) {
		s.Casts = append(s.Casts, block.Cast(c))
	}
	for _, f := range x.Settle(s) {
		set.Add(f)
	}
	return set.Sorted()
}
