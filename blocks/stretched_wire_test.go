package blocks_test

import (
	"flag"
	"fmt"
	"sort"
	"strings"
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
	{"half a millimetre in all diameters", 0, 0, "is_half_mm spare_disagrees"},
	{"overload", 0, 0, "overload"},
	{"radius for diameter", 0, 0, "is_radius spare_disagrees"},
	{"load in newtons", 0, 0, "is_g"},
	{"load of a quarter", 0, 0, "is_quarter"},
	{"load doubled", 0, 0, "is_double"},
	{"readings in centimetres", 0, 0, "is_decade"},
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

// TestWireDiagnostics measures the diagnostics of the stretched wire: at least
// 90 % of the sets with a plain fault must hear of it, at most 2 % of honest
// sets may hear a caution or an error.
func TestWireDiagnostics(t *testing.T) {
	clean, faulty := 2000, 200
	if testing.Short() {
		clean, faulty = 200, 30
	}
	seed := *wireSeeds
	for _, one := range []bool{false, true} {
		what := "loading and unloading"
		if one {
			what = "loading alone"
		}
		y := tally{others: map[string]int{}}
		for range clean {
			seed++
			list := findingsOf(newWireSim(seed, "", 0, one).record())
			before := y.more
			if y.note(wireFault{}, list); y.more > before && testing.Verbose() {
				t.Logf("seed %d: %s", seed, list)
			}
		}
		t.Logf("honest sets, %s: %d, false alarms in %d = %.2f %% (%s)", what, y.sets, y.more, 100*float64(y.more)/float64(y.sets), y.say())
		if float64(y.more) > 0.02*float64(y.sets)+1 {
			t.Errorf("%s: too many false alarms", what)
		}
	}
	for _, f := range wireFaults {
		y := tally{others: map[string]int{}}
		for range faulty {
			seed++
			size := between((&wireSim{seed: seed}).stream("size"), f.least, f.most)
			list, before := findingsOf(newWireSim(seed, f.name, size, false).record()), y.caught
			if y.note(f, list); y.caught == before && testing.Verbose() {
				t.Logf("%s: seed %d, size %.3f mm: %s", f.name, seed, size, list)
			}
		}
		t.Logf("%-36s caught %3d of %d = %5.1f %%; more said in %d (%s)", f.name, y.caught, y.sets, 100*float64(y.caught)/float64(y.sets), y.more, y.say())
		if float64(y.caught) < 0.9*float64(y.sets) {
			t.Errorf("%s: too few caught", f.name)
		}
	}
}
