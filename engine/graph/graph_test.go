package graph

import (
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"example.org/taut/engine/source"
)

// read makes definitions from lines "name: use use"; an unknown use has no
// target.
func read(text string) []Def {
	f := source.NewFile("r.md", []byte(text))
	var defs []Def
	index := map[string]int{}
	at := 0
	for _, line := range strings.Split(text, "\n") {
		name, _, _ := strings.Cut(line, ":")
		index[name] = len(defs)
		defs = append(defs, Def{Name: name, At: f.Span(at, at+len(name))})
		at += len(line) + 1
	}
	at = 0
	for i, line := range strings.Split(text, "\n") {
		_, uses, _ := strings.Cut(line, ":")
		place := at + len(line) - len(uses)
		for _, u := range strings.Split(uses, " ") {
			if u != "" {
				t, ok := index[u]
				if !ok {
					t = -1
				}
				defs[i].Uses = append(defs[i].Uses, Use{Name: u, At: f.Span(place, place+len(u)), Target: t})
			}
			place += len(u) + 1
		}
		at += len(line) + 1
	}
	return defs
}

func TestOrder(t *testing.T) {
	for _, c := range []struct{ text, order, cycles string }{
		{"a:\nb:\nc:", "a b c", ""},
		{"a: c\nb:\nc:", "b c a", ""},
		{"E: slope area g\narea: d\nd:\nslope:\ng:", "d area slope g E", ""},
		{"a: nowhere sqrt\nb: a a a", "a b", ""},
		{"a: a", "", "a"},
		{"x:\na: b\nb: c\nc: a\nd: c x\ne: x", "x e", "a b c"},
		{"b: a\na: b\nd: c\nc: d", "", "b a; d c"},
		{"a: b c\nb: a\nc: a", "", "a b"},               // c only waits
		{"a: b\nb: c\nc: a d\nd: e\ne: c", "", "a b c"}, // the second touches the first
		{"a: b\nb: c\nc: d a\nd: e\ne: c", "", "c d e"}, // likewise
		{"a: b\nb: c d\nc: d\nd: a", "", "a b d"},       // the shortest through a
		{"z: a\na: b\nb: a", "", "a b"},                 // z is behind the circle
	} {
		defs := read(c.text)
		order, cycles := Order(defs)
		var names, circles []string
		for _, i := range order {
			names = append(names, defs[i].Name)
		}
		for _, cy := range cycles {
			var s []string
			for _, i := range cy {
				s = append(s, defs[i].Name)
			}
			circles = append(circles, strings.Join(s, " "))
		}
		if got := strings.Join(names, " "); got != c.order {
			t.Errorf("%q: order %s, want %s", c.text, got, c.order)
		}
		if got := strings.Join(circles, "; "); got != c.cycles {
			t.Errorf("%q: circles %s, want %s", c.text, got, c.cycles)
		}
	}
	if order, cycles := Order(nil); len(order) != 0 || cycles != nil {
		t.Error("of nothing comes something")
	}
}

func TestCircleFinding(t *testing.T) {
	defs := read("x:\na: x b\nb: c\nc: a")
	_, cycles := Order(defs)
	f := Circle(defs, cycles[0])
	got := f.String()
	for _, p := range f.Also {
		line, col := p.At.Position()
		got += fmt.Sprintf("\n%d:%d %s", line, col, p.What)
	}
	want := "r.md:2:1: error: circle: these definitions need each other: `a` → `b` → `c` → `a`; give one of them a value that does not need the others" +
		"\n2:6 `a` uses `b`\n3:4 `b` uses `c`\n4:4 `c` uses `a`"
	if got != want {
		t.Errorf("got\n%s", got)
	}
	defs = read("a: a")
	if f := Circle(defs, []int{0}); f.Message != "`a` uses itself" || len(f.Also) != 1 {
		t.Errorf("%v", f)
	}
	ring := chain(100)
	ring[0].Uses = []Use{{Target: 99}}
	_, cycles = Order(ring)
	if f := Circle(ring, cycles[0]); len(f.Also) != shown || !strings.Contains(f.Message, "88 more") {
		t.Errorf("%v", f)
	}
}

// graphOf builds n definitions with about m uses.
func graphOf(r *rand.Rand, n, m int, acyclic bool) []Def {
	defs := make([]Def, n)
	rank := r.Perm(n)
	for i := range defs {
		defs[i].Name = fmt.Sprintf("v%d", i)
	}
	for range m {
		a, b := r.IntN(n), r.IntN(n)
		if acyclic && rank[a] <= rank[b] {
			continue
		}
		defs[a].Uses = append(defs[a].Uses, Use{Name: defs[b].Name, Target: b})
	}
	return defs
}

// reach tells by brute force which definition leads to which in one step or
// more (Warshall's closure).
func reach(defs []Def) [][]bool {
	n := len(defs)
	c := make([][]bool, n)
	for i := range c {
		c[i] = make([]bool, n)
		for _, u := range defs[i].Uses {
			c[i][u.Target] = true
		}
	}
	for k := range n {
		for i := range n {
			for j := range n {
				c[i][j] = c[i][j] || c[i][k] && c[k][j]
			}
		}
	}
	return c
}

