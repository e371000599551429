package blocks_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sort"
	"strings"
	"sync"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Seeds. The checks were tuned on the sets of tuningSeeds only; the test runs
// on those of testSeeds, which were not looked at before the last change.
const (
	tuningSeeds = 1_000_000
	testSeeds   = 70_000_000
)

var wireSeeds = flag.Uint64("wire-seeds", testSeeds, "first seed of the simulated practicals")

// noFiles opens nothing: the simulated records hold their data.
type noFiles struct{}

func (noFiles) Open(*source.File, string) (*source.File, error) {
	return nil, &block.OpenError{Message: "there are no files"}
}

// findingsOf evaluates a record in memory.
func findingsOf(text string) []*finding.Finding {
	set := &finding.Set{}
	kinds := blocks.All()
	rec := record.Parse(source.NewFile("record.md", []byte(text)), block.KindNames(kinds), set)
	p := block.New(rec, kinds, noFiles{}, blocks.Built(), block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}, set)
	p.Evaluate()
	return set.Sorted()
}

// wireFault is one kind of fault, the size of its effect in mm where it has
// one, and the findings that name it.
type wireFault struct {
	name        string
	least, most float64
	named       string
}

// A plain fault shifts some reading by five times the noise of a reading, or
// more. Of the bend near the elastic limit the size is the greatest departure
// from the chord.
var wireFaults = []wireFault{
	{"hysteresis", 5 * noise, 30 * noise, "hysteresis"},
	{"backlash", 5 * noise, 30 * noise, "backlash"},
	{"drift", 5 * noise, 30 * noise, "drift"},
	{"creep", 5 * noise, 30 * noise, "drift"},
	{"permanent set", 5 * noise, 30 * noise, "set"},
	{"slip on loading", 5 * noise, 30 * noise, "slip"},
	{"slip on unloading", 5 * noise, 30 * noise, "slip"},
	{"wrong weight", 5 * noise, 30 * noise, "wrong_weight"},
	{"kinks", 5 * noise, 30 * noise, "kinks"},
	{"elastic limit", 5 * noise, 30 * noise, "bent_up"},
	{"turn in one reading", 0, 0, "turn"},
	{"turn lost and carried on", 0, 0, "turn_carried"},
	{"half a millimetre in one reading", 0, 0, "half_millimetre"},
	{"digits exchanged", 0, 0, "outlier kinks turn half_millimetre"},
	{"another outlier", 5 * noise, 30 * noise, "outlier kinks"},
	{"column copied", 0, 0, "copied"},
	{"oval wire", 0.02, 0.06, "oval"},
	{"tapered wire", 0.02, 0.06, "taper"},
	{"few diameters", 0, 0, "few_diameters few_places"},
	{"one direction", 0, 0, "one_direction"},
	{"half a millimetre in one diameter", 0, 0, "odd_diameter"},
	{"half a millimetre in all diameters", 0, 0, "handbook_half_mm spare_disagrees"},
	{"overload", 0, 0, "overload"},
	{"radius for diameter", 0, 0, "handbook_radius spare_disagrees"},
	{"load in newtons", 0, 0, "handbook_g"},
	{"load of a quarter", 0, 0, "handbook_quarter"},
	{"load doubled", 0, 0, "handbook_double"},
	{"readings in centimetres", 0, 0, "handbook_decade"},
	{"claimed without g", 0, 0, "claimed_no_g"},
	{"claimed with the radius for d", 0, 0, "claimed_radius"},
	{"claimed with d for the radius", 0, 0, "claimed_diameter"},
	{"claimed with a wrong load step", 0, 0, "claimed_step"},
	{"claimed off by a power of ten", 0, 0, "claimed_decade"},
}

// alarms returns the slugs of cautions and errors, and of all findings.
func alarms(list []*finding.Finding) (loud, all []string) {
	for _, f := range list {
		all = append(all, f.Slug)
		if f.Severity != finding.Note {
			loud = append(loud, f.Slug)
		}
	}
	return loud, all
}

// tally counts what a kind of set was said to have.
type tally struct {
	sets, caught, more int
	others             map[string]int
	missed             strings.Builder // what was said of sets whose fault was not named
}

