package blocks_test

import (
	"fmt"
	"math"
	"os"
	"sort"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/variant"
)

// readMethod reads a built-in method.
func readMethod(t testing.TB, name string) *method.Method {
	t.Helper()
	f, ok := blocks.Built().Method(name)
	if !ok {
		t.Fatalf("there is no method %s", name)
	}
	var set finding.Set
	m := method.Read(f, block.KindNames(blocks.All()), &set)
	for _, f := range set.Sorted() {
		t.Fatalf("%s: %s", f.Slug, f.Message)
	}
	return m
}

// simulated gives one simulated set of readings.
func simulated(t testing.TB, m *method.Method, seed uint64, faults map[string]quantity.Q) *method.Simulated {
	t.Helper()
	s, findings := m.Simulate(seed, faults, false)
	for _, f := range findings {
		line, _ := f.At.Position()
		t.Errorf("%d: %s: %s", line, f.Slug, f.Message)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}

// cries lists the slugs of cautions and errors, each once.
func cries(list []*finding.Finding) []string {
	seen := map[string]bool{}
	var out []string
	for _, f := range list {
		if f.Severity != finding.Note && !seen[f.Slug] {
			seen[f.Slug] = true
			out = append(out, f.Slug)
		}
	}
	sort.Strings(out)
	return out
}

// wanted is a fault of a method, at a size, with the checks that name it.
type wanted struct {
	fault string
	size  float64 // in the unit of the table; 0 for sizes from the least to the most
	slugs string  // any of these counts as found
}

// catchTable simulates a method without faults and with each fault, prints how
// often its checks cry and how often they name the fault, and holds the
// figures to at most 2 % of clean sets and at least 90 % of faulty ones.
func catchTable(t *testing.T, name string, first uint64, clean, faulty int, list []wanted) {
	t.Helper()
	m := readMethod(t, name)
	bench := variant.NewBench(m, blocks.Built(), blocks.All())
	false_, by := 0, map[string]int{}
	for i := range clean {
		c := cries(bench.Run(simulated(t, m, first+uint64(i), nil)).Findings)
		if len(c) > 0 {
			false_++
		}
		for _, s := range c {
			by[s]++
		}
	}
	share := float64(false_) / float64(clean)
	var table catches
	table.line("clean", "", clean, share, "cry", by)
	if share > 0.02 {
		t.Errorf("%s: %.1f %% of clean sets make a caution", name, 100*share)
	}
	s, _ := m.Simulation()
	for _, w := range list {
		f, ok := s.Fault(w.fault)
		if !ok {
			t.Errorf("no fault %s", w.fault)
			continue
		}
		found, silent, other := 0, 0, map[string]int{}
		for i := range faulty {
			size := w.size * eval.UnitOf(f.Least).SI(1)
			if w.size == 0 {
				k := (float64(i) + 0.5) / float64(faulty)
				size = f.Least.Q.Value() + k*(f.Most.Q.Value()-f.Least.Q.Value())
			}
			q := quantity.Exact(size, f.Least.Q.Dim())
			c := cries(bench.Run(simulated(t, m, first+uint64(100000+i), map[string]quantity.Q{w.fault: q})).Findings)
			hit := false
			for _, slug := range c {
				if strings.Contains(" "+w.slugs+" ", " "+slug+" ") {
					hit = true
				} else {
					other[slug]++
				}
			}
			if hit {
				found++
			}
			if len(c) == 0 {
				silent++
			}
		}
		un := eval.UnitOf(f.Least).String()
		if un == "1" {
			un = "" // a count, or a switch
		}
		size := fmt.Sprintf("%.3g to %.3g %s", inUnit(f.Least), inUnit(f.Most), un)
		if w.size != 0 || inUnit(f.Least) == inUnit(f.Most) {
			one := w.size
			if one == 0 {
				one = inUnit(f.Least)
			}
			size = fmt.Sprintf("%.3g %s", one, un)
		}
		share := float64(found) / float64(faulty)
		table.line(w.fault, size, faulty, share, "caught", other)
		if share < 0.9 || math.IsNaN(share) {
			t.Errorf("%s: %s is found in %.1f %% of sets (%d silent)", name, w.fault, 100*share, silent)
		}
	}
	table.hold(t, name)
}

// catches is a table of catches and false alarms, as the manual quotes it.
type catches struct{ text strings.Builder }

// line writes one kind of sets: how many of them there were, the share that was
// caught or cried, and what else was said, in how many sets.
func (c *catches) line(what, size string, sets int, share float64, verb string, other map[string]int) {
	var more []string
	for slug, n := range other {
		more = append(more, fmt.Sprintf("%s %d", slug, n))
	}
	sort.Strings(more)
	line := fmt.Sprintf("%-38s %-18s %5d sets %6.1f %% %-6s  %s", what, size, sets, 100*share, verb, strings.Join(more, ", "))
	c.text.WriteString(strings.TrimRight(line, " ") + "\n")
}

// hold compares the table with the golden one of the method.
func (c *catches) hold(t *testing.T, name string) {
	t.Helper()
	t.Log(name + "\n" + c.text.String())
	if testing.Short() {
		return // fewer sets, another table
	}
	path := "testdata/catches/" + name + ".txt"
	if *update {
		if err := os.MkdirAll("testdata/catches", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(c.text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if c.text.String() != string(want) {
		t.Errorf("the table differs from %s: look at it, then run with -update", path)
	}
}

func inUnit(s eval.Scalar) float64 { return eval.UnitOf(s).FromSI(s.Q.Value()) }
