package block

import (
	"sort"
	"strings"

	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Told is what a name of the record stands for, for those who ask about one
// name: an editor, say.
type Told struct {
	Entry view.Entry // as the table of quantities has it; Value is that of the whole name
	At    source.Span
}

// Tell returns what is behind a name as the record knows it: young.E,
// pull.up.raw, or @screw for an instrument. It is called after Show, as
// Quantities is. Ok is false where nothing has that name.
func (p *Program) Tell(name string) (t Told, ok bool) {
	d, rest := p.find(name, p.Root)
	if d == nil {
		return Told{}, false
	}
	g := p.gathered()
	t = Told{Entry: g.entry(d), At: d.At}
	t.Entry.Name = name
	if len(rest) > 0 {
		v, found := p.Lookup(name)
		if !found {
			return Told{}, false
		}
		t.Entry.Value, t.Entry.Sources = p.computing(d.scope, d.unit).brief(v), nil
	}
	return t, true
}

// Label is what the author calls a name as the record knows it; "" for nothing.
func (p *Program) Label(name string) string {
	d, rest := p.find(name, p.Root)
	if d == nil || len(rest) > 0 {
		return ""
	}
	return wording(d).Label
}

// Known lists the names that can be used in the record itself, those within
// its practicals included, sorted; instruments have an @ before their name and
// come first.
func (p *Program) Known() []string {
	var out []string
	for full := range p.names {
		if at := strings.IndexByte(full, '@'); at <= 0 {
			out = append(out, full)
		}
	}
	sort.Strings(out)
	return out
}
