package blocks

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var _ = add(part{})

// part is the kind `part`: the place where a part of a practical is printed.
type part struct{}

// Info implements block.Kind.
func (part) Info() block.Info {
	return block.Info{Name: "part", Naming: block.Referring, What: "the place where a part of a practical is printed: `part young.theory`"}
}

type partBlock struct {
	of, name string
	at       source.Span
	level    int
	unit     *block.Unit
}

// Read implements block.Kind.
func (part) Read(r *block.Reader, b *record.Block) block.Instance {
	p := &partBlock{at: b.NameAt, level: b.Level}
	p.of, p.name, _ = strings.Cut(b.Name, ".")
	if strings.TrimSpace(b.Body.Span.Text()) != "" {
		r.Set.Add(errorAt(b.Body.Span, "not-empty", "a `part` block has no body", "it prints a part of a practical in this place"))
	}
	return p
}

// Part implements block.PartOf.
func (p *partBlock) Part() (of, name string) { return p.of, p.name }

// Check implements block.Checker.
func (p *partBlock) Check(c *block.Computing) {
	u := c.Block(p.of)
	if u == nil {
		c.Report(errorAt(p.at, "no-such-part", fmt.Sprintf("there is no practical `%s`", p.of), "a part is named PRACTICAL.PART, as in `part young.theory`"))
		return
	}
	parted, ok := u.Inst.(block.Parted)
	if !ok {
		c.Report(errorAt(p.at, "no-such-part", fmt.Sprintf("`%s` has no parts: it is a `%s` block", p.of, u.Block.Kind), "name a practical"))
		return
	}
	if names := parted.PartNames(); !has(names, p.name) {
		hint := finding.DidYouMean(p.name, names)
		if hint == "" {
			hint = "its parts are " + strings.Join(names, ", ")
		}
		c.Report(errorAt(p.at, "no-such-part", fmt.Sprintf("the practical `%s` has no part `%s`", p.of, p.name), hint))
		return
	}
	p.unit = u
}

// Show implements block.Instance.
func (p *partBlock) Show(s *block.Shower) []view.Node {
	if p.unit == nil {
		return nil
	}
	return p.unit.Inst.(block.Parted).ShowPart(s.ShowerFor(p.unit), p.name, p.level)
}
