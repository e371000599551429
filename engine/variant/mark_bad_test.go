package variant_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/page"
	"example.org/taut/engine/source"
	"example.org/taut/engine/variant"
	"example.org/taut/themes"
)

func listed(name, text string) variant.Submission {
	return variant.Submission{Name: name, List: source.NewFile(name, []byte(text))}
}

// TestBadLists: what is wrong in a list is told at its place, and the rest is
// marked.
func TestBadLists(t *testing.T) {
	const good = `001, 0.500 mm, 0.196 mm^2, 1.20 mm, 416 GPa`
	for _, c := range []struct {
		name, text string
		marks      string // of the students in order; "" for nobody
		want       []string
	}{
		{"good.csv", "id, d, area, x, E\n" + good, "001:9", nil},
		{"spreadsheet.csv", "\uFEFFid;d;area;x;E\r\n1;0.500 mm;0.196 mm^2;1.20 mm;416 GPa\r\n", "001:9", nil},
		{"heading.csv", "id, d / mm, area / mm^2, x / mm, E / GPa\n1, 0.500, 0.196, 1.20, 416", "001:9", nil},
		{"uncertain.csv", "id, d, area, x, E\n1, 0.500(13) mm, 0.196 mm^2 ± 0.010 mm^2, 1.20 mm, (416 ± 20) GPa", "001:9", nil},
		{"comma.csv", "id; d; area; x; E\n1; 0,500 mm; 0.196 mm^2; 1.20 mm; 416 GPa", "001:7", []string{"comma.csv:2:4: error: decimal-comma"}},
		{"comma2.csv", "id, d, area, x, E\n1, 0,500 mm, 0.196 mm^2, 1.20 mm, 416 GPa\n002, 0.500 mm, –, –, –", "002:2", []string{"comma2.csv:2:1: error: ragged-row"}},
		{"extra.csv", "id, d, area, x, E, rho\n" + good + ", 7.9 g/cm^3", "001:9", []string{"extra.csv:1:20: caution: not-asked"}},
		{"renamed.csv", "id, d, aera, x, E\n" + good, "001:7", []string{"did you mean `area`?"}},
		{"words.csv", "id, d, area, x, E\n001, half a mm, 0.196 mm^2, 1.20 mm, 416 GPa", "001:7", []string{"words.csv:2:6: error:"}},
		{"unit.csv", "id, d, area, x, E\n001, 0.500 mmm, 0.196 mm^2, 1.20 mm, 416 GPa", "001:8", []string{"words"}},
		{"twice.csv", "id, d, area, x, E\n" + good + "\n" + good, "001:9", []string{"twice.csv:3:1: error: student-twice"}},
		{"unknown.csv", "id, d, area, x, E\n" + good + "\n099, 0.500 mm, –, –, –", "001:9", []string{"unknown.csv:3:1: error: unknown-student: the key has no student `099`"}},
		{"noid.csv", "d, area\n0.5 mm, 0.196 mm^2", "", []string{"noid.csv:1:1: error: list-form: the list has no column `id`"}},
		{"emptyid.csv", "id, d\n, 0.5 mm", "", []string{"emptyid.csv:2:1: error: list-form"}},
		{"empty.csv", "", "", []string{"error: list-form"}},
		{"head.csv", "id, d, d\n001, 0.5 mm, 0.4 mm", "001:2", []string{"head.csv:1:8: error: defined-twice"}},
		{"quote.csv", "id, d\n001, \"0.5 mm\n", "", []string{"unclosed-quote"}},
		{"long.csv", "id, name, value\n001, d, 0.500 mm\n1, E, 416 GPa\n001, d, 0.4 mm\n001, q, 3 m\n, d, 1 m", "001:6", []string{"claimed-twice", "long.csv:5:6: caution: not-asked", "long.csv:6:1: error: list-form"}},
		{"cut.json", `[{"id": "001", "values": {"d": "0.500 mm"`, "", []string{"cut.json:1:41: error: bad-json: this can't be read as JSON: unexpected end of JSON input"}},
		{"none.json", `not JSON`, "", []string{"error: bad-json"}},
		{"tail.json", `{"id": "001", "values": {"d": "0.500 mm"}} x`, "", []string{"error: bad-json"}},
		{"form.json", "{\n\"id\": \"001\",\n\"E\": \"416 GPa\"}", "", []string{"form.json:3:1: error: list-form: `E` is not expected here", "form.json:1:1: error: list-form: a student needs `id` and `values`"}},
		{"good.json", `{"id": 1, "values": {"d": "0.500 mm", "area": 1.96e-7, "x": null, "E": "416 GPa", "E": "417 GPa"}}`, "001:7", []string{"claimed-twice"}},
		{"odd.json", `{"id": "001", "values": {"d": ["0.5 mm"], "E": "4\u00316 GPa"}}`, "001:4", []string{"odd.json:1:31: error: list-form: `d` is no number"}},
		{"comma.json", `{"id": "001", "values": {"d": "0,500 mm"}}`, "001:0", []string{"comma.json:1:32: error: decimal-comma"}},
		{"zero.json", `[]`, "", []string{"list-form: the list holds no student"}},
		{"zeros.csv", "id, d, area, x, E\n001, 0 mm, 0 mm^2, 0 mm, 0 GPa", "001:0", nil},
		{"coarse.csv", "id, d, area, x, E\n001, 0e3 mm, 0e3 mm^2, 0e1 mm, 0e3 GPa", "001:0", nil},
		{"huge.csv", "id, d, area, x, E\n001, 1e300 mm, 1e-300 mm^2, 1e9999 mm, -416 GPa", "001:0", nil},
		{"instrument.csv", "id, d\n001, 0.500 mm @gauge", "001:2", nil},
		{"formula.csv", "id, d\n001, =1+1", "001:0", []string{"formula.csv:2:6: error"}},
	} {
		m := mark(handKey(t), false, listed(c.name, c.text))
		var got []string
		for _, s := range m.Sheets {
			n, _ := s.Marks()
			got = append(got, fmt.Sprintf("%s:%d", s.Student.ID, n))
		}
		if strings.Join(got, " ") != c.marks {
			t.Errorf("%s: marks %v, not %s", c.name, got, c.marks)
			for _, s := range m.Sheets {
				for _, j := range s.Values {
					t.Logf("  %s %s %d %v", j.Point.Name, j.Claim, j.Got, j.Words)
				}
			}
		}
		var b bytes.Buffer
		if err := finding.WriteText(&b, m.Findings); err != nil {
			t.Fatal(err)
		}
		for _, w := range c.want {
			if w == "words" {
				w = "error: unknown-unit"
			}
			if !strings.Contains(b.String(), w) {
				t.Errorf("%s: no finding %q in\n%s", c.name, w, b.String())
			}
		}
		if c.want == nil && c.name != "huge.csv" && len(m.Findings) > 0 {
			t.Errorf("%s: findings\n%s", c.name, b.String())
		}
	}
}

