package block

import (
	"slices"
	"sort"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// place is a document as it stands in a scope: a method that is bound twice
// stands in two.
type place struct {
	doc   *record.Document
	scope *Scope
}

// contents are the blocks and the inline values of a place, in order, and the
// blocks that are not there under the bindings.
type contents struct {
	units   []*Unit
	inlines []*inline
	absent  []*record.Block
}

func (p *Program) at(doc *record.Document, s *Scope) *contents {
	k := place{doc, s}
	if p.within[k] == nil {
		p.within[k] = &contents{}
	}
	return p.within[k]
}

// ledger tells in which blocks findings stand. It takes them up as they come.
type ledger struct {
	entered   int // findings taken up
	starts    map[*source.File][]int
	blocks    map[*source.File]map[int][]*Unit // by the start of their text
	files     map[*source.File][]*Unit         // by the files that they read
	of        map[*Unit][]*finding.Finding
	elsewhere []*finding.Finding
}

// enter takes up the findings that are new.
func (p *Program) enter() *ledger {
	l := p.ledger
	if l == nil {
		l = newLedger(p.units)
		p.ledger = l
	}
	for _, f := range p.Set.Since(l.entered) {
		l.entered++
		units := l.unitsAt(f.At)
		for _, u := range units {
			l.of[u] = append(l.of[u], f)
		}
		if len(units) == 0 {
			l.elsewhere = append(l.elsewhere, f)
		}
	}
	return l
}

func newLedger(units []*Unit) *ledger {
	l := &ledger{starts: map[*source.File][]int{}, blocks: map[*source.File]map[int][]*Unit{}, files: map[*source.File][]*Unit{}, of: map[*Unit][]*finding.Finding{}}
	for _, u := range units {
		s := u.Block.Span
		if l.blocks[s.File] == nil {
			l.blocks[s.File] = map[int][]*Unit{}
		}
		if len(l.blocks[s.File][s.Start]) == 0 {
			l.starts[s.File] = append(l.starts[s.File], s.Start)
		}
		l.blocks[s.File][s.Start] = append(l.blocks[s.File][s.Start], u)
		for _, f := range u.Files {
			if !slices.Contains(l.files[f], u) {
				l.files[f] = append(l.files[f], u)
			}
		}
	}
	for _, starts := range l.starts {
		slices.Sort(starts)
	}
	return l
}

// unitsAt returns the blocks in which a place lies, or in whose files.
func (l *ledger) unitsAt(at source.Span) []*Unit {
	if at.File == nil {
		return nil
	}
	out := slices.Clone(l.files[at.File])
	starts := l.starts[at.File]
	i, _ := slices.BinarySearch(starts, at.Start+1)
	if i == 0 {
		return out
	}
	for _, u := range l.blocks[at.File][starts[i-1]] {
		if within(at, u.Block.Span) && !slices.Contains(out, u) {
			out = append(out, u)
		}
	}
	return out
}

// findingsOf returns the findings that stand in a block or in its files.
func (p *Program) findingsOf(u *Unit) []*finding.Finding {
	out := p.enter().of[u]
	finding.Sort(out)
	return slices.Clip(out)
}

// Found returns the findings that stand in the block or in its files.
func (s *Shower) Found() []*finding.Finding { return s.program.findingsOf(s.unit) }

// findingIn returns the first finding that stands within a stretch of text
// outside of blocks; nil where there is none.
func (p *Program) findingIn(s source.Span) *finding.Finding {
	list := p.Set.Sorted()
	start := source.Span{File: s.File, Start: s.Start, End: s.Start}
	i := sort.Search(len(list), func(i int) bool { return !list[i].At.Before(start) })
	for ; i < len(list); i++ {
		if f := list[i]; within(f.At, s) {
			return f
		} else if f.At.File == s.File && f.At.Start >= s.End {
			return nil
		}
	}
	return nil
}

func within(at, in source.Span) bool {
	return at.File != nil && at.File == in.File && at.Start >= in.Start && at.Start < in.End
}

// Elsewhere returns the findings that stand in no block.
func (p *Program) Elsewhere() []*finding.Finding {
	out := p.enter().elsewhere
	finding.Sort(out)
	return slices.Clip(out)
}
