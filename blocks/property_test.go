package blocks_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"sort"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/results"
)

// steel are the files of the example worked by hand, with few draws.
func steel(t testing.TB) files {
	t.Helper()
	return readFolder(t, "../examples/steel-wire-by-hand").with(t, "record.md", "trials: 200000", "trials: 2000")
}

var (
	fence = regexp.MustCompile("(?ms)^```([a-z]+)( [^\n]*)?\n(.*?)^```\n")
	word  = regexp.MustCompile(`\p{L}[\p{L}\p{N}_]*(?:\.[\p{L}\p{N}_]+)*`)
)

// dependents works out from the text of a record which names depend on which
// column: it reads the statements of `calc` and the `y` and `x` of fits.
func dependents(record string) map[string]map[string]bool {
	uses := map[string][]string{}
	for _, m := range fence.FindAllStringSubmatch(record, -1) {
		switch kind, name := m[1], strings.Fields(m[2]); kind {
		case "calc":
			for _, line := range strings.Split(m[3], "\n") {
				if left, right, ok := strings.Cut(line, "="); ok {
					right, _, _ = strings.Cut(right, "|")
					right, _, _ = strings.Cut(right, " in ")
					uses[strings.TrimSpace(left)] = word.FindAllString(right, -1)
				}
			}
		case "fit":
			uses[name[0]] = word.FindAllString(m[3], -1)
		case "compare":
			uses[name[0]] = word.FindAllString(m[3], -1)
		}
	}
	on := map[string]map[string]bool{}
	var visit func(name string) map[string]bool
	visit = func(name string) map[string]bool {
		if d, done := on[name]; done {
			return d
		}
		d := map[string]bool{name: true}
		on[name] = d
		list, known := uses[name]
		if !known { // a part of something: line.slope
			if head, _, dotted := strings.Cut(name, "."); dotted {
				list = []string{head}
			}
		}
		for _, u := range list {
			for c := range visit(u) {
				d[c] = true
			}
		}
		return d
	}
	for name := range uses {
		visit(name)
	}
	return on
}

// figuresOf gives everything in the results that holds numbers a name and a
// text.
func figuresOf(w *whole) map[string]string {
	out := map[string]string{}
	for k, v := range w.Results.Values {
		out[k] = fmt.Sprint(float64(v.Value), w.u(k), w.dof(k))
	}
	for k, v := range w.Results.Fits {
		out[k] = fmt.Sprint(v.Coefficients, v.Covariance, number(v.DOF), v.S, v.Residuals)
	}
	for k, v := range w.Results.MonteCarlo {
		out["monte carlo of "+k] = fmt.Sprint(v)
	}
	for k, v := range w.Results.Columns {
		out[k] = fmt.Sprint(v.Values)
	}
	return out
}

// cell is one cell of the example that can be changed.
type cell struct{ file, column, old, new string }

// cells finds every cell of the readings that counts, and makes it a little
// greater.
func cells(t *testing.T, f files) []cell {
	t.Helper()
	var out []cell
	add := func(file, row string, columns []string) {
		fields := strings.Split(row, ",")
		for i, column := range columns {
			text := strings.TrimSpace(fields[i])
			if column == "" || text == "–" {
				continue
			}
			changed := append([]string(nil), fields...)
			changed[i] = " " + text + "4"
			if !strings.Contains(text, ".") {
				changed[i] = " " + text + ".4"
			}
			out = append(out, cell{file, column, "\n" + row + "\n", "\n" + strings.Join(changed, ",") + "\n"})
		}
	}
	for _, m := range fence.FindAllStringSubmatch(f["record.md"], -1) {
		rows := strings.Split(strings.TrimSpace(m[3]), "\n")[1:]
		switch {
		case m[1] != "data":
		case strings.Contains(m[2], "wire"):
			for _, row := range rows {
				add("record.md", row, []string{"", "wire.across", "wire.along"})
			}
		case strings.Contains(m[2], "length"):
			seen := map[string]bool{}
			for _, row := range rows {
				if !seen[row] { // two readings of the length are equal
					add("record.md", row, []string{"length.l"})
				}
				seen[row] = true
			}
		}
	}
	for i, row := range strings.Split(strings.TrimSpace(f["pull.csv"]), "\n")[1:] {
		if i != 2 { // the third row is struck
			add("pull.csv", row, []string{"pull.load", "pull.up", "pull.down"})
		}
	}
	if len(out) != 10+3+20 {
		t.Fatalf("%d cells", len(out))
	}
	return out
}