// TestBadRecords: records that are edited, another's, or broken.
func TestBadRecords(t *testing.T) {
	all := map[string]string{"d": "0.500 mm", "area": "0.196 mm^2", "x": "1.20 mm", "E": "416 GPa"}
	for _, c := range []struct {
		name  string
		edit  func(text string) string
		marks int
		want  []string
	}{
		{"as it is", func(s string) string { return s }, 9, nil},
		{"another title and spaces", func(s string) string {
			return strings.Replace(strings.Replace(s, "# A wire under one load", "---\ntitle: mine\n---\n# Mine", 1), "0.49\n", "  0.490  \n", 1)
		}, 9, nil},
		{"edited", func(s string) string { return strings.Replace(s, "1.22\n", "1.20\n", 1) }, 9, []string{"edited-reading: the reading pull.by, row 1 is `1.20`, given out was `1.22`"}},
		{"removed row", func(s string) string { return strings.Replace(s, "1.22\n", "", 1) }, 9, []string{"removed-reading: row 1 of `pull` is gone"}},
		{"added row", func(s string) string { return strings.Replace(s, "1.22\n", "1.22\n1.21\n", 1) }, 9, []string{"added-reading: row 2 of `pull`"}},
		{"another constant", func(s string) string { return strings.Replace(s, "9.8 m/s^2", "9.9 m/s^2", 1) }, 9, []string{"edited-record: worked out as handed in, `E` is"}},
		{"wider limits", func(s string) string { return strings.Replace(s, "± 0.002 m", "± 0.9 m", 1) }, 9, []string{"edited-record"}},
		{"a broken block", func(s string) string { return strings.Replace(s, "load    = 5 kg", "load    = 5 kgg", 1) }, 9, []string{"error: unknown-unit", "edited-record: worked out as handed in, `E` is nothing"}},
		{"no table", func(s string) string { return strings.Replace(s, "```data pull", "```deta pull", 1) }, 0, []string{"other-readings"}},
		{"all other readings", func(s string) string {
			return strings.NewReplacer("0.49\n", "0.61\n", "0.51\n", "0.62\n", "1.22\n", "1.5\n", "1.18\n", "1.6\n").Replace(s)
		}, 0, []string{"error: other-readings: this is handed in as student 001, but 4 of 8 readings"}},
		{"struck without reason", func(s string) string { return strings.Replace(s, "1.22\n", "~1.22\n", 1) }, 9, []string{"no-reason"}},
		{"a comma", func(s string) string { return strings.Replace(s, "416 GPa", "416,0 GPa", 1) }, 5, []string{"decimal-comma"}},
		{"a claim of nothing", func(s string) string { return s + "\n?[E_2 = 3 m] ?[q] ?[ = 3]\n" }, 9, []string{"not-asked"}},
		{"twice", func(s string) string { return s + "\n?[E = 420 GPa]\n" }, 9, []string{"claimed-twice"}},
		{"empty", func(string) string { return "" }, 0, []string{"other-readings"}},
	} {
		k := handKey(t)
		s := k.Students[0]
		text := c.edit(fill(s.Files["record.md"], "plain_wire", all))
		m := mark(k, false, handedIn("student-001/record.md", "001", map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]}))
		var b bytes.Buffer
		if err := finding.WriteText(&b, m.Findings); err != nil {
			t.Fatal(err)
		}
		if got, _ := m.Sheets[0].Marks(); got != c.marks {
			t.Errorf("%s: %d marks, not %d\n%s", c.name, got, c.marks, b.String())
			for _, j := range m.Sheets[0].Values {
				t.Logf("  %s %s %d %v", j.Point.Name, j.Claim, j.Got, j.Words)
			}
		}
		for _, w := range c.want {
			if !strings.Contains(b.String(), w) {
				t.Errorf("%s: no finding %q in\n%s", c.name, w, b.String())
			}
		}
		if c.want == nil && len(m.Findings) > 0 {
			t.Errorf("%s:\n%s", c.name, b.String())
		}
	}
}

