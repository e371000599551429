package fit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestJumpByTrial compares the best single step with the trial of every place,
// each by the test of an added variable, on two columns that share their x
// values: a step cannot stand between two readings at one x.
func TestJumpByTrial(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	for range 300 {
		var d Data
		n := 4 + r.IntN(6)
		step, at := 0.2*r.Float64(), 1+r.IntN(n-1)
		for g := range 2 {
			for i := range n {
				y := 0.5*float64(i) + float64(g)*0.1 + 0.01*r.NormFloat64()
				if i >= at {
					y += step
				}
				d.X, d.Y, d.Group = append(d.X, float64(i)), append(d.Y, y), append(d.Group, g)
			}
		}
		f, err := Fit(d, Options{Groups: 2})
		if err != nil {
			t.Fatal(err)
		}
		best, height, row, places := -1.0, 0.0, 0, 0
		for k := 1; k < n; k++ {
			z := make([]float64, len(d.X))
			for i, x := range d.X {
				if x >= float64(k) {
					z[i] = 1
				}
			}
			places++
			if a := f.Add(z); math.Abs(a.T) > best {
				best, height, row = math.Abs(a.T), a.Coef, k+1
			}
		}
		got := f.Diagnostics()
		if got.JumpRow != row || !(math.Abs(got.Jump-height) <= 1e-9*math.Abs(height)) {
			t.Fatalf("the best step is %g in row %d, by trial %g in row %d", got.Jump, got.JumpRow, height, row)
		}
	}
}
