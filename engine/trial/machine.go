package trial

import (
	"math"

	"example.org/taut/engine/stat"
)

// chunk is the number of draws that one stream gives; block is how many of
// them are in work at once, so that the registers stay in the processor's
// cache. The draws depend on chunk, and on nothing that a user can set.
const (
	chunk = 8192
	block = 1024
)

// machine runs a program. It belongs to one goroutine.
type machine struct {
	*program
	store   [][]float64 // the registers, block values each
	views   [][]float64 // those as long as the block in work, then the output
	streams []*stat.Stream
	in, out []float64 // of a function of several values
}

func (p *program) machine() *machine {
	n := p.registers
	m := &machine{
		program: p,
		store:   make([][]float64, n),
		views:   make([][]float64, n+1),
		streams: make([]*stat.Stream, len(p.variates)),
	}
	all := make([]float64, n*block)
	for i := range m.store {
		m.store[i] = all[i*block : (i+1)*block]
	}
	inputs, outputs := 0, 0
	for _, in := range p.code {
		inputs = max(inputs, len(in.src))
		if in.multi != nil {
			outputs = max(outputs, in.multi.Outputs)
		}
	}
	m.in, m.out = make([]float64, inputs), make([]float64, outputs)
	return m
}

// chunk fills out with the draws of one chunk.
func (m *machine) chunk(out []float64, seed uint64, number int) {
	for i, v := range m.variates {
		m.streams[i] = stat.NewStream(seed, v.name, number)
	}
	for len(out) > 0 {
		n := min(block, len(out))
		for i, r := range m.store {
			m.views[i] = r[:n]
		}
		m.views[len(m.store)] = out[:n]
		for i := range m.code {
			m.exec(&m.code[i])
		}
		out = out[n:]
	}
}

// exec makes one pass.
func (m *machine) exec(in *instr) {
	dst := m.views[in.dst[0]]
	switch in.op {
	case opFill:
		m.fill(in)
	case opLinear:
		m.linear(dst, in)
	case opMul:
		multiply(dst, m.views[in.src[0]], m.views[in.src[1]], in.c)
	case opDiv:
		divide(dst, m.views[in.src[0]], m.views[in.src[1]], in.c)
	case opReciprocal:
		for i, x := range m.views[in.src[0]] {
			dst[i] = in.c / x
		}
	case opSqrt:
		for i, x := range m.views[in.src[0]] {
			dst[i] = math.Sqrt(in.c * x)
		}
	case opChoose:
		choose(dst, m.views[in.src[0]], m.views[in.src[1]], m.views[in.src[2]])
	case opPow:
		power(dst, m.views[in.src[0]], m.views[in.src[1]])
	case opPowTo:
		powerTo(dst, m.views[in.src[0]], in.c)
	case opMulti:
		m.multiple(in)
	default:
		if f := functions[in.op]; f != nil {
			for i, x := range m.views[in.src[0]] {
				dst[i] = f(in.c * x)
			}
			return
		}
		m.gather(dst, in, selections[in.op])
	}
}

func (m *machine) fill(in *instr) {
	v := &m.variates[in.variate]
	if v.joint == nil {
		v.sampler.Fill(m.views[in.dst[0]], m.streams[in.variate])
		return
	}
	blocks := make([][]float64, len(in.dst))
	for i, r := range in.dst {
		blocks[i] = m.views[r]
	}
	v.joint.Fill(blocks, m.streams[in.variate])
}

func (m *machine) linear(dst []float64, in *instr) {
	var a [fanIn][]float64
	for i, r := range in.src {
		a[i] = m.views[r]
	}
	switch len(in.src) {
	case 0:
		for i := range dst {
			dst[i] = in.c
		}
	case 1:
		linear1(dst, in.c, in.k[0], a[0])
	case 2:
		linear2(dst, in.c, in.k[0], in.k[1], a[0], a[1])
	case 3:
		linear3(dst, in.c, in.k[0], in.k[1], in.k[2], a[0], a[1], a[2])
	default:
		linear4(dst, in.c, [4]float64(in.k), a)
	}
}

// gather calls f with the arguments of each draw.
func (m *machine) gather(dst []float64, in *instr, f func([]float64) float64) {
	args := m.in[:len(in.src)]
	for i := range dst {
		for j, r := range in.src {
			args[j] = m.views[r][i]
		}
		dst[i] = f(args)
	}
}

// multiple calls a function of several outputs for each draw, unless one of
// its arguments is not finite: then its outputs are not numbers either.
func (m *machine) multiple(in *instr) {
	args := m.in[:len(in.src)]
	outs := m.out[:in.multi.Outputs]
	for i := range m.views[in.dst[0]] {
		finite := true
		for j, r := range in.src {
			args[j] = m.views[r][i]
			finite = finite && isFinite(args[j])
		}
		if finite {
			in.multi.F(args, outs)
		} else {
			fillNaN(outs)
		}
		for j, r := range in.dst {
			m.views[r][i] = outs[in.index[j]]
		}
	}
}
