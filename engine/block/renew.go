package block

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// Renew reads the blocks that read files once more, with the files that there
// are now, and forgets what was computed, so that one record can be worked out
// for many sets of readings. It is for values and findings: nothing is shown
// of a renewed program.
func (p *Program) Renew(files Files) {
	p.files, p.data, p.ledger = files, map[*source.File]bool{}, nil
	stale := map[*source.File]bool{}
	var again []*Unit
	for _, u := range p.units {
		if len(u.Files) > 0 {
			again = append(again, u)
			for _, f := range u.Files {
				stale[f] = true
			}
			u.Files = nil
		}
	}
	p.Set.Keep(p.read, func(f *finding.Finding) bool { return !stale[f.At.File] })
	for _, u := range again {
		p.readAgain(u)
	}
	p.defs = p.defs[:p.expanded]
	p.names = make(map[string]*Def, len(p.names))
	for _, d := range p.defs {
		p.names[d.full] = d
	}
	p.defineUnits()
	for _, d := range p.defs {
		d.value = nil
	}
	for _, in := range p.order {
		in.value = nil
	}
	p.jobs, p.warnings, p.put = nil, map[string]bool{}, replacements{}
	p.read = p.Set.Len()
}

// readAgain reads one block anew, in its place.
func (p *Program) readAgain(u *Unit) {
	r := &Reader{Set: p.Set, Scope: u.Scope, Settings: p.Settings, Files: p.files, program: p, unit: u}
	k := p.kinds[u.Block.Kind]
	u.defs = nil
	if f, ok := k.(FrontReader); ok && u.front != "" {
		if inst := f.ReadFront(r, u.front, p.Record.Front.Get(u.front)); inst != nil {
			u.Inst = inst
		}
		return
	}
	u.Inst = k.Read(r, u.Block)
}
