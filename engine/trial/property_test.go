package trial

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// wire returns E = 4 g L/(π d² b) of a hanging wire of steel, invented, with
// eight inputs, two of them t distributed.
func wire() quantity.Q {
	length := normal("tape", 2.846, 0.0005).Add(limits("tape end", 0, 0.0005))
	diameter := from("scatter of d", 0.5012e-3, quantity.StudentT, 0.8e-6, 7).
		Add(limits("zero of the screw", 0, 1e-6)).Add(limits("limits of the screw", 0, 2e-6))
	slope := coefficients("fit", []float64{0.717e-3, 0.1e-3}, [][]float64{{4e-12, -1e-12}, {-1e-12, 9e-12}}, 8)
	b := slope[0].Add(normal("scale", 0, 1e-6))
	g := limits("g", 9.812, 0.002)
	four, pi := quantity.Number(4), quantity.Number(math.Pi)
	d2 := diameter.Pow(quantity.Number(2), unit.Dim{})
	return four.Mul(g).Mul(length).Div(pi.Mul(d2).Mul(b))
}

func TestWorkersChangeNothing(t *testing.T) {
	q := wire()
	want := draws(t, q, Options{Trials: 50_001, Seed: 7, Workers: 1})
	first := run(t, q, 1, Options{Trials: 50_001, Seed: 7, Workers: 1})
	for _, n := range []int{2, 7} {
		o := Options{Trials: 50_001, Seed: 7, Workers: n}
		sameBits(t, "draws", draws(t, q, o), want)
		if r := run(t, q, 1, o); *r != *first {
			t.Errorf("%d workers: %+v, want %+v", n, *r, *first)
		}
	}
	if other := draws(t, q, Options{Trials: 50_001, Seed: 8}); slices.Equal(other, want) {
		t.Error("another seed gives the same draws")
	}
}

// More trials go on where fewer end.
func TestTrialsAreAPrefix(t *testing.T) {
	long := draws(t, wire(), Options{Trials: 40_000})
	sameBits(t, "draws", draws(t, wire(), Options{Trials: 9000}), long[:9000])
}

func TestOrderChangesNothing(t *testing.T) {
	make3 := func(ids ...string) map[string]quantity.Q {
		m := map[string]quantity.Q{}
		for i, id := range ids {
			m[id] = normal(id, 2, 0.1)
			normal("between "+id, float64(i), 1)
		}
		return m
	}
	a, b := make3("x", "y", "z"), make3("z", "y", "x")
	f := func(m map[string]quantity.Q) quantity.Q { return m["x"].Mul(m["y"]).Add(apply(quantity.Exp, m["z"])) }
	sameBits(t, "order of construction", draws(t, f(a), Options{}), draws(t, f(b), Options{}))
	sameBits(t, "order of factors", draws(t, a["x"].Mul(a["y"]), Options{}), draws(t, a["y"].Mul(a["x"]), Options{}))
	sum := a["x"].Add(a["y"]).Add(a["z"])
	other := a["z"].Add(a["y"].Add(a["x"]))
	sameBits(t, "order of terms", draws(t, sum, Options{}), draws(t, other, Options{}))
}

// A source more leaves the draws of the others alone.
func TestUnrelatedSource(t *testing.T) {
	q := normal("x", 3, 0.1).Add(limits("y", 0, 0.1)).Add(from("t", 0, quantity.StudentT, 0.2, 4))
	y := limits("unrelated", 2, 0.1)
	one := square(y).Div(y.Mul(y)) // 1 in every draw
	sameBits(t, "draws", draws(t, q.Mul(one), Options{}), draws(t, q, Options{}))
}

func TestScaling(t *testing.T) {
	q := wire()
	a := run(t, q, 1, Options{Seed: 3})
	b := run(t, q.Mul(quantity.Number(-1e-9)), 1e-9, Options{Seed: 3})
	near(t, "mean", b.Mean/-1e-9/a.Mean, 1, 1e-12)
	near(t, "u", b.U/1e-9/a.U, 1, 1e-9)
	near(t, "low", b.SymLow/-1e-9/a.SymHigh, 1, 1e-4)
	near(t, "length", (b.High-b.Low)/1e-9/(a.High-a.Low), 1, 1e-3)
}

