package eval

import (
	"encoding/hex"
	"fmt"
	"hash/fnv"
	"math"
	"sort"
	"strings"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// reductions holds the functions that make one value of columns.
var reductions = []function{
	{name: "mean", usage: "mean(a, b, …)", what: "the mean of all readings pooled, with its Type A uncertainty and the resolution", least: 1, most: -1, f: mean},
	{name: "median", usage: "median(a, b, …)", what: "the median of all readings pooled; its Type A uncertainty is √(π/2) times that of the mean", least: 1, most: -1, f: median},
	{name: "sd", usage: "sd(a, b, …)", what: "the experimental standard deviation of all readings pooled (n − 1), without an uncertainty of its own", least: 1, most: -1, f: sd},
	{name: "min", usage: "min(a, b, …)", what: "the least", least: 1, most: -1, f: func(c *Call) Value { return extreme(c, quantity.Min) }},
	{name: "max", usage: "max(a, b, …)", what: "the greatest", least: 1, most: -1, f: func(c *Call) Value { return extreme(c, quantity.Max) }},
	{name: "span", usage: "span(c)", what: "the greatest minus the least", least: 1, most: 1, f: spanOf},
	{name: "sum", usage: "sum(c)", what: "the sum", least: 1, most: 1, f: sum},
	{name: "count", usage: "count(a, b, …)", what: "how many cells were read", least: 1, most: -1, f: count},
	{name: "rows", usage: "rows(c)", what: "how many rows the column has, read or not", least: 1, most: 1, f: rows},
	{name: "first", usage: "first(c)", what: "the first reading", least: 1, most: 1, f: func(c *Call) Value { return endOf(c, false) }},
	{name: "last", usage: "last(c)", what: "the last reading", least: 1, most: 1, f: func(c *Call) Value { return endOf(c, true) }},
	{name: "nth", usage: "nth(c, i)", what: "the reading in row i, from 1", least: 2, most: 2, f: nth},
	{name: "any", usage: "any(condition)", what: "whether it holds in one row at least", least: 1, most: 1, f: func(c *Call) Value { return gather(c, quantity.Truth.Or) }},
	{name: "all", usage: "all(condition)", what: "whether it holds in every row", least: 1, most: 1, f: func(c *Call) Value { return gather(c, quantity.Truth.And) }},
}

func values(qs []quantity.Q) []float64 {
	out := make([]float64, len(qs))
	for i, q := range qs {
		out[i] = q.Value()
	}
	return out
}

// mean pools readings. Quantities that are no readings are averaged as they
// are: there is no scatter to speak of.
func mean(c *Call) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	if p.columns == 0 && !allReadings(p.qs) || len(p.qs) == 1 {
		k := 1 / float64(len(p.qs))
		return c.result(total(p.qs).Mul(quantity.Number(k)), p.first)
	}
	c.remark(p)
	n := len(p.qs)
	v := stat.Mean(values(p.qs))
	return c.result(reduce("mean", v, p.qs, stat.SD(values(p.qs))/math.Sqrt(float64(n)), UnitOf(p.first)), p.first)
}

func median(c *Call) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	order := make([]int, len(p.qs))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return p.qs[order[i]].Value() < p.qs[order[j]].Value() })
	i, j := order[(len(order)-1)/2], order[len(order)/2]
	middle := quantity.Choose(quantity.Median, p.qs, i, j)
	if len(p.qs) < 3 || p.columns == 0 && !allReadings(p.qs) {
		return c.result(middle, p.first)
	}
	// ISO 13528, 7.7: the standard uncertainty of a median is 1.25 times that
	// of a mean (√(π/2) for normal scatter).
	n := float64(len(p.qs))
	u := math.Sqrt(math.Pi/2) * stat.SD(values(p.qs)) / math.Sqrt(n)
	qs := []quantity.Q{p.qs[i], p.qs[j]}
	scatter := scatterSource("median", p.qs, middle.Value(), max(u, floorOf(ownTerms([]float64{0.5, 0.5}, qs)).independent), n-1, UnitOf(p.first))
	return c.result(quantity.Reduce(middle.Value(), middle.Dim(), []float64{0.5, 0.5}, qs, quantity.Term{Source: scatter, C: 1}), p.first)
}

