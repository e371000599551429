package blocks_test

import (
	"strings"
	"testing"
)

// TestInstrumentsInWords: the page says in words what is typed in short, and
// sets names apart from what they stand for.
func TestInstrumentsInWords(t *testing.T) {
	w := files{
		"record.md": "---\napparatus: f.yaml\n---\n```data air from=air.csv\n```\n\n```data known given=yes\nx / mm\n1.0\n```\n",
		"air.csv":   "up / mm @air_gauge, down / mm @screw\n1.00, 1.01\n",
		"f.yaml": "apparatus: frame 9\nidentity: F-9\ninstruments:\n" +
			"  air_gauge:\n    what: gauge, *old*\n    resolution: 0.01 mm\n    zero: 0.02 mm\n    calibration: +0.003 mm ± 0.004 mm k=2 dof=9\n    scale: +/- 0.05 % std\n" +
			"  screw: {resolution: 0.01 mm, zero: 0.01 mm, each: ± 0.01 mm triangular}\n",
	}.build(t)
	w.says("Instruments of frame 9 (F-9)", "gauge, old (air_gauge)",
		"+0.003 mm ± 0.004 mm, expanded (k = 2), 9 degrees of freedom; scale ± 0.05 %, standard uncertainty", "each ± 0.01 mm, triangular limits",
		"the zero of the air gauge and of the screw.", "Readings air, from the file air.csv", "Given values known")
	if !strings.Contains(string(w.HTML), "<code>air_gauge</code>)") {
		t.Error("the name is not set as code")
	}
}
