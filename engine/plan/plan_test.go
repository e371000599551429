package plan_test

import (
	"bytes"
	"math"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plan"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

func builtIn(t testing.TB, name string) *method.Method {
	t.Helper()
	f, ok := blocks.Built().Method(name)
	if !ok {
		t.Fatalf("no method %s", name)
	}
	var set finding.Set
	return method.Read(f, block.KindNames(blocks.All()), &set)
}

// copper is what a lab manager proposes for a copper wire of 0.3 mm (invented).
const copper = `E_true: copper.E
d_true: 0.3 mm
L_true: 2.5 m
material: copper
temper: hard-drawn
dead_load: 0.3 kg
loads: 8
load_step: 50 g
`

func proposals(t testing.TB, text string, set ...string) []method.Proposal {
	t.Helper()
	var found finding.Set
	out := plan.ReadSet(set, plan.Read(source.NewFile("copper.yaml", []byte(text)), &found), &found)
	for _, f := range found.Sorted() {
		t.Fatal(f)
	}
	return out
}

func made(t testing.TB, m *method.Method, list []method.Proposal) *plan.Report {
	t.Helper()
	r := plan.Make(m, list, blocks.Built(), blocks.All(), plan.Options{Coverage: 0.95})
	if r.Of == nil {
		t.Fatalf("no result: %v", r.Findings)
	}
	return r
}

// copperPlan is the plan of copper, made once.
var copperPlan = sync.OnceValue(func() *plan.Report {
	f, _ := blocks.Built().Method("stretched-wire")
	var set finding.Set
	m := method.Read(f, block.KindNames(blocks.All()), &set)
	return plan.Make(m, plan.Read(source.NewFile("copper.yaml", []byte(copper)), &set), blocks.Built(), blocks.All(), plan.Options{Coverage: 0.95})
})

func proposed(t testing.TB, m *method.Method, list []method.Proposal) *method.Simulation {
	t.Helper()
	own, _ := m.Simulation()
	s, findings := own.Propose(list, blocks.Built())
	if s == nil {
		t.Fatal(findings)
	}
	return s
}

// records works simulated records out: the root mean square of the relative
// uncertainties that they state, and of the relative errors that they have.
func records(t testing.TB, m *method.Method, s *method.Simulation, n int, settled bool) (stated, errors float64) {
	t.Helper()
	us, es := make([]float64, n), make([]float64, n)
	var wait sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			bench := variant.NewBench(m, blocks.Built(), blocks.All())
			for i := w; i < n; i += workers {
				readings, findings := s.RunAs(method.Setup{Seed: uint64(1001 + i), Settled: settled})
				if readings == nil {
					t.Error(findings)
					return
				}
				o := bench.Run(readings)
				r := o.Results["E"]
				us[i] = r.U / r.Value
				miss, _ := o.Miss(readings, "E")
				es[i] = miss * us[i]
			}
		}()
	}
	wait.Wait()
	return rms(us), rms(es)
}

func rms(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += float64(x * x)
	}
	return math.Sqrt(sum / float64(len(xs)))
}

// TestCopperWire holds the uncertainty that a plan predicts for a copper wire
// of 0.3 mm against 1,000 simulated records of the same wire, other than those
// that the plan itself rests on: all that is not proposed is drawn, as for
// variants, or as the plan takes it. Their real errors must not be greater than
// what is predicted.
func TestCopperWire(t *testing.T) {
	t.Parallel()
	m := builtIn(t, "stretched-wire")
	list := proposals(t, copper)
	r := copperPlan()
	s := proposed(t, m, list)
	for _, settled := range []bool{true, false} {
		n := 1000
		if settled || testing.Short() {
			n = 100
		}
		stated, errors := records(t, m, s, n, settled)
		t.Logf("settled %v: predicted %.3f %%, stated %.3f %%, real errors %.3f %%", settled, 100*r.Of.Rel(), 100*stated, 100*errors)
		if ratio := r.Of.Rel() / stated; math.Abs(ratio-1) > 0.15 {
			t.Errorf("settled %v: the plan predicts %.3f of the uncertainty of %d records", settled, ratio, n)
		}
		if errors > 1.15*r.Of.Rel() {
			t.Errorf("settled %v: the errors of the records are %.3g, the plan predicts %.3g", settled, errors, r.Of.Rel())
		}
	}
}

// TestLoadsDominate is TestCopperWire where the scatter of the readings
// dominates, which a run without noise could not show: a thick, short wire
// under small loads.
func TestLoadsDominate(t *testing.T) {
	t.Parallel()
	m := builtIn(t, "stretched-wire")
	list := proposals(t, "d_true: 1.2 mm\nL_true: 1 m\nload_step: 0.25 kg\nstrength: 1.2 GPa ± 10 %\n")
	r := made(t, m, list)
	if !strings.Contains(r.Shares[0].Of, "reading") {
		t.Fatalf("the reading should dominate: %+v", r.Shares)
	}
	stated, _ := records(t, m, proposed(t, m, list), 150, true)
	if ratio := r.Of.Rel() / stated; math.Abs(ratio-1) > 0.15 {
		t.Errorf("the plan predicts %.3f of the uncertainty of the records", ratio)
	}
	if r.Of.DOF > 50 {
		t.Errorf("ν = %g: the scatter of 16 readings has few degrees of freedom", r.Of.DOF)
	}
}

