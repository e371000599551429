package blocks_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// dataBlock is a table of a record, one column per heading.
func dataBlock(name string, head []string, rows ...[]float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "```data %s\n%s\n", name, strings.Join(head, ", "))
	for _, r := range rows {
		for i, v := range r {
			if i > 0 {
				b.WriteString(", ")
			}
			b.WriteString(strconv.FormatFloat(v, 'g', 15, 64))
		}
		b.WriteByte('\n')
	}
	b.WriteString("```\n\n")
	return b.String()
}

// practicalBlock binds the roles of a method.
func practicalBlock(name, method string, lines ...string) string {
	return fmt.Sprintf("```practical %s method=%s\n%s\n```\n", name, method, strings.Join(lines, "\n"))
}

// inOne is a record without further files.
func inOne(text ...string) files { return files{"record.md": strings.Join(text, "")} }

// close demands a figure within a relative tolerance.
func (w *whole) close(what string, want, tolerance float64) {
	w.t.Helper()
	w.near(what, want, math.Abs(want)*tolerance)
}

// Brown University, course notes ENGN0310, Torsion: a shaft of 30 mm and
// 0.4 m, G = 77 GPa, under 250 N m turns by 0.0163314 rad = 0.93572°; J =
// 7.95216e-8 m⁴. Source read.
func TestTorsionShaft(t *testing.T) {
	for _, c := range []struct {
		unit, perUnit string
		theta, half   float64
	}{
		{" / rad", "rad", 0.0163314, 5e-8},
		{" / °", "°", 0.93572, 5e-6},
	} {
		w := inOne(
			dataBlock("twist", []string{"load / kg", "a" + c.unit}, []float64{0, 0}, []float64{12.5, c.theta / 2}, []float64{25, c.theta}),
			practicalBlock("shaft", "static-torsion", "length = 0.4 m", "diameter = 30 mm", "radius = 1 m", "gravity = 10.000 m/s^2", "load = twist.load", "clockwise = twist.a"),
		).build(t)
		tolerance := c.half / c.theta
		w.close("shaft.G", 77e9, tolerance)
		w.close("shaft.kappa", 77e9*7.95216e-8/0.4, tolerance+5e-14/7.95216e-8)
	}
}

// OpenStax, University Physics, volume 1, example 15.4: a rod of 0.30 m and
// 4.00 kg swings in 0.50 s on its wire; κ = 4.73 N m. The book truncates: the
// value is 4.7374, which rounds to 4.74. Source read.
func TestTorsionConstantOfABook(t *testing.T) {
	w := inOne(
		dataBlock("swing", []string{"inertia / kg m^2", "t / s", "n"}, []float64{4.00 * 0.30 * 0.30 / 12, 0.50, 1}),
		practicalBlock("rod", "torsion-pendulum", "length = 1 m", "diameter = 1 mm", "inertia = swing.inertia", "timing = swing.t", "swings = swing.n", "cradle_inertia = 0 kg m^2"),
	).build(t)
	w.near("rod.kappa", 4.73741011252, 5e-11)
	if got := math.Floor(w.get("rod.kappa")*100) / 100; got != 4.73 {
		t.Errorf("κ truncated is %g, printed 4.73", got)
	}
	if got := math.Round(w.get("rod.kappa")*100) / 100; got != 4.74 {
		t.Errorf("κ rounded is %g", got)
	}
}

// simpson integrates f from a to b in n steps, an even number.
func simpson(f func(float64) float64, a, b float64, n int) float64 {
	h := (b - a) / float64(n)
	sum := f(a) + f(b)
	for i := 1; i < n; i++ {
		sum += f(a+float64(i)*h) * float64(2+2*(i%2))
	}
	return sum * h / 3
}

// stiffnessOfWire sums the couple of all rings of a round wire that is
// twisted by one radian: G (r/ℓ) r 2π r dr.
func stiffnessOfWire(g, d, ell float64) float64 {
	return simpson(func(r float64) float64 { return 2 * math.Pi * g * r * r * r / ell }, 0, d/2, 200)
}