func allReadings(qs []quantity.Q) bool {
	for _, q := range qs {
		own := false
		for _, t := range q.Terms() {
			own = own || t.Source.Own != quantity.Common
		}
		if !own {
			return false
		}
	}
	return true
}

// remark notes a column that was read by no stated instrument, and pairs over
// unequal spans.
func (c *Call) remark(p *pooled) {
	for i, a := range c.Args {
		for _, name := range Uninstrumented(a) {
			c.E.Report(noInstrument(c.at(i), "`"+name+"`"))
		}
	}
}

// Uninstrumented names the columns of readings in a value that have neither
// instrument nor stated uncertainty.
func Uninstrumented(v Value) []string {
	switch v := v.(type) {
	case List:
		var out []string
		for _, m := range v.Members {
			out = append(out, Uninstrumented(m)...)
		}
		return out
	case *Column:
		if v.Name == "" {
			return nil
		}
		for _, cell := range v.Cells {
			for _, t := range cell.Q.Terms() {
				if t.Source.Instrument != "" || t.Source.U > 0 {
					return nil
				}
			}
		}
		return []string{v.Name}
	}
	return nil
}

// reduce makes the mean of readings by the rules of the record language:
// sources in common pass through; what is the readings' own is replaced by the
// scatter, of standard uncertainty u, and by the resolution of each
// instrument, either once as a source of its own or as a floor of the scatter.
func reduce(what string, v float64, qs []quantity.Q, u float64, un unit.Unit) quantity.Q {
	n := float64(len(qs))
	k := make([]float64, len(qs))
	for i := range k {
		k[i] = 1 / n
	}
	own := ownTerms(k, qs)
	fl := floorOf(own)
	dim := qs[0].Dim()
	key := poolKey(what, qs)
	scatter := quantity.Source{ID: key, Label: scatterLabel(qs), Dist: quantity.StudentT, Value: v, Unit: un,
		U: max(u, fl.independent), DOF: n - 1, TypeA: true, Cells: cellsOf(qs, false)}
	extra := []quantity.Term{{Source: scatter.New(), C: 1}}
	for _, r := range fl.common {
		s := quantity.Source{ID: key + " resolution " + r.instrument, Label: resolutionLabel(r.instrument, qs),
			Dist: quantity.Rectangular, Value: v, Unit: un, U: r.u, Half: r.u * math.Sqrt(3), Instrument: r.instrument}
		extra = append(extra, quantity.Term{Source: s.New(), C: 1})
	}
	return quantity.Reduce(v, dim, k, qs, extra...)
}

func scatterSource(what string, qs []quantity.Q, v, u, dof float64, un unit.Unit) *quantity.Source {
	dist := quantity.StudentT
	if math.IsInf(dof, 1) {
		dist = quantity.Normal
	}
	return quantity.Source{ID: poolKey(what, qs), Label: scatterLabel(qs), Dist: dist, Value: v,
		Unit: un, U: u, DOF: dof, TypeA: true, Cells: cellsOf(qs, false)}.New()
}

// ownTerms returns the sensitivities of Σ k·qs to the readings' own sources.
func ownTerms(k []float64, qs []quantity.Q) []quantity.Term {
	c := map[*quantity.Source]float64{}
	var order []*quantity.Source
	for i, q := range qs {
		for _, t := range q.Terms() {
			if t.Source.Own == quantity.Common {
				continue
			}
			if _, seen := c[t.Source]; !seen {
				order = append(order, t.Source)
			}
			c[t.Source] += k[i] * t.C
		}
	}
	sort.Slice(order, func(i, j int) bool { return order[i].Less(order[j]) })
	out := make([]quantity.Term, len(order))
	for i, s := range order {
		out[i] = quantity.Term{Source: s, C: c[s]}
	}
	return out
}

