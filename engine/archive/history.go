package archive

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/taut/engine/quantity"
	"example.org/taut/engine/results"
	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
)

// kept is a record of an archive as the shelf knows it.
type kept struct {
	*Entry
	file *results.File // nil where it can't be read
	why  *Finding      // why not
	page bool          // its page is there
}

// counts reports whether the record's numbers belong to a history: they can be
// read, and nothing amends them.
func (k *kept) counts() bool { return k.file != nil && k.AmendedBy == "" }

// history is one number of an apparatus in the order of time.
type history struct {
	name     string // of the result or of the instrument
	method   string // "" where none is known
	title    string // of the method
	first    bool   // it is of the first result of its method
	order    int    // of the result among those of its method
	unit     unit.Unit
	points   []point
	segments []segment
}

// point is one value, in the coherent SI unit.
type point struct {
	record   *kept
	value, u float64 // u is the expanded uncertainty; NaN for none
	shown    string
	key      string // what is measured: values of one key belong together
	name     string // of the key, for a reader
	// certified is what a certificate gives; NaN for none.
	certified, certifiedU float64
	// resolution is that of the instrument; 0 where it is not known.
	resolution float64

	// What settle finds: the index of the segment, the patterns that are
	// complete at this point, and whether its moving range is beyond its limit.
	segment int
	signals []stat.Signal
	jump    bool
}

// en is the normalized error; why says what it lacks.
func (p *point) en() (en float64, why string) {
	switch {
	case math.IsNaN(p.certified):
		return 0, "no certified value"
	case !(p.u > 0):
		return 0, "not assessable: the result has no uncertainty"
	case !(p.certifiedU > 0):
		return 0, "not assessable: the certified value has no uncertainty"
	}
	return stat.NormalizedError(p.value, p.u, p.certified, p.certifiedU), ""
}

// segment is a stretch of a history with one thing measured: the points from,
// up to but without to.
type segment struct {
	name     string
	from, to int
	control  *stat.Control
	// coarse says that the limits lie closer than half the resolution: a
	// change of one division lies beyond them, and signals say nothing.
	coarse bool
}

// settle cuts a history into segments, wherever the key changes, and works out
// the limits of each; they rest on its first baseline values, 0 for all.
func (h *history) settle(baseline int) {
	slices.SortStableFunc(h.points, func(a, b point) int { return byTime(a.record, b.record) })
	for i := 0; i < len(h.points); {
		s := segment{name: h.points[i].name, from: i}
		var values []float64
		resolution := 0.0
		for ; i < len(h.points) && h.points[i].key == h.points[s.from].key; i++ {
			h.points[i].segment = len(h.segments)
			values = append(values, h.points[i].value)
			resolution = max(resolution, h.points[i].resolution)
		}
		s.to = i
		s.control = stat.NewControl(values, baseline)
		s.coarse = s.control.HasLimits() && float64(3*s.control.Sigma) < resolution/2
		if !s.coarse {
			for _, g := range s.control.Signals() {
				g.First, g.Last = g.First+s.from, g.Last+s.from
				h.points[g.Last].signals = append(h.points[g.Last].signals, g)
			}
			for _, r := range s.control.RangeSignals() {
				h.points[r+s.from].jump = true
			}
		}
		h.segments = append(h.segments, s)
	}
}

// mostDrawn is how many values a chart shows, and its table lists: the last
// ones. Limits rest on all.
const mostDrawn = 120

// drawn is the index of the first value that is drawn.
func (h *history) drawn() int { return max(0, len(h.points)-mostDrawn) }

// recent are the values that are drawn.
func (h *history) recent() []point { return h.points[h.drawn():] }

// steady reports whether all values are the same: there is nothing to draw.
func (h *history) steady() bool {
	for _, p := range h.points {
		if p.value != h.points[0].value {
			return false
		}
	}
	return true
}

// byTime orders records by their dates, and those of one date as they were
// sealed.
func byTime(a, b *kept) int { return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.N, b.N)) }

// resultHistories gathers the results of an apparatus: those of practicals by
// method, and of records without one those that a certificate of the specimen
// names.
func resultHistories(records []*kept, baseline int) []*history {
	by := map[[2]string]*history{}
	var out []*history
	for _, k := range records {
		if !k.counts() {
			continue
		}
		for _, r := range resultsOf(k.file) {
			u, err := unit.Parse(r.value.Unit)
			if err != nil {
				continue // no results file of ours has it; Verify tells
			}
			id := [2]string{r.method, r.name}
			h := by[id]
			if h == nil {
				h = &history{name: r.name, method: r.method, title: r.title, first: r.order == 0, order: r.order, unit: shownUnit(r.value)}
				by[id] = h
				out = append(out, h)
			}
			if u.Dim() != h.unit.Dim() {
				continue // a result of this name that is something else
			}
			h.points = append(h.points, resultPoint(k, r))
		}
	}
	for _, h := range out {
		h.settle(baseline)
	}
	slices.SortFunc(out, func(a, b *history) int {
		return cmp.Or(cmp.Compare(a.method, b.method), cmp.Compare(a.order, b.order), cmp.Compare(a.name, b.name))
	})
	return out
}