// periodOf follows I θ″ = −κ θ by the classical Runge–Kutta method from rest
// at an amplitude to the next passage through the middle, a quarter of a
// period.
func periodOf(inertia, kappa, amplitude float64) float64 {
	a := func(x float64) float64 { return -kappa * x / inertia }
	x, v, now := amplitude, 0.0, 0.0
	h := math.Sqrt(inertia/kappa) / 2000
	for {
		k1, l1 := v, a(x)
		k2, l2 := v+h/2*l1, a(x+h/2*k1)
		k3, l3 := v+h/2*l2, a(x+h/2*k2)
		k4, l4 := v+h*l3, a(x+h*k3)
		nx, nv := x+h/6*(k1+2*k2+2*k3+k4), v+h/6*(l1+2*l2+2*l3+l4)
		if nx <= 0 {
			return 4 * (now + h*x/(x-nx))
		}
		x, v, now = nx, nv, now+h
	}
}

// The pendulum's formula against the couple of the rings and the equation of
// motion, both by numbers; no closed formula takes part. Two inertias remove
// the cradle.
func TestTorsionPendulumNumerically(t *testing.T) {
	const g, d, ell, cradle = 80e9, 0.8e-3, 0.9, 6e-4
	kappa := stiffnessOfWire(g, d, ell)
	for _, added := range [][]float64{{0, 2e-3}, {0, 1e-3, 2e-3, 4e-3}} {
		var rows [][]float64
		for i, in := range added {
			rows = append(rows, []float64{in, 20 * periodOf(cradle+in, kappa, 0.5), 20, 30 * periodOf(cradle+in, kappa, 1.5), 30, float64(1 + i%2)})
		}
		w := inOne(
			dataBlock("swing", []string{"inertia / kg m^2", "a / s", "n", "b / s", "m", "amplitude / rad"}, rows...),
			practicalBlock("pendulum", "torsion-pendulum", "length = 0.9 m", "diameter = 0.8 mm", "inertia = swing.inertia", "timing = swing.a, swing.b", "swings = swing.n, swing.m", "amplitude = swing.amplitude"),
		).build(t)
		w.close("pendulum.G", g, 1e-6)
		w.close("pendulum.kappa", kappa, 1e-6)
		w.close("pendulum.cradle", cradle, 1e-5)
	}
}

// Kaye and Laby, Tables of Physical and Chemical Constants, 16th ed., 2.2.2
// (from memory): Poisson's ratio and the bulk modulus of each row follow from
// its E and G, within what the rounding of all four figures lets through. Rows
// of which the handbook's own figures do not agree are counted, not used.
func TestElasticConstantsOfAHandbook(t *testing.T) {
	text, err := os.ReadFile("testdata/materials/kaye-laby.csv")
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]string
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		if !strings.HasPrefix(line, "#") {
			rows = append(rows, strings.Split(line, ";"))
		}
	}
	head := map[string]int{}
	for i, h := range rows[0] {
		head[h] = i
	}
	agree, not := 0, 0
	for _, row := range rows[1:] {
		n := map[string]float64{}
		half := map[string]float64{}
		for _, key := range []string{"E", "G", "K", "nu"} {
			text := row[head[key]]
			if n[key], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
			_, after, _ := strings.Cut(text, ".")
			half[key] = 0.5 * math.Pow(10, -float64(len(after)))
		}
		if row[head["consistent"]] != "yes" {
			not++
			continue
		}
		agree++
		w := inOne(practicalBlock("c", "elastic-constants", fmt.Sprintf("E = %s GPa", row[head["E"]]), fmt.Sprintf("G = %s GPa", row[head["G"]]))).build(t)
		within := func(a float64) float64 { return half["E"]/n["E"] + half["G"]/n["G"] + a }
		w.near("c.nu", n["nu"], within(0)*(1+n["nu"])+half["nu"])
		gainE, gainG := 3*n["G"]/(3*n["G"]-n["E"]), n["E"]/(3*n["G"]-n["E"])
		w.near("c.K", n["K"]*1e9, 1e9*(n["K"]*(gainE*half["E"]/n["E"]+gainG*half["G"]/n["G"])*1.05+half["K"]))
	}
	if agree < 20 {
		t.Errorf("only %d rows were used", agree)
	}
	t.Logf("%d rows agree, %d do not agree with themselves", agree, not)
}

