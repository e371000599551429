package trial

import (
	"fmt"

	"example.org/taut/engine/quantity"
)

// instr is one pass over a block. It reads and writes registers.
type instr struct {
	op      opcode
	dst     []int
	src     []int
	k       []float64 // of opLinear: factors of src
	c       float64
	variate int // of opFill
	multi   *quantity.Multi
	index   []int // of opMulti: which outputs dst are
}

// program is a compiled quantity. It is read by several machines at once.
type program struct {
	variates  []variate
	code      []instr
	registers int // besides the output's, whose number this is
}

// lowerer turns steps into instructions over values, then over registers.
type lowerer struct {
	program
	values  int
	groups  map[string]*groupUse
	uses    map[string]int // of a group, lowered so far
	sources map[string]drawn
	pending map[int]instr // by value that a draw fills: the fill to be emitted
}

// drawn is a variate in use: the values that it fills.
type drawn struct {
	source *quantity.Source
	factor float64
	values []int
}

func lower(steps []step, values, result int) (*program, error) {
	l := &lowerer{
		values:  values,
		groups:  map[string]*groupUse{},
		uses:    map[string]int{},
		sources: map[string]drawn{},
		pending: map[int]instr{},
	}
	for _, s := range steps {
		if err := l.noteGroups(s.terms); err != nil {
			return nil, err
		}
	}
	for _, s := range steps {
		if err := l.step(s); err != nil {
			return nil, err
		}
	}
	if last := l.code[len(l.code)-1]; last.op == opMulti || last.dst[0] != result {
		l.values++
		l.code = append(l.code, instr{op: opLinear, dst: []int{l.values - 1}, src: []int{result}, k: []float64{1}})
	}
	l.allocate()
	return &l.program, nil
}

// byGroup returns the terms that belong to one fit, from the first of them on.
func byGroup(terms []quantity.Term, id string) []quantity.Term {
	var out []quantity.Term
	for _, t := range terms {
		if t.Source.Group != nil && t.Source.Group.ID == id {
			out = append(out, t)
		}
	}
	return out
}

// eachGroup calls f once for each fit whose coefficients are among terms.
func eachGroup(terms []quantity.Term, f func(g *quantity.Group, of []quantity.Term) error) error {
	seen := map[string]bool{}
	for i, t := range terms {
		g := t.Source.Group
		if g == nil || seen[g.ID] {
			continue
		}
		seen[g.ID] = true
		if err := f(g, byGroup(terms[i:], g.ID)); err != nil {
			return err
		}
	}
	return nil
}

func (l *lowerer) noteGroups(terms []quantity.Term) error {
	return eachGroup(terms, func(g *quantity.Group, of []quantity.Term) error {
		u := l.groups[g.ID]
		if u == nil {
			var err error
			if u, err = newGroupUse(g); err != nil {
				return err
			}
			l.groups[g.ID] = u
		}
		return u.add(of)
	})
}

// step lowers one step.
func (l *lowerer) step(s step) error {
	if s.op != opLinear {
		in := instr{op: s.op, dst: s.dst, c: s.c, multi: s.multi, index: s.index}
		for _, a := range s.args {
			in.src = append(in.src, a.id)
		}
		l.code = append(l.code, in)
		return nil
	}
	inputs := append([]operand(nil), s.args...)
	for _, t := range s.terms {
		if t.Source.Group != nil {
			continue
		}
		d, err := l.source(t.Source)
		if err != nil {
			return err
		}
		inputs = append(inputs, operand{t.C * d.factor, d.values[0]})
	}
	err := eachGroup(s.terms, func(g *quantity.Group, _ []quantity.Term) error {
		d, err := l.group(g)
		if err != nil {
			return err
		}
		z := l.groups[g.ID].coordinates(l.uses[g.ID])
		l.uses[g.ID]++
		for i, k := range z {
			if k != 0 {
				inputs = append(inputs, operand{k, d.values[i]})
			}
		}
		return nil
	})
	l.linear(s.dst[0], s.c, inputs)
	return err
}

// linear emits dst = c + Σ inputs, a few at a time; a source is drawn just
// before the first pass that reads it.
func (l *lowerer) linear(dst int, c float64, inputs []operand) {
	for {
		n := min(fanIn, len(inputs))
		in := instr{op: opLinear, dst: []int{dst}, c: c}
		for _, o := range inputs[:n] {
			l.fill(o.id)
			in.src = append(in.src, o.id)
			in.k = append(in.k, o.k)
		}
		inputs = inputs[n:]
		if len(inputs) > 0 {
			in.dst = []int{l.values}
			inputs = append([]operand{{1, l.values}}, inputs...)
			l.values++
		}
		l.code = append(l.code, in)
		if len(inputs) == 0 {
			return
		}
		c = 0
	}
}

// fill emits the draws of the variate that a value belongs to, if it belongs
// to one that is not drawn yet.
func (l *lowerer) fill(value int) {
	in, ok := l.pending[value]
	if !ok {
		return
	}
	for _, v := range in.dst {
		delete(l.pending, v)
	}
	l.code = append(l.code, in)
}

// newDrawn registers a variate and numbers the values that it fills.
func (l *lowerer) newDrawn(v variate) drawn {
	var d drawn
	for range v.dim {
		d.values = append(d.values, l.values)
		l.values++
	}
	for _, x := range d.values {
		l.pending[x] = instr{op: opFill, dst: d.values, variate: len(l.variates)}
	}
	l.variates = append(l.variates, v)
	return d
}

func (l *lowerer) source(s *quantity.Source) (drawn, error) {
	if d, ok := l.sources[s.ID]; ok {
		if t := d.source; t != s && (t.Dist != s.Dist || t.U != s.U || t.DOF != s.DOF) {
			return d, fmt.Errorf("%s and %s are the same source with different uncertainties", t.Label, s.Label)
		}
		return d, nil
	}
	v, factor, err := newVariate(s)
	if err != nil {
		return drawn{}, err
	}
	d := l.newDrawn(v)
	d.source, d.factor = s, factor
	l.sources[s.ID] = d
	return d, nil
}

func (l *lowerer) group(g *quantity.Group) (drawn, error) {
	key := "\x00" + g.ID
	if d, ok := l.sources[key]; ok {
		return d, nil
	}
	v, err := l.groups[g.ID].variate()
	if err != nil {
		return drawn{}, err
	}
	d := l.newDrawn(v)
	l.sources[key] = d
	return d, nil
}

// allocate replaces values by registers. A register is free again after the
// last instruction that reads its value; the passes go element by element, so
// a result may take the place of an argument.
func (l *lowerer) allocate() {
	last := make([]int, l.values)
	for i, in := range l.code {
		for _, v := range in.src {
			last[v] = i
		}
		for _, v := range in.dst {
			last[v] = max(last[v], i)
		}
	}
	register := make([]int, l.values)
	var free []int
	release := func(values []int, at int) {
		for _, v := range values {
			if last[v] == at {
				last[v] = -1 // once
				free = append(free, register[v])
			}
		}
	}
	end := len(l.code) - 1
	for i := range l.code {
		in := &l.code[i]
		src := make([]int, len(in.src))
		for j, v := range in.src {
			src[j] = register[v]
		}
		release(in.src, i)
		dst := make([]int, len(in.dst))
		for j, v := range in.dst {
			if len(free) == 0 {
				free = append(free, l.registers)
				l.registers++
			}
			register[v] = free[len(free)-1]
			free = free[:len(free)-1]
			dst[j] = register[v]
		}
		if i < end {
			release(in.dst, i)
		}
		in.src, in.dst = src, dst
	}
	l.code[end].dst[0] = l.registers
}
