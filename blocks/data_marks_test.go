package blocks_test

import (
	"strings"
	"testing"
)

// TestCellsAreMarked: a cell that a check speaks of is marked in its table, and
// the message has the reading as it was typed, main scale and divisions as one
// number.
func TestCellsAreMarked(t *testing.T) {
	w := files{"record.md": "```instruments\nscrew: {pitch: 1 mm, divisions: 100, zero: 0.02 mm}\n```\n\n" +
		"```data pull\nup / mm @screw\n3.20\n3+30\n```\n\n```calc print=no\nas_read = raw(pull.up)\n```\n\n" +
		"```checks\nlow: as_read < 3.25 mm | caution | reads =[as_read], corrected =[pull.up in mm as 2 dp]\nhigh: as_read > 3.25 mm | note | reads =[as_read]\n```\n"}.build(t)
	w.says("Reads 3.20 mm, corrected 3.18 mm", "Reads 3.30 mm", "2 values, 3.20 to 3.30 mm")
	if !strings.Contains(string(w.HTML), `<sup><a href="#finding-low"`) {
		t.Error("the cell is not marked")
	}
}

// TestStruckCellsAreNamed: in what is worked out row by row a struck cell is
// told from one that was not read.
func TestStruckCellsAreNamed(t *testing.T) {
	w := files{"record.md": "```data pull\nup / mm, down / mm\n1, ~5 # misread\n2, –\n3, 4\n```\n\n```calc\ny = 2 * (pull.up + pull.down)\n```\n"}.build(t)
	w.says("struck, –, 14 mm")
}
