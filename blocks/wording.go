package blocks

import (
	"fmt"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/source"
)

// Wording implements block.Worded.
func (c *calcBlock) Wording(name string) (block.Wording, bool) {
	for _, st := range c.steps {
		if st.Name == name && st.X != nil {
			at := st.X.Span()
			if st.In.Text != "" && st.In.At.File == at.File {
				at.End = st.In.At.End
			}
			return block.Wording{At: at, Label: st.Label}, true
		}
	}
	return block.Wording{}, false
}

// Wording implements block.Worded: the heading of a column.
func (t *dataTable) Wording(name string) (block.Wording, bool) {
	for _, c := range t.columns {
		if t.name+"."+c.name == name {
			return block.Wording{At: c.head, Label: "readings"}, true
		}
	}
	return block.Wording{}, false
}

// Wording implements block.Worded: what a role is bound to.
func (p *practicalBlock) Wording(name string) (block.Wording, bool) {
	label := ""
	if p.method != nil {
		for _, r := range p.method.Roles {
			if r.Name == name || strings.HasPrefix(name, r.Name+"_") {
				label = r.What
			}
		}
	}
	for _, b := range p.bindings {
		if b.Name == name && len(b.Values) > 0 {
			at := b.Values[0].Span()
			at.End = b.Values[len(b.Values)-1].Span().End
			return block.Wording{At: at, Label: label}, true
		}
		for i, v := range b.Values {
			if fmt.Sprintf("%s_%d", b.Name, i+1) == name {
				return block.Wording{At: v.Span(), Label: label}, true
			}
		}
	}
	if p.method != nil {
		for _, r := range p.method.Roles {
			if r.Name == name && r.AbsentAt != (source.Span{}) {
				return block.Wording{At: r.AbsentAt, Label: label}, true
			}
		}
	}
	return block.Wording{}, false
}

// Wording implements block.Worded.
func (l *instrumentList) Wording(name string) (block.Wording, bool) {
	for _, e := range l.list {
		if "@"+e.name == name {
			return block.Wording{Label: scalarText(e.keys, "what")}, true
		}
	}
	return block.Wording{}, false
}
