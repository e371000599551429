package variant

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// Judged is the marking of one value.
type Judged struct {
	Point    Point
	Claim    string // as typed; "" where nothing was handed in
	Expected string // what the student's own data give; "" where they give nothing
	// Low and High are the ends of what is right, in the unit of Expected;
	// Own those with the student's own earlier results put in, where that was
	// tried.
	Low, High       string
	OwnLow, OwnHigh string
	Got             int
	Parts           []Part
	Words           []string // the reasons
	// Ratio is the claim divided by what is expected of it, Spread the expanded
	// uncertainty divided by the same; NaN where there is none.
	Ratio, Spread float64
	// Claimed is the number that was taken for the claim, in the coherent SI
	// unit; NaN for none.
	Claimed float64

	way   way
	taken taken
	claim view.Text // as a page shows it
	want  *expectation
}

// Part is one share of the marks of a value.
type Part struct {
	What    string // "value", "unit", "figures"
	Got, Of int
}

// way says how a value is right.
type way int

const (
	wrong way = iota
	direct
	byOwn // with own earlier results
)

// Limits of what is right.
const (
	// coarsest is the most that the rounding of a number may add to what is
	// right, as a share of it, where the data are better known than that: a
	// number of few figures is not right for that.
	coarsest = 0.005
	// widest is the most that may be right on either side, as a share of the
	// value: half, double or 4/π of it are slips, however rough the readings.
	widest = 0.2
	// nothing is the share of a standard uncertainty that the rounding of a value
	// near zero may cover.
	nothing = 0.2
)

// expectation is what a value should be.
type expectation struct {
	v     eval.Scalar
	u     float64 // standard uncertainty
	large float64 // expanded uncertainty
	unit  unit.Unit
	shown quantity.Display
}

func (e *expectation) value() float64 { return e.v.Q.Value() }

// expectationOf is what a program gives for a name.
func expectationOf(p *block.Program, name string) (expectation, bool) {
	v, ok := p.Lookup(name)
	s, single := v.(eval.Scalar)
	if !ok || !single || !s.Q.Finite() {
		return expectation{}, false
	}
	c := budget.Expand(s.Q, p.Settings.Coverage)
	return expectation{v: s, u: c.U, large: c.Expanded, unit: eval.UnitOf(s), shown: p.Settings.Display(s, quantity.Auto, 0)}, true
}

// tolerance is how far from what is expected a value may lie, half being half
// a unit of its last digit: the expanded uncertainty of the student's own data
// and that half unit, which is to cover the rounding of a sensible number and
// no more; together a fifth of the value at most. What is so near to zero that
// a fifth of it is less than its rounding is right if it is rounded rightly.
func (e *expectation) tolerance(half float64) float64 {
	size := math.Abs(e.value())
	half = math.Min(half, math.Max(halfUnit(e.large), coarsest*size))
	return math.Min(e.large+half, math.Max(widest*size, math.Min(half, nothing*e.u)))
}

// halfUnit is half a unit of the first digit of an uncertainty: a number that is
// rounded by it ends there or later (GUM 7.2.6).
func halfUnit(u float64) float64 {
	if u == 0 {
		return 0
	}
	return math.Pow(10, float64(-quantity.UncertaintyPlaces(u, 1))) / 2
}

// slack lets what lies on the limit itself be right, whatever the processor
// makes of its last binary digit.
const slack = 1e-9

func (e *expectation) right(t taken) bool {
	return math.Abs(t.v-e.value()) <= e.tolerance(t.half)*(1+slack)
}

// taken is a claim taken in a unit, in the coherent SI unit.
type taken struct {
	v, half float64 // half a unit of the last digit
	unit    unit.Unit
	stated  bool // the unit is the one that was written
	known   bool
}

// in takes the number of a claim in a unit.
func (c *claim) in(u unit.Unit, stated bool) (taken, bool) {
	typed := c.literal.Number.Text
	v, err := u.ToSI(typed)
	if err != nil {
		return taken{}, false
	}
	if c.sign {
		if v, err = u.ToSI("-" + typed); err != nil {
			return taken{}, false
		}
	}
	half, err := u.Difference().ToSI(fmt.Sprintf("5e%d", -block.Places(typed)-1))
	if err != nil {
		return taken{}, false
	}
	return taken{v: v, half: half, unit: u, stated: stated, known: true}, true
}

// ways lists how a claim may be taken: with its unit as written, then its
// number in the unit in which the value is expected, and in the coherent one.
func (c *claim) ways(want unit.Unit) []taken {
	var out []taken
	add := func(u unit.Unit, stated bool) {
		if slices.ContainsFunc(out, func(t taken) bool { return unit.Same(t.unit, u) }) {
			return
		}
		if t, ok := c.in(u, stated); ok {
			out = append(out, t)
		}
	}
	switch {
	case c.hasUnit && !c.badUnit && c.unit.Dim() == want.Dim():
		add(c.unit, true)
	case !c.hasUnit && want.Dim().IsOne():
		add(unit.Of(unit.Dim{}), true)
	}
	add(want, false)
	add(want.Coherent(), false)
	return out
}

