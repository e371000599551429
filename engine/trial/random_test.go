package trial

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// naive evaluates a graph for one set of deviations, as its definition says.
func naive(n *quantity.Node, dev map[string]float64, own bool) float64 {
	terms := func(list []quantity.Term) float64 {
		sum := 0.0
		for _, t := range list {
			if own || t.Source.Own == quantity.Common {
				sum += t.C * dev[t.Source.ID]
			}
		}
		return sum
	}
	arg := func(i int) float64 { return naive(n.Args[i], dev, own) }
	switch n.Op {
	case quantity.Affine:
		return n.V + terms(n.Terms)
	case quantity.Add:
		return arg(0) + arg(1)
	case quantity.Sub:
		return arg(0) - arg(1)
	case quantity.Mul:
		return arg(0) * arg(1)
	case quantity.Div:
		return arg(0) / arg(1)
	case quantity.Pow:
		return math.Pow(arg(0), arg(1))
	case quantity.Max:
		return max(arg(0), arg(1))
	case quantity.Less:
		if arg(0) < arg(1) {
			return 1
		}
		return 0
	case quantity.IfOp:
		if arg(0) != 0 {
			return arg(1)
		}
		return arg(2)
	case quantity.Line:
		sum := terms(n.Extra)
		for i, a := range n.Args {
			sum += n.K[i] * naive(a, dev, false)
		}
		return sum
	case quantity.Pick:
		in, out := make([]float64, len(n.Multi.Args)), make([]float64, n.Multi.Outputs)
		for i, a := range n.Multi.Args {
			in[i] = naive(a, dev, false)
		}
		n.Multi.F(in, out)
		return out[n.Index] + terms(n.Extra)
	}
	return quantity.Eval1(n.Op, arg(0))
}

// thicket grows a random graph in which much is shared. Values stay near 1,
// so that rounding is the only difference.
type thicket struct {
	rng     *rand.Rand
	sources []*quantity.Source
	qs      []quantity.Q
}

func (k *thicket) pick() quantity.Q { return k.qs[k.rng.IntN(len(k.qs))] }

func (k *thicket) source() *quantity.Source { return k.sources[k.rng.IntN(len(k.sources))] }

// unity brings a quantity back to the value 1.
func unity(q quantity.Q) quantity.Q {
	if v := q.Value(); math.Abs(v) > 0.05 {
		return q.Mul(quantity.Number(1 / v))
	}
	return q.Add(quantity.Number(1))
}

func (k *thicket) grow() {
	a, b, c := k.pick(), k.pick(), k.pick()
	num := quantity.Number(float64(k.rng.IntN(5)) + 0.5)
	var q quantity.Q
	switch k.rng.IntN(14) {
	case 0:
		q = a.Add(b.Mul(num))
	case 1:
		q = num.Mul(a).Sub(b)
	case 2:
		q = a.Mul(b)
	case 3:
		q = a.Div(b)
	case 4:
		q = num.Div(a)
	case 5:
		q = a.Pow(quantity.Number(float64(k.rng.IntN(7)-3)), unit.Dim{})
	case 6:
		q = a.Pow(num, unit.Dim{})
	case 7:
		q = apply(quantity.Sqrt, a)
	case 8:
		q = apply(quantity.Atan, a).Add(apply(quantity.Exp, b))
	case 9:
		chosen := 0
		if b.Value() > a.Value() {
			chosen = 1
		}
		q = quantity.Choose(quantity.Max, []quantity.Q{a, b}, chosen, chosen)
	case 10:
		q = quantity.If(quantity.LessThan(a, b), c, a)
	case 11:
		w := []float64{0.5, -0.25, 0.75}
		v := w[0]*a.Value() + w[1]*b.Value() + w[2]*c.Value()
		q = quantity.Reduce(v, unit.Dim{}, w, []quantity.Q{a, b, c}, quantity.Term{Source: k.source(), C: 0.3})
	case 12:
		m := &quantity.Multi{Args: []*quantity.Node{a.Node(), b.Node()}, Outputs: 2,
			F: func(in, out []float64) { out[0], out[1] = in[0]+2*in[1], in[0]*in[1] }}
		x, y := a.Value(), b.Value()
		outs := quantity.Picks(m, []quantity.Q{a, b}, []float64{x + 2*y, x * y}, make([]unit.Dim, 2),
			[][]float64{{1, 2}, {y, x}}, [][]quantity.Term{{{Source: k.source(), C: 0.2}}, nil})
		q = outs[0].Sub(outs[1])
	default:
		q = quantity.Uncertain(1, unit.Dim{}, quantity.Term{Source: k.source(), C: 1}, quantity.Term{Source: k.source(), C: -0.5})
	}
	k.qs = append(k.qs, unity(q))
}

// Random graphs against a plain evaluation, one draw at a time.
func TestRandomGraphs(t *testing.T) {
	o := Options{Trials: 1200, Seed: 11}
	tried := 0
	for seed := range uint64(400) {
		k := thicket{rng: rand.New(rand.NewPCG(seed, 1))}
		alone := map[string][]float64{}
		for i := range 5 {
			s := quantity.Source{ID: fmt.Sprint("s", i), Dist: quantity.Rectangular, U: 0.01,
				Own: []quantity.Own{quantity.Common, quantity.Resolution, quantity.Independent, quantity.Common, quantity.Common}[i]}
			k.sources = append(k.sources, s.New())
			q := normalOn(k.sources[i], 0)
			alone[s.ID] = draws(t, q, o)
			k.qs = append(k.qs, q.Add(quantity.Number(1)))
		}
		for range 25 {
			k.grow()
		}
		q := k.qs[len(k.qs)-1]
		if _, err := compile(q); err != nil {
			continue
		}
		tried++
		for i, got := range draws(t, q, o) {
			dev := map[string]float64{}
			for id, d := range alone {
				dev[id] = d[i]
			}
			want := naive(q.Node(), dev, true)
			if !(math.Abs(got-want) <= 1e-9*(1+math.Abs(want))) && !(math.IsNaN(got) && math.IsNaN(want)) {
				t.Fatalf("graph %d, draw %d is %v, want %v", seed, i, got, want)
			}
			if i == 40 {
				break
			}
		}
	}
	if tried < 300 {
		t.Errorf("only %d graphs rest on sources", tried)
	}
}