func (y *tally) note(f wireFault, list []*finding.Finding) {
	y.sets++
	loud, all := alarms(list)
	named := strings.Fields(f.named)
	caught, more := false, false
	for _, s := range all {
		caught = caught || contains(named, s)
	}
	for _, s := range loud {
		if !contains(named, s) {
			y.others[s]++
			more = true
		}
	}
	if caught {
		y.caught++
	}
	if more {
		y.more++
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func (y *tally) say() string {
	var names []string
	for s := range y.others {
		names = append(names, s)
	}
	sort.Slice(names, func(i, j int) bool {
		a, b := y.others[names[i]], y.others[names[j]]
		return a > b || a == b && names[i] < names[j]
	})
	for i, s := range names {
		names[i] = fmt.Sprintf("%s %d", s, y.others[s])
	}
	return strings.Join(names, ", ")
}

// wireTable is the table of catches and false alarms that the manual quotes.
type wireTable struct {
	text   strings.Builder
	failed []string
}

func (w *wireTable) honest(what string, y *tally) {
	if w.text.Len() == 0 {
		fmt.Fprintf(&w.text, "%-40s %-16s %5s %7s  %s\n", "sets", "size / mm", "sets", "named", "other cautions and errors")
	}
	share := 100 * float64(y.more) / float64(y.sets)
	fmt.Fprintf(&w.text, "%-40s %-16s %5d %7s  in %.2f %% of sets: %s\n", what, "", y.sets, "", share, y.say())
	if float64(y.more) > 0.02*float64(y.sets) {
		w.failed = append(w.failed, what+": too many false alarms")
	}
}

func (w *wireTable) fault(what string, least, most float64, y *tally) {
	size := ""
	switch {
	case most > least:
		size = fmt.Sprintf("%.3g to %.3g", least, most)
	case most > 0:
		size = fmt.Sprintf("%.3g", most)
	}
	fmt.Fprintf(&w.text, "%-40s %-16s %5d %5.1f %%  %s\n", what, size, y.sets, 100*float64(y.caught)/float64(y.sets), y.say())
	if float64(y.caught) < 0.9*float64(y.sets) {
		w.failed = append(w.failed, what+": too few named")
	}
}

// check prints the table, holds its figures to the limits and the whole of it
// to the one that the manual quotes.
func (w *wireTable) check(t *testing.T, name string) {
	t.Helper()
	t.Logf("seeds from %d\n%s", *wireSeeds, w.text.String())
	for _, f := range w.failed {
		t.Error(f)
	}
	if testing.Short() || *wireSeeds != testSeeds {
		return
	}
	path := filepath.Join("testdata", "stretched-wire", name+".txt")
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(w.text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != w.text.String() {
		t.Errorf("the table differs from %s: look at it, then run with -update", path)
	}
}

// wireKind is one kind of simulated practicals; an honest one has no named
// findings.
type wireKind struct {
	fault     wireFault
	oneColumn bool
	setting   float64
	sets      int
}

// run evaluates the sets of a kind, the seeds after the first.
func (k wireKind) run(seed uint64) *tally {
	y := &tally{others: map[string]int{}}
	for range k.sets {
		seed++
		w := &wireSim{seed: seed, setting: k.setting, oneColumn: k.oneColumn}
		if k.fault.named != "" {
			w.fault = k.fault.name
			w.size = between(w.stream("size"), k.fault.least, k.fault.most)
		}
		list, before := findingsOf(w.simulate().record()), y.caught
		if y.note(k.fault, list); y.caught == before {
			fmt.Fprintf(&y.missed, "%s: seed %d, size %.3f mm: %s\n", k.fault.name, seed, w.size, list)
		}
	}
	return y
}

// TestWireDiagnostics measures the diagnostics of the stretched wire: at least
// 90 % of the sets with a plain fault must hear of it, at most 2 % of honest
// sets may hear a caution or an error.
func TestWireDiagnostics(t *testing.T) {
	clean, faulty := 2000, 200
	if testing.Short() {
		clean, faulty = 200, 30
	}
	kinds := []wireKind{
		{wireFault{name: "honest, loading and unloading"}, false, 0.004, clean},
		{wireFault{name: "honest, loading alone"}, true, 0.004, clean},
		{wireFault{name: "honest, the bubble set three times as ill"}, false, 0.012, clean},
	}
	for _, f := range wireFaults {
		kinds = append(kinds, wireKind{f, false, 0.004, faulty})
	}
	tallies := make([]*tally, len(kinds))
	var wait sync.WaitGroup
	turns := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, k := range kinds {
		wait.Go(func() {
			turns <- struct{}{}
			defer func() { <-turns }()
			tallies[i] = k.run(*wireSeeds + uint64(i)*10_000)
		})
	}
	wait.Wait()
	table := &wireTable{}
	var missed strings.Builder
	for i, k := range kinds {
		if k.fault.named == "" {
			table.honest(k.fault.name, tallies[i])
			continue
		}
		table.fault(k.fault.name, k.fault.least, k.fault.most, tallies[i])
		missed.WriteString(tallies[i].missed.String())
	}
	t.Logf("not named:\n%s", missed.String())
	table.check(t, "table")
}
