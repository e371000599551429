package blocks_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
)

// sizes are records beyond what anybody writes. The time that each takes must
// grow with its size alone; compare n with n/10.
var sizes = []struct {
	name string
	text func(n int) string
	n    int
}{
	{"blocks", func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "# Part %d\n\n```calc\na%d = %d.5(1) m\n```\n\nText with =[a%d in mm].\n\n", i, i, i+1, i)
		}
		return b.String()
	}, 10000},
	{"one heading", func(n int) string { return "# One\n\n" + strings.Repeat("```calc print=no\n```\n\n", n) }, 10000},
	{"faulty blocks", func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "```calc\na%d = nowhere%d * 2 m\n```\n\n?[a%d = 3 m]\n\n", i, i, i)
		}
		return b.String()
	}, 3000},
	{"names", func(n int) string {
		var b strings.Builder
		b.WriteString("```calc\n")
		for i := range n {
			fmt.Fprintf(&b, "a%d = %d.5 m\n", i, i+1)
		}
		b.WriteString("```\n")
		return b.String()
	}, 10000},
	{"chain", func(n int) string {
		var b strings.Builder
		b.WriteString("```calc\na0 = 1.0(1) m\n")
		for i := 1; i <= n; i++ {
			fmt.Fprintf(&b, "a%d = a%d + 1 m\n", i, i-1)
		}
		fmt.Fprintf(&b, "```\n\n```budget b\nof: a%d\ntrials: 1000\n```\n", n)
		return b.String()
	}, 5000},
	{"doubling chain", func(n int) string {
		var b strings.Builder
		b.WriteString("```calc\na0 = 1.0(1) m\nb0 = 1.0(1) m\n")
		for i := 1; i <= n; i++ {
			fmt.Fprintf(&b, "a%d = (a%d + b%d) / 2\nb%d = (a%d - b%d) / 2 + 1 m\n", i, i-1, i-1, i, i-1, i-1)
		}
		fmt.Fprintf(&b, "```\n\n```budget b\nof: a%d\ntrials: 1000\n```\n", n)
		return b.String()
	}, 2000},
	{"circle", func(n int) string {
		var b strings.Builder
		b.WriteString("```calc\n")
		for i := range n {
			fmt.Fprintf(&b, "a%d = a%d + 1 m\n", i, (i+1)%n)
		}
		b.WriteString("```\n")
		return b.String()
	}, 5000},
	{"rows", func(n int) string {
		var b strings.Builder
		b.WriteString("```instruments\ntape:\n  resolution: 1 mm\n  zero: 0 mm\n```\n\n```data t\nx / kg, y / mm @tape\n")
		for i := range n {
			fmt.Fprintf(&b, "%d, %d\n", i, 2*i+i%3)
		}
		b.WriteString("```\n\n```fit f\ny: t.y\nx: t.x\n```\n\n```calc\nm = mean(t.y)\ns = sum(t.y)\nd = mean(steps(t.y))\n```\n\n=[f.slope]\n")
		return b.String()
	}, 100000},
	{"faulty rows", func(n int) string {
		return "```data t\nx / kg, y / mm\n" + strings.Repeat("1, x\n", n) + "```\n\n=[mean(t.y)]\n"
	}, 100000},
	{"prose", func(n int) string {
		return strings.Repeat("Some *words* of prose with a `word`, a = 3 m, and $x^2$ more of them in a line that is not short.\n\n", n)
	}, 50000},
	{"inlines", func(n int) string {
		return "```calc\na = 1.0(1) m\n```\n\n" + strings.Repeat("=[a] =[2 * a in mm] ?[a = 1.0 m]\n", n)
	}, 5000},
	{"nesting", func(n int) string { return strings.Repeat("> ", n) + "x\n\n" + strings.Repeat("- ", n) + "x\n" }, 1000},
	{"brackets", func(n int) string {
		return strings.Repeat("[", n) + "\n\n" + strings.Repeat("=[", n) + "\n\n" + strings.Repeat("*a ", n) + "\n\n" + strings.Repeat("$", n)
	}, 10000},
	{"notes", func(n int) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, "```question q%d\nWhat is =[%d m]?\n```\n\n```answer q%d\nThat.\n```\n\n", i, i, i)
		}
		return b.String()
	}, 3000},
	{"plots", func(n int) string {
		var b strings.Builder
		b.WriteString("```data t\nx / kg, y / mm\n1, 2\n2, 4.1\n3, 6\n4, 8.1\n```\n\n")
		for i := range n {
			fmt.Fprintf(&b, "```plot p%d\ny: t.y\nx: t.x\n```\n\n", i)
		}
		return b.String()
	}, 500},
}

// BenchmarkSize builds records beyond all measure, and the tenth of them.
func BenchmarkSize(b *testing.B) {
	for _, s := range sizes {
		for _, n := range []int{s.n / 10, s.n} {
			b.Run(fmt.Sprintf("%s/%d", s.name, n), func(b *testing.B) {
				p := filepath.Join(b.TempDir(), "r.md")
				if err := os.WriteFile(p, []byte(s.text(n)), 0o666); err != nil {
					b.Fatal(err)
				}
				for b.Loop() {
					if _, err := build.Record(p, build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Version: "test"}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// TestSmallSizes builds the tenth of each: none of them stops the build.
func TestSmallSizes(t *testing.T) {
	for _, s := range sizes {
		p := filepath.Join(t.TempDir(), "r.md")
		if err := os.WriteFile(p, []byte(s.text(s.n/10)), 0o666); err != nil {
			t.Fatal(err)
		}
		if _, err := build.Record(p, build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtIn{}, Version: "test"}); err != nil {
			t.Errorf("%s: %v", s.name, err)
		}
	}
}
