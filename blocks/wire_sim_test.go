package blocks_test

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strings"
)

// A simulated practical with the stretched wire, written apart from the
// method's own simulation so that the two check each other: the wire, the
// frame, the screw, the weights and the micrometer as physical things, whose
// readings are then written down as a record. The sizes of the honest
// imperfections are common practice for such frames.
//
// Each purpose has a random stream of its own, so that a fault changes nothing
// else.

// noise is the standard deviation of one screw reading: 4 µm of setting the
// bubble, and the rounding to 0.01 mm.
const noise = 0.005

type wireSim struct {
	seed  uint64
	fault string
	size  float64 // of the fault, mm where it shifts readings
	// setting is the standard deviation of setting the bubble, mm.
	setting   float64
	oneColumn bool

	material    string
	handbook, e float64 // GPa
	d, l        float64 // mm, m
	n           int
	step        float64 // kg
	pitch       float64 // mm
	sense       float64

	loads    []float64 // nominal, kg
	up, down []float64 // readings, mm; NaN: not read
	across   []float64
	along    []float64
	gaugeZero,
	screwZero float64
	lengths   []float64 // mm
	upTime    []float64 // s; nil: not noted
	downTime  []float64
	reference bool
	spare     float64  // cross-section by the weighed piece, mm²; 0: not weighed
	bind      []string // further lines of the practical
}

// stream returns the random numbers of one purpose.
func (w *wireSim) stream(purpose string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	return rand.New(rand.NewPCG(w.seed, h.Sum64()))
}

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func sign(r *rand.Rand) float64 {
	if r.IntN(2) == 0 {
		return -1
	}
	return 1
}

func rounded(v, to float64) float64 { return math.Round(v/to) * to }

// local and standard gravity of the simulated school, m/s².
const gravityThere = 9.8124

// handbooks are the values of the built-in tables, GPa and kg/m³.
var handbooks = []struct {
	name       string
	e, density float64
}{{"steel", 211.9, 7850}, {"copper", 129.8, 8960}, {"brass", 100.6, 8530}}

// simulate carries the practical out.
func (w *wireSim) simulate() *wireSim {
	w.reference = true
	r := w.stream("apparatus")
	h := handbooks[[]int{0, 0, 0, 1, 2}[r.IntN(5)]]
	w.material, w.handbook = h.name, h.e
	w.e = h.e * between(r, 0.94, 1.02)
	w.d, w.l = between(r, 0.45, 0.80), between(r, 2.0, 3.0)
	w.n = []int{6, 7, 8, 8, 8, 9, 10}[r.IntN(7)]
	w.step = 0.5
	w.pitch = []float64{1, 1, 0.5}[r.IntN(3)]
	w.sense = []float64{1, 1, 1, -1}[r.IntN(4)]
	first := float64(r.IntN(2)) * w.step
	for i := range w.n {
		w.loads = append(w.loads, first+float64(i)*w.step)
	}
	w.screwZero = rounded(between(w.stream("screw"), -0.05, 0.05), 0.01)
	w.readDiameters()
	w.readScrew()
	w.readLengths()
	w.bindings(h.density)
	w.recordingFaults()
	return w
}

func (w *wireSim) area() float64 { return math.Pi * w.d * w.d / 4 } // mm²

// perKilogram is the extension per kilogram, mm.
func (w *wireSim) perKilogram() float64 {
	return gravityThere * w.l * 1e3 / (w.area() * w.e * 1e3)
}