// work is one student's data, worked out.
type work struct {
	files   memory
	program *block.Program
	points  []Point
	want    map[string]expectation
	rests   map[[2]string]bool
}

// newWork works the data of a student out.
func (k *marker) newWork(files memory) *work {
	w := &work{files: files, want: map[string]expectation{}, rests: map[[2]string]bool{}}
	w.program = k.program(files, &finding.Set{})
	w.program.Evaluate()
	for _, p := range k.Key.Points {
		if p.Kind != PointValue {
			continue
		}
		if e, ok := expectationOf(w.program, p.Name); ok {
			w.want[p.Name] = e
		}
		for _, before := range w.points {
			w.rests[[2]string{p.Name, before.Name}] = w.program.Rests(p.Name, before.Name)
		}
		w.points = append(w.points, p)
	}
	return w
}

// own is what a value should be with the student's own earlier results put in
// the place of computed ones; a zero is no result that another could follow
// from. Names are those of them that were not right by themselves.
func (w *work) own(i int, judged []*Judged) (e expectation, names []string, ok bool) {
	var put []*Judged
	for _, j := range judged[:i] {
		if j.taken.known && j.taken.v != 0 && w.rests[[2]string{w.points[i].Name, j.Point.Name}] {
			put = append(put, j)
			if j.way != direct {
				names = append(names, j.Point.Name)
			}
		}
	}
	if len(put) == 0 {
		return e, nil, false
	}
	w.program.Renew(w.files)
	for _, j := range put {
		w.program.Put(j.Point.Name, j.rounded(w.want[j.Point.Name].v.Q.Dim()))
	}
	w.program.Evaluate()
	if e, ok = expectationOf(w.program, w.points[i].Name); !ok {
		return e, nil, false
	}
	return e, names, true
}

// rounded is a student's own number as a value: it is uncertain by its
// rounding alone, since it is theirs.
func (j *Judged) rounded(d unit.Dim) eval.Scalar {
	t := j.taken
	half := math.Min(t.half, coarsest*math.Abs(t.v))
	s := quantity.Source{ID: "own " + j.Point.Name, Label: "rounding of the student's own " + j.Point.Name, Dist: quantity.Rectangular, Value: t.v, Unit: t.unit, U: half / math.Sqrt(3), Half: half}
	return eval.Scalar{Q: quantity.Uncertain(t.v, d, quantity.Term{Source: s.New(), C: 1}), Unit: &t.unit}
}

// judge marks the values of an entry, each on those before it.
func (w *work) judge(k *Key, claims map[string]*claim) []*Judged {
	var out []*Judged
	for i, p := range w.points {
		j := &Judged{Point: p, Ratio: math.NaN(), Spread: math.NaN(), Claimed: math.NaN()}
		j.Parts = partsOf(p.Marks)
		c := claims[p.Name]
		j.claim = c.show()
		out = append(out, j)
		want, ok := w.want[p.Name]
		if ok {
			j.want = &want
			j.Expected = want.shown.String()
			j.Spread = math.Abs(want.large / want.value())
		}
		switch {
		case c.empty():
			j.say("nothing was handed in")
		case c.literal == nil:
			j.Claim = c.text
			j.say("it can't be read as a number with its unit")
		case !ok:
			j.Claim = c.text
			j.say("the data as they stand give no value to compare with: for the teacher")
		default:
			j.Claim = c.text
			w.judgeOne(k, i, out, c, want)
		}
	}
	return out
}

// judgeOne judges a claim that can be read against a value that is there.
func (w *work) judgeOne(k *Key, i int, all []*Judged, c *claim, want expectation) {
	j := all[i]
	ways := c.ways(want.unit)
	if len(ways) == 0 {
		j.say("it can't be read as a number with its unit")
		return
	}
	e, names, tried := w.own(i, all)
	if j.way, j.taken = rightWay(ways, &want, &e, tried); j.way == wrong {
		j.taken = ways[0]
	}
	j.Claimed = j.taken.v
	j.Ratio = j.taken.v / want.value()
	j.Low, j.High = limits(&want, j.taken)
	own := &want
	if tried {
		own = &e
	}
	if j.way == byOwn || j.way == wrong && len(names) > 0 {
		j.OwnLow, j.OwnHigh = limits(own, j.taken)
	}
	j.award(k, c, &want, own, names, func(factor float64) string { return w.slipLength(k, i, factor) })
}