// floor is what the readings' own sources come to in a mean. Common holds the
// resolutions that do not average out; independent is the root sum of squares
// of all others.
type floor struct {
	common      []resolved
	independent float64
}

type resolved struct {
	instrument string
	u          float64
}

// floorOf judges each instrument: with c the sensitivities to its readings,
// a = |Σ c u| and q = √Σ(c u)²; if a ≥ q the resolution counts once as a, else
// q is a floor.
func floorOf(own []quantity.Term) floor {
	type sums struct{ a, q float64 }
	by := map[string]*sums{}
	var names []string
	independent := 0.0
	for _, t := range own {
		cu := t.C * t.Source.U
		if t.Source.Own != quantity.Resolution {
			independent += float64(cu * cu)
			continue
		}
		s := by[t.Source.Instrument]
		if s == nil {
			s = &sums{}
			by[t.Source.Instrument] = s
			names = append(names, t.Source.Instrument)
		}
		s.a += cu
		s.q += float64(cu * cu)
	}
	sort.Strings(names)
	var out floor
	for _, name := range names {
		s := by[name]
		a, q := math.Abs(s.a), math.Sqrt(s.q)
		switch {
		case q == 0:
		case a >= q*(1-1e-9):
			out.common = append(out.common, resolved{name, a})
		default:
			independent += s.q
		}
	}
	out.independent = math.Sqrt(independent)
	return out
}

// reductionKey names a reduction by what it does and by the readings that it
// does it to, so that equal reductions of equal cells are one source wherever
// they are written.
func reductionKey(what string, qs []quantity.Q) string { return hashed(what, cellKeys(qs)) }

// poolKey is reductionKey for reductions to which the order of the readings is
// nothing: mean(a, b) is mean(b, a).
func poolKey(what string, qs []quantity.Q) string {
	keys := cellKeys(qs)
	sort.Strings(keys)
	return hashed(what, keys)
}

// cellKeys names each value by itself and by the readings behind it.
func cellKeys(qs []quantity.Q) []string {
	out := make([]string, len(qs))
	for i, q := range qs {
		var b strings.Builder
		fmt.Fprintf(&b, "%x:", math.Float64bits(q.Value()))
		for _, t := range q.Terms() {
			if t.Source.Own != quantity.Common {
				b.WriteString(t.Source.ID + " ")
			}
		}
		out[i] = b.String()
	}
	return out
}

func hashed(what string, keys []string) string {
	h := fnv.New128a()
	for _, k := range keys {
		h.Write([]byte(k + "\n"))
	}
	return what + " " + hex.EncodeToString(h.Sum(nil))
}

// cellsOf returns the readings behind values; only those with an uncertainty
// of their own where certain ones do not matter.
func cellsOf(qs []quantity.Q, onlyUncertain bool) []*quantity.Source {
	seen := map[*quantity.Source]bool{}
	var out []*quantity.Source
	for _, q := range qs {
		for _, t := range q.Terms() {
			s := t.Source
			if s.Own == quantity.Resolution && !seen[s] && (!onlyUncertain || s.U > 0) {
				seen[s] = true
				out = append(out, s)
			}
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Less(out[j]) })
	return out
}

// readingNames names the columns of readings that stand behind values:
// “wire.across, wire.along”.
func readingNames(qs []quantity.Q) string {
	var names []string
	seen := map[string]bool{}
	for _, q := range qs {
		for _, t := range q.Terms() {
			if t.Source.Own != quantity.Resolution {
				continue
			}
			name, _, _ := strings.Cut(t.Source.ID, "[")
			if !seen[name] {
				seen[name] = true
				names = append(names, name)
			}
		}
	}
	sort.Strings(names)
	return strings.Join(names, ", ")
}

func resolutionLabel(instr string, qs []quantity.Q) string {
	return fmt.Sprintf("resolution of %s (%s)", instr, readingNames(qs))
}

