package variant_test

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
)

func testFile(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "marking", name))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// handKey is the key of six students, all with the readings of given.md but the
// last, one of whose readings has half a millimetre too much.
func handKey(t testing.TB) *variant.Key {
	k := &variant.Key{Taut: "0", Method: "plain-wire", Version: 1, Practical: "plain_wire", Seed: "paper", Order: []string{"E", "d", "area", "x"}}
	for _, p := range []struct {
		name  string
		marks int
	}{{"d", 2}, {"area", 2}, {"x", 1}, {"E", 4}} {
		k.Points = append(k.Points, variant.Point{Name: "plain_wire." + p.name, Kind: variant.PointValue, Marks: p.marks})
	}
	for _, id := range []string{"001", "002", "003", "004", "005", "006"} {
		s := variant.Student{ID: id, Folder: "student-" + id, Files: map[string]string{"record.md": testFile(t, "given.md"), "wire.md": testFile(t, "wire.md")}}
		if id == "006" {
			s.Files["record.md"] = strings.Replace(s.Files["record.md"], "1.20\n1.20\n```", "1.20\n1.70\n```", 1)
			s.Faults = []variant.Injected{{Name: "half_millimetre", Kind: "recording", What: "half a millimetre misread", Place: "pull.by, row 4", Was: "1.20", Is: "1.70"}}
		}
		k.Students = append(k.Students, s)
	}
	return k
}

// table reads a small comma-separated table of the test data.
func handTable(t testing.TB, name string) []map[string]string {
	var head []string
	var out []map[string]string
	for _, line := range strings.Split(testFile(t, name), "\n") {
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, ",")
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if head == nil {
			head = cells
			continue
		}
		row := map[string]string{}
		for i, h := range head {
			row[h] = cells[i]
		}
		out = append(out, row)
	}
	return out
}

func handedIn(name, id string, files map[string]string) variant.Submission {
	f := map[string]*source.File{}
	for n, text := range files {
		f[n] = source.NewFile(n, []byte(text))
	}
	return variant.Submission{Name: name, ID: id, Record: f["record.md"], Files: variant.Memory(f)}
}

// fill writes claims into the places of a record.
func fill(text, practical string, claims map[string]string) string {
	for name, value := range claims {
		text = strings.Replace(text, "?["+practical+"."+name+" = marks", "?["+practical+"."+name+" = "+value+" marks", 1)
	}
	return text
}

func mark(k *variant.Key, lenient bool, list ...variant.Submission) *variant.Marked {
	return variant.Mark(variant.Marking{Key: k, Submissions: list, Kinds: blocks.All(), Library: blocks.Built(), Version: "0", Lenient: lenient})
}

// handClass is the six submissions as records.
func handClass(t testing.TB, k *variant.Key) []variant.Submission {
	var out []variant.Submission
	for i, row := range handTable(t, "submissions.csv") {
		s := k.Students[i]
		claims := map[string]string{}
		for _, n := range []string{"d", "area", "x", "E"} {
			if row[n] != "–" {
				claims[n] = row[n]
			}
		}
		text := fill(s.Files["record.md"], "plain_wire", claims)
		if s.ID == "006" {
			text = strings.Replace(text, "1.70\n", "~1.70 # half a millimetre misread on the sleeve\n", 1)
		}
		out = append(out, handedIn(s.Folder+"/record.md", s.ID, map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]}))
	}
	return out
}

// TestSixByHand compares the marking of six submissions, mark for mark and
// limit for limit, with one that was worked out on paper:
// testdata/marking/README.md.
func TestSixByHand(t *testing.T) {
	k := handKey(t)
	m := mark(k, false, handClass(t, k)...)
	for _, f := range m.Findings {
		t.Errorf("%s", f)
	}
	if len(m.Sheets) != 6 {
		t.Fatalf("%d sheets", len(m.Sheets))
	}
	want := handTable(t, "marks.csv")
	i := 0
	for _, s := range m.Sheets {
		for _, j := range s.Values {
			row := want[i]
			i++
			name := strings.TrimPrefix(j.Point.Name, "plain_wire.")
			got := map[string]string{"id": s.Student.ID, "point": name, "how": j.Way(), "from": dash(j.Low), "to": dash(j.High), "own from": dash(j.OwnLow), "own to": dash(j.OwnHigh), "value": "–", "unit": "–", "figures": "–"}
			for _, p := range j.Parts {
				what := p.What
				if what == "value with unit" {
					what = "value"
				}
				got[what] = strconv.Itoa(p.Got)
			}
			for key, w := range row {
				if got[key] != w {
					t.Errorf("%s %s: %s is %s, on paper %s (%s)", row["id"], row["point"], key, got[key], w, strings.Join(j.Words, "; "))
				}
			}
		}
	}
	if f := m.Sheets[5].Faults; len(f) != 1 || !f[0].Noticed {
		t.Errorf("the fault: %+v", f)
	}
	for id, words := range map[int]string{2: "was g left out", 3: "1/1000 times"} {
		if got := strings.Join(m.Sheets[id].Values[3].Words, "; "); !strings.Contains(got, words) {
			t.Errorf("E of %s: %s", m.Sheets[id].Student.ID, got)
		}
	}
	sum := m.Summary()
	if total := []float64{9, 7, 3, 4, 7, 3}; sum.Mean != mean(total) || sum.Median != 5.5 {
		t.Errorf("mean %v, median %v", sum.Mean, sum.Median)
	}
}

func mean(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s / float64(len(x))
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