// E ∝ d⁻² and G ∝ d⁻⁴ of one wire: the diameter gives 2 u(d)/d to E/G, not
// √20 u(d)/d.
func TestSharedDiameter(t *testing.T) {
	w := inOne("```calc\nd = 0.8 mm ± 1 % std\nE = 206 GPa * (0.8 mm / d)^2\nG = 80 GPa * (0.8 mm / d)^4\n```\n",
		practicalBlock("c", "elastic-constants", "E = E", "G = G", "diameter = d")).build(t)
	nu := 206.0/160 - 1
	w.same("c.nu", nu)
	w.close("u(c.nu)", (1+nu)*0.02, 1e-9)
	w.close("c.u_nu_apart", (1+nu)*math.Sqrt(20)*0.01, 1e-9)
	// K = EG/(3(3G − E)): relative −2 gE + 4 gG of the diameter's.
	k := 206e9 * 80e9 / (3 * (240e9 - 206e9))
	gE, gG := 240.0/34, 206.0/34
	w.close("c.K", k, 1e-12)
	w.close("u(c.K)", k*0.01*math.Abs(-2*gE+4*gG), 1e-9)
	w.close("c.u_K_apart", k*0.01*math.Hypot(2*gE, 4*gG), 1e-9)
	w.close("c.correlation", 1, 1e-9)
	// Two moduli that share nothing: just 0, not what the rounding leaves.
	two := inOne(practicalBlock("c", "elastic-constants", "E = 208.9(25) GPa", "G = 81.5(19) GPa")).build(t)
	if c := two.get("c.correlation"); c != 0 {
		t.Errorf("the correlation of two typed moduli is %g", c)
	}

	// 5 % in E/G is 22 % in ν = 0.29.
	five := inOne(practicalBlock("c", "elastic-constants", "E = 206.4 GPa ± 5 % std", "G = 80 GPa")).build(t)
	if share := five.get("u(c.nu)") / five.get("c.nu"); math.Abs(share-0.22) > 0.005 {
		t.Errorf("5 %% in E/G is %.3g of ν", share)
	}
	// E = 200 GPa, G = 80 GPa: a relative change of E comes back 6 times in K,
	// one of G −5 times.
	for _, c := range []struct {
		e, g string
		want float64
	}{{"200 GPa ± 1 % std", "80 GPa", 6}, {"200 GPa", "80 GPa ± 1 % std", 5}} {
		w := inOne(practicalBlock("c", "elastic-constants", "E = "+c.e, "G = "+c.g)).build(t)
		w.close("u(c.K)", c.want*0.01*w.get("c.K"), 1e-9)
	}
}

// The example: one wire stretched and twisted. What the diameter does to both
// is taken away by hand from E and from G, the rest of both is added in
// quadrature; a tape and a Monte Carlo evaluation come beside it.
func TestPoissonOfOneWire(t *testing.T) {
	w := buildFile(t, "../examples/elastic-constants/record.md", 0)
	rel := func(name string) float64 { return w.u(name) / w.get(name) }
	d, e, g := rel("young.d"), rel("young.E"), rel("twist.G")
	rest := math.Sqrt(e*e - 4*d*d + g*g - 16*d*d)
	nu := w.get("constants.nu")
	w.close("u(constants.nu)", (1+nu)*math.Hypot(2*d, rest), 0.01)
	w.close("constants.u_nu_apart", (1+nu)*math.Hypot(e, g), 1e-9)
	if mc := float64(w.Results.MonteCarlo["constants.nu"].U); math.Abs(mc/w.u("constants.nu")-1) > 0.02 {
		t.Errorf("u(ν) = %.5f by Monte Carlo, %.5f by the law of propagation", mc, w.u("constants.nu"))
	}
	if ratio := w.get("constants.u_nu_apart") / w.u("constants.nu"); ratio < 2 {
		t.Errorf("the naive u(ν) is only %.3g times the right one", ratio)
	}
	// Typed from two reports the same moduli have the naive uncertainty.
	w.close("u(typed.nu)", w.get("constants.u_nu_apart"), 0.02)
	if !w.has("apart") || !w.has("shared") {
		t.Error("the page does not say what is shared")
	}
	t.Logf("ν = %.4f: u = %.4f, as if independent %.4f (%.3g times); correlation %.3f; K: u = %.3g GPa, as if independent %.3g GPa", nu, w.u("constants.nu"),
		w.get("constants.u_nu_apart"), w.get("constants.u_nu_apart")/w.u("constants.nu"), w.get("constants.correlation"), w.u("constants.K")/1e9, w.get("constants.u_K_apart")/1e9)
}

