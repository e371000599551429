package main

import (
	"testing"

	"example.org/taut/engine/build"
)

// mainExample is the record that the benchmarks build.
const mainExample = "../../examples/steel-wire/record.md"

// BenchmarkRecordSteady builds the main example again and again with the Monte
// Carlo evaluations cached: what is left when a record is saved once more.
func BenchmarkRecordSteady(b *testing.B) {
	o := options(nil)
	benchmarkRecord(b, func() build.Options { return o })
}

// BenchmarkRecordDraws builds it without a cache: everything is drawn anew.
func BenchmarkRecordDraws(b *testing.B) {
	o := options(nil)
	o.Trials = nil
	benchmarkRecord(b, func() build.Options { return o })
}

// BenchmarkRecordCold builds it with nothing kept from before: the theme is
// read anew too.
func BenchmarkRecordCold(b *testing.B) {
	benchmarkRecord(b, func() build.Options { return options(nil) })
}

func benchmarkRecord(b *testing.B, o func() build.Options) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := build.Record(mainExample, o()); err != nil {
			b.Fatal(err)
		}
	}
}
