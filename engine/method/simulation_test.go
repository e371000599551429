package method_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// kinds are the names of blocks that method files of these tests use.
var kinds = []string{"roles", "simulate", "faults", "calc", "checks", "fit", "question", "answer"}

// head begins a method file with the roles of a spring.
const head = `---
method: spring
title: A spring
version: 1
results: k
---
~~~roles
| role    | takes    | unit | absent   | with  | table                  | what |
| ------- | -------- | ---- | -------- | ----- | ---------------------- | ---- |
| load    | column   | kg   | –        |       | pull.load × 4          | on the pan |
| reading | columns  | m    | –        | scale | pull.up, pull.down × 4 | the pointer |
| length  | readings | m    | optional | tape  | lengths.l × 3          | |
| mass    | quantity | kg   | optional | balance |                      | |
| tag     | word     |      | optional |       |                        | |
| steady  | yesno    |      | yes      |       |                        | |
~~~
`

const springs = `~~~simulate
k_true    = draw(20, 30) * 1 N/m
load      = seq(0 kg, 0.1 kg, 4)
zero      = draw(-3, 3) * 1 mm
x         = 9.81 m/s^2 * load / k_true + stuck
reading_1 = read(x + noise(0.5 mm), 1 mm, zero)
reading_2 = read(x + noise(0.5 mm), 1 mm, zero)
length    = 0.2 m + noise(1 mm)
mass      = read(20 g + noise(0.3 g), 0.1 g, 0 g)
tag       = blue
steady    = no
scale_calibration = 0 mm ± 0.2 mm
tape_resolution   = 1 mm
~~~
~~~faults
fault,   least / mm, most / mm, what
stuck,   3,          1 cm,      the pointer sticks
~~~
`

func parse(t testing.TB, text string) *method.Method {
	t.Helper()
	text = strings.ReplaceAll(text, "~~~", "```")
	var set finding.Set
	m := method.Read(source.NewFile("m.md", []byte(text)), kinds, &set)
	for _, f := range set.Sorted() {
		t.Errorf("%s", f)
	}
	return m
}

func simulate(t testing.TB, m *method.Method, seed uint64, faults map[string]quantity.Q, plan bool) *method.Simulated {
	t.Helper()
	s, findings := m.Simulate(seed, faults, plan)
	for _, f := range findings {
		t.Errorf("%s", f)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}

// values are the numbers of a value in coherent SI units.
func values(v eval.Value) []float64 {
	switch v := v.(type) {
	case eval.Scalar:
		return []float64{v.Q.Value()}
	case *eval.Column:
		var out []float64
		for _, c := range v.Cells {
			out = append(out, c.Q.Value())
		}
		return out
	case eval.List:
		var out []float64
		for _, m := range v.Members {
			out = append(out, values(m)...)
		}
		return out
	}
	return nil
}

func truth(s *method.Simulated, name string) float64 { return values(s.Truths[name])[0] }

func mm(v float64) quantity.Q {
	u, err := unit.Parse("mm")
	if err != nil {
		panic(err)
	}
	return quantity.Exact(v*1e-3, u.Dim())
}

// TestSimulate holds one simulation to what its statements say.
func TestSimulate(t *testing.T) {
	m := parse(t, head+springs)
	for seed := uint64(1); seed <= 50; seed++ {
		s := simulate(t, m, seed, nil, false)
		if k := truth(s, "k_true"); k <= 20 || k >= 30 {
			t.Errorf("seed %d: draw(20, 30) gives %g", seed, k)
		}
		if got := values(s.Roles["load"]); !near(got, []float64{0, 0.1, 0.2, 0.3}, 1e-15) {
			t.Errorf("seq gives %v", got)
		}
		list := s.Roles["reading"].(eval.List)
		x, zero := values(s.Truths["x"]), truth(s, "zero")
		for k, col := range list.Members {
			for i, v := range values(col) {
				if r := v / 1e-3; math.Abs(r-math.Round(r)) > 1e-9 {
					t.Errorf("seed %d: a reading of %g m is no multiple of 1 mm", seed, v)
				}
				// Noise and rounding: 6 s and half a millimetre at most.
				if d := math.Abs(v - zero - x[i]); d > 3.5e-3 {
					t.Errorf("seed %d: reading %d.%d lies %g m off", seed, k+1, i+1, d)
				}
			}
		}
		in := s.Instruments["scale"]
		if in == nil || in.Resolution != 1e-3 || !in.HasZero || math.Abs(in.Zero-math.RoundToEven(zero/1e-3)*1e-3) > 1e-12 {
			t.Errorf("seed %d: the scale is %+v with its zero at %g m", seed, in, zero)
		}
		if got := s.Readings["mass"]; got.Resolution != 1e-4 || got.Unit.String() != "g" {
			t.Errorf("the mass is read by %+v", got)
		}
		if w := s.Roles["tag"]; w != (eval.Word{Text: "blue"}) {
			t.Errorf("the tag is %v", w)
		}
		if b, ok := s.Roles["steady"].(eval.Bool); !ok || b.Truth.Is {
			t.Errorf("steady is %v", s.Roles["steady"])
		}
		if _, column := s.Roles["length"].(*eval.Column); column {
			t.Error("a quantity with noise, standing alone, is a column")
		}
	}
	if in := simulate(t, m, 1, nil, false).Instruments; in["tape"].Resolution != 1e-3 || in["scale"].Extra[0] != (method.InstrumentSetting{Key: "calibration", Text: "± 0.2 mm"}) {
		t.Errorf("truths named after instruments give %+v, %+v", in["tape"], in["scale"])
	}
}

func near(a, b []float64, tol float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x-y) <= tol })
}

