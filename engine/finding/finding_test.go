package finding_test

import (
	"slices"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func at(f *source.File, i int) source.Span { return f.Span(i, i+1) }

func slugs(list []*finding.Finding) []string {
	var out []string
	for _, f := range list {
		out = append(out, f.Slug)
	}
	return out
}

// TestSet keeps the same complaint once, but not two of a method that stand at
// one binding.
func TestSet(t *testing.T) {
	record, method := source.NewFile("r", []byte("abcdef")), source.NewFile("m", []byte("abcdef"))
	var s finding.Set
	in := func(i int) *finding.Finding {
		return &finding.Finding{Slug: "x", Message: "no", At: at(record, 1), Also: []finding.Place{{At: at(method, i), What: "in the method, here"}}}
	}
	s.Add(in(2))
	s.Add(in(2))
	s.Add(in(3))
	s.Add(nil)
	if s.Len() != 2 {
		t.Errorf("the set has %d findings", s.Len())
	}
}

// TestKeep goes back to an earlier state of a set.
func TestKeep(t *testing.T) {
	f := source.NewFile("r", []byte("abcdef"))
	var s finding.Set
	for i, slug := range []string{"a", "b", "c", "d"} {
		s.Add(&finding.Finding{Slug: slug, At: at(f, 4-i)})
	}
	s.Sorted()
	s.Keep(3, func(f *finding.Finding) bool { return f.Slug != "b" })
	if got := slugs(s.Sorted()); !slices.Equal(got, []string{"c", "a"}) {
		t.Errorf("kept are %q", got)
	}
	s.Add(&finding.Finding{Slug: "d", At: at(f, 1)})
	if got := slugs(s.Sorted()); !slices.Equal(got, []string{"d", "c", "a"}) {
		t.Errorf("then there are %q", got)
	}
}

// TestTo hands findings on, each once.
func TestTo(t *testing.T) {
	f := source.NewFile("r", []byte("abcdef"))
	var got []string
	s := finding.To(func(f *finding.Finding) { got = append(got, f.Slug) })
	s.Add(&finding.Finding{Slug: "a", At: at(f, 1)})
	s.Add(&finding.Finding{Slug: "a", At: at(f, 1)})
	s.Add(&finding.Finding{Slug: "b", At: at(f, 0)})
	if !slices.Equal(got, []string{"a", "b"}) || s.Len() != 2 {
		t.Errorf("handed on are %q", got)
	}
}
