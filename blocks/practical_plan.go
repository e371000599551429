package blocks

import (
	"slices"

	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
)

// planning reports whether the practical is that of a plan, `plan=yes`: then
// the method's part `plan` counts too.
func (p *practicalBlock) planning() bool {
	o, ok := p.block.Option("plan")
	return ok && o.Value == "yes"
}

// blocks are the blocks of the method that the practical stands for.
func (p *practicalBlock) blocks() []*record.Block {
	plan := p.method.Part(method.PlanPart)
	if plan == nil || p.planning() {
		return p.method.Record.Blocks
	}
	return slices.DeleteFunc(slices.Clone(p.method.Record.Blocks), func(b *record.Block) bool { return b.Doc == plan.Doc })
}

// inlines are the inline values of the method that the practical stands for.
func (p *practicalBlock) inlines() []*record.Inline {
	plan := p.method.Part(method.PlanPart)
	if plan == nil || p.planning() {
		return p.method.Record.Inlines
	}
	return slices.DeleteFunc(slices.Clone(p.method.Record.Inlines), func(in *record.Inline) bool { return in.Doc == plan.Doc })
}
