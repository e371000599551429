package build

import (
	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// renamed returns the findings with their files under other names.
func renamed(list []*finding.Finding, name func(*source.File) string) []*finding.Finding {
	files := map[*source.File]*source.File{}
	at := func(s source.Span) source.Span {
		if s.File == nil {
			return s
		}
		if files[s.File] == nil {
			f := *s.File
			f.Name = name(s.File)
			files[s.File] = &f
		}
		s.File = files[s.File]
		return s
	}
	out := make([]*finding.Finding, len(list))
	for i, f := range list {
		g := *f
		g.At = at(f.At)
		g.Also = nil
		for _, p := range f.Also {
			g.Also = append(g.Also, finding.Place{At: at(p.At), What: p.What})
		}
		out[i] = &g
	}
	return out
}
