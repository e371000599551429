package graph

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// shown is how many steps of a long circle a finding tells.
const shown = 12

// Circle makes the finding for one circle of Order, at the definition that
// comes first, with every use along it.
//
//	a = b + 1 m
//	b = 2 * a
func Circle(defs []Def, cycle []int) *finding.Finding {
	first := defs[cycle[0]]
	f := &finding.Finding{Severity: finding.Error, Slug: "circle", At: first.At,
		Hint: "give one of them a value that does not need the others"}
	var names []string
	for k, i := range cycle {
		if k == shown {
			names = append(names, fmt.Sprintf("%d more", len(cycle)-k))
			break
		}
		target := cycle[(k+1)%len(cycle)]
		names = append(names, "`"+defs[i].Name+"`")
		f.Also = append(f.Also, finding.Place{At: useAt(defs[i], target),
			What: fmt.Sprintf("`%s` uses `%s`", defs[i].Name, defs[target].Name)})
	}
	names = append(names, "`"+first.Name+"`")
	if len(cycle) == 1 {
		f.Message = "`" + first.Name + "` uses itself"
		f.Hint = "a name is defined once and does not change: choose another name for the new value"
		return f
	}
	f.Message = "these definitions need each other: " + strings.Join(names, " → ")
	return f
}

// useAt returns the place where a definition first uses a target.
func useAt(d Def, target int) source.Span {
	for _, u := range d.Uses {
		if u.Target == target {
			return u.At
		}
	}
	return d.At
}
