package quantity

import (
	"math"

	"example.org/taut/engine/unit"
)

// linear returns Σ k·qs as an affine node where all of them are, else as a
// node of the given operation.
func linear(op Op, v float64, dim unit.Dim, k []float64, qs ...Q) Q {
	n := &Node{V: v}
	affine := true
	lists := make([][]Term, len(qs))
	for i, q := range qs {
		lists[i] = q.Terms()
		if q.Node().Op != Affine {
			affine = false
		}
	}
	n.Terms = combine(k, lists)
	if !affine {
		n.Op = op
		for _, q := range qs {
			n.Args = append(n.Args, q.Node())
		}
	}
	return Q{dim, n}
}

// Add returns a + b. The dimensions must be equal.
func (q Q) Add(b Q) Q {
	return linear(Add, q.Value()+b.Value(), q.dim, []float64{1, 1}, q, b)
}

// Sub returns a − b. The dimensions must be equal.
func (q Q) Sub(b Q) Q {
	return linear(Sub, q.Value()-b.Value(), q.dim, []float64{1, -1}, q, b)
}

// Neg returns −q.
func (q Q) Neg() Q {
	return Number(0).WithDim(q.dim).Sub(q)
}

// derived returns a quantity computed by op with the given partial
// derivatives.
func derived(op Op, v float64, dim unit.Dim, partials []float64, qs ...Q) Q {
	n := &Node{V: v, Op: op}
	lists := make([][]Term, len(qs))
	exact := true
	for i, q := range qs {
		lists[i] = q.Terms()
		exact = exact && q.Node().IsExact()
	}
	if exact {
		return Exact(v, dim)
	}
	n.Terms = combine(partials, lists)
	n.Args = make([]*Node, len(qs))
	for i, q := range qs {
		n.Args[i] = q.Node()
	}
	return Q{dim, n}
}

// Mul returns a·b. The product with a certain value is affine if the other
// is.
func (q Q) Mul(b Q) Q {
	x, y, d := q.Value(), b.Value(), q.dim.Mul(b.dim)
	if q.Node().Op == Affine && b.Node().Op == Affine && (!q.IsUncertain() || !b.IsUncertain()) {
		return Q{d, &Node{V: x * y, Terms: merge(y, q.Terms(), x, b.Terms())}}
	}
	return derived(Mul, x*y, d, []float64{y, x}, q, b)
}

// Div returns a/b.
func (q Q) Div(b Q) Q {
	x, y, d := q.Value(), b.Value(), q.dim.Div(b.dim)
	if b.Node().IsExact() && q.Node().Op == Affine && y != 0 {
		n := &Node{V: x / y, Terms: make([]Term, len(q.Terms()))}
		for i, t := range q.Terms() {
			n.Terms[i] = Term{t.Source, t.C / y}
		}
		return Q{d, n}
	}
	return derived(Div, x/y, d, []float64{1 / y, -x / y / y}, q, b)
}

// Pow returns a^b, of the given dimension. The exponent must be a number.
func (q Q) Pow(b Q, dim unit.Dim) Q {
	x, y := q.Value(), b.Value()
	if y == 1 && b.Node().IsExact() {
		return q
	}
	v := Power(x, y)
	dx := y * Power(x, y-1)
	if y == 0 {
		dx = 0
	}
	dy := 0.0
	if !b.Node().IsExact() {
		dy = v * math.Log(x)
	}
	return derived(Pow, v, dim, []float64{dx, dy}, q, b)
}

// Power is x^y, by multiplication for small whole exponents, so that squares
// and cubes are what a hand calculation gives.
func Power(x, y float64) float64 {
	switch y {
	case 0:
		return 1
	case 1:
		return x
	case 2:
		return x * x
	case 3:
		return x * x * x
	case 4:
		return float64(x*x) * float64(x*x)
	case -1:
		return 1 / x
	case -2:
		return 1 / (x * x)
	case 0.5:
		return math.Sqrt(x)
	}
	return math.Pow(x, y)
}

// Apply returns f(q) for one of the functions of one variable, of the given
// dimension. Round and Floor are taken in coherent SI units.
func (q Q) Apply(op Op, dim unit.Dim) Q {
	x := q.Value()
	v := Eval1(op, x)
	var d float64
	switch op {
	case Abs:
		d = 1
		if x < 0 {
			d = -1
		}
	case Sqrt:
		d = 1 / (2 * v)
	case Exp:
		d = v
	case Ln:
		d = 1 / x
	case Log10:
		d = 1 / (x * math.Ln10)
	case Sin:
		d = math.Cos(x)
	case Cos:
		d = -math.Sin(x)
	case Tan:
		d = 1 + v*v
	case Asin:
		d = 1 / math.Sqrt(1-x*x)
	case Acos:
		d = -1 / math.Sqrt(1-x*x)
	case Atan:
		d = 1 / (1 + x*x)
	}
	return derived(op, v, dim, []float64{d}, q)
}

// Eval1 returns the value of a function of one variable.
func Eval1(op Op, x float64) float64 {
	switch op {
	case Abs:
		return math.Abs(x)
	case Sqrt:
		return math.Sqrt(x)
	case Exp:
		return math.Exp(x)
	case Ln:
		return math.Log(x)
	case Log10:
		return math.Log10(x)
	case Sin:
		return math.Sin(x)
	case Cos:
		return math.Cos(x)
	case Tan:
		return math.Tan(x)
	case Asin:
		return math.Asin(x)
	case Acos:
		return math.Acos(x)
	case Atan:
		return math.Atan(x)
	case Round:
		return math.RoundToEven(x)
	case Floor:
		return math.Floor(x)
	}
	return math.NaN()
}

