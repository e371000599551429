package variant

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// length is a diameter or a radius among the values of a practical.
type length struct {
	name   string // in full
	scalar eval.Scalar
	radius bool
}

var metres = unit.MustParse("m").Dim()

// lengths are the diameters and radii of the practical on which a value rests,
// as their labels call them: the results among them before the others.
func (w *work) lengths(k *Key, value string) []length {
	w.program.Renew(w.files)
	w.program.Evaluate()
	var out []length
	for _, d := range w.program.Values() {
		s, single := d.Value().(eval.Scalar)
		inside, ok := strings.CutPrefix(d.Full(), k.Practical+".")
		if !ok || !single || strings.Contains(inside, ".") || s.Q.Dim() != metres || !w.program.Rests(value, d.Full()) {
			continue
		}
		if diameter, radius := kindOfLength(w.program.Label(d.Full())); diameter || radius {
			out = append(out, length{d.Full(), s, radius})
		}
	}
	slices.SortStableFunc(out, func(a, b length) int {
		return slices.Index(k.resultsLast(), k.short(b.name)) - slices.Index(k.resultsLast(), k.short(a.name))
	})
	return out
}

// resultsLast are the method's results from the last to the first, so that the
// index of a result is the greater the sooner it stands and that of any other
// value is the least.
func (k *Key) resultsLast() []string {
	out := slices.Clone(k.Order)
	slices.Reverse(out)
	return out
}

// kindOfLength reads a label.
func kindOfLength(label string) (diameter, radius bool) {
	words := strings.FieldsFunc(strings.ToLower(label), func(r rune) bool { return r < 'a' || r > 'z' })
	return slices.Contains(words, "diameter"), slices.Contains(words, "radius")
}

// slipLength says by which diameter or radius, taken half or twice, the value i
// changes by a factor: a formula is not asked, it is worked out so.
func (w *work) slipLength(k *Key, i int, factor float64) string {
	name := w.points[i].Name
	switch diameter, radius := kindOfLength(w.program.Label(name)); {
	case diameter && factor == 0.5:
		return ": was the radius given?"
	case radius && factor == 2:
		return ": was the diameter given?"
	case diameter, radius:
		return ""
	}
	want, all := w.want[name].v.Q.Value(), w.lengths(k, name)
	for n, l := range all {
		for _, times := range []float64{0.5, 2} {
			v, ok := w.with(name, all, n, times)
			if ok && math.Abs(v/want/factor-1) < 1e-6 {
				return l.words(k, times)
			}
		}
	}
	return ""
}

// with is a value as it is worked out with one of the lengths taken times as
// great and the others as they are.
func (w *work) with(name string, all []length, n int, times float64) (v float64, ok bool) {
	w.program.Renew(w.files)
	put := func(l length, times float64) {
		w.program.Put(l.name, eval.Scalar{Q: quantity.Exact(times*l.scalar.Q.Value(), l.scalar.Q.Dim()), Unit: l.scalar.Unit})
	}
	for o, l := range all {
		if o != n {
			put(l, 1)
		}
	}
	put(all[n], times) // last: another name of it may stand among the others
	w.program.Evaluate()
	e, ok := expectationOf(w.program, name)
	if !ok {
		return 0, false
	}
	return e.value(), true
}

func (l length) words(k *Key, times float64) string {
	share, taken := "half of", [2]string{"radius", "diameter"}
	if times == 2 {
		share, taken = "twice", [2]string{"diameter", "radius"}
	}
	if l.radius && times == 0.5 {
		return fmt.Sprintf(", as with %s `%s`", share, k.short(l.name))
	}
	return fmt.Sprintf(", as with %s `%s`: was the %s taken for the %s?", share, k.short(l.name), taken[0], taken[1])
}
