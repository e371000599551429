package block

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// AddText takes a Markdown body up with its inline values, so that these are
// computed and shown in the block's scope.
func (r *Reader) AddText(doc *record.Document, list []*record.Inline) {
	r.program.addInlines(list, r.Scope, r.unit)
	r.program.texts = append(r.program.texts, doc)
}

// Documents lists the texts that stand in the record's own file: its prose,
// then the bodies of blocks that are text.
func (p *Program) Documents() []*record.Document {
	out := []*record.Document{p.Record.Doc}
	for _, d := range p.texts {
		if d.File == p.Record.File {
			out = append(out, d)
		}
	}
	return out
}

// Prose shows a document of a scope, its headings set shift levels deeper.
func (s *Shower) Prose(doc *record.Document, scope *Scope, shift int) *view.Prose {
	return s.program.prose(doc, scope, shift)
}

// Block returns the block of that name in the scope of this one; nil where
// there is none.
func (c *Computing) Block(name string) *Unit {
	for _, u := range c.Scope.units {
		if u.Block.Name == name && u.Info.Naming == Named {
			return u
		}
	}
	return nil
}

// Beside lists the instances of the blocks in the scope of this one.
func (c *Computing) Beside() []Instance { return c.Scope.Instances() }

// Instances lists those of the blocks in a scope, in order.
func (s *Scope) Instances() []Instance {
	var out []Instance
	for _, u := range s.units {
		out = append(out, u.Inst)
	}
	return out
}

// Shown reports whether a block in the scope of this one is shown, rather than
// marked print=no.
func (c *Computing) Shown(of Instance) bool {
	for _, u := range c.Scope.units {
		if u.Inst == of {
			return !u.hide
		}
	}
	return false
}

// ShowerFor returns what another block of the record is shown with.
func (s *Shower) ShowerFor(u *Unit) *Shower { return &Shower{s.program.computing(u.Scope, u)} }

// Warnings returns the safety cautions, each name once.
func (p *Program) Warnings() []view.Node {
	var out []view.Node
	for _, u := range p.units {
		w, ok := u.Inst.(Warner)
		if !ok || p.warnings[u.Block.Name] {
			continue
		}
		p.warnings[u.Block.Name] = true
		out = append(out, w.Warn(&Shower{p.computing(u.Scope, u)}))
	}
	return out
}

// Instances lists the instances of all blocks, in the order in which they were
// read; those of the front matter come first.
func (p *Program) Instances() []Instance {
	out := make([]Instance, len(p.units))
	for i, u := range p.units {
		out[i] = u.Inst
	}
	return out
}

// Library returns what is built in.
func (c *Computing) Library() Library { return c.program.library }

// Report adds a finding that stands in a scope.
func (x *Expansion) Report(s *Scope, f *finding.Finding) { x.program.Set.Add(x.program.via(f, s)) }

// Settled reports what is wrong with a method however its roles are bound.
// Nothing more is said of those places when it is worked out.
func (x *Expansion) Settled(s *Scope, list []*finding.Finding) {
	for _, f := range list {
		if x.program.said == nil {
			x.program.said = map[source.Span]bool{}
		}
		x.program.said[f.At] = true
		x.Report(s, f)
	}
}

// ShowPart returns one part of the practical of that name, also one that it
// does not print by itself, its headings set below the given level.
func (p *Program) ShowPart(of, part string, level int) []view.Node {
	c := p.computing(p.Root, nil)
	u := c.Block(of)
	if u == nil {
		return nil
	}
	parted, ok := u.Inst.(Parted)
	if !ok {
		return nil
	}
	return parted.ShowPart(&Shower{p.computing(u.Scope, u)}, part, level)
}