func TestRandomGraphs(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 3000 {
		n := 1 + r.IntN(14)
		defs := graphOf(r, n, r.IntN(2*n+1), r.IntN(3) == 0)
		order, cycles := Order(defs)
		checkOrder(t, defs, order)
		checkCycles(t, defs, cycles)
		if t.Failed() {
			t.Fatalf("%v\n%v\n%v", defs, order, cycles)
		}
	}
}

// checkOrder compares with the definition of the order itself: again and
// again the first that can be computed.
func checkOrder(t *testing.T, defs []Def, order []int) {
	t.Helper()
	done := make([]bool, len(defs))
	for _, got := range order {
		want := slices.IndexFunc(defs, func(d Def) bool {
			i := slices.IndexFunc(defs, func(e Def) bool { return e.Name == d.Name })
			return !done[i] && !slices.ContainsFunc(d.Uses, func(u Use) bool { return !done[u.Target] })
		})
		if got != want {
			t.Errorf("%d comes where %d is due", got, want)
			return
		}
		done[got] = true
	}
	c := reach(defs)
	for i := range defs {
		stuck := c[i][i]
		for j := range defs {
			stuck = stuck || c[i][j] && c[j][j]
		}
		if stuck == done[i] {
			t.Errorf("%d: computed %v, on or behind a circle %v", i, done[i], stuck)
		}
	}
}

func checkCycles(t *testing.T, defs []Def, cycles [][]int) {
	t.Helper()
	c := reach(defs)
	told := map[int]bool{}
	for k, cy := range cycles {
		if cy[0] != slices.Min(cy) || k > 0 && cycles[k-1][0] >= cy[0] {
			t.Errorf("circle %d is out of order", k)
		}
		for s, i := range cy {
			next := cy[(s+1)%len(cy)]
			if !slices.ContainsFunc(defs[i].Uses, func(u Use) bool { return u.Target == next }) {
				t.Errorf("%d does not use %d", i, next)
			}
			if told[i] {
				t.Errorf("%d is told twice", i)
			}
			told[i] = true
		}
	}
	for i := range defs {
		seen := !c[i][i]
		for j := range defs {
			seen = seen || told[j] && (i == j || c[i][j] && c[j][i])
		}
		if !seen {
			t.Errorf("no circle is told among those of %d", i)
		}
	}
}

// TestAgainstGo compares with the order in which Go initializes the variables
// of a package (The Go Programming Language Specification, "Package
// initialization"), as go/types computes it: the same rule as ours.
func TestAgainstGo(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		n := 2 + r.IntN(30)
		defs := graphOf(r, n, r.IntN(3*n), true)
		var src strings.Builder
		src.WriteString("package p\n")
		for _, d := range defs {
			fmt.Fprintf(&src, "var %s = f(0", d.Name)
			for _, u := range d.Uses {
				src.WriteString(", " + u.Name)
			}
			src.WriteString(")\n")
		}
		src.WriteString("func f(...int) int { return 0 }\n")
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, "p.go", src.String(), 0)
		if err != nil {
			t.Fatal(err)
		}
		var info types.Info
		conf := types.Config{Importer: importer.Default()}
		if _, err := conf.Check("p", set, []*ast.File{file}, &info); err != nil {
			t.Fatal(err)
		}
		var want, got []string
		for _, in := range info.InitOrder {
			want = append(want, in.Lhs[0].Name())
		}
		order, _ := Order(defs)
		for _, i := range order {
			got = append(got, defs[i].Name)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("%s\n got %v\nwant %v", src.String(), got, want)
		}
	}
}

// chain makes n definitions, each using the one before.
func chain(n int) []Def {
	defs := make([]Def, n)
	for i := 1; i < n; i++ {
		defs[i] = Def{Name: fmt.Sprint(i), Uses: []Use{{Target: i - 1}}}
	}
	return defs
}

func TestLarge(t *testing.T) {
	const n = 100000
	defs := chain(n)
	slices.Reverse(defs)
	for i := range defs {
		for k := range defs[i].Uses {
			defs[i].Uses[k].Target = i + 1
		}
	}
	order, cycles := Order(defs)
	if len(order) != n || order[0] != n-1 || order[n-1] != 0 || cycles != nil {
		t.Error("a long chain")
	}
	defs[n-1].Uses = []Use{{Target: 0}}
	order, cycles = Order(defs)
	if len(order) != 0 || len(cycles) != 1 || len(cycles[0]) != n {
		t.Error("a long circle")
	}
	// Every definition uses its neighbours: n/2 circles of two.
	for i := range defs {
		defs[i].Uses = []Use{{Target: (i + 1) % n}, {Target: (i + n - 1) % n}}
	}
	if order, cycles = Order(defs); len(order) != 0 || len(cycles) == 0 {
		t.Error("a ladder")
	}
}

func benchmark(b *testing.B, defs []Def) {
	for b.Loop() {
		Order(defs)
	}
}

func BenchmarkOrder10000(b *testing.B) {
	benchmark(b, graphOf(rand.New(rand.NewPCG(5, 6)), 10000, 60000, true))
}

func BenchmarkOrder100000(b *testing.B) {
	benchmark(b, graphOf(rand.New(rand.NewPCG(5, 6)), 100000, 600000, true))
}

func BenchmarkCircles10000(b *testing.B) {
	benchmark(b, graphOf(rand.New(rand.NewPCG(5, 6)), 10000, 60000, false))
}