// readScrew builds the extension at each reading and reads it.
func (w *wireSim) readScrew() {
	weigh := w.stream("weights")
	batch := 1 + 0.0003*weigh.NormFloat64()
	mass := make([]float64, w.n)
	sum := 0.0
	for i, m := range w.loads {
		piece := w.step
		if i == 0 {
			piece = m
		}
		sum += piece * batch * (1 + 0.0006*weigh.NormFloat64())
		mass[i] = sum
	}
	row := w.faultRow()
	if w.fault == "wrong weight" {
		off := w.size * sign(w.stream("fault sign")) / w.perKilogram()
		for i := row; i < w.n; i++ {
			mass[i] += off
		}
	}
	honest := w.stream("honest")
	kink, fades := between(honest, 0, 0.002), between(honest, 0.3, 0.7)
	lens := between(honest, 0, 0.003)
	lag, tau := between(honest, 0, 0.003), between(honest, 20, 60)
	drift := 0.6e-3 * honest.NormFloat64() // 0.02 K left over by the reference wire
	bow, set, back, slipUp, slipDown := 0.0, 0.0, 0.0, 0.0, 0.0
	s := sign(w.stream("fault sign"))
	switch w.fault {
	case "kinks":
		kink = w.size
	case "hysteresis":
		lens = w.size
	case "drift":
		drift, w.reference = w.size*s, false
	case "creep":
		drift = w.size
	case "elastic limit":
		bow = w.size
	case "permanent set":
		set = w.size
	case "backlash":
		back = w.size * s
	case "slip on loading":
		slipUp = w.size
	case "slip on unloading":
		slipDown = w.size
	}
	wait := w.stream("waits")
	clock := 0.0
	var when []float64
	top := mass[w.n-1] - mass[0]
	at := func(i int, unloading bool, t float64) float64 {
		f := (mass[i] - mass[0]) / top
		x := w.perKilogram()*mass[i] + 4*bow*f*f
		fade := kink * (1 - math.Exp(-(mass[i]-mass[0])/fades))
		if unloading {
			fade = kink * (2 + (1 - math.Exp(-(mass[i]-mass[0])/fades))) / 3
		}
		x += fade + drift*t
		if !unloading {
			x += set * math.Pow(math.Max(0, f-0.6)/0.4, 1.5)
			if i >= row {
				x += slipUp
			}
			return x
		}
		x += set + slipUp + back + 4*lens*f*(1-f)
		if i < row {
			x += slipDown
		}
		return x
	}
	shared := w.stream("top").IntN(2) == 0
	total := float64(2*w.n - 1)
	set1 := w.stream("bubble up")
	set2 := w.stream("bubble down")
	start := between(w.stream("start"), 1, 3)
	if w.sense < 0 {
		start += 12
	}
	show := func(x, gone, wait float64, r *rand.Rand) float64 {
		x -= lag * (x - gone) * math.Exp(-wait/tau)
		return rounded(start+w.sense*(x+w.setting*r.NormFloat64()), 0.01) + w.screwZero
	}
	w.up, w.down = make([]float64, w.n), make([]float64, w.n)
	previous := at(0, false, 0)
	for i := range w.n {
		pause := 120 * between(wait, 0.85, 1.15)
		clock += pause
		when = append(when, clock)
		x := at(i, false, float64(i)/total)
		w.up[i] = show(x, previous, pause, set1)
		previous = x
	}
	w.upTime = append([]float64(nil), when...)
	w.downTime = make([]float64, w.n)
	for i := w.n - 1; i >= 0; i-- {
		pause := 120 * between(wait, 0.85, 1.15)
		if i == w.n-1 && shared {
			w.down[i], w.downTime[i] = math.NaN(), math.NaN()
			continue
		}
		clock += pause
		x := at(i, true, float64(2*w.n-1-i)/total)
		w.down[i], w.downTime[i] = show(x, previous, pause, set2), clock
		previous = x
	}
}

// faultRow is the row (from 0) at which a step begins: not the second, where a
// step is the same as a first reading that is off.
func (w *wireSim) faultRow() int {
	r := w.stream("fault row")
	switch w.fault {
	case "wrong weight": // not the last, which looks like a misread top
		return 1 + r.IntN(w.n-2)
	case "slip on unloading": // rows below it are read after it; more than one, and not all
		return 2 + r.IntN(w.n-4)
	}
	return 2 + r.IntN(w.n-2)
}

func (w *wireSim) readDiameters() {
	r, honest := w.stream("gauge"), w.stream("wire")
	zero := between(r, -0.04, 0.04)
	w.gaugeZero = rounded(zero, 0.01)
	instrument := 0.0012 * r.NormFloat64()
	taper, oval := between(honest, 0, 0.003)*w.d, between(honest, 0, 0.003)*w.d
	places := []int{3, 4, 5, 5, 5, 6}[honest.IntN(6)]
	s := sign(w.stream("fault sign"))
	switch w.fault {
	case "oval wire":
		oval = w.size * s
	case "tapered wire":
		taper = w.size * s
		places = max(places, 4)
	case "few diameters":
		places = 2
	}
	read := func(d float64) float64 {
		return rounded(d+zero+instrument+0.0015*r.NormFloat64(), 0.01)
	}
	for i := range places {
		d := w.d + taper*(float64(i)/float64(places-1)-0.5)
		w.across = append(w.across, read(d+oval/2))
		w.along = append(w.along, read(d-oval/2))
	}
}

func (w *wireSim) readLengths() {
	r := w.stream("tape")
	for range 3 + r.IntN(2) {
		w.lengths = append(w.lengths, math.Round(w.l*1e3+0.6*r.NormFloat64()))
	}
}