// TestAlteredMethod: a student's own copy of the method does not count.
func TestAlteredMethod(t *testing.T) {
	k := handKey(t)
	s := k.Students[0]
	text := fill(s.Files["record.md"], "plain_wire", map[string]string{"E": "832 GPa"})
	m := mark(k, false, handedIn("student-001/record.md", "001", map[string]string{"record.md": text, "wire.md": strings.Replace(s.Files["wire.md"], "load * gravity", "2 * load * gravity", 1)}))
	if got, _ := m.Sheets[0].Marks(); got != 0 || len(m.Findings) == 0 || m.Findings[0].Slug != "edited-record" {
		t.Errorf("%d marks, %v", got, m.Findings)
	}
}

// TestOtherReadings: the readings of another student earn nothing, unless the
// teacher says so; a folder that names nobody is known by its readings.
func TestOtherReadings(t *testing.T) {
	v := vary(t, class(t, "spring-static", 4, "moor", 0))
	a, b := &v.Key.Students[0], &v.Key.Students[1]
	s := submission(v.Key, b, perfect(t, v.Key, b))
	s.ID = a.ID
	m := mark(v.Key, false, s)
	if got, _ := m.Sheets[0].Marks(); got != 0 || m.Sheets[0].Refused == "" || m.Findings[0].Slug != "other-readings" {
		t.Errorf("%d marks, %q, %v", got, m.Sheets[0].Refused, m.Findings)
	}
	m = mark(v.Key, true, s)
	if got, of := m.Sheets[0].Marks(); got != of || m.Sheets[0].Student.ID != a.ID || len(m.Sheets[0].Remarks) == 0 {
		t.Errorf("lenient: %d of %d", got, of)
	}
	s.ID = ""
	m = mark(v.Key, false, s)
	if got, of := m.Sheets[0].Marks(); got != of || m.Sheets[0].Student.ID != b.ID {
		t.Errorf("by its readings: %d of %d for %s", got, of, m.Sheets[0].Student.ID)
	}
	other := vary(t, class(t, "spring-static", 4, "heath", 0))
	m = mark(other.Key, false, s)
	if len(m.Sheets) != 0 || m.Findings[0].Slug != "unknown-student" {
		t.Errorf("another class: %v", m.Findings)
	}
	s.ID = a.ID
	m = mark(other.Key, true, s)
	if got, _ := m.Sheets[0].Marks(); got != 0 || m.Findings[0].Slug != "other-readings" {
		t.Errorf("another class, lenient: %d, %v", got, m.Findings)
	}
}

