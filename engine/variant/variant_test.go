package variant_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
)

func spring(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("testdata/spring.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func parse(t testing.TB, text string) *method.Method {
	t.Helper()
	var set finding.Set
	m := method.Read(source.NewFile("spring.md", []byte(text)), block.KindNames(blocks.All()), &set)
	for _, f := range set.Sorted() {
		t.Errorf("%s", f)
	}
	return m
}

func simulate(t testing.TB, m *method.Method, seed uint64, faults map[string]quantity.Q) *method.Simulated {
	t.Helper()
	s, findings := m.Simulate(seed, faults, false)
	for _, f := range findings {
		t.Errorf("%s", f)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}

// TestRunAgainstFormulas compares what comes of a simulated record with the
// slope of a least-squares line worked out here.
func TestRunAgainstFormulas(t *testing.T) {
	m := parse(t, spring(t))
	for seed := uint64(1); seed <= 20; seed++ {
		s := simulate(t, m, seed, nil)
		out := variant.Run(m, s, blocks.Built(), blocks.All())
		list := s.Roles["reading"].(eval.List)
		x := s.Roles["load"].(*eval.Column).Cells
		mean, sxx, sxy := 0.0, 0.0, 0.0
		for _, c := range x {
			mean += c.Q.Value() / float64(len(x))
		}
		for i, c := range x {
			d := c.Q.Value() - mean
			sxx += 2 * d * d
			for _, col := range list.Members {
				sxy += d * col.(*eval.Column).Cells[i].Q.Value()
			}
		}
		want := 9.8124 * sxx / sxy
		if got := out.Results["k"]; math.Abs(got.Value/want-1) > 1e-12 || !(got.U > 0) || got.DOF != 9 {
			t.Errorf("seed %d: k = %g, u = %g, ν = %g, not %g", seed, got.Value, got.U, got.DOF, want)
		}
		miss, ok := out.Miss(s, "k")
		k := s.Truths["k_true"].(eval.Scalar).Q.Value()
		if !ok || math.Abs(miss-math.Abs(want-k)/out.Results["k"].U) > 1e-9 {
			t.Errorf("seed %d: k misses by %g u, %v", seed, miss, ok)
		}
		if _, ok := out.Miss(s, "mass"); ok {
			t.Error("a result without truth has a miss")
		}
	}
}

// TestBenchIsRun holds a bench that reads again what changed to runs that
// read everything.
func TestBenchIsRun(t *testing.T) {
	for _, m := range []*method.Method{parse(t, spring(t)), builtIn(t, "stretched-wire")} {
		bench := variant.NewBench(m, blocks.Built(), blocks.All())
		if got, want := told(bench.Run(nil)), told(variant.Run(m, nil, blocks.Built(), blocks.All())); got != want {
			t.Errorf("%s: unread, a bench gives\n%s\nnot\n%s", m.Name, got, want)
		}
		sim, _ := m.Simulation()
		for seed := uint64(1); seed <= 15; seed++ {
			var faults map[string]quantity.Q
			if n := len(sim.Faults); seed%3 == 0 && n > 0 {
				f := sim.Faults[int(seed)%n]
				faults = map[string]quantity.Q{f.Name: f.Most.Q}
			}
			s := simulate(t, m, seed, faults)
			if got, want := told(bench.Run(s)), told(variant.Run(m, s, blocks.Built(), blocks.All())); got != want {
				t.Errorf("%s, seed %d: a bench gives\n%s\nnot\n%s", m.Name, seed, got, want)
			}
		}
	}
}

// told writes an outcome.
func told(o *variant.Outcome) string {
	var b strings.Builder
	for _, f := range o.Findings {
		fmt.Fprintln(&b, f)
	}
	for _, d := range o.Program.Values() {
		if s, ok := d.Value().(eval.Scalar); ok {
			u, dof := s.Q.UDOF()
			fmt.Fprintln(&b, d.Full(), s.Q.Value(), u, dof)
		}
	}
	return b.String()
}

// TestUnread works a record out in which nothing is read: all waits and
// nothing is wrong.
func TestUnread(t *testing.T) {
	for _, name := range blocks.Built().MethodNames() {
		m := builtIn(t, name)
		out := variant.Run(m, nil, blocks.Built(), blocks.All())
		for _, f := range out.Findings {
			if f.Severity > finding.Note {
				t.Errorf("%s: %s", name, f)
			}
		}
		if len(out.Results) > 0 {
			t.Errorf("%s: unread it has results %v", name, out.Results)
		}
	}
}

// slugs are the findings of a check, `line slug`.
func slugs(r *variant.Report) []string {
	var out []string
	for _, f := range r.Findings {
		line, _ := f.At.Position()
		out = append(out, fmt.Sprintf("%d %s %s", line, f.Severity, f.Slug))
	}
	return out
}

// TestCheck breaks a method in one place after the other.
func TestCheck(t *testing.T) {
	good := spring(t)
	for _, c := range []struct {
		name, old, new string
		want           []string
	}{
		{"as it is", "", "", []string{"50 caution fault-not-found"}},
		{"wrong formula", "gravity / line.slope", "2 * gravity / line.slope",
			[]string{"5 caution misses-truth", "50 caution fault-not-found"}},
		{"crying check", "k < 15 N/m", "k < 100 N/m",
			[]string{"29 caution cries-on-clean", "50 caution fault-not-found"}},
		{"deaf check", "> 3 *", "> 300 *", []string{"49 caution fault-not-found", "50 caution fault-not-found"}},
		{"dimension", "gravity / line.slope", "gravity * line.slope", []string{"18 error unit-clash"}},
		{"dimension of a message", "=[mean(gap) in mm]", "=[mean(gap) in kg]", []string{"35 error unit-clash"}},
		{"dimension of a check", "k < 15 N/m", "k < 15 N", []string{"29 error unit-clash"}},
		{"uncovered", "calc needs=reading_2", "calc", []string{"32 error not-covered"}},
		{"wrongly covered", "checks needs=reading_2", "checks needs=reading", []string{"35 error not-covered", "35 error not-covered"}},
		{"result", "results: k, mass", "results: k, mas", []string{"5 error undefined"}},
		{"simulation", "read(x +", "read(y +", []string{"44 error undefined"}},
	} {
		text := strings.Replace(good, c.old, c.new, 1)
		got := slugs(variant.Check(parse(t, text), blocks.Built(), blocks.All()))
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, not %q", c.name, got, c.want)
		}
	}
	bare, _, _ := strings.Cut(good, "```simulate")
	if got := slugs(variant.Check(parse(t, bare), blocks.Built(), blocks.All())); !slices.Equal(got, []string{"1 note no-simulation"}) {
		t.Errorf("without a simulation: %q", got)
	}
}

// TestResultWaits breaks a result so that it can never be had.
func TestResultWaits(t *testing.T) {
	text := strings.Replace(spring(t), "gravity / line.slope", "gravity / line.slope + 0 N/m * tq(0.9, count(load) - 6)", 1)
	if got := slugs(variant.Check(parse(t, text), blocks.Built(), blocks.All())); !slices.Contains(got, "5 caution no-result") {
		t.Errorf("got %q", got)
	}
}

// TestBuiltIn holds the built-in methods to their own trial: no error, and no
// result that misses its truth more than chance does.
func TestBuiltIn(t *testing.T) {
	for _, name := range blocks.Built().MethodNames() {
		for _, f := range variant.Check(builtIn(t, name), blocks.Built(), blocks.All()).Findings {
			if f.Severity > finding.Note {
				t.Errorf("%s", f)
			}
		}
	}
}