// TestPlan runs without noise and rounding.
func TestPlan(t *testing.T) {
	m := parse(t, head+springs)
	s := simulate(t, m, 7, nil, true)
	want := values(s.Truths["x"])
	for i := range want {
		want[i] += truth(s, "zero")
	}
	for _, col := range s.Roles["reading"].(eval.List).Members {
		if got := values(col); !near(got, want, 1e-15) {
			t.Errorf("planned readings are %v, not %v", got, want)
		}
	}
	if got := values(s.Roles["mass"])[0]; math.Abs(got-0.02) > 1e-15 {
		t.Errorf("the planned mass is %g kg", got)
	}
	noisy := simulate(t, m, 7, nil, false)
	if truth(s, "k_true") != truth(noisy, "k_true") {
		t.Error("a plan draws other truths")
	}
}

// everything writes all numbers of a simulation but those named.
func everything(s *method.Simulated, but ...string) string {
	var b strings.Builder
	write := func(m map[string]eval.Value) {
		var names []string
		for n := range m {
			if !slices.Contains(but, n) {
				names = append(names, n)
			}
		}
		slices.Sort(names)
		for _, n := range names {
			fmt.Fprintln(&b, n, values(m[n]))
		}
	}
	write(s.Roles)
	write(s.Truths)
	return b.String()
}

// TestStreams changes a method and looks whether the draws stay: a fault, a
// statement more, another order and a fault chosen change none.
func TestStreams(t *testing.T) {
	base := everything(simulate(t, parse(t, head+springs), 3, nil, false))
	more := strings.Replace(springs, "load      =", "extra = draw(0, 1) * noise(1 mm)\nload      =", 1)
	if got := everything(simulate(t, parse(t, head+more), 3, nil, false), "extra"); got != base {
		t.Errorf("a further statement changes draws:\n%s\nnot\n%s", got, base)
	}
	fault := strings.Replace(strings.Replace(springs, "load / k_true + stuck", "load / k_true + stuck + bent", 1), "~~~\n~~~faults\nfault,   least / mm, most / mm, what\n", "~~~\n~~~faults\nfault,   least / mm, most / mm, what\nbent, 1, 2, more\n", 1)
	if got := everything(simulate(t, parse(t, head+fault), 3, nil, false)); got != base {
		t.Errorf("a further fault changes draws:\n%s\nnot\n%s", got, base)
	}
	body := strings.TrimPrefix(strings.Split(springs, "\n~~~\n")[0], "~~~simulate\n")
	lines := strings.Split(body, "\n")
	slices.Reverse(lines)
	turned := strings.Replace(springs, body, strings.Join(lines, "\n"), 1)
	if got := everything(simulate(t, parse(t, head+turned), 3, nil, false)); got != base {
		t.Errorf("another order changes draws:\n%s\nnot\n%s", got, base)
	}
	m := parse(t, head+springs)
	plain, stuck := simulate(t, m, 3, nil, true), simulate(t, m, 3, map[string]quantity.Q{"stuck": mm(4)}, true)
	want := values(plain.Roles["reading"])
	for i := range want {
		want[i] += 4e-3
	}
	if got := values(stuck.Roles["reading"]); !near(got, want, 1e-15) {
		t.Errorf("a fault of 4 mm gives %v, not %v", got, want)
	}
	if everything(plain, "reading", "x") != everything(stuck, "reading", "x") {
		t.Error("a fault changes what it does not enter")
	}
}