// rightWay finds how a claim is right: as it is written before any other
// reading of its number, by the data before by the student's own results.
func rightWay(ways []taken, want, own *expectation, tried bool) (way, taken) {
	for _, stated := range []bool{true, false} {
		for _, t := range ways {
			if t.stated == stated && want.right(t) {
				return direct, t
			}
		}
		for _, t := range ways {
			if t.stated == stated && tried && own.right(t) {
				return byOwn, t
			}
		}
	}
	return wrong, taken{}
}

// limits are the ends of what is right, in the unit of the value.
func limits(e *expectation, t taken) (low, high string) {
	tol := e.tolerance(t.half)
	places := quantity.UncertaintyPlaces(e.unit.Difference().FromSI(tol), 2)
	return quantity.RoundIn(e.value()-tol, e.unit, places), quantity.RoundIn(e.value()+tol, e.unit, places)
}

// partsOf splits the marks of a value: one is for the value with its unit; of
// two, one is for the unit; of three and more, one is for the unit and one for
// the figures.
func partsOf(marks int) []Part {
	switch marks {
	case 1:
		return []Part{{What: "value with unit", Of: 1}}
	case 2:
		return []Part{{What: "value", Of: 1}, {What: "unit", Of: 1}}
	}
	return []Part{{What: "value", Of: marks - 2}, {What: "unit", Of: 1}, {What: "figures", Of: 1}}
}

// award gives the marks. Unit and figures earn theirs with a right value only:
// alone they are no result.
func (j *Judged) award(k *Key, c *claim, want, own *expectation, names []string, length func(factor float64) string) {
	unitRight := j.taken.stated
	figuresRight, figures := figures(c, j.taken, want)
	switch j.way {
	case direct:
		j.say("right by the student's own data")
	case byOwn:
		j.say("right with " + ownWords(k, names) + " put in")
	default:
		j.say(fmt.Sprintf("wrong: right is from %s to %s", j.Low, j.High) + unitAfter(want))
		if j.OwnLow != "" {
			j.say(fmt.Sprintf("with %s put in, from %s to %s", ownWords(k, names), j.OwnLow, j.OwnHigh) + unitAfter(want))
		}
		if s := slipWords(j.taken.v, length, want, own); s != "" {
			j.say(s)
		}
	}
	if !unitRight {
		j.say(unitWords(c, want, j.way != wrong))
	}
	if j.way != wrong && figures != "" {
		if len(j.Parts) < 3 {
			figures += "; no mark goes with that"
		}
		j.say(figures)
	}
	for i := range j.Parts {
		p := &j.Parts[i]
		earned := j.way != wrong
		switch p.What {
		case "unit", "value with unit":
			earned = earned && unitRight
		case "figures":
			earned = earned && figuresRight
		}
		if earned {
			p.Got = p.Of
			j.Got += p.Of
		}
	}
}

func (j *Judged) say(words string) { j.Words = append(j.Words, words) }

func unitAfter(e *expectation) string {
	if e.unit.IsOne() {
		return ""
	}
	return " " + superscripts.Replace(e.unit.String())
}

// figures judges the number of digits of a claim: its last digit stands where
// the uncertainty of the value has its first or its second significant digit
// (GUM 7.2.6), or one place further, lest later steps suffer from the rounding.
func figures(c *claim, t taken, want *expectation) (right bool, words string) {
	if want.u == 0 || want.value() == 0 {
		return true, ""
	}
	// The relative uncertainty of the data, on the value as the student has it.
	share := math.Abs(t.v / want.value())
	u, large := want.u*share, want.large*share
	scale := t.unit.Difference()
	last := block.Places(c.literal.Number.Text)
	few := quantity.UncertaintyPlaces(scale.FromSI(large), 1)
	most := quantity.UncertaintyPlaces(scale.FromSI(u), 2) + 1
	shown := strings.TrimSpace(quantity.RoundFigures(scale.FromSI(u), 2) + " " + superscripts.Replace(unitName(t.unit)))
	switch {
	case last < few:
		return false, fmt.Sprintf("too few figures: the standard uncertainty is %s (GUM 7.2.6)", shown)
	case last > most:
		return false, fmt.Sprintf("too many figures: the standard uncertainty is %s (GUM 7.2.6)", shown)
	}
	return true, ""
}

func unitName(u unit.Unit) string {
	if u.IsOne() {
		return ""
	}
	return u.String()
}

// show is a claim as a page shows it: a number with its unit where it is one.
func (c *claim) show() view.Text {
	switch {
	case c.empty():
		return words("–")
	case c.literal == nil || c.badUnit || len(c.literal.Limits) > 0 || c.literal.Number.Paren != "":
		return view.Text{view.Code(c.text)}
	}
	number := c.literal.Number.Text
	if c.sign {
		number = "-" + number
	}
	d := quantity.Typed(number, c.unit)
	return view.Text{view.Number{Display: d, Standing: view.Given}}
}