// bindings chooses the optional roles.
func (w *wireSim) bindings(density float64) {
	r := w.stream("optional")
	stress := (1 + w.loads[w.n-1]) * gravityThere / (math.Pi * (w.d - 0.04) * (w.d - 0.04) / 4) // MPa
	share := between(r, 0.12, 0.30)
	switch {
	case w.fault == "overload":
		w.bind = append(w.bind, fmt.Sprintf("strength = %.0f MPa", stress/between(w.stream("fault"), 0.6, 0.9)))
	case r.Float64() < 0.6:
		w.bind = append(w.bind, fmt.Sprintf("strength = %.0f MPa ± 5 %%", stress/share))
	}
	if r.Float64() < 0.3 {
		piece, real := between(r, 1.0, 2.5), density*(1+between(r, -0.005, 0.005))
		piece = rounded(piece, 0.001)
		mass := rounded(real*w.area()*1e-6*piece*1e3, 0.01) // g
		w.spare = mass / (density * piece) * 1e3
		w.bind = append(w.bind, fmt.Sprintf("spare_mass = %.2f g ± 0.005 g", mass), fmt.Sprintf("spare_length = %.3f m ± 1 mm", piece))
	}
	if r.Float64() < 0.5 || w.fault == "drift" && r.Float64() < 0.5 {
		w.bind = append(w.bind, "time = TIMES")
	} else {
		w.upTime, w.downTime = nil, nil
	}
	if r.Float64() < 0.3 || strings.HasPrefix(w.fault, "claimed") {
		w.bind = append(w.bind, "claimed = CLAIMED")
	}
	if !w.reference {
		w.bind = append(w.bind, "reference_wire = no")
	}
	if w.sense < 0 {
		w.bind = append(w.bind, "sense = -1")
	}
}

// recordingFaults act on what was read.
func (w *wireSim) recordingFaults() {
	r := w.stream("recording")
	s := sign(w.stream("fault sign"))
	col := w.up
	if !w.oneColumn && r.IntN(2) == 0 {
		col = w.down
	}
	i := r.IntN(w.n)
	for math.IsNaN(col[i]) {
		i = r.IntN(w.n)
	}
	switch w.fault {
	case "turn in one reading":
		col[i] += s * w.pitch
	case "half a millimetre in one reading":
		w.pitch = 1
		col[i] += s * 0.5
	case "another outlier":
		col[i] += s * w.size
	case "digits exchanged":
		for swapped(col[i]) == col[i] {
			if i = r.IntN(w.n); math.IsNaN(col[i]) {
				i = 0
			}
		}
		col[i] = swapped(col[i])
	case "turn lost and carried on":
		from := 2 + r.IntN(2*w.n-5) // not after the first reading, where it is that reading alone that is off, nor before the last
		if w.oneColumn {
			from = 2 + r.IntN(w.n-3)
		}
		for k := range w.n {
			if k >= from {
				w.up[k] += s * w.pitch
			}
			if 2*w.n-1-k >= from {
				w.down[k] += s * w.pitch
			}
		}
	case "column copied":
		copy(w.down, w.up)
	case "half a millimetre in one diameter":
		w.across[r.IntN(len(w.across))] += s * 0.5
	case "half a millimetre in all diameters":
		for k := range w.across {
			w.across[k] += 0.5
			w.along[k] += 0.5
		}
	case "one direction":
		w.along = nil
	case "radius for diameter":
		for k := range w.across {
			w.across[k] = rounded((w.across[k]-w.gaugeZero)/2, 0.005) + w.gaugeZero
			w.along[k] = rounded((w.along[k]-w.gaugeZero)/2, 0.005) + w.gaugeZero
		}
	case "load in newtons":
		for k := range w.loads {
			w.loads[k] = rounded(w.loads[k]*9.81, 0.01)
		}
	case "load of a quarter":
		for k := range w.loads {
			w.loads[k] /= 4
		}
	case "load doubled":
		for k := range w.loads {
			w.loads[k] *= 2
		}
	case "readings in centimetres":
		for k := range w.up {
			w.up[k], w.down[k] = w.up[k]/10, w.down[k]/10
		}
		w.screwZero /= 10
	}
}

// swapped exchanges the first two unlike neighbouring digits of a reading in
// hundredths from the right.
func swapped(v float64) float64 {
	n := int(math.Round(v * 100))
	for place := 1; place < 1000; place *= 10 {
		a, b := n/place%10, n/(place*10)%10
		if a != b && (place < 100 || n >= 1000) {
			return float64(n+(b-a)*place+(a-b)*place*10) / 100
		}
	}
	return v
}

