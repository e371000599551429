package variant_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

// typed is what a student would write for a value of the key: the value to four
// figures of its expanded uncertainty's place, in another unit where one is
// given.
func typed(t testing.TB, e variant.Expected, in string) string {
	t.Helper()
	un := unit.MustParse(in)
	v, half := un.FromSI(float64(e.Value)), 0.0
	if e.Expanded != nil {
		half = un.Difference().FromSI(float64(*e.Expanded))
	}
	text := strconv.FormatFloat(v, 'g', 10, 64)
	if half > 0 {
		exp := math.Floor(math.Log10(half)) - 1 // the second digit of U
		text = fmt.Sprintf("%ve%d", math.Round(v/math.Pow(10, exp)), int(exp))
	}
	if in == "1" {
		return text
	}
	return text + " " + in
}

// perfect are the claims of a student who has everything right.
func perfect(t testing.TB, k *variant.Key, s *variant.Student) map[string]string {
	out := map[string]string{}
	for _, p := range k.Points {
		name := strings.TrimPrefix(p.Name, k.Practical+".")
		if e, ok := s.Results[name]; ok && p.Kind == variant.PointValue {
			out[name] = typed(t, e, e.Unit)
		}
	}
	return out
}

func submission(k *variant.Key, s *variant.Student, claims map[string]string) variant.Submission {
	files := map[string]string{}
	for n, text := range s.Files {
		files[n] = text
	}
	files["record.md"] = fill(files["record.md"], k.Practical, claims)
	return handedIn(s.Folder+"/record.md", s.ID, files)
}

// markedMethods are methods of which whole classes are marked.
var markedMethods = []string{"stretched-wire", "spring-static", "cantilever-load", "torsion-pendulum"}

// TestPerfectAndEmpty: who has all right has all marks, in whatever unit; who
// hands nothing in has none; 30 students of four methods, with faults.
func TestPerfectAndEmpty(t *testing.T) {
	for _, name := range markedMethods {
		v := vary(t, class(t, name, 30, "grey heron", 0.4))
		var all, none []variant.Submission
		for i := range v.Key.Students {
			s := &v.Key.Students[i]
			all = append(all, submission(v.Key, s, perfect(t, v.Key, s)))
			none = append(none, submission(v.Key, s, nil))
		}
		for _, s := range mark(v.Key, false, all...).Sheets {
			got, of := s.Marks()
			if got != of || of == 0 || len(s.Values) < 2 {
				for _, j := range s.Values {
					if j.Got < j.Point.Marks {
						t.Errorf("%s %s: %s = %s, %s: %v", name, s.Student.ID, j.Point.Name, j.Claim, j.Expected, j.Words)
					}
				}
				t.Errorf("%s %s: %d of %d", name, s.Student.ID, got, of)
			}
			if len(s.Findings) > 0 {
				t.Errorf("%s %s: %s", name, s.Student.ID, s.Findings[0])
			}
		}
		for _, s := range mark(v.Key, false, none...).Sheets {
			if got, _ := s.Marks(); got != 0 {
				t.Errorf("%s %s: %d for nothing", name, s.Student.ID, got)
			}
		}
	}
}

// TestWrongStepUsedRightly puts a wrong value at each step on which another
// one rests, and gives to all that rests on it what follows: only the marks of
// that step are lost.
func TestWrongStepUsedRightly(t *testing.T) {
	for _, c := range []struct {
		method, step string
		law          map[string]float64 // the powers by which the results go with the step
	}{
		{"stretched-wire", "slope", map[string]float64{"E": -1}},
		{"stretched-wire", "d", map[string]float64{"area": 2, "E": -2, "stress": -2}},
		{"stretched-wire", "area", map[string]float64{"E": -1, "stress": -1}},
		{"spring-static", "slope", map[string]float64{"k": -1, "F0": 0}},
		{"cantilever-load", "slope", map[string]float64{"E": -1}},
	} {
		v := vary(t, class(t, c.method, 6, "pale heron", 0))
		tried := 0
		for i := range v.Key.Students {
			s := &v.Key.Students[i]
			claims := perfect(t, v.Key, s)
			e, ok := s.Results[c.step]
			if claims[c.step] == "" || !ok {
				continue
			}
			const factor = 1.37
			wrong := e
			wrong.Value *= factor
			claims[c.step] = typed(t, wrong, e.Unit)
			first, _ := strconv.ParseFloat(strings.Fields(claims[c.step])[0], 64)
			for name, power := range c.law {
				if claims[name] == "" || power == 0 {
					continue
				}
				r := s.Results[name]
				r.Value *= results.Float(math.Pow(first/float64(e.Value), power))
				claims[name] = typed(t, r, r.Unit)
			}
			tried++
			m := mark(v.Key, false, submission(v.Key, s, claims))
			for _, j := range m.Sheets[0].Values {
				name := strings.TrimPrefix(j.Point.Name, v.Key.Practical+".")
				want := j.Point.Marks
				if name == c.step {
					want = 0
				}
				if j.Got != want {
					t.Errorf("%s, wrong %s: %s = %s has %d, not %d: %v", c.method, c.step, name, j.Claim, j.Got, want, j.Words)
				}
				if power, follows := c.law[name]; follows && power != 0 && j.Way() != "o" {
					t.Errorf("%s, wrong %s: %s is %s: %v", c.method, c.step, name, j.Way(), j.Words)
				}
			}
		}
		if tried == 0 {
			t.Errorf("%s: no step %s was marked", c.method, c.step)
		}
	}
}

