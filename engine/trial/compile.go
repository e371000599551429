package trial

import (
	"errors"
	"math"

	"example.org/taut/engine/quantity"
)

// operand is k times the value with the number id; where id is constant it is
// the number k itself.
type operand struct {
	k  float64
	id int
}

const constant = -1

func number(k float64) operand { return operand{k, constant} }

func (o operand) isNumber() bool { return o.id == constant }

// step computes values from others; every value is computed by one step.
type step struct {
	op    opcode
	dst   []int
	args  []operand       // k is used by linear alone; else it is 1
	c     float64         // a constant of the operation
	terms []quantity.Term // of linear, sorted by source
	multi *quantity.Multi
	index []int // of multi: which outputs dst are
}

// acts says which sources act on a node.
type acts struct {
	common bool // some that are no reading's own
	own    bool // some that are
}

// place is a node with or without the readings' own sources.
type place struct {
	node *quantity.Node
	own  bool
}

// builder turns a graph into steps. Nodes are told apart by their addresses,
// so what is shared is computed once.
type builder struct {
	acts   map[*quantity.Node]acts
	values map[place]operand
	multis map[*quantity.Multi][]operand
	steps  []step
	n      int // values so far
	err    error
}

// compile returns the program that draws q.
func compile(q quantity.Q) (*program, error) {
	b := &builder{
		acts:   map[*quantity.Node]acts{},
		values: map[place]operand{},
		multis: map[*quantity.Multi][]operand{},
	}
	result := b.value(q.Node(), true)
	if b.err != nil {
		return nil, b.err
	}
	if result.isNumber() {
		return nil, ErrExact
	}
	return lower(b.steps, b.n, b.output(result))
}

// output returns the value that is the result, free of a factor.
func (b *builder) output(result operand) int {
	last := &b.steps[len(b.steps)-1]
	if result.k != 1 && len(last.dst) == 1 && last.dst[0] == result.id {
		switch last.op { // nothing reads it yet: it takes the factor itself
		case opMul, opDiv, opReciprocal:
			last.c *= result.k
			return result.id
		}
	}
	return b.materialise(result)
}

// emit appends a step with one result.
func (b *builder) emit(s step) operand {
	s.dst = []int{b.n}
	b.n++
	b.steps = append(b.steps, s)
	return operand{1, s.dst[0]}
}

// materialise returns a value that is o itself, without a factor.
func (b *builder) materialise(o operand) int {
	switch {
	case o.isNumber():
		return b.emit(step{op: opLinear, c: o.k}).id
	case o.k != 1:
		return b.emit(step{op: opLinear, args: []operand{o}}).id
	}
	return o.id
}

// tame keeps factors away from overflow and underflow.
func (b *builder) tame(o operand) operand {
	if a := math.Abs(o.k); o.isNumber() || (a > 1e-100 && a < 1e100) {
		return o
	}
	return operand{1, b.materialise(o)}
}

func (b *builder) actsOn(n *quantity.Node) acts {
	if a, ok := b.acts[n]; ok {
		return a
	}
	var a acts
	of := func(terms []quantity.Term) {
		for _, t := range terms {
			if isDrawn(t.Source) {
				a.common = a.common || t.Source.Own == quantity.Common
				a.own = a.own || t.Source.Own != quantity.Common
			}
		}
	}
	through := n.Args
	switch n.Op {
	case quantity.Affine:
		of(n.Terms)
	case quantity.Line:
		of(n.Extra)
	case quantity.Pick:
		of(n.Extra)
		through = n.Multi.Args
	}
	for _, x := range through {
		y := b.actsOn(x)
		a.common = a.common || y.common
		if n.Op != quantity.Line && n.Op != quantity.Pick {
			a.own = a.own || y.own
		}
	}
	b.acts[n] = a
	return a
}

// value returns n, with or without the readings' own sources.
func (b *builder) value(n *quantity.Node, own bool) operand {
	a := b.actsOn(n)
	own = own && a.own
	if !own && !a.common {
		return number(n.V)
	}
	at := place{n, own}
	if v, ok := b.values[at]; ok {
		return v
	}
	v := b.tame(b.compute(n, own))
	b.values[at] = v
	return v
}

// plain returns the node's arguments as plain values.
func (b *builder) plain(args []*quantity.Node, own bool) []operand {
	out := make([]operand, len(args))
	for i, a := range args {
		out[i] = operand{1, b.materialise(b.value(a, own))}
	}
	return out
}

func (b *builder) compute(n *quantity.Node, own bool) operand {
	switch n.Op {
	case quantity.Affine:
		return b.emit(step{op: opLinear, c: n.V, terms: collect([]float64{1}, [][]quantity.Term{n.Terms}, own)})
	case quantity.Add:
		return b.sum(1, 1, n.Args, own)
	case quantity.Sub:
		return b.sum(1, -1, n.Args, own)
	case quantity.Line:
		return b.line(n, own)
	case quantity.Pick:
		return b.pick(n, own)
	case quantity.Mul:
		return b.product(b.value(n.Args[0], own), b.value(n.Args[1], own))
	case quantity.Div:
		return b.quotient(b.value(n.Args[0], own), b.value(n.Args[1], own))
	case quantity.Pow:
		return b.power(b.value(n.Args[0], own), b.value(n.Args[1], own))
	case quantity.IfOp:
		return b.choice(n.Args, own)
	}
	if op, ok := unary[n.Op]; ok {
		x := b.value(n.Args[0], own)
		if x.isNumber() {
			return number(quantity.Eval1(n.Op, x.k))
		}
		return b.emit(step{op: op, c: x.k, args: []operand{{1, x.id}}})
	}
	if op, ok := nary[n.Op]; ok {
		return b.emit(step{op: op, args: b.plain(n.Args, own)})
	}
	b.err = errors.New("the value was computed by an operation that cannot be drawn")
	return number(math.NaN())
}