// TestDeterminism runs one simulation twice, and another seed.
func TestDeterminism(t *testing.T) {
	a := everything(simulate(t, parse(t, head+springs), 5, nil, false))
	if b := everything(simulate(t, parse(t, head+springs), 5, nil, false)); a != b {
		t.Errorf("one seed gives\n%s\nand\n%s", a, b)
	}
	if b := everything(simulate(t, parse(t, head+springs), 6, nil, false)); a == b {
		t.Error("two seeds give the same")
	}
}

// TestDistributions compares moments of many draws with those of the
// distributions, within 5 of their standard errors.
func TestDistributions(t *testing.T) {
	const n = 4000
	m := parse(t, head+`~~~simulate
zero = seq(0 m, 0 m, 4000)
load = seq(0 kg, 0 kg, 1)
reading = zero + noise(2 mm)
other = zero + noise(2 mm)
~~~
`)
	s := simulate(t, m, 11, nil, false)
	x, y := values(s.Roles["reading"]), values(s.Truths["other"])
	mean, sd, both := 0.0, 0.0, 0.0
	for i := range x {
		mean += x[i] / n
		sd += x[i] * x[i] / n
		both += x[i] * y[i] / n
	}
	sd = math.Sqrt(sd)
	if math.Abs(mean) > 5*2e-3/math.Sqrt(n) || math.Abs(sd/2e-3-1) > 5/math.Sqrt(2*n) {
		t.Errorf("noise(2 mm) has mean %g mm and standard deviation %g mm", mean*1e3, sd*1e3)
	}
	if r := both / (sd * sd); math.Abs(r) > 5/math.Sqrt(n) {
		t.Errorf("two statements are correlated by %g", r)
	}
	m = parse(t, head+"~~~simulate\nload = seq(0 kg, 0 kg, 1)\nreading = seq(0 m, 0 m, 1)\nu = draw(1, 3)\n~~~\n")
	mean, sq := 0.0, 0.0
	for seed := range uint64(n) {
		v := truth(simulate(t, m, seed, nil, false), "u")
		mean += v / n
		sq += (v - 2) * (v - 2) / n
	}
	if math.Abs(mean-2) > 5*math.Sqrt(1.0/3/n) || math.Abs(math.Sqrt(sq)-math.Sqrt(1.0/3)) > 0.03 {
		t.Errorf("draw(1, 3) has mean %g and standard deviation %g", mean, math.Sqrt(sq))
	}
}

// TestFaults reads tables of faults in their forms.
func TestFaults(t *testing.T) {
	m := parse(t, head+springs)
	s, _ := m.Simulation()
	f, ok := s.Fault("stuck")
	if !ok || f.Least.Q.Value() != 3e-3 || f.Most.Q.Value() != 1e-2 || math.Abs(f.Middle().Value()-6.5e-3) > 1e-18 || f.What != "the pointer sticks" {
		t.Errorf("the fault is %+v", f)
	}
	for _, c := range []struct {
		faults map[string]quantity.Q
		want   string
	}{
		{map[string]quantity.Q{"stuk": mm(1)}, "unknown-fault"},
		{map[string]quantity.Q{"stuck": quantity.Number(1)}, "unit-clash"},
	} {
		s, findings := m.Simulate(1, c.faults, false)
		if s != nil || len(findings) != 1 || findings[0].Slug != c.want {
			t.Errorf("%v gives %v", c.faults, findings)
		}
	}
}

// TestNoSimulation simulates a method that says nothing of it.
func TestNoSimulation(t *testing.T) {
	s, findings := parse(t, head).Simulate(1, nil, false)
	if s != nil || len(findings) != 1 || findings[0].Slug != "no-simulation" {
		t.Errorf("got %v and %v", s, findings)
	}
}
