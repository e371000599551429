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
	if n := workedStages(t, 300, false, "k = %s\n", checkStages); n < 5000 {
		t.Errorf("only %d stages were worked out", n)
	}
}

// TestWorkedResultsFollow: the value before it is rounded follows from the
// digits printed in every stage before it, to half a unit of its last figure.
// Of a value with an uncertainty the figures of the result are kept even where
// they hang on what rounding took away: to one unit.
func TestWorkedResultsFollow(t *testing.T) {
	for _, uncertain := range []bool{false, true} {
		if n := workedStages(t, 150, uncertain, ofRounded, checkFollows); n < 1500 {
			t.Errorf("only %d stages were worked out", n)
		}
	}
}

// ofRounded are steps in which values are put in that are printed rounded.
const ofRounded = "k = %s\nF0 = E0 * pi / k\nF1 = k * E1^2\nF2 = E3 / E9\nF3 = E8 - E3\nF4 = sqrt(E1 / E4 * M * g)\nF5 = E10 / E9^2\n"

// workedStages calls check for the steps of as many records of random numbers,
// with more steps of one number more, and sums up what it counts.
func workedStages(t *testing.T, records int, uncertain bool, more string, check func(*testing.T, *worked, *view.Step) int) int {
	rng := rand.New(rand.NewPCG(4, 11))
	lengths, masses := []string{"m", "cm", "mm", "km"}, []string{"kg", "g", "mg"}
	number := func() string {
		out := strconv.FormatFloat((0.1 + 9.9*rng.Float64()), 'f', 1+rng.IntN(4), 64)
		if uncertain {
			out += fmt.Sprintf("(%d)", 1+rng.IntN(30))
		}
		return out
	}
	pick := func(list []string) string { return list[rng.IntN(len(list))] }
	stages := 0
	for range records {
		text := "```calc\n"
		for _, name := range []string{"L", "d", "x", "b", "h"} {
			text += fmt.Sprintf("%s = %s %s\n", name, number(), pick(lengths))
		}
		text += fmt.Sprintf("M = %s %s\ng = 9.81 m/s^2\nn = -%s\nT = %s s\n", number(), pick(masses), number(), number())
		for i, f := range []string{"4 * M * g * L / (pi * d^2 * x)", "4 * M * g * L^3 / (b * h^3 * x)", "n * (L - x) / T^2", "sqrt(L * x) + d", "-n * M * g",
			"(L + d) * (x - b) / h", "L / (d / x)", "M / (L * d * (x + h))", "L - (d - x)", "2 * pi * sqrt(L / g)", "L^2 - d^2"} {
			text += fmt.Sprintf("E%d = %s\n", i, f)
		}
		text += fmt.Sprintf(more, number())
		w := work(t, text+"```\n")
		w.View = view.AsWorked
		for _, b := range w.Record.Blocks {
			for _, node := range w.Show().Blocks[b] {
				for _, steps := range stepsOf(node) {
					for i := range steps.Steps {
						stages += check(t, w, &steps.Steps[i])
					}
				}
			}
		}
	}
	return stages
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

// checkFollows compares what the printed digits of each stage give with the
// last, the value before it is rounded.
func checkFollows(t *testing.T, w *worked, s *view.Step) int {
	t.Helper()
	name := s.ID[strings.LastIndexByte(s.ID, '-')+1:]
	if _, ok := w.values[name].(eval.Scalar); !ok || len(s.Stages) < 3 {
		return 0
	}
	stages := s.Stages[1:] // the first is in symbols
	last, ok := stages[len(stages)-1].(view.Valued)
	if !ok {
		return 0
	}
	got := reading{t}.value(last)
	for i, m := range stages[:len(stages)-1] {
		// Terms that cancel leave the rounding of the arithmetic.
		if from := (reading{t}).value(m); math.Abs(from-got) > (0.5+1e-4)*lastFigure(last)+1e-12*size(m) {
			t.Errorf("stage %d of %s gives %.9g, printed is %.9g", i+2, name, from, got)
		}
	}
	return len(stages) - 1
}

// lastFigure is the size in SI of a unit of the last printed figure.
func lastFigure(m view.Math) float64 {
	switch m := m.(type) {
	case view.Valued:
		return lastFigure(m.Body)
	case view.Measure:
		return unit.MustParse(m.Unit).Factor() * lastFigure(m.Number)
	case view.Seq: // digits × 10^n
		power, _ := m.Items[2].(view.Script)
		n, _ := power.Sup.(view.Num)
		exp, _ := strconv.Atoi(n.Digits)
		return lastFigure(m.Items[0]) * math.Pow10(exp)
	case view.Num:
		if _, decimals, ok := strings.Cut(m.Digits, "."); ok {
			return math.Pow10(-len(decimals))
		}
	}
	return 1
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
