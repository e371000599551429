package plaintext_test

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/plaintext"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

type noThemes struct{ build.Themes }

func (noThemes) Names() []string { return nil }

func worked(text string) *view.Prose {
	return build.InMemory(source.NewFile("r.md", []byte(text)),
		build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: noThemes{}, View: view.AsWorked}).Body
}

func printed(text string) string {
	body := worked(text)
	return plaintext.Print(body, plaintext.Sections(body.Doc)[0].Nodes)
}

// TestText sets small documents and compares them whole.
func TestText(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"heading", "# A *big* one\n\n## `code` too\n\n### plain\n", "A big one\n=========\n\n`code` too\n----------\n\nplain\n"},
		{"paragraph", "one\ntwo  \nthree\n\nfour", "one two\nthree\n\nfour\n"},
		{"lists", "- a\n- b\n  1. c\n  2. d\n", "- a\n- b\n\n  1. c\n  2. d\n"},
		{"loose list", "3. a\n\n4. b\n", "3. a\n\n4. b\n"},
		{"quote", "> said\n> twice\n", "> said twice\n"},
		{"code", "```sh\na  b\n\n  c\n```\n", "    a  b\n\n      c\n"},
		{"code with backticks", "a `` b ` c `` d", "a `` b ` c `` d\n"},
		{"link", "see [the page](x.html), <https://a.example>", "see the page, https://a.example\n"},
		{"comment", "a\n\n<!-- not shown -->\n\nb <!-- nor this -->c\n", "a\n\nb c\n"},
		{"table", "| a | right |\n| --- | ---: |\n| `x` | 1 |\n| yy | 22 |\n", "a    right\n---  -----\n`x`      1\nyy      22\n"},
		{"value", "It is =[2.0 m * 3 as 3 sf], not =[nowhere].", "It is 6.00 m, not (not yet: waits for nowhere).\n"},
		{"uncertain", "```calc print=no\na = 2.914 m ± 1 mm\n```\n=[a] =[a as concise]", "(2.9140 ± 0.0011) m (95 %) 2.91400(58) m\n"},
		{"statement", "=[2.0(1) m as statement]", "(2.00 ± 0.20) m, where the number after ± is the expanded uncertainty U = k u,\nfrom the standard uncertainty u = 0.10 m and the coverage factor k = 1.96 of the\nnormal distribution; the coverage probability of the interval is about 95 %\n"},
		{"wide word", "| a | b |\n| --- | --- |\n| x | " + strings.Repeat("long/", 20) + "end |\n", "a  b\n-  " + strings.Repeat("-", 77) + "\nx  " + strings.Repeat("long/", 15) + "\n   " + strings.Repeat("long/", 5) + "end\n"},
		{"mathematics", "$E = \\frac{4gL}{\\pi d^2 b}$ and $\\sqrt{x_1}$", "E = (4 g L)/(π d^2 b) and √x_1\n"},
		{"displayed", "so that $$b = \\frac{gL}{A E} .$$", "so that b = (g L)/(A E).\n"},
		{"steps", "```calc\nL = 2 m   | length\nA = L^2 / 4\n```\n", "  L = 2 m    (length)\n  A = L^2/4\n    = (2 m)^2/4\n    = 1 m^2\n"},
		{"data", "```data t\nx / m, what\n1.0, a\n~2.0, b  # slipped\n–, c\n```\n", "Readings `t`\n\nx / m  what  remark\n-----  ----  ---------------\n  1.0  a\n ~2.0  ~b    struck: slipped\n    –  c\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := printed(c.in); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

// TestKeepsEveryWord: whatever the width of words and tables, none is lost and
// none is split, and what can be broken keeps to the width.
func TestKeepsEveryWord(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		var in strings.Builder
		var words []string
		word := func(most int) string {
			w := strings.Repeat(string(rune('a'+r.IntN(26))), 1+r.IntN(most))
			words = append(words, w)
			return w
		}
		for range 1 + r.IntN(60) {
			in.WriteString(word(14) + " ")
		}
		columns := 1 + r.IntN(8)
		in.WriteString("\n\n" + strings.Repeat("| h ", columns) + "|\n" + strings.Repeat("| --- ", columns) + "|\n")
		for range r.IntN(4) {
			for range columns {
				in.WriteString("| ")
				for range r.IntN(6) {
					in.WriteString(word(14) + " ")
				}
			}
			in.WriteString("|\n")
		}
		out := printed(in.String())
		have := map[string]int{}
		for _, w := range strings.FieldsFunc(out, func(r rune) bool { return strings.ContainsRune(" \n;", r) }) {
			have[w]++
		}
		for _, w := range words {
			if have[w]--; have[w] < 0 {
				t.Fatalf("%q is lost or split:\n%s\nfrom\n%s", w, out, in.String())
			}
		}
		for _, line := range strings.Split(out, "\n") {
			if len(line) > plaintext.Width {
				t.Fatalf("%d columns:\n%s", len(line), out)
			}
		}
	}
}

// TestSections: a section ends where the next of its level begins, and knows
// the rows of its tables that begin with code.
func TestSections(t *testing.T) {
	body := worked("before\n\n# One\n\na\n\n## `two(x)` or `three`\n\n| k | v |\n| --- | --- |\n| `r` | 1 |\n| s | 2 |\n\n# Four\n\nd\n")
	all := plaintext.Sections(body.Doc)
	if len(all) != 4 {
		t.Fatalf("%d sections", len(all))
	}
	if got := strings.Join(all[2].Codes, " "); got != "two(x) three" {
		t.Errorf("the codes are %q", got)
	}
	if got := plaintext.Print(body, all[1].Nodes); !strings.Contains(got, "One") || !strings.Contains(got, "two(x)") || strings.Contains(got, "Four") {
		t.Errorf("section 1 is\n%s", got)
	}
	rows := all[2].Rows(body.Doc)
	if len(rows) != 1 || rows[0].Codes[0] != "r" {
		t.Fatalf("the rows are %v", rows)
	}
	if got, want := plaintext.PrintRow(body, rows[0]), "k    v\n---  -\n`r`  1\n"; got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// elsewhere are the nodes that stand in no prose.
var elsewhere = map[string]string{"Quantities": "the table of values stands behind the body of a page"}

// TestEveryNode: each node, run and piece of mathematics of a view has a place
// in this package, so that nothing falls silently out of a text.
func TestEveryNode(t *testing.T) {
	here, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, f := range here {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		all.Write(text)
	}
	views, err := filepath.Glob("../view/*.go")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range views {
		text, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`(?m)^func \((?:\w+ )?\*?(\w+)\) +(?:node|run|math)\(\)`).FindAllStringSubmatch(string(text), -1) {
			n++
			if elsewhere[m[1]] == "" && !regexp.MustCompile(`view\.`+m[1]+`\b`).MatchString(all.String()) {
				t.Errorf("view.%s has no place here", m[1])
			}
		}
	}
	if n < 30 {
		t.Errorf("only %d kinds of nodes were found", n)
	}
}