// The wire agrees with the first order, whose distortions are small here, but
// for the t distributions, which are wider than their u.
func TestWire(t *testing.T) {
	q := wire()
	r := run(t, q, 0, million)
	near(t, "mean", r.Mean/q.Value(), 1, 1e-4)
	want := 0.0
	for _, c := range q.Contributions() {
		factor := 1.0
		if !math.IsInf(c.DOF, 1) {
			factor = c.DOF / (c.DOF - 2)
		}
		want += c.U * c.U * factor
	}
	near(t, "u", r.U/math.Sqrt(want), 1, 5e-3)
	near(t, "first-order value", q.Value(), 4*9.812*2.846/(math.Pi*0.5012e-3*0.5012e-3*0.717e-3), 1)
}

func TestSharing(t *testing.T) {
	x := apply(quantity.Exp, normal("x", 0, 1))
	zero := run(t, x.Sub(x), 0, Options{})
	if zero.U != 0 || zero.Mean != 0 || zero.Low != 0 || zero.High != 0 || zero.Verdict != Validated {
		t.Errorf("x − x is %+v", *zero)
	}
	y := normal("y", 0, 1)
	for i, v := range draws(t, y.Mul(y), Options{}) {
		if !(v >= 0) {
			t.Fatalf("draw %d of y·y is %v", i, v)
		}
	}
	if p, err := compile(x.Add(x).Mul(x.Mul(x))); err != nil {
		t.Error(err)
	} else if n := count(p, opExp); n != 1 {
		t.Errorf("a shared exponential is computed %d times", n)
	}
}

func count(p *program, op opcode) int {
	n := 0
	for _, in := range p.code {
		if in.op == op {
			n++
		}
	}
	return n
}

