package trial

import (
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"math"

	"example.org/taut/engine/quantity"
)

// method changes whenever the same arguments give other results than before.
const method = "trial 1"

// Key returns a hash of everything that the result of Run depends on: the
// formulas, the estimates, the sources with their distributions and the
// options, but not the number of workers. Equal keys mean equal results.
//
// What a function of several outputs does cannot be read; it is tried out at a
// few points near the estimates instead.
func Key(q quantity.Q, expanded float64, o Options) [sha256.Size]byte {
	if full, err := o.complete(); err == nil {
		o = full
	}
	k := keyer{
		nodes:   map[*quantity.Node][]byte{},
		multis:  map[*quantity.Multi][]byte{},
		sources: map[*quantity.Source][]byte{},
		groups:  map[*quantity.Group][]byte{},
	}
	d := newDigest()
	d.text(method)
	d.floats(expanded, o.Coverage)
	d.whole(uint64(o.Trials), o.Seed, uint64(o.Digits))
	d.bytes(k.node(q.Node()))
	return [sha256.Size]byte(d.sum())
}

// keyer hashes a graph from its leaves up, each part once.
type keyer struct {
	nodes   map[*quantity.Node][]byte
	multis  map[*quantity.Multi][]byte
	sources map[*quantity.Source][]byte
	groups  map[*quantity.Group][]byte
}

func (k *keyer) node(n *quantity.Node) []byte {
	if sum, ok := k.nodes[n]; ok {
		return sum
	}
	d := newDigest()
	d.whole(uint64(n.Op))
	d.floats(n.V)
	if n.Op == quantity.Affine {
		k.terms(d, n.Terms)
	}
	d.whole(uint64(len(n.Args)))
	for _, a := range n.Args {
		d.bytes(k.node(a))
	}
	d.whole(uint64(len(n.K)))
	d.floats(n.K...)
	k.terms(d, n.Extra)
	if n.Multi != nil {
		d.bytes(k.multi(n.Multi))
		d.whole(uint64(n.Index))
	}
	k.nodes[n] = d.sum()
	return k.nodes[n]
}

func (k *keyer) terms(d digest, terms []quantity.Term) {
	d.whole(uint64(len(terms)))
	for _, t := range terms {
		d.floats(t.C)
		d.bytes(k.source(t.Source))
	}
}

func (k *keyer) source(s *quantity.Source) []byte {
	if sum, ok := k.sources[s]; ok {
		return sum
	}
	d := newDigest()
	d.text(s.ID)
	d.whole(uint64(s.Dist), uint64(s.Own), uint64(s.Index))
	d.floats(s.U, s.DOF)
	if s.Group != nil {
		d.bytes(k.group(s.Group))
	}
	k.sources[s] = d.sum()
	return k.sources[s]
}

func (k *keyer) group(g *quantity.Group) []byte {
	if sum, ok := k.groups[g]; ok {
		return sum
	}
	d := newDigest()
	d.text(g.ID)
	d.floats(g.DOF)
	for _, row := range g.Cov {
		d.whole(uint64(len(row)))
		d.floats(row...)
	}
	k.groups[g] = d.sum()
	return k.groups[g]
}

func (k *keyer) multi(m *quantity.Multi) []byte {
	if sum, ok := k.multis[m]; ok {
		return sum
	}
	d := newDigest()
	d.whole(uint64(m.Outputs), uint64(len(m.Args)))
	at, step := make([]float64, len(m.Args)), make([]float64, len(m.Args))
	for i, a := range m.Args {
		d.bytes(k.node(a))
		at[i], step[i] = a.V, probeStep(a)
	}
	out := make([]float64, m.Outputs)
	for try := range 4 {
		in := make([]float64, len(at))
		for i := range in {
			// Another direction at each try.
			in[i] = at[i] + step[i]*float64((try*(5*i+3)+i*i)%7-3)/3
		}
		m.F(in, out)
		d.floats(out...)
	}
	k.multis[m] = d.sum()
	return k.multis[m]
}

// probeStep returns about how far a value may lie from its estimate.
func probeStep(n *quantity.Node) float64 {
	sum := 0.0
	for _, t := range n.Terms {
		sum += math.Abs(t.C * t.Source.U)
	}
	if sum == 0 {
		return 1e-3 * math.Abs(n.V)
	}
	return sum
}

// digest is a hash that takes in whole parts, so that no two lists of parts
// run together.
type digest struct{ hash.Hash }

func newDigest() digest { return digest{sha256.New()} }

func (d digest) whole(x ...uint64) {
	for _, v := range x {
		d.Write(binary.BigEndian.AppendUint64(nil, v)) // a hash never fails
	}
}

func (d digest) floats(x ...float64) {
	for _, v := range x {
		d.whole(math.Float64bits(v))
	}
}

func (d digest) text(s string) {
	d.whole(uint64(len(s)))
	d.Write([]byte(s))
}

func (d digest) bytes(b []byte) { d.text(string(b)) }

func (d digest) sum() []byte { return d.Sum(nil) }
