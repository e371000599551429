package tex

import (
	"bufio"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
)

// formulas reads the sample formulas, one a line.
func formulas(t testing.TB) []string {
	t.Helper()
	raw, err := os.ReadFile("testdata/formulas.txt")
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSpace(string(raw)), "\n")
}

// TestSkeletonAgainstLibrary compares leaves and structure with those that an
// independent converter made of the same formulas; testdata/skeletons.txt says
// which one and how.
func TestSkeletonAgainstLibrary(t *testing.T) {
	f, err := os.Open("testdata/skeletons.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	want := map[string]string{}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if formula := lines.Text(); !strings.HasPrefix(formula, "#") && lines.Scan() {
			want[formula] = lines.Text()
		}
	}
	all := formulas(t)
	if len(want) != len(all) || len(all) < 40 {
		t.Fatalf("%d formulas but %d skeletons", len(all), len(want))
	}
	for _, formula := range all {
		m, problems := parse(formula)
		for _, p := range problems {
			t.Errorf("%s: %s", formula, p.Message)
		}
		got, err := skeleton(MathML(m, true))
		if err != nil {
			t.Fatal(err)
		}
		if got != alike.Replace(want[formula]) {
			t.Errorf("%s\ngot  %s\nwant %s", formula, got, want[formula])
		}
	}
}

// alike maps characters between which a converter may choose freely.
var alike = strings.NewReplacer("ˆ", "^", "‾", "¯", "⟂", "⊥", "∶", ":", "=\u0338", "≠", "″", "′ ′", "\u2061", "", "\u00a0", " ")

// skeleton reduces MathML to its leaves and the elements that place them.
func skeleton(s string) (string, error) {
	d := xml.NewDecoder(strings.NewReader(s))
	var out []string
	add := func(s string) {
		if s = strings.TrimSpace(alike.Replace(s)); s != "" {
			out = append(out, s)
		}
	}
	placing := func(name string) bool {
		return strings.Contains(" mfrac msqrt mroot msub msup msubsup munder mover munderover mtable mtr mtd ", " "+name+" ")
	}
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return strings.Join(out, " "), nil
		}
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			if placing(t.Name.Local) {
				add(t.Name.Local + "(")
			}
		case xml.EndElement:
			if placing(t.Name.Local) {
				add(")")
			}
		case xml.CharData:
			add(string(t))
		}
	}
}
