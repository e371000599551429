package variant_test

import (
	"fmt"
	"strings"
	"testing"
)

// TestRoughReadings: where a wrong reading is not struck the uncertainty is
// greater than the value, and slips are wrong all the same.
func TestRoughReadings(t *testing.T) {
	k := handKey(t)
	s := &k.Students[0]
	s.Files["record.md"] = strings.Replace(s.Files["record.md"], "0.51\n0.50\n", "0.51\n5.00\n", 1)
	// d = (0.49 + 0.50 + 0.51 + 5.00)/4 = 1.625 mm, U = 3.18 × 1.125 = 3.6 mm.
	for claim, want := range map[string]int{"1.625 mm": 2, "1.5 mm": 2, "3.25 mm": 0, "0.8125 mm": 0, "2.07 mm": 0, "0 mm": 0, "0.17 mm": 0, "-1.6 mm": 0} {
		text := fill(s.Files["record.md"], "plain_wire", map[string]string{"d": claim})
		m := mark(k, false, handedIn("a/record.md", "001", map[string]string{"record.md": text, "wire.md": s.Files["wire.md"]}))
		if j := m.Sheets[0].Values[0]; j.Got != want {
			t.Errorf("d = %s: %d, not %d: %v, expected %s", claim, j.Got, want, j.Words, j.Expected)
		}
	}
}

// TestReadingsOfSeveral: readings that several students have are nobody's.
func TestReadingsOfSeveral(t *testing.T) {
	k := handKey(t)
	s := handClass(t, k)[0]
	s.ID = ""
	m := mark(k, false, s)
	if len(m.Sheets) != 0 || !strings.Contains(fmt.Sprint(m.Findings), "unknown-student") {
		t.Errorf("%d sheets, %v", len(m.Sheets), m.Findings)
	}
}
