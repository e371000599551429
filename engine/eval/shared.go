package eval

import "example.org/taut/engine/quantity"

// SharedReadings returns two different reductions of shared readings that meet
// in a quantity, such as a fit and a mean of differences; nil where there are
// none.
func SharedReadings(q quantity.Q) (a, b *quantity.Source) {
	var reductions []*quantity.Source
	groups := map[string]bool{}
	for _, t := range q.Terms() {
		s := t.Source
		if len(s.Cells) == 0 || s.Group != nil && groups[s.Group.ID] {
			continue
		}
		if s.Group != nil {
			groups[s.Group.ID] = true
		}
		for _, other := range reductions {
			if share(other.Cells, s.Cells) {
				if s.ID < other.ID {
					return s, other
				}
				return other, s
			}
		}
		reductions = append(reductions, s)
	}
	return nil, nil
}

func share(a, b []*quantity.Source) bool {
	i, j := 0, 0
	for i < len(a) && j < len(b) {
		switch {
		case a[i].Same(b[j]):
			return true
		case a[i].Less(b[j]):
			i++
		default:
			j++
		}
	}
	return false
}