// A change of any reading changes every number that depends on it, and no
// other. What depends on what is worked out from the text alone.
func TestEveryCellCounts(t *testing.T) {
	base := steel(t)
	before := figuresOf(base.build(t))
	on := dependents(base["record.md"])
	if !on["E"]["wire.across"] || on["line"]["wire.across"] || on["d"]["length.l"] || on["g"]["pull.load"] {
		t.Fatalf("what depends on what: %v", on)
	}
	for _, c := range cells(t, base) {
		f := files{}
		for k, v := range base {
			f[k] = v
		}
		if !strings.Contains(f[c.file], c.old) && c.file == "pull.csv" {
			c.old, c.new = strings.TrimSuffix(c.old, "\n"), strings.TrimSuffix(c.new, "\n")
		}
		if !strings.Contains(f[c.file], c.old) {
			t.Fatalf("no row %q", c.old)
		}
		f[c.file] = strings.Replace(f[c.file], c.old, c.new, 1)
		after := figuresOf(f.build(t))
		if len(after) != len(before) {
			t.Errorf("%s: %d figures become %d", c.column, len(before), len(after))
		}
		for name, was := range before {
			bare := strings.TrimPrefix(name, "monte carlo of ")
			depends := on[bare][c.column] || bare == c.column || bare == "pair" && on["pair"][c.column]
			if head, _, dotted := strings.Cut(bare, "."); dotted && !depends {
				depends = on[head][c.column]
			}
			changed := after[name] != was
			switch {
			case changed && !depends:
				t.Errorf("%q → %q in %s: %s changed", c.old, c.new, c.column, name)
			case !changed && depends && !steady(name, c):
				t.Errorf("%q → %q in %s: %s did not change", c.old, c.new, c.column, name)
			}
		}
	}
}

// steady reports what depends on a reading in name only: counts, the place of
// the greatest jump with its capped probability, the stress, which rests on the
// greatest load alone, and the pairs, where the seven rows leave the fourth
// without a partner four rows on.
func steady(name string, c cell) bool {
	switch name {
	case "line.n", "line.dof", "line.jump_row", "line.jump_at", "line.jump_p":
		return true
	case "stress":
		return c.column == "pull.load" && !strings.Contains(c.old, "4.00,")
	case "pair", "E_pairs":
		return strings.HasPrefix(c.old, "\n2.50,")
	}
	return false
}

// The order of blocks changes no byte of a value, a column, a fit or a Monte
// Carlo outcome.
func TestOrderOfBlocks(t *testing.T) {
	base := steel(t)
	want := base.build(t).numbers()
	for seed := range uint64(12) {
		rnd := rand.New(rand.NewPCG(seed, 0))
		blocks := fence.FindAllString(base["record.md"], -1)
		rnd.Shuffle(len(blocks), func(i, j int) { blocks[i], blocks[j] = blocks[j], blocks[i] })
		f := files{"pull.csv": base["pull.csv"], "frame-2.yaml": base["frame-2.yaml"]}
		f["record.md"] = fence.ReplaceAllStringFunc(base["record.md"], func(string) string {
			b := blocks[0]
			blocks = blocks[1:]
			return b
		})
		if got := f.build(t).numbers(); got != want {
			t.Errorf("seed %d: %s", seed, firstDifference(got, want))
		}
	}
}

func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return fmt.Sprintf("%q instead of %q in line %d", x[i], y[i], i+1)
		}
	}
	return "one is longer"
}