func TestNothingToDraw(t *testing.T) {
	x := normal("x", 1, 0.1)
	for name, q := range map[string]quantity.Q{
		"number": quantity.Number(3),
		"x − x":  x.Sub(x),
		"u = 0":  normal("y", 1, 0),
	} {
		if _, err := Run(q, 0, Options{}); !errors.Is(err, ErrExact) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestOutsideTheDomain(t *testing.T) {
	q := apply(quantity.Ln, normal("x", 1, 0.5)) // x < 0 with probability Φ(−2)
	r := run(t, q, 1, million)
	near(t, "share", float64(r.NonFinite)/1e6, stat.NormalCDF(-2), 5e-4)
	if r.Verdict != NotAssessable || !strings.Contains(r.Reason, "no finite value") {
		t.Errorf("%v: %s", r.Verdict, r.Reason)
	}
	for _, x := range []float64{r.Mean, r.U, r.Low, r.High, r.SymLow, r.SymHigh} {
		if !isFinite(x) {
			t.Errorf("%+v", *r)
		}
	}
	total := r.Histogram.Below + r.Histogram.Above
	for _, n := range r.Histogram.Counts {
		total += n
	}
	if total+r.NonFinite != r.Trials {
		t.Errorf("%d draws are counted", total)
	}
	if _, err := Run(apply(quantity.Asin, limits("y", 0, 1000)), 1, Options{Trials: 1000}); err == nil {
		t.Error("no complaint about draws that nearly all fail")
	}
	if _, err := Run(apply(quantity.Ln, normal("z", 0, 1)), 1, Options{}); err == nil {
		t.Error("no complaint about an infinite estimate")
	}
}

func TestFewDegreesOfFreedom(t *testing.T) {
	for _, dof := range []float64{0.5, 1, 1.5, 2} {
		r := run(t, from("x", 5, quantity.StudentT, 1, dof), 12, million)
		if !math.IsNaN(r.U) || math.IsNaN(r.Mean) != (dof <= 1) || r.Verdict != NotAssessable {
			t.Errorf("ν = %v: %+v", dof, *r)
		}
		k := stat.TQuantile(0.975, dof)
		near(t, "symmetric high", (r.SymHigh-5)/k, 1, 0.06)
	}
	slope := coefficients("fit", []float64{1, 2}, [][]float64{{1, 0}, {0, 1}}, 1)
	if r := run(t, slope[0], 1, Options{}); r.Verdict != NotAssessable || !math.IsNaN(r.Mean) {
		t.Errorf("%+v", *r)
	}
	if _, err := Run(from("x", 5, quantity.StudentT, 1, 0.2), 1, Options{}); err == nil {
		t.Error("no complaint about 0.2 degrees of freedom")
	} else if !strings.Contains(err.Error(), "degrees of freedom") {
		t.Error(err)
	}
}

func TestOptions(t *testing.T) {
	x := normal("x", 1, 0.1)
	for _, o := range []Options{
		{Trials: 10}, {Trials: -5}, {Trials: 20_000_000}, {Coverage: 1}, {Coverage: -0.5},
		{Coverage: math.NaN()}, {Digits: -1}, {Workers: -1}, {Trials: 1000, Coverage: 0.9999},
	} {
		if _, err := Run(x, 1, o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
}

func TestConflictingSources(t *testing.T) {
	q := square(normal("x", 1, 0.1)).Add(square(normal("x", 1, 0.2)))
	if _, err := Run(q, 1, Options{}); err == nil {
		t.Error("one source with two uncertainties was taken")
	}
}

// The operations against the same formulas written out, draw by draw.
func TestOperations(t *testing.T) {
	const x0, y0 = 0.4, 0.55
	x, y := limits("x", x0, 0.3), limits("y", y0, 0.3)
	num := quantity.Number
	pow := func(a, b quantity.Q) quantity.Q { return a.Pow(b, unit.Dim{}) }
	f1 := func(op quantity.Op) func(x, y float64) float64 {
		return func(x, _ float64) float64 { return quantity.Eval1(op, 2*x) }
	}
	type formula struct {
		q quantity.Q
		f func(x, y float64) float64
	}
	cases := map[string]formula{
		"sum":             {x.Mul(y).Sub(x).Sub(num(3)), func(x, y float64) float64 { return x*y - x - 3 }},
		"quotient":        {num(3).Mul(x).Div(num(2).Mul(y)), func(x, y float64) float64 { return 3 * x / (2 * y) }},
		"reciprocal":      {num(3).Div(x), func(x, y float64) float64 { return 3 / x }},
		"whole powers":    {pow(x, num(5)).Add(pow(y, num(-3))), func(x, y float64) float64 { return math.Pow(x, 5) + math.Pow(y, -3) }},
		"power 16":        {pow(num(2).Mul(x), num(16)), func(x, y float64) float64 { return math.Pow(2*x, 16) }},
		"power 21":        {pow(x, num(21)), func(x, y float64) float64 { return math.Pow(x, 21) }},
		"root":            {pow(num(3).Mul(square(x)), num(0.5)), func(x, y float64) float64 { return math.Sqrt(3 * x * x) }},
		"power 1.5":       {pow(square(x).Mul(num(2)), num(1.5)), func(x, y float64) float64 { return math.Pow(2*x*x, 1.5) }},
		"varying powers":  {pow(x, y).Add(pow(num(2), y)), func(x, y float64) float64 { return math.Pow(x, y) + math.Pow(2, y) }},
		"greatest":        {extreme(quantity.Max, x, y, num(0.45)), func(x, y float64) float64 { return max(x, y, 0.45) }},
		"least":           {extreme(quantity.Min, x, y, num(0.45)), func(x, y float64) float64 { return min(x, y, 0.45) }},
		"middle of three": {extreme(quantity.Median, x, y, num(0.45)), func(x, y float64) float64 { return x + y + 0.45 - max(x, y, 0.45) - min(x, y, 0.45) }},
		"middle of two":   {quantity.Choose(quantity.Median, []quantity.Q{x, y}, 0, 1), func(x, y float64) float64 { return (x + y) / 2 }},
		"choice": {quantity.If(quantity.LessThan(x, y).And(quantity.LessThan(y, num(0.7)).Not()), square(x), y),
			func(x, y float64) float64 {
				if x < y && y >= 0.7 {
					return x * x
				}
				return y
			}},
		"or": {quantity.If(quantity.LessThan(x, y).Or(quantity.Equals(x, x)), x, square(y)), func(x, y float64) float64 { return x }},
		// The root is outside its domain where it is not chosen.
		"guarded": {quantity.If(quantity.LessThan(y, x), apply(quantity.Sqrt, x.Sub(y)), num(0)),
			func(x, y float64) float64 { return math.Sqrt(max(x-y, 0)) }},
	}
	for _, op := range []quantity.Op{quantity.Abs, quantity.Sqrt, quantity.Exp, quantity.Ln, quantity.Log10,
		quantity.Sin, quantity.Cos, quantity.Tan, quantity.Atan, quantity.Round, quantity.Floor} {
		cases["function "+string(rune('0'+op))] = formula{apply(op, x.Mul(num(2))), f1(op)}
	}
	for _, op := range []quantity.Op{quantity.Asin, quantity.Acos} {
		cases["function "+string(rune('0'+op))] = formula{apply(op, x),
			func(x, _ float64) float64 { return quantity.Eval1(op, x) }}
	}
	o := Options{Trials: 10_000, Seed: 5}
	xs, ys := draws(t, x, o), draws(t, y, o)
	for name, c := range cases {
		for i, got := range draws(t, c.q, o) {
			want := c.f(xs[i], ys[i])
			if math.Abs(got-want) > 1e-13*(1+math.Abs(want)) {
				t.Errorf("%s: draw %d at %v, %v is %v, want %v", name, i, xs[i], ys[i], got, want)
				break
			}
		}
	}
}

// extreme takes the element that is chosen at the estimates.
func extreme(op quantity.Op, qs ...quantity.Q) quantity.Q {
	order := []int{0, 1, 2}
	slices.SortFunc(order, func(i, j int) int {
		if qs[i].Value() < qs[j].Value() {
			return -1
		}
		return 1
	})
	i := map[quantity.Op]int{quantity.Max: order[2], quantity.Min: order[0], quantity.Median: order[1]}[op]
	return quantity.Choose(op, qs, i, i)
}

// A mean of many curved readings adds up to the mean of all, and needs few
// registers.
func TestWideLine(t *testing.T) {
	screw := source("screw", 0.01)
	const n = 150
	var xs []quantity.Q
	k := make([]float64, n)
	sum := 0.0
	for i := range n {
		v := 1 + float64(i)/n
		xs = append(xs, square(reading("r"+string(rune('a'+i)), v, 0.1, screw)))
		k[i] = 1.0 / n
		sum += v * v / n
	}
	mean := quantity.Reduce(sum, unit.Dim{}, k, xs)
	o := Options{Trials: 2000}
	s := draws(t, normalOn(screw, 0), o)
	for i, got := range draws(t, mean, o) {
		want := 0.0
		for j := range n {
			x := 1 + float64(j)/n + s[i]
			want += x * x / n
		}
		if math.Abs(got-want) > 1e-12 {
			t.Fatalf("draw %d is %v, want %v", i, got, want)
		}
	}
	p, err := compile(mean)
	if err != nil {
		t.Fatal(err)
	}
	if p.registers > 8 {
		t.Errorf("%d registers", p.registers)
	}
	if len(p.variates) != 1 {
		t.Errorf("%d sources are drawn", len(p.variates))
	}
}

func TestKey(t *testing.T) {
	o := Options{Seed: 1}
	base := Key(wire(), 1, o)
	full := Options{Trials: DefaultTrials, Seed: 1, Coverage: 0.95, Digits: 2, Workers: 3}
	if Key(wire(), 1, full) != base {
		t.Error("workers and defaults change the key")
	}
	multi := func(f func(in, out []float64)) quantity.Q {
		x := normal("x", 1, 0.1)
		m := &quantity.Multi{Args: []*quantity.Node{x.Node()}, Outputs: 1, F: f}
		return quantity.Picks(m, []quantity.Q{x}, []float64{1}, make([]unit.Dim, 1), [][]float64{{1}}, make([][]quantity.Term, 1))[0]
	}
	keys := map[[32]byte]string{base: "base"}
	for name, k := range map[string][32]byte{
		"seed":     Key(wire(), 1, Options{Seed: 2}),
		"trials":   Key(wire(), 1, Options{Seed: 1, Trials: 5000}),
		"coverage": Key(wire(), 1, Options{Seed: 1, Coverage: 0.99}),
		"expanded": Key(wire(), 2, o),
		"formula":  Key(square(wire()), 1, o),
		"u":        Key(normal("x", 1, 0.1), 1, o),
		"other u":  Key(normal("x", 1, 0.2), 1, o),
		"value":    Key(normal("x", 2, 0.1), 1, o),
		"id":       Key(normal("y", 1, 0.1), 1, o),
		"dist":     Key(from("x", 1, quantity.Rectangular, 0.1, inf), 1, o),
		"dof":      Key(from("x", 1, quantity.Normal, 0.1, 5), 1, o),
		"group":    Key(coefficients("x", []float64{1}, [][]float64{{0.01}}, 5)[0], 1, o),
		"F":        Key(multi(func(in, out []float64) { out[0] = in[0] }), 1, o),
		"other F":  Key(multi(func(in, out []float64) { out[0] = in[0] * in[0] }), 1, o),
	} {
		if other, ok := keys[k]; ok {
			t.Errorf("%s and %s have the same key", name, other)
		}
		keys[k] = name
	}
}

// The ends among the tails are those among all values.
func TestIntervalsFromTails(t *testing.T) {
	heavy := from("t", 0, quantity.StudentT, 1, 1)
	steps := apply(quantity.Round, normal("x", 0, 2))
	for name, q := range map[string]quantity.Q{
		"wire": wire(), "heavy": heavy, "steps": steps, "skew": square(normal("y", 0, 1)),
	} {
		for _, p := range []float64{0.5, 0.9, 0.95, 0.99, 0.9999} {
			for _, n := range []int{25_000, 40_001, 200_000} {
				o := Options{Trials: n, Coverage: p, Workers: 2, Seed: 1, Digits: 2}
				values := draws(t, q, o)
				var r Result
				r.intervals(values, o)
				low, high := stat.ShortestInterval(values, p)
				symLow, symHigh := stat.SymmetricInterval(values, p)
				got := []float64{r.Low, r.High, r.SymLow, r.SymHigh}
				sameBits(t, name, got, []float64{low, high, symLow, symHigh})
			}
		}
	}
	if reduced, _ := tails(draws(t, wire(), Options{}), Options{Coverage: 0.95, Workers: 1}); len(reduced) > 40_000 {
		t.Errorf("%d of 200000 values are left", len(reduced))
	}
}

// A rectangular value fills its bins alike; what is counted is what was drawn.
func TestHistogram(t *testing.T) {
	r := run(t, limits("x", 10, 1), 1, million)
	h := r.Histogram
	near(t, "low", h.Low, 9, 1e-4)
	near(t, "high", h.High, 11, 1e-4)
	for i, n := range h.Counts {
		// Five standard deviations of a count of 1/60 of a million.
		near(t, "count "+string(rune('0'+i)), float64(n), 1e6/Bins, 5*128)
	}
	n := run(t, normal("y", 0, 1), 1, million).Histogram
	near(t, "low", n.Low, -2*1.96, 0.05)
	near(t, "above", float64(n.Above), 1e6*stat.NormalCDF(-n.High), 50)
}