// marksOf are the marks of a class, by student and point.
func marksOf(m *variant.Marked) map[string][]int {
	out := map[string][]int{}
	for _, s := range m.Sheets {
		for _, j := range s.Values {
			out[s.Student.ID] = append(out[s.Student.ID], j.Got)
		}
	}
	return out
}

func same(a, b map[string][]int) bool { return fmt.Sprint(a) == fmt.Sprint(b) }

// TestMarksHold: prefixes of units, the order of submissions, the order of
// claims, and the form in which numbers come change no mark.
func TestMarksHold(t *testing.T) {
	k := handKey(t)
	list := handClass(t, k)
	want := marksOf(mark(k, false, list...))
	back := slices.Clone(list)
	slices.Reverse(back)
	if got := marksOf(mark(k, false, back...)); !same(got, want) {
		t.Errorf("in another order: %v, not %v", got, want)
	}
	other := handClass(t, k)
	for i := range other {
		text := string(other[i].Record.Text)
		head, tail, _ := strings.Cut(text, "- `d`:")
		lines := strings.Split(strings.TrimSpace("- `d`:"+tail), "\n")
		slices.Reverse(lines)
		other[i].Record = source.NewFile("record.md", []byte(head+strings.Join(lines, "\n")+"\n"))
	}
	if got := marksOf(mark(k, false, other...)); !same(got, want) {
		t.Errorf("claims in another order: %v, not %v", got, want)
	}
	// The right units in other sizes: students 001, 002, 005 have right ones.
	prefixed := handClass(t, k)
	for _, i := range []int{0, 1, 4} {
		text := string(prefixed[i].Record.Text)
		text = replaceClaims(text, "mm^2 marks", "e-6 m^2 marks", " GPa marks", "e3 MPa marks", "mm marks", "e3 µm marks")
		prefixed[i].Record = source.NewFile("record.md", []byte(text))
	}
	if got := marksOf(mark(k, false, prefixed...)); !same(got, want) {
		t.Errorf("other prefixes: %v, not %v", got, want)
	}
	// A list shows no strikes, and is marked on the better of the two.
	csv := variant.Submission{Name: "all.csv", List: source.NewFile("all.csv", []byte(testFile(t, "submissions.csv")))}
	if got := marksOf(mark(k, false, csv)); !same(got, want) {
		t.Errorf("as a list: %v, not %v", got, want)
	}
	var long strings.Builder
	long.WriteString("id, name, value\n")
	type student struct {
		ID     string            `json:"id"`
		Values map[string]string `json:"values"`
	}
	var all []student
	for _, row := range handTable(t, "submissions.csv") {
		s := student{row["id"], map[string]string{}}
		for _, n := range []string{"E", "x", "d", "area"} {
			fmt.Fprintf(&long, "%s, %s, %s\n", row["id"], n, row[n])
			s.Values[n] = row[n]
		}
		all = append(all, s)
	}
	if got := marksOf(mark(k, false, variant.Submission{Name: "l.csv", List: source.NewFile("l.csv", []byte(long.String()))})); !same(got, want) {
		t.Errorf("as a long list: %v, not %v", got, want)
	}
	text, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	if got := marksOf(mark(k, false, variant.Submission{Name: "l.json", List: source.NewFile("l.json", text)})); !same(got, want) {
		t.Errorf("as JSON: %v, not %v", got, want)
	}
}

// replaceClaims puts claims in another unit: "0.500 mm marks" becomes
// "0.500e3 µm marks"; one that has an exponent already is left.
func replaceClaims(text string, pairs ...string) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		for j := 0; j < len(pairs); j += 2 {
			if strings.Contains(line, "?[") && strings.Contains(line, " "+strings.TrimSpace(pairs[j])) {
				lines[i] = strings.Replace(line, " "+strings.TrimSpace(pairs[j]), pairs[j+1], 1)
				break
			}
		}
	}
	return strings.Join(lines, "\n")
}

// TestPagesSame: pages and tables have the same bytes each time.
func TestPagesSame(t *testing.T) {
	k := handKey(t)
	theme, err := themes.Load("")
	if err != nil {
		t.Fatal(err)
	}
	bytesOf := func(list []variant.Submission) []byte {
		m := mark(k, false, list...)
		var b bytes.Buffer
		if err := m.WriteText(&b); err != nil {
			t.Fatal(err)
		}
		table, err := m.CSV()
		if err != nil {
			t.Fatal(err)
		}
		page, err := m.ClassPage("x", theme)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(table)
		b.Write(page)
		for _, s := range m.Sheets {
			if page, err = m.Page(s, theme); err != nil {
				t.Fatal(err)
			}
			b.Write(page)
		}
		return b.Bytes()
	}
	list := handClass(t, k)
	first := bytesOf(list)
	slices.Reverse(list)
	if !bytes.Equal(first, bytesOf(list)) {
		t.Error("another order, other bytes")
	}
}