var millimetres = regexp.MustCompile(`\b\d\.\d\d\b`)

// metres writes a number in mm as one in m.
func metres(mm string) string { return "0.00" + mm[:1] + mm[2:] }

// A column in another unit with its numbers converted is the same column:
// nothing changes by more than 10⁻¹² of itself.
func TestUnitOfColumn(t *testing.T) {
	base := steel(t)
	want := base.build(t)
	f := base.with(t, "record.md", "place, across / mm @gauge, along / mm @gauge", "place, across / m @gauge, along / m @gauge")
	rows := fence.FindString(f["record.md"][strings.Index(f["record.md"], "```data wire"):])
	f = f.with(t, "record.md", rows, millimetres.ReplaceAllStringFunc(rows, metres))
	f = f.with(t, "record.md", "up / mm @screw     = screw_up / mm", "up / m @screw = screw_up / m")
	f = f.with(t, "record.md", "down / mm @screw   = screw_down / mm", "down / m @screw = screw_down / m")
	head, body, _ := strings.Cut(f["pull.csv"], "\n")
	var csv strings.Builder
	csv.WriteString(strings.ReplaceAll(head, "/ mm", "/ m") + "\n")
	for _, row := range strings.Split(strings.TrimSpace(body), "\n") {
		load, screw, _ := strings.Cut(row, ",")
		csv.WriteString(load + "," + millimetres.ReplaceAllStringFunc(screw, metres) + "\n")
	}
	f["pull.csv"] = csv.String()
	got := f.build(t)
	compareFigures(t, got, want, 1e-12)
	for name, c := range want.Results.Columns {
		for i, v := range c.Values {
			if w := got.Results.Columns[name].Values[i]; !close(float64(w), float64(v), 1e-12) {
				t.Errorf("%s[%d] = %v, want %v", name, i+1, w, v)
			}
		}
	}
}

func close(a, b, relative float64) bool {
	return a == b || math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= relative*math.Abs(b)
}

// compareFigures compares value, u, dof, k and U of all values.
func compareFigures(t *testing.T, got, want *whole, relative float64) {
	t.Helper()
	if len(got.Results.Values) != len(want.Results.Values) {
		t.Errorf("%d values instead of %d", len(got.Results.Values), len(want.Results.Values))
	}
	for name, v := range want.Results.Values {
		w := got.value(name)
		if w.Unit != v.Unit {
			t.Errorf("%s in %s instead of %s", name, w.Unit, v.Unit)
		}
		for _, p := range []struct {
			what string
			a, b float64
		}{
			{"value", float64(w.Value), float64(v.Value)}, {"u", number(w.U), number(v.U)}, {"dof", number(w.DOF), number(v.DOF)},
			{"k", number(w.K), number(v.K)}, {"U", number(w.Expanded), number(v.Expanded)},
		} {
			if !close(p.a, p.b, relative) {
				t.Errorf("%s of %s = %.17g, want %.17g", p.what, name, p.a, p.b)
			}
		}
	}
}

func number(f *results.Float) float64 {
	if f == nil {
		return math.NaN()
	}
	return float64(*f)
}

// With all loads doubled, and nothing else, the slope is halved and E is
// doubled, to the last bit.
func TestLoadsDoubled(t *testing.T) {
	base := steel(t)
	want := base.build(t)
	f := base.with(t, "pull.csv", "load / kg", "load / kg")
	var csv strings.Builder
	for i, row := range strings.Split(strings.TrimSpace(f["pull.csv"]), "\n") {
		load, rest, _ := strings.Cut(row, ",")
		if i > 0 {
			var kg float64
			fmt.Sscan(load, &kg)
			load = fmt.Sprintf("%.2f", 2*kg)
		}
		csv.WriteString(load + "," + rest + "\n")
	}
	f["pull.csv"] = csv.String()
	got := f.build(t)
	for name, factor := range map[string]float64{"line.slope": 0.5, "E": 2, "E_pairs": 2, "d": 1, "L": 1, "A": 1, "line.intercept": 1, "line.r2": 1, "line.curvature": 1} {
		if a, b := got.get(name), factor*want.get(name); !close(a, b, 1e-14) {
			t.Errorf("%s = %.17g, want %.17g", name, a, b)
		}
	}
}