func scatterLabel(qs []quantity.Q) string {
	if names := readingNames(qs); names != "" {
		return fmt.Sprintf("scatter of %s (n = %d)", names, len(qs))
	}
	return fmt.Sprintf("scatter of %d values", len(qs))
}

func sd(c *Call) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	if len(p.qs) < 2 {
		return Waiting{On: "a second reading of " + p.name(), Unread: true}
	}
	return c.difference(quantity.Exact(stat.SD(values(p.qs)), p.qs[0].Dim()), p.first)
}

func extreme(c *Call, op quantity.Op) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	i := extremeIndex(p.qs, op)
	return c.result(quantity.Choose(op, p.qs, i, i), p.first)
}

func extremeIndex(qs []quantity.Q, op quantity.Op) int {
	best := 0
	for i, q := range qs {
		v, b := q.Value(), qs[best].Value()
		if op == quantity.Max && v > b || op == quantity.Min && v < b {
			best = i
		}
	}
	return best
}

func spanOf(c *Call) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	i, j := extremeIndex(p.qs, quantity.Max), extremeIndex(p.qs, quantity.Min)
	q := quantity.Choose(quantity.Max, p.qs, i, i).Sub(quantity.Choose(quantity.Min, p.qs, j, j))
	return c.difference(q, p.first)
}

// difference shows a difference in the unit of what was subtracted; of
// temperatures, in kelvins.
func (c *Call) difference(q quantity.Q, like Value) Value {
	v := c.result(q, like)
	if s, ok := v.(Scalar); ok && s.Unit != nil {
		u := differenceOf(*s.Unit)
		s.Difference = s.Unit.IsTemperature()
		s.Unit = &u
		return s
	}
	return v
}

func sum(c *Call) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	return c.result(total(p.qs), p.first)
}

// total adds up half and half, so that the sources of many readings are merged
// in few rounds.
func total(qs []quantity.Q) quantity.Q {
	if n := len(qs); n > 1 {
		return total(qs[:n/2]).Add(total(qs[n/2:]))
	}
	return qs[0]
}

func count(c *Call) Value {
	p, bad := c.pool()
	if w, ok := bad.(Waiting); ok && w.Unread {
		return Number(0)
	}
	if bad != nil {
		return bad
	}
	return Number(float64(len(p.qs)))
}

func rows(c *Call) Value {
	switch v := c.Args[0].(type) {
	case *Column:
		return Number(float64(len(v.Cells)))
	case Labels:
		return Number(float64(len(v.Cells)))
	case List:
		if len(v.Members) > 0 {
			if col, ok := v.Members[0].(*Column); ok {
				return Number(float64(len(col.Cells)))
			}
		}
	case Scalar:
		return Number(1)
	}
	return c.wrong(0, "a column")
}

func endOf(c *Call, last bool) Value {
	p, bad := c.pool()
	if bad != nil {
		return bad
	}
	q := p.qs[0]
	if last {
		q = p.qs[len(p.qs)-1]
	}
	return c.result(q, p.first)
}

func nth(c *Call) Value {
	col, bad := c.column(0)
	if bad != nil {
		return bad
	}
	i, bad := c.whole(1, 1)
	if bad != nil {
		return bad
	}
	if i > len(col.Cells) {
		return c.E.fail(wrongSize(c.at(1), fmt.Sprintf("there is no row %d: the column has %d", i, len(col.Cells)), ""))
	}
	if col.Cells[i-1].Hole {
		return Waiting{On: fmt.Sprintf("row %d of %s", i, col.Name), Unread: true}
	}
	return c.result(col.Cells[i-1].Q, col)
}

func gather(c *Call, f func(a, b quantity.Truth) quantity.Truth) Value {
	cells, ok := bools(c.Args[0])
	if !ok {
		return c.wrong(0, "a condition")
	}
	var out *quantity.Truth
	for _, b := range cells {
		if b.Hole {
			continue
		}
		t := b.Truth
		if out != nil {
			t = f(*out, t)
		}
		out = &t
	}
	if out == nil {
		return Waiting{On: "a reading", Unread: true}
	}
	return Bool{*out}
}
