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
	by map[*source.File]*settlement
}

// settlement is what is wrong with one method, once that was found out. It is
// good for all records if the method is alone: if it reads no file.
type settlement struct {
	once  sync.Once
	found []*finding.Finding
	alone bool
}

// maxSettlements bounds how many are kept.
const maxSettlements = 64

// settled returns what is wrong with a method however its roles are bound. A
// method within a method that is being settled is passed over.
func settled(m *method.Method, x *block.Expansion) []*finding.Finding {
	if x.Rehearsing() {
		return nil
	}
	s := settlementOf(m.File)
	mine := false
	s.once.Do(func() {
		mine = true
		s.found, s.alone = settle(m, x)
	})
	if mine || s.alone {
		return s.found
	}
	found, _ := settle(m, x)
	return found
}

// settlementOf returns that of a file, made or still to be made.
func settlementOf(f *source.File) *settlement {
	settlements.Lock()
	defer settlements.Unlock()
	s := settlements.by[f]
	if s == nil {
		if settlements.by == nil || len(settlements.by) >= maxSettlements {
			settlements.by = map[*source.File]*settlement{}
		}
		s = &settlement{}
		settlements.by[f] = s
	}
	return s
}

func settle(m *method.Method, x *block.Expansion) (found []*finding.Finding, alone bool) {
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
	found, alone = x.Settle(s)
	for _, f := range found {
		set.Add(f)
	}
	return set.Sorted(), alone
}
