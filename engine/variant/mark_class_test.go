package variant_test

import (
	"strings"
	"testing"

	"example.org/taut/themes"
)

// TestClassPageLeads: the number of each student in the table of the class leads
// to the student's page, and marks stay on one line.
func TestClassPageLeads(t *testing.T) {
	k := handKey(t)
	m := mark(k, false, handClass(t, k)...)
	theme, err := themes.Load("")
	if err != nil {
		t.Fatal(err)
	}
	html, err := m.ClassPage("wire", theme)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range m.Sheets {
		if s.PageName() != "student-"+s.Student.ID+".html" {
			t.Errorf("%s: %s", s.Student.ID, s.PageName())
		}
		if want := `<a href="` + s.PageName() + `">` + s.Student.ID + `</a></th>`; strings.Count(string(html), want) != 1 {
			t.Errorf("no %s", want)
		}
		page, err := m.Page(s, theme)
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{string(html), string(page)} {
			if strings.Contains(text, " / 9</td>") || !strings.Contains(text, "\u00a0/\u00a09</td>") {
				t.Errorf("%s: marks can be broken", s.Student.ID)
			}
		}
	}
}
