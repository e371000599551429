package variant_test

import (
	"bytes"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

func class(t testing.TB, name string, count int, seed string, rate float64) variant.Class {
	t.Helper()
	f, ok := blocks.Built().Method(name)
	if !ok {
		t.Fatalf("no method %s", name)
	}
	return variant.Class{Method: f, Count: count, Seed: seed, Rate: rate, Kinds: blocks.All(), Library: blocks.Built(), Version: "0", Workers: 2}
}

func vary(t testing.TB, c variant.Class) *variant.Variants {
	t.Helper()
	v, findings := variant.Vary(c)
	for _, f := range findings {
		t.Errorf("%s", f)
	}
	if v == nil {
		t.FailNow()
	}
	return v
}

func keyText(t testing.TB, v *variant.Variants) []byte {
	t.Helper()
	text, err := v.Key.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func keyPage(t testing.TB, v *variant.Variants) []byte {
	t.Helper()
	theme, err := themes.Load("")
	if err != nil {
		t.Fatal(err)
	}
	html, err := v.Key.Page(v.Title, theme)
	if err != nil {
		t.Fatal(err)
	}
	return html
}

// TestVarySameBytes makes a class twice and with 1, 2 and 5 workers.
func TestVarySameBytes(t *testing.T) {
	c := class(t, "stretched-wire", 24, "copper kettle", 0.5)
	first := vary(t, c)
	for _, workers := range []int{1, 2, 5, 0} {
		c.Workers = workers
		again := vary(t, c)
		if !bytes.Equal(keyText(t, first), keyText(t, again)) || !bytes.Equal(keyPage(t, first), keyPage(t, again)) {
			t.Errorf("%d workers: another key", workers)
		}
		for i := range first.Files {
			if !maps.Equal(first.Files[i], again.Files[i]) {
				t.Errorf("%d workers: other files of student %d", workers, i+1)
			}
		}
	}
}

// TestVarySeeds: another seed gives other readings, and so does another
// student; a smaller class is the beginning of a larger one.
func TestVarySeeds(t *testing.T) {
	one := vary(t, class(t, "stretched-wire", 12, "copper kettle", 0.5))
	other := vary(t, class(t, "stretched-wire", 12, "copper kettles", 0.5))
	smaller := vary(t, class(t, "stretched-wire", 5, "copper kettle", 0.5))
	seen := map[string]bool{}
	for i := range one.Files {
		seen[one.Files[i]["pull.csv"]], seen[other.Files[i]["pull.csv"]] = true, true
	}
	if len(seen) != 24 {
		t.Errorf("24 students have %d sets of readings", len(seen))
	}
	for i := range smaller.Files {
		if !maps.Equal(smaller.Files[i], one.Files[i]) {
			t.Errorf("student %d depends on the size of the class", i+1)
		}
	}
}

// TestVaryHides looks in the students' files for what the key alone may tell.
func TestVaryHides(t *testing.T) {
	for _, name := range blocks.Built().MethodNames() {
		t.Run(name, func(t *testing.T) {
			v := vary(t, class(t, name, 6, "copper kettle", 1))
			for i, files := range v.Files {
				all := ""
				for _, n := range slices.Sorted(maps.Keys(files)) {
					all += n + "\n" + files[n]
				}
				s := v.Key.Students[i]
				secrets := []string{"copper", "kettle", "seed", variant.TrueSuffix, "simulate"}
				for _, f := range s.Faults {
					secrets = append(secrets, f.What)
				}
				for _, e := range s.Results {
					if e.U != nil {
						secrets = append(secrets, e.Shown)
					}
				}
				for n, truth := range s.Truth {
					// Few digits can stand there by chance, or because the truth is
					// told: a pitch, a count of rows.
					if truth.Value != nil && strings.HasSuffix(n, variant.TrueSuffix) {
						if digits := strconv.FormatFloat(float64(*truth.Value), 'g', -1, 64); len(digits) > 8 {
							mantissa, _, _ := strings.Cut(digits, "e")
							secrets = append(secrets, digits, strings.ReplaceAll(strings.TrimLeft(mantissa, "0."), ".", "")[:7])
						}
					}
				}
				for _, secret := range secrets {
					if strings.Contains(all, secret) {
						t.Errorf("student %s can read %q", s.ID, secret)
					}
				}
			}
		})
	}
}

// TestVaryBuilds builds students' folders as a student would: no errors, and
// the numbers of the key to the last digit.
func TestVaryBuilds(t *testing.T) {
	for _, name := range blocks.Built().MethodNames() {
		t.Run(name, func(t *testing.T) {
			v := vary(t, class(t, name, 3, "brass lamp", 0.7))
			for i := range v.Files {
				buildStudent(t, v, i)
			}
		})
	}
}

func buildStudent(t *testing.T, v *variant.Variants, i int) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range v.Files[i] {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	out, err := build.Record(filepath.Join(dir, "record.md"), build.Options{Kinds: blocks.All(), Library: blocks.Built(), Themes: builtThemes{}, Version: "0"})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range out.Findings {
		if f.Severity == finding.Error {
			t.Errorf("student %d: %s", i+1, f)
		}
	}
	if len(v.Key.Students[i].Results) == 0 {
		t.Errorf("student %d has no result", i+1)
	}
	for name, e := range v.Key.Students[i].Results {
		got := out.Results.Values[v.Key.Practical+"."+name]
		if got.Value != e.Value || got.Display != e.Shown || (got.Expanded == nil) != (e.Expanded == nil) || got.Expanded != nil && *got.Expanded != *e.Expanded {
			t.Errorf("student %d: %s is %s, the key has %s", i+1, name, got.Display, e.Shown)
		}
	}
}

type builtThemes struct{}

func (builtThemes) Names() []string                       { return themes.Names() }
func (builtThemes) Load(name string) (*page.Theme, error) { return themes.Load(name) }

// TestVaryTruths: without faults at least 99 % of the results lie within 4 u of
// their truths, and about 95 % within U. For 95 % the band allows what four
// standard deviations of a count of that size do, and for results of one
// student that are correlated, twice that.
func TestVaryTruths(t *testing.T) {
	for _, name := range []string{"stretched-wire", "cantilever-load", "torsion-pendulum"} {
		v := vary(t, class(t, name, 200, "grey heron", 0))
		n, within, covered := 0, 0, 0
		for _, s := range v.Key.Students {
			if len(s.Faults) > 0 {
				t.Fatalf("%s: student %s has a fault at rate 0", name, s.ID)
			}
			for result, e := range s.Results {
				truth, ok := s.Truth[result+variant.TrueSuffix]
				if !ok || e.U == nil {
					continue
				}
				if truth.Unit != e.Unit {
					t.Fatalf("%s: %s is in %s, its truth in %s", name, result, e.Unit, truth.Unit)
				}
				n++
				if math.Abs(float64(*truth.Value-e.Value)) <= 4*float64(*e.U) {
					within++
				}
				if e.Low <= *truth.Value && *truth.Value <= e.High {
					covered++
				}
			}
		}
		if n < 200 || float64(within) < 0.99*float64(n) {
			t.Errorf("%s: %d of %d results lie within 4 u of their truths", name, within, n)
		}
		if least := 0.95 - 2*4*math.Sqrt(0.95*0.05/float64(n)); float64(covered) < least*float64(n) {
			t.Errorf("%s: %d of %d truths lie within the tolerance", name, covered, n)
		}
	}
}

// TestVaryRate: the number of faults is binomial; four standard deviations of
// it are allowed.
func TestVaryRate(t *testing.T) {
	const n = 200
	for _, rate := range []float64{0.2, 1} {
		v := vary(t, class(t, "stretched-wire", n, "wet slate", rate))
		got := float64(v.Key.WithFaults())
		if math.Abs(got-rate*n) > 4*math.Sqrt(n*rate*(1-rate)) {
			t.Errorf("rate %g: %g of %d have a fault", rate, got, n)
		}
		kinds := map[string]int{}
		for _, s := range v.Key.Students {
			if len(s.Faults) > 1 {
				t.Errorf("student %s has %d faults", s.ID, len(s.Faults))
			}
			for _, f := range s.Faults {
				kinds[f.Kind+" "+f.Name]++
			}
		}
		if rate == 1 && len(kinds) < 15 {
			t.Errorf("only these faults occur: %v", kinds)
		}
	}
}

// TestVaryFaultsAlone: at another rate those without a fault keep their
// readings, and a slip of recording changes the one reading that the key names.
func TestVaryFaultsAlone(t *testing.T) {
	clean, spoilt := vary(t, class(t, "stretched-wire", 60, "wet slate", 0)), vary(t, class(t, "stretched-wire", 60, "wet slate", 1))
	part := vary(t, class(t, "stretched-wire", 60, "wet slate", 0.3))
	singles := 0
	for i, s := range part.Key.Students {
		want := clean
		if len(s.Faults) > 0 {
			want = spoilt
		}
		if !maps.Equal(part.Files[i], want.Files[i]) {
			t.Errorf("student %s depends on the rate", s.ID)
		}
	}
	for i, s := range spoilt.Key.Students {
		if s.Struck == nil {
			continue
		}
		singles++
		changed := 0
		for name, text := range spoilt.Files[i] {
			was, is := strings.FieldsFunc(clean.Files[i][name], cut), strings.FieldsFunc(text, cut)
			for k := range is {
				if len(was) != len(is) {
					t.Fatalf("student %s: %s has another shape", s.ID, name)
				}
				if was[k] != is[k] {
					changed++
					if f := s.Faults[0]; was[k] != f.Was || is[k] != f.Is {
						t.Errorf("student %s: %s became %s, the key says %s for %s", s.ID, was[k], is[k], f.Is, f.Was)
					}
				}
			}
		}
		if changed != 1 {
			t.Errorf("student %s: %d readings changed", s.ID, changed)
		}
	}
	if singles < 5 {
		t.Errorf("only %d students have one wrong reading", singles)
	}
}

func cut(r rune) bool { return r == '\n' || r == ',' || r == ' ' }

// TestVaryStruck strikes the wrong reading in the student's file, as a student
// would, and compares with the key.
func TestVaryStruck(t *testing.T) {
	v := vary(t, class(t, "stretched-wire", 40, "oak gate", 1))
	tried := 0
	for i, s := range v.Key.Students {
		if s.Struck == nil {
			continue
		}
		tried++
		table, rest, _ := strings.Cut(s.Faults[0].Place, ".")
		column, row, _ := strings.Cut(rest, ", row ")
		n, err := strconv.Atoi(row)
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(v.Files[i][table+".csv"], "\n")
		for k, head := range strings.Split(lines[0], ", ") {
			if strings.HasPrefix(head, column+" ") {
				cells := strings.Split(lines[n], ", ")
				if cells[k] != s.Faults[0].Is {
					t.Fatalf("student %s: the cell is %s, the key says %s", s.ID, cells[k], s.Faults[0].Is)
				}
				cells[k] = "–"
				lines[n] = strings.Join(cells, ", ")
			}
		}
		v.Files[i][table+".csv"] = strings.Join(lines, "\n")
		v.Key.Students[i].Results = s.Struck
		if tried <= 4 {
			buildStudent(t, v, i)
		}
	}
	if tried < 4 {
		t.Errorf("only %d students have one wrong reading", tried)
	}
}

// TestVaryOwnMethod: a method of one's own lies beside the record, without what
// tells how readings came about; the record's questions come along.
func TestVaryOwnMethod(t *testing.T) {
	c := class(t, "stretched-wire", 4, "x", 0.5)
	c.Method, c.Own = source.NewFile("labs/spring.md", []byte(spring(t))), "spring.md"
	c.Record = record.Parse(source.NewFile("r.md", []byte("```question why marks=2\nWhy two springs?\n```\n\n```question of\nIs =[k] large?\n```\n")), block.KindNames(c.Kinds), &finding.Set{})
	v := vary(t, c)
	for i, files := range v.Files {
		if m := files["spring.md"]; !strings.Contains(m, "fit line") || strings.Contains(m, "k_true") || strings.Count(m, "```")%2 != 0 || strings.Contains(m, "stuck") {
			t.Errorf("student %d has this method:\n%s", i+1, m)
		}
		if r := files["record.md"]; !strings.Contains(r, "```question why marks=2\nWhy two springs?\n```\n") || strings.Contains(r, "=[k]") {
			t.Errorf("student %d has this record:\n%s", i+1, r)
		}
		buildStudent(t, v, i)
	}
}

// TestVaryRefuses: methods that cannot be simulated.
func TestVaryRefuses(t *testing.T) {
	text := spring(t)
	plain, _, _ := strings.Cut(text, "```simulate")
	for want, text := range map[string]string{
		"no-simulation": plain,
		"undefined":     strings.Replace(text, "x         = gravity", "x         = gravitas", 1),
	} {
		c := class(t, "stretched-wire", 2, "x", 0)
		c.Method, c.Own = source.NewFile("spring.md", []byte(text)), "spring.md"
		v, findings := variant.Vary(c)
		if v != nil || len(findings) == 0 || findings[0].Slug != want {
			t.Errorf("%s: %v %v", want, v, findings)
		}
	}
}

// TestKeyReadBack: a key is read back as it was written.
func TestKeyReadBack(t *testing.T) {
	text := keyText(t, vary(t, class(t, "spring-static", 5, "x", 1)))
	k, err := variant.ParseKey(text)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := k.Bytes(); err != nil || !bytes.Equal(again, text) {
		t.Errorf("another key is written: %v", err)
	}
	for _, bad := range []string{"", "{}", "[]", `{"taut":"0","method":"m"}`} {
		if _, err := variant.ParseKey([]byte(bad)); err == nil {
			t.Errorf("%q is taken for a key", bad)
		}
	}
}

// BenchmarkVary times a class of 200.
func BenchmarkVary(b *testing.B) {
	for b.Loop() {
		vary(b, class(b, "stretched-wire", 200, "grey heron", 0.2))
	}
}