// What is struck never matters: other digits in the struck row change the
// printed table and the file's sum, and nothing else.
func TestStruckRows(t *testing.T) {
	base := steel(t)
	want := base.build(t)
	f := base.with(t, "pull.csv", "1.50, 3.72, 2.72", "1.50, 8.88, 9.99")
	got := f.build(t)
	if got.numbers() != want.numbers() {
		t.Error(firstDifference(got.numbers(), want.numbers()))
	}
	page := string(got.HTML)
	for i, in := range want.Inputs {
		page = strings.ReplaceAll(page, got.Inputs[i].SHA256, in.SHA256)
	}
	page = regexp.MustCompile(`value="0.00888">8.88|value="8.88">8.88|>8\.88<`).ReplaceAllStringFunc(page, func(s string) string {
		return strings.ReplaceAll(s, "8.88", "3.72")
	})
	a, b := strings.Split(page, "\n"), strings.Split(string(want.HTML), "\n")
	if len(a) != len(b) {
		t.Fatalf("%d lines instead of %d", len(a), len(b))
	}
	var differ []string
	for i := range a {
		if a[i] != b[i] {
			differ = append(differ, a[i])
		}
	}
	if len(differ) != 1 || !strings.Contains(differ[0], "9.99") && !strings.Contains(differ[0], "8.88") {
		t.Errorf("%d lines differ: %.300q", len(differ), differ)
	}
	// A further struck row changes no number either.
	more := base.with(t, "record.md", "fourth,  0.57, 0.57", "~third, 5.70, 0.57 # misread\nfourth,  0.57, 0.57")
	if n := more.build(t).numbers(); n != want.numbers() {
		t.Error(firstDifference(n, want.numbers()))
	}
}

// Equal files give equal bytes, at every build and with any number of workers.
func TestSameBytes(t *testing.T) {
	path := steel(t).write(t)
	first := buildFile(t, path, 1)
	text, err := first.Results.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := steel(t).write(t)
	for name, w := range map[string]*whole{
		"again": buildFile(t, path, 1), "two workers": buildFile(t, path, 2), "three workers": buildFile(t, path, 3), "elsewhere": buildFile(t, elsewhere, 2),
	} {
		other, err := w.Results.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		if name == "elsewhere" { // findings name the record as it was typed
			other = bytes.ReplaceAll(other, []byte(strings.TrimSuffix(elsewhere, "record.md")), []byte(strings.TrimSuffix(path, "record.md")))
		}
		if !bytes.Equal(w.HTML, first.HTML) && name != "elsewhere" {
			t.Errorf("%s: the page differs", name)
		}
		if !bytes.Equal(other, text) {
			t.Errorf("%s: %s", name, firstDifference(string(other), string(text)))
		}
	}
	if strings.Contains(string(first.HTML), strings.TrimSuffix(path, "/record.md")) {
		t.Error("the page holds the path of the record")
	}
	// A cache of draws changes no byte.
	m := build.NewMemory(8)
	for range 2 {
		if w := buildWith(t, path, build.Options{Trials: m}); !bytes.Equal(w.HTML, first.HTML) {
			t.Error("a cache of draws changes the page")
		}
	}
}

// Names in the results are sorted, so that a file can be compared with another
// line by line.
func TestResultsSorted(t *testing.T) {
	text, err := steel(t).build(t).Results.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, m := range regexp.MustCompile(`(?m)^    "([^"]+)": \{$`).FindAllStringSubmatch(string(text), -1) {
		if len(names) > 0 && m[1] == "length.l" { // columns begin
			break
		}
		names = append(names, m[1])
	}
	if len(names) < 10 || !sort.StringsAreSorted(names) {
		t.Errorf("%v", names)
	}
}