// Choose returns the element at index i as the greatest (Max), least (Min) or
// middle (Median) of qs; for Median, j is the other middle element or i again.
// Its sensitivities are those of what it chose.
func Choose(op Op, qs []Q, i, j int) Q {
	v := qs[i].Value()
	k := []float64{1}
	lists := [][]Term{qs[i].Terms()}
	if j != i {
		v = (v + qs[j].Value()) / 2
		k = []float64{0.5, 0.5}
		lists = append(lists, qs[j].Terms())
	}
	exact := true
	n := &Node{Op: op, V: v, Terms: combine(k, lists)}
	for _, q := range qs {
		n.Args = append(n.Args, q.Node())
		exact = exact && q.Node().IsExact()
	}
	if exact {
		return Exact(v, qs[i].dim)
	}
	return Q{qs[i].dim, n}
}

// Truth is a condition's outcome with the way it was found.
type Truth struct {
	Is   bool
	node *Node
}

// Known returns a truth that depends on nothing uncertain.
func Known(is bool) Truth { return Truth{Is: is} }

func truthValue(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

func (t Truth) n() *Node {
	if t.node == nil {
		return &Node{V: truthValue(t.Is)}
	}
	return t.node
}

func truth(op Op, is bool, args ...*Node) Truth {
	exact := true
	for _, a := range args {
		exact = exact && a.IsExact()
	}
	if exact {
		return Known(is)
	}
	return Truth{is, &Node{Op: op, V: truthValue(is), Args: args}}
}

// LessThan returns whether a < b.
func LessThan(a, b Q) Truth {
	return truth(Less, a.Value() < b.Value(), a.Node(), b.Node())
}

// Equals returns whether a = b.
func Equals(a, b Q) Truth {
	return truth(Equal, a.Value() == b.Value(), a.Node(), b.Node())
}

// Not returns the opposite.
func (t Truth) Not() Truth { return truth(Not, !t.Is, t.n()) }

// And returns whether both hold.
func (t Truth) And(b Truth) Truth { return truth(And, t.Is && b.Is, t.n(), b.n()) }

// Or returns whether one of them holds.
func (t Truth) Or(b Truth) Truth { return truth(Or, t.Is || b.Is, t.n(), b.n()) }

// If returns a where the condition holds, else b. The dimensions must be
// equal.
func If(c Truth, a, b Q) Q {
	chosen := b
	if c.Is {
		chosen = a
	}
	if c.n().IsExact() {
		return chosen
	}
	return Q{chosen.dim, &Node{Op: IfOp, V: chosen.Value(), Terms: chosen.Terms(),
		Args: []*Node{c.n(), a.Node(), b.Node()}}}
}

// common returns the terms that are no reading's own.
func common(terms []Term) []Term {
	for i, t := range terms {
		if t.Source.Own != Common {
			out := append([]Term(nil), terms[:i]...)
			for _, t := range terms[i+1:] {
				if t.Source.Own == Common {
					out = append(out, t)
				}
			}
			return out
		}
	}
	return terms
}

// Reduce returns Σ k·qs + extra, of which v is the value, as a mean or a fit
// makes it: sources that are common to readings pass through, the readings'
// own are left out, and what stands for them comes in as extra.
func Reduce(v float64, dim unit.Dim, k []float64, qs []Q, extra ...Term) Q {
	lists := make([][]Term, len(qs), len(qs)+1)
	affine := true
	for i, q := range qs {
		lists[i] = common(q.Terms())
		affine = affine && q.Node().Op == Affine
	}
	in := Uncertain(0, dim, extra...).Terms()
	n := &Node{V: v, Terms: dropCancelled(k, lists, in)}
	if !affine {
		n.Op, n.K, n.Extra = Line, k, in
		for _, q := range qs {
			n.Args = append(n.Args, q.Node())
		}
	}
	return Q{dim, n}
}

// dropCancelled combines like combine, but judges cancellation by all the
// magnitudes that went into a sensitivity: the zero of a screw acts on every
// reading and leaves the slope alone.
func dropCancelled(k []float64, lists [][]Term, in []Term) []Term {
	size := map[*Source]float64{}
	for i, l := range lists {
		for _, t := range l {
			size[t.Source] += math.Abs(k[i] * t.C)
		}
	}
	sum := combine(k, lists)
	out := make([]Term, 0, len(sum)+len(in))
	for _, t := range sum {
		if math.Abs(t.C) > relativeZero*float64(len(lists))*size[t.Source] {
			out = append(out, t)
		}
	}
	return merge(1, out, 1, in)
}

// Picks returns the outputs of m as quantities: values v, dimensions dims,
// partial derivatives jac[output][arg] and, for each output, the sources that
// come in.
func Picks(m *Multi, args []Q, v []float64, dims []unit.Dim, jac [][]float64, extra [][]Term) []Q {
	out := make([]Q, m.Outputs)
	lists := make([][]Term, len(args))
	for i, a := range args {
		lists[i] = common(a.Terms())
	}
	for o := range out {
		in := Uncertain(0, dims[o], extra[o]...).Terms()
		out[o] = Q{dims[o], &Node{Op: Pick, V: v[o], Multi: m, Index: o, Extra: in,
			Terms: dropCancelled(jac[o], lists, in)}}
	}
	return out
}
