package variant_test

import (
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/variant"
)

func builtIn(t testing.TB, name string) *method.Method {
	t.Helper()
	f, ok := blocks.Built().Method(name)
	if !ok {
		t.Fatalf("no method %s", name)
	}
	var set finding.Set
	return method.Read(f, block.KindNames(blocks.All()), &set)
}

// BenchmarkBench times one set of readings on a bench in use: simulated,
// written down, read and worked out.
func BenchmarkBench(b *testing.B) {
	m := builtIn(b, "stretched-wire")
	bench := variant.NewBench(m, blocks.Built(), blocks.All())
	for i := 0; i < b.N; i++ {
		s, _ := m.Simulate(uint64(i), nil, false)
		bench.Run(s)
	}
}

// BenchmarkRun times the same where nothing was read before.
func BenchmarkRun(b *testing.B) {
	m := builtIn(b, "stretched-wire")
	for i := 0; i < b.N; i++ {
		s, _ := m.Simulate(uint64(i), nil, false)
		variant.Run(m, s, blocks.Built(), blocks.All())
	}
}