// result is one result of a record.
type result struct {
	method, title, material, name string
	order                         int // among the results of its method
	value                         results.Value
}

// resultsOf lists the results of a record: by practical, in the order of its
// method.
func resultsOf(f *results.File) []result {
	var out []result
	for _, scope := range sortedKeys(f.Practicals) {
		p := f.Practicals[scope]
		for i, name := range p.Results {
			if v, ok := f.Values[scope+"."+name]; ok && isNumber(v.Value) {
				out = append(out, result{p.Method, p.Title, p.Material, name, i, v})
			}
		}
	}
	if len(f.Practicals) == 0 && f.Specimen != nil {
		for _, name := range sortedKeys(f.Specimen.Certified) {
			if v, ok := f.Values[name]; ok && isNumber(v.Value) {
				out = append(out, result{name: name, value: v})
			}
		}
	}
	return out
}

func isNumber(v results.Float) bool { return !math.IsNaN(float64(v)) }

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

func resultPoint(k *kept, r result) point {
	p := point{record: k, value: float64(r.value.Value), u: orNaN(r.value.Expanded), shown: r.value.Display, certified: math.NaN(), certifiedU: math.NaN()}
	p.key, p.name = "of "+r.material, r.material
	if s := k.file.Specimen; s != nil {
		p.key, p.name = specimenKey(s), s.Name
		if c, ok := s.Certified[r.name]; ok && c.Unit == r.value.Unit && isNumber(c.Value) {
			p.certified, p.certifiedU = float64(c.Value), orNaN(c.Expanded)
		}
	}
	return p
}

func specimenKey(s *results.Specimen) string { return s.Name + " fitted " + s.Fitted }

func orNaN(v *results.Float) float64 {
	if v == nil {
		return math.NaN()
	}
	return float64(*v)
}

// shownUnit is the unit in which a value is displayed, behind its number; the
// coherent one where none is found.
func shownUnit(v results.Value) unit.Unit {
	si, err := unit.Parse(v.Unit)
	for rest := v.Display; err == nil; {
		_, after, more := strings.Cut(rest, " ")
		if !more {
			break
		}
		if u, bad := unit.Parse(after); bad == nil && u.Dim() == si.Dim() && !u.IsTemperature() {
			return u
		}
		rest = after
	}
	return si
}

// zeroHistories gathers the zero readings of the instruments of an apparatus.
// A calibration, and another instrument of the same name, begin a segment.
func zeroHistories(records []*kept, baseline int) []*history {
	by := map[string]*history{}
	for _, k := range records {
		if !k.counts() {
			continue
		}
		for _, name := range sortedKeys(k.file.Instruments) {
			in := k.file.Instruments[name]
			z := in.Zero
			if z == nil || !isNumber(z.Value) {
				continue
			}
			un := resolutionUnit(in)
			if si, err := unit.Parse(z.Unit); err != nil || si.Dim() != un.Dim() {
				continue
			}
			h := by[name]
			if h == nil {
				h = &history{name: name, title: in.What, unit: un}
				by[name] = h
			}
			if un.Dim() != h.unit.Dim() {
				continue
			}
			h.points = append(h.points, zeroPoint(k, in, h.unit))
		}
	}
	var out []*history
	for _, name := range sortedKeys(by) {
		by[name].settle(baseline)
		out = append(out, by[name])
	}
	return out
}

// resolutionUnit is the unit of an instrument's scale.
func resolutionUnit(in results.Instrument) unit.Unit {
	if in.Resolution == nil {
		u, _ := unit.Parse(in.Zero.Unit) // checked by who asks
		return u
	}
	return shownUnit(results.Value{Unit: in.Resolution.Unit, Display: in.Resolution.Display})
}

func zeroPoint(k *kept, in results.Instrument, un unit.Unit) point {
	p := point{record: k, value: float64(in.Zero.Value), u: 2 * orNaN(in.Zero.U), certified: math.NaN(), certifiedU: math.NaN()}
	if in.Resolution != nil {
		p.resolution = float64(in.Resolution.Value)
	}
	p.key = in.Serial + " calibrated " + in.Calibrated
	switch {
	case in.Calibrated != "":
		p.name = "calibrated " + in.Calibrated
	case in.Serial != "":
		p.name = "serial " + in.Serial
	}
	p.shown = number(p.value, p.u/2, un) + unitTail(un)
	return p
}

// number is a value with as many decimals as show two figures of a scatter; in
// six figures where there is none.
func number(v, scatter float64, un unit.Unit) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	if s := math.Abs(un.FromSI(scatter)); s > 0 && !un.IsTemperature() && !math.IsInf(s, 0) {
		_, exponent, _ := strings.Cut(strconv.FormatFloat(s, 'e', 1, 64), "e")
		if n, err := strconv.Atoi(exponent); err == nil {
			return strings.Replace(quantity.RoundIn(v, un, max(0, 1-n)), "-", "−", 1)
		}
	}
	d := quantity.Format(v, 0, 0, un, quantity.Figures, quantity.Options{N: 6})
	d.Unit = ""
	return strings.Replace(d.String(), "-", "−", 1)
}

func unitTail(un unit.Unit) string {
	if un.IsOne() {
		return ""
	}
	return " " + un.String()
}
