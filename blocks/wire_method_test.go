package blocks_test

import (
	"math"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/variant"
)

// ownWireFaults are the faults that the method simulates itself, with the
// findings that name them.
var ownWireFaults = []wireFault{
	{name: "friction", named: "hysteresis"}, {name: "other_way", named: "backlash"}, {name: "crept", named: "drift"},
	{name: "yielded", named: "set"}, {name: "slipped", named: "slip"}, {name: "slipped_back", named: "slip"},
	{name: "misweighed", named: "wrong_weight"}, {name: "kinked", named: "kinks"}, {name: "bent", named: "bent_up"},
	{name: "oval", named: "oval"}, {name: "tapered", named: "taper"}, {name: "half_millimetre", named: "odd_diameter"},
	{name: "few_places", named: "few_places"}, {name: "halved", named: "handbook_radius"},
}

// wireMethod reads the method and its simulation.
func wireMethod(t *testing.T) (*method.Method, *method.Simulation) {
	t.Helper()
	f, ok := blocks.Built().Method("stretched-wire")
	if !ok {
		t.Fatal("the method is not built in")
	}
	set := &finding.Set{}
	m := method.Read(f, block.KindNames(blocks.All()), set)
	s, more := m.Simulation()
	for _, f := range append(set.Sorted(), more...) {
		t.Errorf("%s", f)
	}
	if s == nil {
		t.FailNow()
	}
	return m, s
}

// TestWireMethodSimulation measures the diagnostics on the method's own
// simulation, and that the results come near the truth.
func TestWireMethodSimulation(t *testing.T) {
	clean, faulty := 500, 100
	if testing.Short() {
		clean, faulty = 100, 30
	}
	m, s := wireMethod(t)
	for _, f := range s.Faults {
		known := false
		for _, w := range ownWireFaults {
			known = known || w.name == f.Name
		}
		if !known {
			t.Errorf("no test has the fault %s", f.Name)
		}
	}
	bench := variant.NewBench(m, blocks.Built(), blocks.All())
	run := func(seed uint64, faults map[string]quantity.Q) *variant.Outcome {
		set, findings := s.Run(seed, faults, false)
		for _, f := range findings {
			t.Fatalf("seed %d: %s", seed, f)
		}
		out := bench.Run(set)
		if miss, ok := out.Miss(set, "E"); faults == nil && (!ok || miss > 5) {
			t.Errorf("seed %d: E misses the truth by %.1f u", seed, miss)
		}
		return out
	}
	table := &wireTable{}
	seed := *wireSeeds + 10_000_000
	honest := tally{others: map[string]int{}}
	for range clean {
		seed++
		honest.note(wireFault{}, run(seed, nil).Findings)
	}
	table.honest("honest", &honest)
	for _, w := range ownWireFaults {
		f, ok := s.Fault(w.name)
		if !ok {
			t.Errorf("the method has no fault %s", w.name)
			continue
		}
		y := tally{others: map[string]int{}}
		for k := range faulty {
			seed++
			share := (float64(k) + 0.5) / float64(faulty)
			size := f.Least.Q.Value() + share*(f.Most.Q.Value()-f.Least.Q.Value())
			y.note(w, run(seed, map[string]quantity.Q{w.name: quantity.Exact(size, f.Least.Q.Dim())}).Findings)
		}
		least, most := inUnit(f.Least), inUnit(f.Most)
		if eval.UnitOf(f.Least).String() == "1" {
			least, most = 0, 0 // a switch has no size
		}
		table.fault(w.name, least, most, &y)
	}
	table.check(t, "own")
}

// The method gives what the same readings give when every step is written out,
// to the last digit.
func TestStretchedWireByHand(t *testing.T) {
	byMethod := buildFile(t, "../examples/steel-wire/record.md", 0)
	byHand := buildFile(t, "../examples/steel-wire-by-hand/record.md", 0)
	for _, name := range []string{"E", "E_pairs", "stress"} {
		a, ok := byMethod.Results.Values["young."+name]
		b, found := byHand.Results.Values[name]
		if !ok || !found {
			t.Fatalf("%s is missing", name)
		}
		if a.Value != b.Value {
			t.Errorf("%s: %v by the method, %v by hand", name, a.Value, b.Value)
		}
		if math.Abs(float64(*a.U / *b.U)-1) > 1e-12 {
			t.Errorf("u(%s): %v by the method, %v by hand", name, *a.U, *b.U)
		}
	}
}
