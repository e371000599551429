package blocks

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// TestWorkedStagesAreTrue works out every stage of worked steps as a reader
// would, from the printed digits, with the units put in or in SI, and compares
// each with the value, over formulas of the practicals, random numbers and
// units.
func TestWorkedStagesAreTrue(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 11))
	lengths, masses := []string{"m", "cm", "mm", "km"}, []string{"kg", "g", "mg"}
	number := func() string { return strconv.FormatFloat((0.1 + 9.9*rng.Float64()), 'f', 1+rng.IntN(4), 64) }
	pick := func(list []string) string { return list[rng.IntN(len(list))] }
	stages := 0
	for range 300 {
		text := "```calc\n"
		for _, name := range []string{"L", "d", "x", "b", "h"} {
			text += fmt.Sprintf("%s = %s %s\n", name, number(), pick(lengths))
		}
		text += fmt.Sprintf("M = %s %s\ng = 9.81 m/s^2\nn = -%s\nT = %s s\n", number(), pick(masses), number(), number())
		for i, f := range []string{"4 * M * g * L / (pi * d^2 * x)", "4 * M * g * L^3 / (b * h^3 * x)", "n * (L - x) / T^2", "sqrt(L * x) + d", "-n * M * g",
			"(L + d) * (x - b) / h", "L / (d / x)", "M / (L * d * (x + h))", "L - (d - x)", "2 * pi * sqrt(L / g)", "L^2 - d^2"} {
			text += fmt.Sprintf("E%d = %s\n", i, f)
		}
		w := work(t, text+"```\n")
		w.View = view.AsWorked
		for _, b := range w.Record.Blocks {
			for _, node := range w.Show().Blocks[b] {
				for _, steps := range stepsOf(node) {
					for i := range steps.Steps {
						stages += checkStages(t, w, &steps.Steps[i])
					}
				}
			}
		}
	}
	if stages < 5000 {
		t.Errorf("only %d stages were worked out", stages)
	}
}

func stepsOf(n view.Node) (out []*view.Steps) {
	switch n := n.(type) {
	case *view.Group:
		for _, in := range n.Nodes {
			out = append(out, stepsOf(in)...)
		}
	case *view.Steps:
		out = append(out, n)
	}
	return out
}

func checkStages(t *testing.T, w *worked, s *view.Step) int {
	t.Helper()
	name := s.ID[strings.LastIndexByte(s.ID, '-')+1:]
	want, ok := w.values[name].(eval.Scalar)
	if !ok {
		return 0
	}
	n := 0
	for i, m := range s.Stages[min(1, len(s.Stages)):] { // the first is in symbols
		got := reading{t}.value(m)
		// A term that nearly cancels keeps the rounding of its neighbours.
		if miss := math.Abs(got - want.Q.Value()); miss > 2e-5*math.Abs(want.Q.Value())+1e-6*size(m) {
			t.Errorf("stage %d of %s gives %.9g, the value is %.9g", i+2, name, got, want.Q.Value())
		}
		n++
	}
	return n
}

// size is the greatest of the numbers of a formula in SI, which bounds the
// rounding of sums.
func size(m view.Math) float64 {
	most := 0.0
	switch m := m.(type) {
	case view.Valued:
		most = math.Abs(m.Value)
	case view.Seq:
		for _, i := range m.Items {
			most = math.Max(most, size(i))
		}
	case view.Measure:
		most = size(m.Number)
	case view.Script:
		most = math.Pow(size(m.Base), 2)
	}
	return most
}

// reading works mathematics out as it is printed, in SI.
type reading struct{ t *testing.T }

func (r reading) value(m view.Math) float64 {
	r.t.Helper()
	switch m := m.(type) {
	case view.Num:
		v, err := strconv.ParseFloat(m.Digits, 64)
		if err != nil {
			r.t.Fatalf("%q is no number", m.Digits)
		}
		return v
	case view.Ident:
		if m.Name == "π" {
			return math.Pi
		}
	case view.Valued:
		return r.value(m.Body)
	case view.Measure:
		return unit.MustParse(m.Unit).SI(r.value(m.Number))
	case view.Frac:
		return r.value(m.Num) / r.value(m.Den)
	case view.Root:
		return math.Sqrt(r.value(m.Body))
	case view.Script:
		return math.Pow(r.value(m.Base), r.value(m.Sup))
	case view.Seq:
		return r.row(m.Items)
	}
	r.t.Fatalf("a reader cannot work out %#v", m)
	return 0
}

// row works out a row of terms with their signs, in which products bind first
// and brackets stand about a row of their own.
func (r reading) row(items []view.Math) float64 {
	r.t.Helper()
	sum, product, sign := 0.0, 1.0, 1.0
	begun := false
	for _, it := range items {
		op, isOp := it.(view.Op)
		switch {
		case isOp && (op.Symbol == "(" || op.Symbol == ")" || op.Symbol == "×"):
		case isOp && (op.Symbol == "+" || op.Symbol == "−"):
			if begun {
				sum += sign * product
			}
			product, sign, begun = 1, 1, false
			if op.Symbol == "−" {
				sign = -1
			}
		case isOp:
			r.t.Fatalf("a reader does not know %q", op.Symbol)
		default:
			product *= r.value(it)
			begun = true
		}
	}
	return sum + sign*product
}
