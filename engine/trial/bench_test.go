package trial

import (
	"math"
	"testing"

	"example.org/taut/engine/stat"
)

func perDraw(b *testing.B, n int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/draw")
}

// BenchmarkWireDraws is the draws alone, on one core.
func BenchmarkWireDraws(b *testing.B) {
	p, err := compile(wire())
	if err != nil {
		b.Fatal(err)
	}
	out := make([]float64, chunk)
	m := p.machine()
	for i := 0; b.Loop(); i++ {
		m.chunk(out, 1, i)
	}
	perDraw(b, chunk)
}

// BenchmarkWireFloor is the same formula written out over the same samplers.
func BenchmarkWireFloor(b *testing.B) {
	names := []string{"tape", "tape end", "scatter of d", "zero of the screw", "limits of the screw", "fit", "scale", "g"}
	samplers := []stat.Sampler{stat.Normal(), stat.Rectangular(), stat.StudentT(7), stat.Rectangular(), stat.Rectangular(), stat.StudentT(8), stat.Normal(), stat.Rectangular()}
	var z [8][block]float64
	var streams [8]*stat.Stream
	out := make([]float64, chunk)
	for n := 0; b.Loop(); n++ {
		for i, name := range names {
			streams[i] = stat.NewStream(1, name, n)
		}
		for at := 0; at < chunk; at += block {
			for i, s := range samplers {
				s.Fill(z[i][:], streams[i])
			}
			for i := range block {
				l := 2.846 + 0.0005*z[0][i] + 0.0005*z[1][i]
				d := 0.5012e-3 + 0.8e-6*z[2][i] + 1e-6*z[3][i] + 2e-6*z[4][i]
				s := 0.717e-3 + 2e-6*z[5][i] + 1e-6*z[6][i]
				g := 9.812 + 0.002*z[7][i]
				out[at+i] = 4 * g * l / (math.Pi * d * d * s)
			}
		}
	}
	perDraw(b, chunk)
}

// BenchmarkWireRun is all of Run for 200,000 trials, on all cores and on one.
func BenchmarkWireRun(b *testing.B) {
	for name, workers := range map[string]int{"all": 0, "one": 1} {
		b.Run(name, func(b *testing.B) {
			q := wire()
			for b.Loop() {
				run(b, q, 1, Options{Workers: workers})
			}
			perDraw(b, DefaultTrials)
		})
	}
}

// BenchmarkSummary is intervals and histogram alone.
func BenchmarkSummary(b *testing.B) {
	o, err := Options{}.complete()
	if err != nil {
		b.Fatal(err)
	}
	p, err := compile(wire())
	if err != nil {
		b.Fatal(err)
	}
	values := make([]float64, o.Trials)
	all := p.run(values, o)
	for b.Loop() {
		var r Result
		r.intervals(values, o)
		r.histogram(values, all, o)
	}
}

// BenchmarkKey is the hash that stands before a run.
func BenchmarkKey(b *testing.B) {
	q := wire()
	for b.Loop() {
		Key(q, 1, Options{})
	}
}
