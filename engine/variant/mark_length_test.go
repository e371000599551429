package variant_test

import (
	"strings"
	"testing"

	"example.org/taut/engine/results"
	"example.org/taut/engine/variant"
)

// TestRadiusForDiameter: a radius in the place of a diameter makes an area a
// quarter, a modulus of the wire 4 times and a modulus in torsion 16 times too
// great (A = πd²/4, E = 4gL/(πd²b), G ∝ 1/d⁴; common knowledge), and the words
// say which was taken for which.
func TestRadiusForDiameter(t *testing.T) {
	const (
		radius   = "as with half of `d`: was the radius taken for the diameter?"
		diameter = "as with twice `d`: was the diameter taken for the radius?"
	)
	for _, c := range []struct {
		method, value string
		factor        float64
		want          string
	}{
		{"stretched-wire", "area", 4, "4 times what is right, " + diameter},
		{"stretched-wire", "area", 0.25, "a quarter of what is right, " + radius},
		{"stretched-wire", "E", 4, "4 times what is right, " + radius},
		{"stretched-wire", "E", 0.25, "a quarter of what is right, " + diameter},
		{"stretched-wire", "stress", 4, "4 times what is right, " + radius},
		{"stretched-wire", "stress", 2, "twice what is right"},
		{"stretched-wire", "d", 0.5, "half of what is right: was the radius given?"},
		{"stretched-wire", "d", 2, "twice what is right"},
		{"stretched-wire", "slope", 4, "4 times what is right"},
		{"torsion-pendulum", "G", 16, "16 times what is right, " + radius},
		{"torsion-pendulum", "G", 1.0 / 16, "a sixteenth of what is right, " + diameter},
		{"torsion-pendulum", "G", 4, "4 times what is right"},
		{"spring-static", "k", 4, "4 times what is right"},
		{"wire-by-weighing", "area", 4, "4 times what is right"}, // by weighing: no diameter is in it
	} {
		v := vary(t, class(t, c.method, 4, "kestrel", 0))
		seen := false
		for i := range v.Key.Students {
			s := &v.Key.Students[i]
			e, ok := s.Results[c.value]
			if !ok || e.Expanded == nil || float64(*e.Expanded) > 0.1*float64(e.Value) {
				continue // too rough a result for a slip to be certain
			}
			wrong := e
			wrong.Value *= results.Float(c.factor)
			for _, j := range mark(v.Key, false, submission(v.Key, s, map[string]string{c.value: typed(t, wrong, e.Unit)})).Sheets[0].Values {
				if !strings.HasSuffix(j.Point.Name, "."+c.value) {
					continue
				}
				seen = true
				if got := lastWords(j); got != c.want {
					t.Errorf("%s %s ×%g of student %s: %q, want %q", c.method, c.value, c.factor, s.ID, got, c.want)
				}
			}
		}
		if !seen {
			t.Errorf("%s: no student has a %s that is good enough", c.method, c.value)
		}
	}
}

func lastWords(j *variant.Judged) string {
	for _, w := range j.Words {
		if strings.Contains(w, "what is right") {
			return w
		}
	}
	return strings.Join(j.Words, "; ")
}