// A helical spring by numbers: each piece of the wire, of the length D/2 dφ, is
// twisted by the couple F D/2 and lets the end down by D/2 times its angle.
func TestSpringNumerically(t *testing.T) {
	const g, d, mean, coils, free, tension = 79e9, 0.8e-3, 16e-3, 60, 9.81, 0.3
	kappa := stiffnessOfWire(g, d, 1) // of one metre
	give := simpson(func(float64) float64 { return mean / 2 * (mean / 2) / kappa * mean / 2 }, 0, 2*math.Pi*coils, 200)
	var rows [][]float64
	for m := 0.1; m < 0.5; m += 0.1 {
		x := 200 + 1000*give*(m*free-tension)
		rows = append(rows, []float64{m, x, x})
	}
	w := inOne("```calc\nbare = 200 mm\n```\n",
		dataBlock("pull", []string{"load / kg", "up / mm", "down / mm"}, rows...),
		practicalBlock("spring", "spring-static", "load = pull.load", "reading = pull.up, pull.down", "rest = bare", "gravity = 9.8100 m/s^2", "wire = 0.8 mm", "coil = 16.8 mm", "coils = 60"),
	).build(t)
	w.close("spring.k", 1/give, 1e-9)
	w.close("spring.F0", tension, 1e-9)
	w.close("spring.G", g, 1e-9)
}