var unary = map[quantity.Op]opcode{
	quantity.Abs: opAbs, quantity.Sqrt: opSqrt, quantity.Exp: opExp,
	quantity.Ln: opLn, quantity.Log10: opLog10, quantity.Sin: opSin,
	quantity.Cos: opCos, quantity.Tan: opTan, quantity.Asin: opAsin,
	quantity.Acos: opAcos, quantity.Atan: opAtan, quantity.Round: opRound,
	quantity.Floor: opFloor,
}

var nary = map[quantity.Op]opcode{
	quantity.Max: opMax, quantity.Min: opMin, quantity.Median: opMedian,
	quantity.Less: opLess, quantity.Equal: opEqual,
	quantity.And: opAnd, quantity.Or: opOr, quantity.Not: opNot,
}

func (b *builder) product(x, y operand) operand {
	k := x.k * y.k
	switch {
	case x.isNumber() && y.isNumber():
		return number(k)
	case x.isNumber():
		return operand{k, y.id}
	case y.isNumber():
		return operand{k, x.id}
	}
	v := b.emit(step{op: opMul, c: 1, args: []operand{{1, x.id}, {1, y.id}}})
	return operand{k, v.id}
}

func (b *builder) quotient(x, y operand) operand {
	k := x.k / y.k
	switch {
	case y.isNumber():
		return operand{k, x.id}
	case x.isNumber():
		v := b.emit(step{op: opReciprocal, c: 1, args: []operand{{1, y.id}}})
		return operand{k, v.id}
	}
	v := b.emit(step{op: opDiv, c: 1, args: []operand{{1, x.id}, {1, y.id}}})
	return operand{k, v.id}
}

// maxWhole is the greatest whole exponent that is worked out by multiplying.
const maxWhole = 16

func (b *builder) power(x, y operand) operand {
	switch {
	case x.isNumber() && y.isNumber():
		return number(quantity.Power(x.k, y.k))
	case y.isNumber() && y.k == 0:
		return number(1)
	case y.isNumber() && y.k == math.Trunc(y.k) && math.Abs(y.k) <= maxWhole:
		v := b.whole(x.id, int(math.Abs(y.k)))
		v.k = quantity.Power(x.k, math.Abs(y.k))
		if y.k < 0 {
			return b.quotient(number(1), v)
		}
		return v
	case y.isNumber() && y.k == 0.5:
		return b.emit(step{op: opSqrt, c: x.k, args: []operand{{1, x.id}}})
	case y.isNumber():
		return b.emit(step{op: opPowTo, c: y.k, args: []operand{{1, b.materialise(x)}}})
	}
	return b.emit(step{op: opPow, args: []operand{{1, b.materialise(x)}, {1, b.materialise(y)}}})
}

// whole returns the n-th power of a value, n > 0, by repeated squaring.
func (b *builder) whole(id, n int) operand {
	if n == 1 {
		return operand{1, id}
	}
	half := b.whole(id, n/2)
	v := b.product(half, half)
	if n%2 == 1 {
		v = b.product(v, operand{1, id})
	}
	return v
}

// choice returns the second argument where the first is not 0, else the third.
func (b *builder) choice(args []*quantity.Node, own bool) operand {
	condition := b.value(args[0], own)
	if condition.isNumber() {
		if condition.k != 0 {
			return b.value(args[1], own)
		}
		return b.value(args[2], own)
	}
	return b.emit(step{op: opChoose, args: b.plain(args, own)})
}

// line returns Σ K·Args without the readings' own sources, plus what came in.
// It is reckoned from the deviations, so that it is V at the estimates.
func (b *builder) line(n *quantity.Node, own bool) operand {
	c := n.V
	for i, a := range n.Args {
		c -= float64(n.K[i] * a.V)
	}
	s := sum{b: b, own: own, c: c}
	s.include(1, n.Extra)
	s.own = false
	for i, a := range n.Args {
		s.add(n.K[i], a)
	}
	return s.done()
}

// pick returns one output of a function of several.
func (b *builder) pick(n *quantity.Node, own bool) operand {
	s := sum{b: b, own: own}
	s.include(1, n.Extra)
	m := n.Multi
	outs, done := b.multis[m]
	if !done {
		outs = b.function(m)
		b.multis[m] = outs
	}
	if outs == nil {
		s.c = n.V
		return s.done()
	}
	s.operand(outs[n.Index])
	return s.done()
}

// function emits the evaluation of m; nil if nothing that acts on it is drawn.
func (b *builder) function(m *quantity.Multi) []operand {
	varies := false
	for _, a := range m.Args {
		varies = varies || b.actsOn(a).common
	}
	if !varies {
		return nil
	}
	s := step{op: opMulti, multi: m, args: b.plain(m.Args, false)}
	outs := make([]operand, m.Outputs)
	for i := range outs {
		outs[i] = operand{1, b.n}
		s.dst, s.index = append(s.dst, b.n), append(s.index, i)
		b.n++
	}
	b.steps = append(b.steps, s)
	return outs
}
