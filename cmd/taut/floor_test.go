package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// BenchmarkRecordFloor does by hand, with the bare libraries, what the main
// example needs at least: the Markdown, a straight fit, two figures, and
// 200,000 draws of eight inputs, two of them t-distributed, on all processors
// with the coverage interval by sorting. Nothing is read from the text. It is
// what the other benchmarks of this file's package are to be compared with, in
// one run:
//
//	go test ./cmd/taut -run - -bench Record
func BenchmarkRecordFloor(b *testing.B) {
	text, err := os.ReadFile(mainExample)
	if err != nil {
		b.Fatal(err)
	}
	md := goldmark.New(goldmark.WithExtensions(extension.Table, extension.Footnote))
	x := []float64{0.5, 1, 2, 2.5, 3, 3.5, 4}
	y := []float64{2.16, 2.43, 3.00, 3.28, 3.57, 3.85, 4.14}
	for b.Loop() {
		var out bytes.Buffer
		if err := md.Convert(text, &out); err != nil {
			b.Fatal(err)
		}
		_, slope := stat.LinearRegression(x, y, nil, false)
		for range 2 {
			if err := floorFigure(&out, x, y); err != nil {
				b.Fatal(err)
			}
		}
		if low, high := floorDraws(slope * 1e-3); !(low < high) {
			b.Fatal("no interval")
		}
	}
}

func floorFigure(out *bytes.Buffer, x, y []float64) error {
	p := plot.New()
	xy := make(plotter.XYs, len(x))
	for i := range x {
		xy[i].X, xy[i].Y = x[i], y[i]
	}
	points, err := plotter.NewScatter(xy)
	if err != nil {
		return err
	}
	line, err := plotter.NewLine(xy)
	if err != nil {
		return err
	}
	p.Add(points, line, plotter.NewGrid())
	c := vgsvg.New(560*vg.Inch/96, 400*vg.Inch/96)
	p.Draw(draw.New(c))
	_, err = c.WriteTo(out)
	return err
}

func floorDraws(slope float64) (low, high float64) {
	const trials = 200_000
	values := make([]float64, trials)
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(1, uint64(w)))
			student := func(nu int) float64 {
				chi := 0.0
				for range nu {
					z := r.NormFloat64()
					chi += z * z
				}
				return r.NormFloat64() / math.Sqrt(chi/float64(nu))
			}
			part := values[w*trials/workers : (w+1)*trials/workers]
			for i := range part {
				g := 9.8124 + 2e-4*r.NormFloat64()
				l := 2.846 + 4e-4*student(3) + 2.9e-4*(2*r.Float64()-1) + 5.8e-4*(2*r.Float64()-1)
				d := 5.58e-4 + 1.3e-6*student(9) + 5e-6*(2*r.Float64()-1) + 5e-6*(2*r.Float64()-1) + 4e-6*(2*r.Float64()-1)
				s := slope * (1 + 2e-3*r.NormFloat64())
				part[i] = 4 * g * l / (math.Pi * d * d * s)
			}
		})
	}
	wg.Wait()
	slices.Sort(values)
	return values[trials/40], values[trials-trials/40]
}