// heavySpring is the period of a load on a chain of n equal springs and masses
// that stand for one spring of stiffness k and mass ms: the lowest frequency
// at which the chain, driven from the fixed end, leaves no force on the load.
func heavySpring(k, ms, load float64, n int) float64 {
	m, c := ms/float64(n), k*float64(n)
	// excess is the force that the last link lacks to move what hangs there;
	// half of the last piece's mass goes with it.
	excess := func(w2 float64) float64 {
		before, x := 0.0, 1.0
		for range n - 1 {
			before, x = x, 2*x-before-w2*m/c*x
		}
		return c*(x-before) - w2*(load+m/2)*x
	}
	lo, hi := 0.0, 3*k/(load+ms/3) // below the second mode
	for hi-lo > 1e-15*hi {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if excess(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return 2 * math.Pi / math.Sqrt(lo)
}

// What of a heavy spring swings along: m_s/3 with a heavy load, 4/π² = 0.405
// m_s with none, found from the eigenvalue of a chain; and the record's own
// line gives m_s/3 with heavy loads.
func TestHeavySpring(t *testing.T) {
	const k, ms = 10.0, 0.02
	along := func(load float64) float64 {
		p := heavySpring(k, ms, load, 1000)
		return (p*p*k/(4*math.Pi*math.Pi) - load) / ms
	}
	for _, c := range []struct{ ratio, want float64 }{{1000, 1.0 / 3}, {0, 4 / (math.Pi * math.Pi)}} {
		if got := along(c.ratio * ms); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("M = %g m_s: %.5f of the spring swings along, want %.5f", c.ratio, got, c.want)
		}
	}
	last := along(0)
	for _, ratio := range []float64{0.1, 0.3, 1, 3, 10, 30} {
		now := along(ratio * ms)
		if now >= last || now < 1.0/3-1e-4 {
			t.Errorf("M = %g m_s: %.5f after %.5f", ratio, now, last)
		}
		last = now
	}
	build := func(loads []float64) *whole {
		var rows [][]float64
		for _, m := range loads {
			p := heavySpring(k, ms, m, 400)
			rows = append(rows, []float64{m, 20 * p, 20, 50 * p, 50})
		}
		return buildAnyway(t, inOne("```calc\nown = 20 g\n```\n",
			dataBlock("swing", []string{"load / kg", "a / s", "n", "b / s", "m"}, rows...),
			practicalBlock("bob", "spring-oscillation", "load = swing.load", "timing = swing.a, swing.b", "swings = swing.n, swing.m", "spring_mass = own")).write(t), 1)
	}
	heavy := build([]float64{0.3, 0.4, 0.5, 0.6})
	heavy.close("bob.k", k, 1e-4)
	// 1/μ² = M/m_s + 1/3 + m_s/(45 M) + …, of which a line through loads about
	// M takes the intercept 1/3 + 2 m_s/(45 M).
	heavy.near("bob.fraction", 1.0/3+2.0/45*ms/0.43, 2e-4)
	// A load as heavy as the spring: what the method says of k, 1.5 %.
	equal := build([]float64{0.0199, 0.0200, 0.0201})
	if off := equal.get("bob.k")/k - 1; off < 0.012 || off > 0.016 {
		t.Errorf("loads as heavy as the spring: k is off by %.4f", off)
	}
	if !equal.has("light_load") {
		t.Error("loads lighter than the spring pass without a word")
	}
	none := build([]float64{0.0001, 0.0002, 0.0003})
	if off := none.get("bob.k")/k - 1; math.Abs(off-0.23) > 0.01 {
		t.Errorf("hardly any load: k is off by %.4f", off)
	}
}

// 2.5 m of steel wire of 0.50 mm has 3.85 g; with 0.01 g and ± 0.5 % of the
// density the area is known to about 0.35 % (common practice, worked by hand).
func TestWeighedWire(t *testing.T) {
	apparatus := "```instruments\nbalance:\n  resolution: 0.01 g\n  zero: 0.00 g\n```\n"
	w := inOne(apparatus, "```calc\nm = 3.85 g @balance\nl = 2.500 m ± 1 mm\nwet = 3.36 g @balance\n```\n",
		practicalBlock("spare", "wire-by-weighing", "mass = m", "piece = l", "immersed = wet", "material = steel")).build(t)
	w.close("spare.area", 3.85e-3/(7850*2.5), 1e-12)
	w.close("spare.d", 0.5e-3, 0.001)
	// Reading and zero of the balance 0.01/√12 g each, the tape 1/√3 mm, the
	// density 0.5 %/√3.
	rel := math.Sqrt(2*math.Pow(0.01/math.Sqrt(12)/3.85, 2) + math.Pow(1e-3/math.Sqrt(3)/2.5, 2) + math.Pow(0.005/math.Sqrt(3), 2))
	w.close("u(spare.area)", rel*w.get("spare.area"), 1e-9)
	if math.Abs(rel-0.0035) > 0.0006 {
		t.Errorf("u(A)/A = %.4f", rel)
	}
	// The lift is 0.49 g: ρ = 998.2 × 3.85/0.49.
	w.close("spare.density_water", 998.2*3.85/0.49, 1e-12)
}

const relativeSeeds = 5_000_000 // tuned on seeds from 1

// TestRelativesFindFaults measures the checks of the methods of torsion,
// springs and weighed wires on simulated practicals: at most 2 % of clean sets
// hear a caution, at least 90 % of sets with a plain fault hear its name.
func TestRelativesFindFaults(t *testing.T) {
	clean, faulty := 500, 100
	if testing.Short() {
		clean, faulty = 100, 20
	}
	for _, c := range []struct {
		method string
		faults []wanted
	}{
		{"static-torsion", []wanted{{"slipped", 0, "slip"}, {"lag", 0, "friction"}, {"permanent", 0, "bent"}, {"sideways", 0, "uneven_senses"},
			{"ten", 1, "misread_ten"}, {"ten", -1, "misread_ten"}, {"halved", 0, "is_radius"}, {"across", 0, "is_wheel"}}},
		{"torsion-pendulum", []wanted{{"miscounted", 1, "miscount"}, {"miscounted", -1, "miscount"}, {"off_by_one", 1, "counts_off"}, {"off_by_one", -1, "counts_off"},
			{"misread", 0, "outlier"}, {"soft", 0, "amplitude"}, {"half_swings", 0, "is_four"}, {"arms", 0, "is_four"}, {"radius", 0, "is_radius"}}},
		{"spring-static", []wanted{{"tension", 0, "closed"}, {"slipped", 0, "slip"}, {"yielded", 0, "set"}, {"centimetre", 1, "misread_cm"}, {"centimetre", -1, "misread_cm"},
			{"rubbing", 0, "friction"}, {"moved", 0, "backlash"}, {"radius", 0, "is_radius"}, {"coil_radius", 0, "is_coil_radius"}, {"dynamic_off", 0, "disagree"}}},
		{"spring-oscillation", []wanted{{"miscounted", 1, "miscount"}, {"miscounted", -1, "miscount"}, {"off_by_one", 1, "counts_off"}, {"off_by_one", -1, "counts_off"},
			{"misread", 0, "outlier"}, {"hanger", 0, "hanger"}, {"touching", 0, "bent negative_mass light_spring disagree"}, {"static_off", 0, "disagree"}}},
		{"wire-by-weighing", []wanted{{"wrong_mass", 0, "odd_mass"}, {"decimetre", 0, "odd_length"}, {"half", 0, "half_mm"}, {"halved", 0, "radius"},
			{"other_wire", 0, "disagree"}, {"kinked", 0, "disagree"}, {"wrong_sign", 0, "zero_sign"}}},
		{"elastic-constants", []wanted{{"radius_in_both", 0, "is_radius_in_both"}, {"radius_in_E", 0, "is_radius_in_E"}, {"radius_in_G", 0, "is_radius_in_G"},
			{"degrees", 0, "is_degrees"}, {"too_great", 0, "unstable"}}},
	} {
		t.Run(c.method, func(t *testing.T) {
			t.Parallel()
			catchTable(t, c.method, relativeSeeds, clean, faulty, c.faults)
		})
	}
}

// Moduli of one wire with the scatter that they state: ν within its own
// uncertainty of the handbook's is no reason for a caution.
func TestElasticConstantsOfHonestWires(t *testing.T) {
	const sets = 500
	cried := map[string]int{}
	n := 0
	for i := range sets {
		r := rand.New(rand.NewPCG(relativeSeeds, uint64(i)))
		const nu = 0.291
		d, e, g := 0.006*r.NormFloat64(), 0.005*r.NormFloat64(), 0.006*r.NormFloat64()
		shear := 82.2 * (1 + 0.01*(2*r.Float64()-1))
		young := 2 * shear * (1 + nu)
		text := fmt.Sprintf("```calc\nd = %.6f mm ± 0.0048 mm std\nE = %.4f GPa * (0.8 mm / d)^2 * (1 ± 0.5 %% std)\nG = %.4f GPa * (0.8 mm / d)^4 * (1 ± 0.6 %% std)\n```\n",
			0.8*(1+d), young*(1+e), shear*(1+g)) + practicalBlock("c", "elastic-constants", "E = E", "G = G", "diameter = d", "material = steel")
		bad := cries(findingsOf(text))
		for _, s := range bad {
			cried[s]++
		}
		n += min(len(bad), 1)
	}
	t.Logf("%d honest wires, cautions in %.1f %%: %v", sets, 100*float64(n)/sets, cried)
	if n > sets*2/100 {
		t.Errorf("too many false alarms")
	}
}

// The examples have no findings but those meant: notes.
func TestRelativesExamples(t *testing.T) {
	for name, want := range map[string]string{
		"static-torsion":     "",
		"torsion-pendulum":   "diameter_rules",
		"spring-static":      "tension",
		"spring-oscillation": "short_timing",
		"wire-by-weighing":   "weighing_better",
		"elastic-constants":  "no_scatter diameter_rules by_diameter shared apart",
	} {
		w := buildFile(t, "../examples/"+name+"/record.md", 0)
		if c := w.slugs(finding.Caution); len(c) > 0 {
			t.Errorf("%s: cautions %v", name, c)
		}
		got := map[string]bool{}
		for _, s := range w.slugs(finding.Note) {
			got[s] = true
		}
		for _, s := range strings.Fields(want) {
			if !got[s] {
				t.Errorf("%s: no note %s", name, s)
			}
			delete(got, s)
		}
		if len(got) > 0 {
			t.Errorf("%s: unexpected notes %v", name, got)
		}
		w.says("this page permits nothing")
	}
	// The struck timing of the pendulum, unstruck: the check finds the swing.
	f := readFolder(t, "../examples/torsion-pendulum")
	f = f.with(t, "swing.csv", "~166.62", "166.62")
	if w := f.build(t); !w.has("miscount") {
		t.Error("the miscounted swing of the example is not found")
	}
}