// TestChanges holds what changes are said to bring to plans with the changed
// values.
func TestChanges(t *testing.T) {
	t.Parallel()
	m := builtIn(t, "stretched-wire")
	r := copperPlan()
	change := func(kind plan.ChangeKind, what string) plan.Change {
		for _, c := range r.Changes {
			if c.Kind == kind && strings.HasPrefix(c.What, what) {
				return c
			}
		}
		t.Fatalf("no change %d of %s in %+v", kind, what, r.Changes)
		return plan.Change{}
	}
	for _, c := range []struct {
		kind plan.ChangeKind
		what string
		set  []string
		tol  float64
	}{
		{plan.Halved, "calibration of gauge", []string{"gauge_calibration=0 mm ± 0.002 mm"}, 1e-9},
		{plan.TwiceValue, "d_true", []string{"d_true=0.6 mm"}, 1e-9},
		{plan.TwiceValue, "loads", []string{"loads=16"}, 1e-9},
		// The five places become ten: s/√n with other readings, on a floor that stays.
		{plan.TwiceRead, "scatter of wire", []string{"places=10"}, 0.03},
	} {
		want := made(t, m, proposals(t, copper, c.set...)).Of.Rel()
		if got := change(c.kind, c.what).Rel; math.Abs(got/want-1) > c.tol {
			t.Errorf("%s: said to be %.6g, is %.6g", c.what, got, want)
		}
	}
	if c := change(plan.TwiceValue, "load_step"); len(c.Speaks) == 0 {
		t.Error("twice the load should make a check speak")
	}
}

// TestSafeLoad works the greatest safe load of the part `plan` out by hand:
// (400 − 60) MPa / 3, on the smallest diameter, over g (lowest strength of
// ASTM B1 as the table of materials has it).
func TestSafeLoad(t *testing.T) {
	t.Parallel()
	r := copperPlan()
	text := r.Text()
	// d − 2 u(d) with u(d) of the plan, and the smallest of ten readings, at
	// most one division of 0.01 mm below.
	low := 340e6 / 3 * math.Pi * 0.285e-3 * 0.285e-3 / 4 / 9.8124
	high := 340e6 / 3 * math.Pi * 0.295e-3 * 0.295e-3 / 4 / 9.8124
	var cap float64
	for _, line := range strings.Split(text, "\n") {
		if rest, ok := strings.CutPrefix(strings.TrimSpace(line), "greatest safe load, dead load included: a third of the breaking load"); ok {
			var err error
			if cap, err = strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(rest), " kg"), 64); err != nil {
				t.Fatal(err)
			}
		}
	}
	low = math.Floor(low*100) / 100 // rounded down to two figures
	if cap < low || cap > high {
		t.Errorf("cap %g kg is not between %g and %g kg\n%s", cap, low, high, text)
	}
	if !strings.Contains(text, "not a permission") || !strings.Contains(text, "Dominating: diameter") {
		t.Error(text)
	}
}

// TestOverload: the usual steps of half a kilogram are too much for this wire.
func TestOverload(t *testing.T) {
	t.Parallel()
	m := builtIn(t, "stretched-wire")
	r := made(t, m, proposals(t, copper, "load_step=0.5 kg"))
	if len(r.Speaks) == 0 || r.Speaks[0].Slug != "overload" || r.Speaks[0].Severity != finding.Error {
		t.Errorf("no overload: %v", r.Speaks)
	}
}

// TestUntold: without a strength or a temper no safe load is said, although
// the method's simulation makes a strength up.
func TestUntold(t *testing.T) {
	t.Parallel()
	r := made(t, builtIn(t, "stretched-wire"), nil)
	if strings.Contains(r.Text(), "safe load, dead") || !strings.Contains(r.Text(), "no_cap") {
		t.Error(r.Text())
	}
}

// TestSameBytes: the same plan gives the same report and page.
func TestSameBytes(t *testing.T) {
	t.Parallel()
	theme, err := themes.Load("")
	if err != nil {
		t.Fatal(err)
	}
	var text string
	var html []byte
	for range 2 {
		r := made(t, builtIn(t, "spring-static"), nil)
		p, err := r.Page(theme, "1")
		if err != nil {
			t.Fatal(err)
		}
		if html != nil && (!bytes.Equal(p, html) || r.Text() != text) {
			t.Error("the second report differs")
		}
		text, html = r.Text(), p
	}
}

// TestNewPlanIsNeutral: a plan file as it is written by New, all values of the
// method's own, changes nothing.
func TestNewPlanIsNeutral(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"stretched-wire", "torsion-pendulum"} {
		m := builtIn(t, name)
		s, _ := m.Simulation()
		a, b := made(t, m, nil), made(t, m, proposals(t, plan.New(m, s)))
		if math.Abs(a.Of.Rel()/b.Of.Rel()-1) > 1e-9 || a.Of.Value.Q.Value() != b.Of.Value.Q.Value() && math.Abs(a.Of.Value.Q.Value()/b.Of.Value.Q.Value()-1) > 1e-9 {
			t.Errorf("%s: %g ± %g becomes %g ± %g", name, a.Of.Value.Q.Value(), a.Of.U, b.Of.Value.Q.Value(), b.Of.U)
		}
	}
}

// TestResolution: a resolution proposed for an instrument is the one that it is
// read with and that the record states.
func TestResolution(t *testing.T) {
	t.Parallel()
	m := builtIn(t, "spring-static")
	a := made(t, m, nil)
	coarse := made(t, m, proposals(t, "rule_resolution: 5 mm\n"))
	if !(coarse.Of.U > 2*a.Of.U) {
		t.Errorf("u = %g with a scale ten times as coarse, %g before", coarse.Of.U, a.Of.U)
	}
}
