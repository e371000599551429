package variant_test

import (
	"fmt"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/variant"
)

// rowsOf takes a table file apart: its heading and its rows.
func rowsOf(text string) (head string, rows []string) {
	lines := strings.SplitAfter(strings.TrimSuffix(text, "\n")+"\n", "\n")
	lines = lines[:len(lines)-1]
	for i, l := range lines {
		if strings.HasPrefix(l, "#") || strings.TrimSpace(l) == "" {
			continue
		}
		return strings.Join(lines[:i+1], ""), lines[i+1:]
	}
	return text, nil
}

func placedSlugs(list []*finding.Finding) string {
	var out []string
	for _, f := range list {
		out = append(out, fmt.Sprintf("%s:%s", f.At.File.Name, f.Slug))
	}
	return strings.Join(out, " ")
}

// TestFolderDecides: a student whose folder says who it is and whose other
// tables are as they were given out is marked on those, whatever became of one
// table; each table that lost its rows is told once, at its file.
func TestFolderDecides(t *testing.T) {
	v := vary(t, class(t, "stretched-wire", 4, "moor", 0))
	a, b := &v.Key.Students[0], &v.Key.Students[1]
	head, rows := rowsOf(a.Files["pull.csv"])
	wireHead, wireRows := rowsOf(a.Files["wire.csv"])
	if len(rows) < 5 || len(wireRows) < 3 {
		t.Fatalf("%d and %d rows", len(rows), len(wireRows))
	}
	for _, c := range []struct {
		name   string
		change map[string]string // "" for a file that is not there
		marked bool
		told   string
	}{
		{"one row", map[string]string{"pull.csv": head + rows[2]}, true, "pull.csv:removed-reading"},
		{"renamed", map[string]string{"pull.csv": "", "pulls.csv": a.Files["pull.csv"]}, true, "record.md:removed-reading"},
		{"one row, again and again", map[string]string{"pull.csv": head + strings.Repeat(rows[0], len(rows))}, true, "pull.csv:edited-reading"},
		{"a row twice", map[string]string{"pull.csv": a.Files["pull.csv"] + rows[len(rows)-1]}, true, "pull.csv:added-reading"},
		{"another's", map[string]string{"pull.csv": b.Files["pull.csv"]}, false, "record.md:other-readings"},
		{"no wire", map[string]string{"wire.csv": wireHead}, true, "wire.csv:removed-reading"},
		{"a wire of one", map[string]string{"wire.csv": wireHead + wireRows[1]}, true, "wire.csv:removed-reading"},
		{"nothing", map[string]string{"wire.csv": wireHead, "pull.csv": head, "length.csv": "l / mm\n", "lengths.csv": "l / mm\n"}, false, "record.md:other-readings"},
	} {
		s := *a
		s.Files = map[string]string{}
		for n, text := range a.Files {
			s.Files[n] = text
		}
		for n, text := range c.change {
			if s.Files[n] = text; text == "" {
				delete(s.Files, n)
			}
		}
		m := mark(v.Key, false, submission(v.Key, &s, perfect(t, v.Key, a)))
		sheet := m.Sheets[0]
		got, of := sheet.Marks()
		if c.marked && (got != of || sheet.Refused != "") || !c.marked && (got != 0 || sheet.Refused == "") {
			t.Errorf("%s: %d of %d, %q", c.name, got, of, sheet.Refused)
		}
		if all := placedSlugs(sheet.Findings); !strings.Contains(all, c.told) || strings.Count(all, "removed-reading") > 1 {
			t.Errorf("%s: %s\n%v", c.name, all, sheet.Findings)
		}
	}
}

// TestFolderAlone: a folder's name alone is not enough: where the tables that
// are left are another's as much, or come from another class, nothing is
// marked, though the loads are the same for all.
func TestFolderAlone(t *testing.T) {
	for _, name := range []string{"spring-static", "stretched-wire"} {
		v, other := vary(t, class(t, name, 4, "moor", 0)), vary(t, class(t, name, 4, "heath", 0))
		for i := range v.Key.Students {
			s := submission(other.Key, &other.Key.Students[i], perfect(t, other.Key, &other.Key.Students[i]))
			m := mark(v.Key, false, s)
			if got, _ := m.Sheets[0].Marks(); got != 0 || m.Sheets[0].Refused == "" {
				t.Errorf("%s, %s of another class: %d marks", name, s.ID, got)
			}
		}
	}
	k := handKey(t) // all have the same readings
	k.Students = append([]variant.Student{}, k.Students[:5]...)
	s := k.Students[0]
	text := strings.NewReplacer("1.22\n", "", "1.18\n", "", "1.20\n", "").Replace(s.Files["record.md"])
	m := mark(k, false, handedIn("student-001/record.md", "001", map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]}))
	if m.Sheets[0].Refused == "" {
		t.Error("readings that all have are taken for one student's")
	}
}

// TestGoneWithTheFault: of a table that is gone it can't be seen whether its
// wrong reading was struck: numbers without it are right, as in a list, and the
// fault is left to the teacher.
func TestGoneWithTheFault(t *testing.T) {
	k := handKey(t)
	s := k.Students[5]
	s.Files["record.md"] = strings.Replace(s.Files["record.md"], "1.70\n", "3.70\n", 1) // so far off that its size matters
	all := map[string]string{"d": "0.500 mm", "area": "0.196 mm^2", "x": "1.20 mm", "E": "416 GPa"}
	for i := range k.Students { // every student has a wire of their own
		text := k.Students[i].Files["record.md"]
		k.Students[i].Files["record.md"] = strings.Replace(text, "0.51\n0.50\n```", fmt.Sprintf("0.51\n0.50\n0.5%d\n```", (i+1)%6), 1)
	}
	text := strings.Replace(fill(s.Files["record.md"], "plain_wire", all), "1.22\n1.18\n1.20\n3.70\n", "1.20\n", 1)
	m := mark(k, false, handedIn("student-006/record.md", "006", map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]}))
	sheet := m.Sheets[0]
	if got, of := sheet.Marks(); got != of || sheet.Refused != "" || len(sheet.Remarks) != 1 || !strings.Contains(sheet.Remarks[0], "pull.by, row 4") {
		t.Errorf("%d of %d, %q, %v\n%v", got, of, sheet.Refused, sheet.Remarks, sheet.Findings)
	}
	if f := sheet.Faults[0]; f.Noticed || !strings.Contains(f.Words, "does not show") {
		t.Errorf("%+v", f)
	}
}
