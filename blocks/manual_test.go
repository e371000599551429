package blocks_test

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestManualTables holds the chapter on diagnostics to the tables that the
// tests of the methods work out; with -update it writes them there anew.
func TestManualTables(t *testing.T) {
	const path = "../examples/manual/diagnostics.md"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	tables, err := filepath.Glob("testdata/catches/*.txt")
	if err != nil || len(tables) == 0 {
		t.Fatal("there are no tables", err)
	}
	chapter := string(text)
	for _, file := range append(tables, "testdata/stretched-wire/table.txt", "testdata/stretched-wire/own.txt") {
		golden, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		measured, err := readMeasured(string(golden))
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		name := strings.TrimSuffix(strings.TrimPrefix(filepath.ToSlash(file), "testdata/"), ".txt")
		begin, end := "<!-- "+name+", from the tests -->\n", "<!-- end -->\n"
		before, rest, ok := strings.Cut(chapter, begin)
		have, after, ended := strings.Cut(rest, end)
		if !ok || !ended {
			t.Fatalf("the manual has no place for %s", name)
		}
		want := "\n" + measured.markdown() + "\n"
		if have != want && !*update {
			t.Errorf("the manual does not have %s as it was measured; write it with -update", name)
		}
		chapter = before + begin + want + end + after
	}
	if *update && chapter != string(text) {
		if err := os.WriteFile(path, []byte(chapter), 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

// measured is one table of catches and false alarms.
type measured struct{ honest, faulty []measuredSets }

// measuredSets is one line: how many sets of a kind there were, and in which
// share of them the fault was named, or with honest ones an alarm was false.
type measuredSets struct{ what, size, sets, share, other string }

var (
	relativeLine = regexp.MustCompile(`^(.{38}) (.{18}) +(\d+) sets +([\d.]+) % (cry|caught) *(.*)$`)
	wireLine     = regexp.MustCompile(`^(.{40}) (.{16}) +(\d+) +([\d.]+) % *(.*)$`)
	wireHonest   = regexp.MustCompile(`^(\S.*?)( ) +(\d+) +in ([\d.]+) % of sets: *(.*)$`)
	signed       = regexp.MustCompile(`^-\b`) // a hyphen that stands for a minus
	wireHeadings = regexp.MustCompile(`^sets +size / mm +sets +named  other cautions and errors$`)
)

func readMeasured(golden string) (*measured, error) {
	out, unit := &measured{}, ""
	for _, line := range strings.Split(strings.TrimRight(golden, "\n"), "\n") {
		var m []string
		honest := false
		if wireHeadings.MatchString(line) {
			unit = " mm"
			continue
		} else if m = relativeLine.FindStringSubmatch(line); m != nil {
			honest = m[5] == "cry"
			m = append(m[:5], m[6])
		} else if m = wireHonest.FindStringSubmatch(line); m != nil {
			honest = true
		} else if m = wireLine.FindStringSubmatch(line); m == nil {
			return nil, fmt.Errorf("this line is read in no way: %q", line)
		}
		for i := range m {
			m[i] = strings.TrimSpace(m[i])
		}
		s := measuredSets{what: m[1], size: signed.ReplaceAllString(m[2], "−"), sets: m[3], share: m[4], other: m[5]}
		if s.size != "" {
			s.size += unit
		}
		if honest {
			out.honest = append(out.honest, s)
		} else {
			out.faulty = append(out.faulty, s)
		}
	}
	if len(out.honest) == 0 || len(out.faulty) == 0 {
		return nil, fmt.Errorf("%d kinds of honest sets and %d of faulty ones", len(out.honest), len(out.faulty))
	}
	return out, nil
}

// markdown is the table as the manual shows it: the honest sets in words, and a
// row for each fault. What is the same in all rows stands above them once.
func (m *measured) markdown() string {
	var b strings.Builder
	for _, s := range m.honest {
		what := s.what
		if what == "clean" {
			what = "honest"
		}
		fmt.Fprintf(&b, "- %s: %s sets, a false alarm in %s %% of them", strings.ToUpper(what[:1])+what[1:], s.sets, s.share)
		if s.other != "" {
			b.WriteString(" (" + s.other + ")")
		}
		b.WriteString(".\n")
	}
	sized := false
	for _, s := range m.faulty {
		sized = sized || s.size != ""
		if s.sets != m.faulty[0].sets {
			panic("a table says once how many sets of each fault there were")
		}
	}
	fmt.Fprintf(&b, "- Of each fault: %s sets.\n\n", m.faulty[0].sets)
	row := func(s measuredSets) {
		b.WriteString("| " + s.what + " | " + s.share + " | ")
		if sized {
			b.WriteString(cmp.Or(s.size, "–") + " | ")
		}
		b.WriteString(cmp.Or(s.other, "–") + " |\n")
	}
	row(measuredSets{what: "fault", size: "size", share: "named\u202f/\u202f%", other: "also said"})
	row(measuredSets{what: "---", size: "---", share: "--:", other: "---"})
	for _, s := range m.faulty {
		row(s)
	}
	return b.String()
}

// TestReadMeasured: no line of a table is taken for something else.
func TestReadMeasured(t *testing.T) {
	const relative = "clean                                                       500 sets    0.2 % cry     light_spring 1\n" +
		"claimed without the 12 of wt³/12                            100 sets  100.0 % caught  slip 1, bent 2\n" +
		"misread                                5 to 10 s            100 sets   99.0 % caught\n" +
		"miscounted                             -1                   100 sets  100.0 % caught\n"
	const wire = "sets                                     size / mm         sets   named  other cautions and errors\n" +
		"honest, the bubble set three times as ill                   2000          in 0.10 % of sets: kinks 2\n" +
		"backlash                                 0.025 to 0.15      200 100.0 %  \n"
	for golden, want := range map[string]string{
		relative: "- Honest: 500 sets, a false alarm in 0.2 % of them (light_spring 1).\n- Of each fault: 100 sets.\n\n" +
			"| fault | named\u202f/\u202f% | size | also said |\n| --- | --: | --- | --- |\n" +
			"| claimed without the 12 of wt³/12 | 100.0 | – | slip 1, bent 2 |\n| misread | 99.0 | 5 to 10 s | – |\n| miscounted | 100.0 | −1 | – |\n",
		wire: "- Honest, the bubble set three times as ill: 2000 sets, a false alarm in 0.10 % of them (kinks 2).\n- Of each fault: 200 sets.\n\n" +
			"| fault | named\u202f/\u202f% | size | also said |\n| --- | --: | --- | --- |\n| backlash | 100.0 | 0.025 to 0.15 mm | – |\n",
	} {
		m, err := readMeasured(golden)
		if err != nil {
			t.Error(err)
		} else if got := m.markdown(); got != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
	for _, bad := range []string{"", "clean\n", wire + "something else\n"} {
		if _, err := readMeasured(bad); err == nil {
			t.Errorf("%q is read", bad)
		}
	}
}