// claimedE is E as a student works it out by hand from these readings, GPa:
// the slope of the mean column by least squares.
func (w *wireSim) claimedE() float64 {
	var x, y []float64
	for i := range w.n {
		v := w.up[i]
		if !w.oneColumn && !math.IsNaN(w.down[i]) {
			v = (v + w.down[i]) / 2
		}
		x, y = append(x, w.loads[i]), append(y, w.sense*v)
	}
	mx, my, sxx, sxy := 0.0, 0.0, 0.0, 0.0
	for i := range x {
		mx, my = mx+x[i]/float64(w.n), my+y[i]/float64(w.n)
	}
	for i := range x {
		sxx += (x[i] - mx) * (x[i] - mx)
		sxy += (x[i] - mx) * (y[i] - my)
	}
	d, k := 0.0, 0.0
	for _, v := range append(append([]float64(nil), w.across...), w.along...) {
		d, k = d+v-w.gaugeZero, k+1
	}
	d /= k
	l := 0.0
	for _, v := range w.lengths {
		l += v / float64(len(w.lengths))
	}
	area := math.Pi * d * d / 4
	if w.spare > 0 { // the better way
		area = w.spare
	}
	e := gravityThere * l / (area * sxy / sxx) / 1e3
	lag := float64(w.n - w.n/2)
	switch w.fault {
	case "claimed without g":
		return e / 9.81
	case "claimed with the radius for d":
		return e * 4
	case "claimed with d for the radius":
		return e / 4
	case "claimed with a wrong load step":
		return e / lag
	case "claimed off by a power of ten":
		return e * []float64{1e-6, 1e-3, 1e-2, 0.1, 10, 100, 1e3, 1e6}[w.stream("power").IntN(8)]
	}
	return e
}

// claimedText is the claim to three figures.
func (w *wireSim) claimedText() string { return fmt.Sprintf("%.2e GPa", w.claimedE()) }

// record writes the practical down.
func (w *wireSim) record() string {
	b := &strings.Builder{}
	fmt.Fprintf(b, "```instruments\nscrew:\n  pitch: %g mm\n  divisions: %g\n  zero: %+.3f mm\n", w.pitch, math.Round(w.pitch/0.01), w.screwZero)
	fmt.Fprintf(b, "gauge:\n  resolution: 0.01 mm\n  zero: %+.2f mm\n  calibration: ± 0.004 mm\ntape:\n  resolution: 1 mm\n  calibration: ± 1 mm\nweights:\n  resolution: 0.001 kg\n  scale: ± 0.05 %%\n```\n", w.gaugeZero)
	fmt.Fprintf(b, "```data chucks\nl / mm @tape\n")
	for _, l := range w.lengths {
		fmt.Fprintf(b, "%.0f\n", l)
	}
	b.WriteString("```\n```data wire\nacross / mm @gauge")
	if w.along != nil {
		b.WriteString(", along / mm @gauge")
	}
	b.WriteString("\n")
	for i := range w.across {
		fmt.Fprintf(b, "%.3f", w.across[i])
		if w.along != nil {
			fmt.Fprintf(b, ", %.3f", w.along[i])
		}
		b.WriteString("\n")
	}
	b.WriteString("```\n```data pull\nload / kg @weights, up / mm @screw, down / mm @screw")
	if w.upTime != nil {
		b.WriteString(", t_up / s, t_down / s")
	}
	b.WriteString("\n")
	for i := range w.n {
		fmt.Fprintf(b, "%.4f, %s, %s", w.loads[i], cellText(w.up[i], 3), cellText(w.down[i], 3))
		if w.upTime != nil {
			fmt.Fprintf(b, ", %s, %s", cellText(w.upTime[i], 0), cellText(w.downTime[i], 0))
		}
		b.WriteString("\n")
	}
	fmt.Fprintf(b, "```\n```practical young method=stretched-wire\nlength = chucks.l\nload = pull.load\nmaterial = %s\ndead_load = 1 kg\ngravity = 9.8124(2) m/s^2\n", w.material)
	b.WriteString("diameter = wire.across")
	if w.along != nil {
		b.WriteString(", wire.along")
	}
	b.WriteString("\nreading = pull.up")
	if !w.oneColumn {
		b.WriteString(", pull.down")
	}
	b.WriteString("\n")
	for _, line := range w.bind {
		line = strings.Replace(line, "CLAIMED", w.claimedText(), 1)
		if w.oneColumn {
			line = strings.Replace(line, "TIMES", "pull.t_up", 1)
		}
		b.WriteString(strings.Replace(line, "TIMES", "pull.t_up, pull.t_down", 1) + "\n")
	}
	b.WriteString("```\n")
	return b.String()
}

func cellText(v float64, places int) string {
	if math.IsNaN(v) {
		return "–"
	}
	return fmt.Sprintf("%.*f", places, v)
}