// TestOtherVersions: keys of other engines and other versions of the method.
func TestOtherVersions(t *testing.T) {
	v := vary(t, class(t, "spring-static", 1, "moor", 0))
	v.Key.Taut, v.Key.Version = "9", 7
	m := mark(v.Key, false)
	if len(m.Findings) != 2 || m.Findings[0].Slug != "other-version" || m.Findings[1].Slug != "other-version" {
		t.Errorf("%v", m.Findings)
	}
	r := v.Key.Students[0].Results["k"]
	r.Value *= 1.01
	v.Key.Students[0].Results["k"] = r
	m = mark(v.Key, false, submission(v.Key, &v.Key.Students[0], nil))
	if !strings.Contains(fmt.Sprint(m.Findings), "key-differs") {
		t.Errorf("%v", m.Findings)
	}
}

// TestParseKeyBad: what is no key is told.
func TestParseKeyBad(t *testing.T) {
	for text, want := range map[string]string{
		"":   "unexpected end",
		"{}": "this is no answer key",
		`{"taut": "0", "method": "m", "students": []}`:                                                                     "no marking points",
		`{"taut": "0", "method": "m", "points": [], "students": [{"id": "../x", "folder": "a"}]}`:                          "not named by letters",
		`{"taut": "0", "method": "m", "points": [], "students": [{"id": "1", "folder": "a"}, {"id": "1", "folder": "b"}]}`: "stands twice",
	} {
		if _, err := variant.ParseKey([]byte(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// FuzzLists reads lists of any text, and makes their pages.
func FuzzLists(f *testing.F) {
	f.Add("id, d, area, x, E\n001, 0.500 mm, 0.196 mm^2, 1.20 mm, 416 GPa", false)
	f.Add("id, name, value, unit\n1, d, 0.5, mm\n", false)
	f.Add(`[{"id": "001", "values": {"d": "0.5 mm", "E": 4e11}}]`, true)
	f.Add(`{"id": 1, "values": {"d": null}} `, true)
	f.Add("id;d\n001;\"0,5 mm\"", false)
	k := handKey(f)
	theme, err := themes.Load("")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string, json bool) {
		name := "l.csv"
		if json {
			name = "l.json"
		}
		check(t, mark(k, false, listed(name, text)), theme)
	})
}

// FuzzRecords marks records of any text.
func FuzzRecords(f *testing.F) {
	k := handKey(f)
	s := k.Students[0]
	f.Add(fill(s.Files["record.md"], "plain_wire", map[string]string{"E": "416 GPa"}))
	f.Add("```data pull\nby / mm\n~1.2\n```\n?[E = 3 GPa marks=2]")
	f.Add("?[d = 1e999 mm] ?[E=] ?[area = (3 ± 1) m^2]")
	theme, err := themes.Load("")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		check(t, mark(k, true, handedIn("student-001/record.md", "001", map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]})), theme)
	})
}

// check holds a marking to what is always so, and makes all that is made of it.
func check(t *testing.T, m *variant.Marked, theme *page.Theme) {
	t.Helper()
	for _, s := range m.Sheets {
		for _, j := range s.Values {
			sum := 0
			for _, p := range j.Parts {
				sum += p.Got
			}
			if sum != j.Got || j.Got < 0 || j.Got > j.Point.Marks || j.Got > 0 && j.Claim == "" {
				t.Errorf("%s: %d of %d for %q", j.Point.Name, j.Got, j.Point.Marks, j.Claim)
			}
		}
		if _, err := m.Page(s, theme); err != nil {
			t.Error(err)
		}
	}
	if _, err := m.ClassPage("x", theme); err != nil {
		t.Error(err)
	}
	if _, err := m.CSV(); err != nil {
		t.Error(err)
	}
	if err := m.WriteText(&bytes.Buffer{}); err != nil {
		t.Error(err)
	}
}
