package method_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/method"
)

const screws = `~~~simulate
load      = seq(0 kg, 0.1 kg, 4)
reading_1 = read(2 mm + load * 3 mm/kg + noise(0.02 mm), 0.01 mm, 0 mm)
reading_2 = read(2 mm + load * 3 mm/kg + noise(0.02 mm), 0.01 mm, 0 mm)
scale_pitch = 0.5 mm
~~~
`

// changed lists the indices at which two columns, one behind the other,
// differ, and by how much.
func changed(a, b []float64) (at []int, by []float64) {
	for i := range a {
		if d := b[i] - a[i]; math.Abs(d) > 1e-12 {
			at, by = append(at, i), append(by, d)
		}
	}
	return at, by
}

// TestMisrecord applies each recording fault and looks at what it changed.
func TestMisrecord(t *testing.T) {
	m := parse(t, head+screws)
	const rows = 4
	moved := map[int]bool{}
	for seed := uint64(1); seed <= 60; seed++ {
		s := simulate(t, m, seed, nil, false)
		was := values(s.Roles["reading"])
		for _, f := range method.RecordingFaults() {
			out, slip, err := s.Misrecord(f.Name, "reading", seed)
			if err != nil {
				t.Fatalf("seed %d: %s: %v", seed, f.Name, err)
			}
			if got := values(s.Roles["reading"]); !slices.Equal(got, was) {
				t.Fatalf("%s changed the readings that it was given", f.Name)
			}
			is := values(out.Roles["reading"])
			at, by := changed(was, is)
			first := (slip.Member-1)*rows + slip.Row - 1
			switch f.Name {
			case "turn", "half_millimetre":
				if len(at) != 1 || at[0] != first || math.Abs(math.Abs(by[0])-0.5e-3) > 1e-12 {
					t.Errorf("seed %d: %s changes %v by %v, says %+v", seed, f.Name, at, by, slip)
				}
				moved[first] = true
			case "turn_kept":
				for i, k := range at {
					if k != first+i || math.Abs(by[i]-by[0]) > 1e-12 || math.Abs(math.Abs(by[0])-0.5e-3) > 1e-12 {
						t.Errorf("seed %d: %s changes %v by %v", seed, f.Name, at, by)
					}
				}
				if first < 1 || first > rows-2 || len(at) != 2*rows-first {
					t.Errorf("seed %d: %s begins at %d and changes %d readings", seed, f.Name, first, len(at))
				}
			case "swapped_digits":
				if len(at) != 1 || at[0] != first || !anagram(slip.Was, slip.Is) || slip.Was == slip.Is {
					t.Errorf("seed %d: %s changes %v, says %+v", seed, f.Name, at, slip)
				}
			case "copied_column":
				if !slices.Equal(is[:rows], is[rows:]) || !slices.Equal(is[:rows], was[:rows]) {
					t.Errorf("seed %d: %s gives %v of %v", seed, f.Name, is, was)
				}
			}
			again, _, err := s.Misrecord(f.Name, "reading", seed)
			if err != nil || !slices.Equal(values(again.Roles["reading"]), is) {
				t.Errorf("seed %d: %s twice is not the same", seed, f.Name)
			}
		}
	}
	if len(moved) != 2*rows {
		t.Errorf("in 60 seeds only %d of %d readings were moved", len(moved), 2*rows)
	}
}

// anagram reports whether two texts have the same characters.
func anagram(a, b string) bool {
	x, y := strings.Split(a, ""), strings.Split(b, "")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// TestMisrecordRefused tells why a fault cannot be.
func TestMisrecordRefused(t *testing.T) {
	s := simulate(t, parse(t, head+springs), 1, nil, false)
	for _, c := range []struct{ fault, role, want string }{
		{"turn", "reading", "scale_pitch"},
		{"turned", "reading", "there is no recording fault"},
		{"copied_column", "load", "one column only"},
		{"half_millimetre", "load", "is no length"},
		{"turn", "mass", "is no column"},
		{"turn", "width", "gives no role"},
	} {
		if _, _, err := s.Misrecord(c.fault, c.role, 1); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s of %s: %v", c.fault, c.role, err)
		}
	}
	list := s.Roles["reading"].(eval.List)
	if len(list.Members) != 2 {
		t.Errorf("the role has %d columns", len(list.Members))
	}
}
