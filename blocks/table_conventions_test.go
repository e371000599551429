package blocks_test

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/view"
)

var (
	readTable = regexp.MustCompile(`(?s)<div class="table read[^"]*" id="([^"]*)">.*?</table>`)
	headCell  = regexp.MustCompile(`(?s)<th scope="col"([^>]*)>(.*?)</th>`)
	bodyRow   = regexp.MustCompile(`(?s)<tr[^>]*>(.*?)</tr>`)
	bodyCell  = regexp.MustCompile(`(?s)<t[dh][^>]*class="([^"]*)"[^>]*>(.*?)</t[dh]>`)
	cellMark  = regexp.MustCompile(`<sup><a href="#finding[^>]*>!</a></sup> `) // leads to what was found about a reading
	decimals  = regexp.MustCompile(`^−?\d+(?:\.(\d+))?$`)
)

// TestTablesOfTheExamples holds the tables of readings of every practical to what
// markers look for: each column headed quantity / unit, the unit there and not in
// the cells, and all readings of a column by one instrument to the same number of
// decimal places. The criteria are those of the mark schemes of Cambridge
// International AS and A Level Physics 9702, paper 3, and of the practical
// handbook of AQA for A-level Physics (both from memory); SI Brochure 5.4.1 for the
// heading.
func TestTablesOfTheExamples(t *testing.T) {
	list, err := build.Records(filepath.FromSlash("../examples"))
	if err != nil {
		t.Fatal(err)
	}
	tables := 0
	for _, path := range list {
		if strings.Contains(filepath.ToSlash(path), "/manual/") {
			continue // chapters show what can be written, not a practical
		}
		page := string(buildWith(t, path, build.Options{View: view.AsWorked}).HTML)
		for _, m := range readTable.FindAllStringSubmatch(page, -1) {
			tables++
			for _, complaint := range tableFaults(cellMark.ReplaceAllString(m[0], "")) {
				t.Errorf("%s: %s: %s", filepath.ToSlash(path), m[1], complaint)
			}
		}
	}
	if tables < 20 {
		t.Errorf("only %d tables were looked at", tables)
	}
}

// tableFaults lists what a marker would fault in a table.
func tableFaults(table string) (out []string) {
	var numeric, headed []bool
	var heads []string
	for _, h := range headCell.FindAllStringSubmatch(table, -1) {
		text := plainText(h[2])
		isNumber := strings.Contains(h[1], "number")
		numeric, heads = append(numeric, isNumber), append(heads, text)
		headed = append(headed, strings.Contains(h[2], `class="unit"`) && strings.Contains(text, " / "))
	}
	places := make([]string, len(heads))
	_, body, _ := strings.Cut(table, "<tbody>")
	for _, row := range bodyRow.FindAllStringSubmatch(body, -1) {
		for i, cell := range bodyCell.FindAllStringSubmatch(row[1], -1) {
			text := plainText(cell[2])
			if i >= len(heads) || !numeric[i] || text == "–" {
				continue
			}
			m := decimals.FindStringSubmatch(strings.ReplaceAll(text, " ", ""))
			switch {
			case m == nil:
				out = append(out, "the cell "+text+" is no bare number")
			case !headed[i] && m[1] != "": // counts and numbers of places have none
				out = append(out, "the column "+heads[i]+" has no unit")
				headed[i] = true
			case places[i] == "":
				places[i] = strings.Repeat("0", len(m[1])) + "."
			case places[i] != strings.Repeat("0", len(m[1]))+".":
				out = append(out, "the readings "+heads[i]+" have not all as many decimals: "+text)
			}
		}
	}
	return out
}

func plainText(markup string) string {
	return strings.Join(strings.Fields(anyTag.ReplaceAllString(markup, "")), " ")
}

// TestTableFaultsAreSeen: each of the faults is found where it is.
func TestTableFaultsAreSeen(t *testing.T) {
	table := func(head, a, b string) string {
		return `<th scope="col" class="number">` + head + `</th><tbody><tr><td class="read number">` + a + `</td></tr><tr><td class="read number">` + b + `</td></tr></tbody>`
	}
	unit := `l <span class="per">/ <span class="unit">mm</span></span>`
	for name, c := range map[string]struct {
		text string
		n    int
	}{
		"right":        {table(unit, "1.20", "1.34"), 0},
		"a hole":       {table(unit, "1.20", "–"), 0},
		"no unit":      {table("l", "1.20", "1.34"), 1},
		"counts":       {table("n", "12", "13"), 0},
		"unit in cell": {table(unit, "1.20 mm", "1.34"), 1},
		"decimals":     {table(unit, "1.2", "1.34"), 1},
	} {
		if got := tableFaults(c.text); len(got) != c.n {
			t.Errorf("%s: %v", name, got)
		}
	}
}
