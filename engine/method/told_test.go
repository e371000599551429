package method_test

import (
	"strings"
	"testing"

	"example.org/taut/engine/method"
)

// TestToldQuantities: what a student is told stands in the record as a teacher
// would write it, the readings come of the unrounded truth, and what a plan
// holds is not rounded.
func TestToldQuantities(t *testing.T) {
	cases := []struct{ roleUnit, simulated, want string }{
		{"Pa", "1177941145.75 * 1 Pa", "strength = 1.178 GPa"},
		{"Pa", "611178175.016 * 1 Pa", "strength = 611.2 MPa"},
		{"Pa", "0.5 * 2.4 GPa", "strength = 1.2 GPa"},
		{"m/s^2", "0.99787 * 9.80665 m/s^2", "strength = 9.786 m/s^2"},
		{"m/s^2", "9.812443 m/s^2", "strength = 9.812443 m/s^2"}, // typed by the method's author
		{"N/m", "2 * 4.222668 N/m", "strength = 8.445 N/m"},
		{"kg", "2 * 0.0000412345 kg", "strength = 82.47 mg"},
		{"m", "-2 * 0.00001 m", "strength = -20 μm"},
		{"m", "2 * 30000 mm", "strength = 60 m"},
		{"m", "0 * 1 m", "strength = 0 m"},
		{"1", "2 * 0.123456", "strength = 0.2469"},
		{"1", "2 * 61728.3", "strength = 123500"},
		{"K", "2 * 10.123456 K", "strength = 20.25 K"},
	}
	for _, c := range cases {
		role := "| strength | quantity | " + strings.TrimPrefix(c.roleUnit, "1") + " | optional | | | |\n~~~\n"
		text := strings.Replace(head, "| steady  | yesno    |      | yes      |       |                        | |\n~~~\n",
			"| steady  | yesno    |      | yes      |       |                        | |\n"+role, 1)
		m := parse(t, text+strings.Replace(springs, "steady    = no\n", "steady    = no\nstrength  = "+c.simulated+"\n", 1))
		s, findings := m.Simulate(3, nil, false)
		if s == nil {
			t.Errorf("%s: %v", c.simulated, findings)
			continue
		}
		record := m.Scaffold("./spring.md", s)[method.RecordName]
		if !strings.Contains(record, c.want+"\n") {
			t.Errorf("%s: the record lacks %q:\n%s", c.simulated, c.want, record)
		}
	}
}

// TestLooseColumnsStandWithTheirReadings: simulated columns for which no table
// is suggested stand in the rows of the readings, so that to strike a row
// strikes all that was read then; and they are bound there.
func TestLooseColumnsStandWithTheirReadings(t *testing.T) {
	text := strings.Replace(head, "| steady  | yesno    |      | yes      |       |                        | |\n",
		"| steady  | yesno    |      | yes      |       |                        | |\n| time    | columns  | s    | optional |       |                        | |\n", 1)
	m := parse(t, text+strings.Replace(springs, "steady    = no\n", "steady    = no\ntime_1    = seq(0 s, 60 s, 4)\ntime_2    = seq(300 s, 60 s, 4)\n", 1))
	s, findings := m.Simulate(3, nil, false)
	if s == nil {
		t.Fatal(findings)
	}
	files := m.Scaffold("./spring.md", s)
	if _, apart := files["readings.csv"]; apart {
		t.Error("the times stand apart from the readings")
	}
	if head, _, _ := strings.Cut(files["pull.csv"], "\n"); !strings.Contains(head, "time_1 / s, time_2 / s") {
		t.Errorf("pull.csv begins with %q", head)
	}
	if !strings.Contains(files[method.RecordName], "= pull.time_1, pull.time_2\n") {
		t.Errorf("the times are bound elsewhere:\n%s", files[method.RecordName])
	}
}

// TestStudentSheet: what a student is told stays on an empty sheet, what was
// read does not; and the method's own answers are in no student's record.
func TestStudentSheet(t *testing.T) {
	role := "| steady  | yesno    |      | yes      |       |                        | |\n"
	text := strings.Replace(head, role, role+"| g       | quantity | m/s^2 | 9.8 m/s^2 |      |                        | |\n", 1)
	m := parse(t, text+strings.Replace(springs, "steady    = no\n", "steady    = no\ng         = 9.81 m/s^2\n", 1)+
		"## results\nIt is stiff.\n## questions\n~~~question why\nWhy?\n~~~\n~~~answer why\nSo.\n~~~\n")
	of := func(s *method.Simulated) string { return m.Scaffold("./spring.md", s)[method.RecordName] }
	record := of(simulate(t, m, 3, nil, false))
	if !strings.Contains(record, "```calc given=yes\ng = 9.81 m/s^2\n```\n\n```calc\nmass = ") {
		t.Errorf("what is told does not stand apart:\n%s", record)
	}
	if strings.Contains(record, "part spring.questions") || !strings.Contains(record, "method=./spring.md print=no\n") {
		t.Errorf("the method's answers are in a student's record:\n%s", record)
	}
	plan := simulate(t, m, 3, nil, true)
	plan.Planning = true
	for what, s := range map[string]*method.Simulated{"a plan": plan, "an unread record": nil} {
		if text := of(s); !strings.Contains(text, "part spring.questions") || strings.Contains(text, "print=no") {
			t.Errorf("%s lacks the questions:\n%s", what, text)
		}
	}
}
