package blocks_test

import (
	"regexp"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/variant"
)

// methodProse is the prose of a method between its blocks, each piece followed
// by the info string of the block after it.
func methodProse(text string) (pieces [][2]string) {
	_, text, _ = strings.Cut(text, "\n---\n")
	parts := regexp.MustCompile("(?m)^```").Split(text, -1)
	for i := 0; i < len(parts); i += 2 {
		next := ""
		if i+1 < len(parts) {
			next, _, _ = strings.Cut(parts[i+1], "\n")
		}
		prose := parts[i]
		if i > 0 {
			_, prose, _ = strings.Cut(prose, "\n") // behind the closing fence
		}
		pieces = append(pieces, [2]string{strings.TrimSpace(prose), next})
	}
	return pieces
}

// TestMethodProseStandsAlone: a block that prints nothing where all is well has
// no prose that leads up to it, and no value stands in code, where it would be
// printed as typed.
func TestMethodProseStandsAlone(t *testing.T) {
	for _, name := range blocks.Built().MethodNames() {
		f, _ := blocks.Built().Method(name)
		for _, p := range methodProse(string(f.Text)) {
			silent := strings.HasPrefix(p[1], "checks") || strings.Contains(p[1], "print=no")
			if silent && strings.HasSuffix(p[0], ":") {
				t.Errorf("%s: %q leads up to nothing", name, p[0][strings.LastIndex(p[0], "\n")+1:])
			}
			if m := regexp.MustCompile("`[^`\n]*=\\[[^`\n]*`").FindString(p[0]); m != "" {
				t.Errorf("%s: %s is printed as typed", name, m)
			}
		}
	}
}

// TestMethodWordsAlike: who is told to strike a cell is told how, in the same
// words everywhere, and a minus is typed as one in prose.
func TestMethodWordsAlike(t *testing.T) {
	strike := regexp.MustCompile(`strike the cell( \(a .~. before it\))? with th(?:e|at) reason`)
	hyphen := regexp.MustCompile(`(?m)^\| *sense .*[ ;]-1`)
	seen := 0
	for _, name := range blocks.Built().MethodNames() {
		f, _ := blocks.Built().Method(name)
		for _, m := range strike.FindAllStringSubmatch(string(f.Text), -1) {
			if seen++; m[1] == "" {
				t.Errorf("%s: a cell is struck, but not told how", name)
			}
		}
		if m := hyphen.FindString(string(f.Text)); m != "" {
			t.Errorf("%s: a hyphen for a minus in %s", name, m)
		}
	}
	if seen == 0 {
		t.Error("no method has a cell struck")
	}
}

// TestLimitIsRoundedDown: the greatest load that a page names is never more
// than the third of the breaking load, and less than a tenth below it.
func TestLimitIsRoundedDown(t *testing.T) {
	m := readMethod(t, "stretched-wire")
	bench := variant.NewBench(m, blocks.Built(), blocks.All())
	for seed := range uint64(20) {
		p := bench.Run(simulated(t, m, seed, nil)).Program
		value := func(name string) float64 {
			v, _ := p.Lookup("stretched_wire." + name)
			s, ok := v.(eval.Scalar)
			if !ok {
				t.Fatalf("no %s", name)
			}
			return s.Q.Value()
		}
		limit, named := value("limit"), value("cap")
		if named > limit || named < 0.9*limit {
			t.Errorf("seed %d: a limit of %g kg is named as %g kg", seed, limit, named)
		}
	}
}
