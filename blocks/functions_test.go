package blocks_test

import (
	"regexp"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// The functions and settings that diagnostics are made of, by numbers worked
// out by hand.
func TestDiagnosticFunctions(t *testing.T) {
	const table = "```instruments\ns:\n  resolution: 0.01 mm\n  zero: +0.5 mm\n```\n" +
		"```data t\nx / kg, a / mm @s, b / mm @s, o, c / mm\n0, 1.00, 2.00, 1, 1\n1, 2.00, 3.00, 3, –\n2, 3.00, 4.00, 2, 3\n3, 4.00, 5.00, 4, 4\n```\n"
	// One line through both columns: the line of the row means, each ½ mm off.
	const one = "```fit f\ny: [t.a, t.b]\nx: t.x\nintercepts: one\n```\n"
	for _, c := range []struct{ name, blocks, condition string }{
		{"one intercept", one, "f.intercept == 1 mm and f.slope == 1 mm/kg and f.dof == 6"},
		{"an added term", one, "abs(f.added(columns(0 * t.o, 1 + 0 * t.o)) - 1 mm) < 1e-9 mm"},
		{"an added term of the model", one, "f.added(t.x) == 0 mm/kg and f.added_t(t.x) == 0"},
		// Of y = x with 1 mm more from the third reading in order: rows 1, 3, 2, 4 come in that order, so rows 2 and 4.
		{"a step in an order", "```calc\ny = t.a + if(t.o > 2, 1 mm, 0 mm)\n```\n```fit f\ny: y\nx: t.x\norder: t.o\n```\n", "abs(f.jump - 1 mm) < 1e-9 mm and f.jump_at == 3 and f.jump_row == 2"},
		{"the last place", "", "digit(t.a) == 0.01 mm and digit(t.c) == 1 mm and default(digit(2 * t.a), 7 mm) == 7 mm"},
		{"as read", "", "all(raw(t.a) == t.a + 0.5 mm) and all(raw(t.x) == t.x)"},
		{"columns beside each other", "", "count(columns(t.a, t.b)) == 8"},
		// Tables of Student's t: 2.228 for 95 % and 10 degrees of freedom (common practice).
		{"a tail of t", "", "abs(tp(2.228, 10) - 0.05) < 0.00005 and tp(-2.228, 10) == tp(2.228, 10)"},
		{"a default that is not needed", "", "default(resolution(t.a), 1 m) == 0.01 mm"},
		{"a default that is", "", "default(resolution(t.c), 1 m) == 1 m"},
		{"a default of a cell that was not read", "", "default(nth(t.c, 2), 0 mm) == 0 mm"},
		{"a default fills no hole of a column", "", "min(default(t.c, 0 mm)) == 1 mm and count(default(t.c, 0 mm)) == 3"},
	} {
		list := findingsOf(table + c.blocks + "```checks\nholds: " + c.condition + " | caution | yes\n```\n")
		found, text := false, []string{}
		for _, f := range list {
			found = found || f.Slug == "holds"
			text = append(text, f.String())
		}
		if !found {
			t.Errorf("%s: %s does not hold\n%s", c.name, c.condition, strings.Join(text, "\n"))
		}
	}
	for _, c := range []struct{ blocks, slug string }{
		{"```fit f\ny: t.a\nx: t.x\nintercepts: two\n```\n", "bad-value"},
		{"```fit f\ny: t.a\nx: t.x\norder: [t.o, t.o]\n```\n", "wrong-argument"},
		{"```fit f\ny: t.a\nx: t.x\n```\n```calc\nz = f.added(columns(t.x, t.x))\n```\n", "wrong-size"},
		{"```calc\nz = default(nothing, 1)\n```\n", "undefined"},
	} {
		found, text := false, []string{}
		for _, f := range findingsOf(table + c.blocks) {
			found = found || f.Slug == c.slug
			text = append(text, f.String())
		}
		if !found {
			t.Errorf("%s: no %s\n%s", c.blocks, c.slug, strings.Join(text, "\n"))
		}
	}
}

// TestMultiplesOfAngles: a number times an angle is an angle in its unit, the
// ratio of two angles is a number, and so is a length times an angle a length.
func TestMultiplesOfAngles(t *testing.T) {
	const record = "```calc\na = 30°\nb = 2 * a\nc = a * 2\nd = a / 2\ne = a / 1°\nf = 50 * 4 %\ng = 1 m * a\nh = 5 % * a\ni = a * a\n```\n\n" +
		"[[b=[b] c=[c] d=[d] e=[e] f=[f] g=[g] h=[h]]]\n"
	page := files{"record.md": record}.page(t, view.AsRecord)
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, "")
	line := text[strings.Index(text, "[[")+2 : strings.Index(text, "]]")]
	if want := "b60° c60° d15° e30 f2 g0.5236 m h1.5°"; strings.ReplaceAll(line, "\u00a0", " ") != want {
		t.Errorf("got %q, want %q", line, want)
	}
}
