package blocks_test

import (
	"fmt"
	"html"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
)

// promised is a figure of the results file (see whole.get) and what it is when
// worked out by hand from the rule.
type promised struct {
	what string
	want float64
}

// rule is one promise of the record language, held to the letter by the
// smallest record that shows it.
type rule struct {
	section string // of the description of the record language
	rule    string // a few of its words
	record  string
	more    files // other files beside the record
	figures []promised
	// findings are all errors and cautions, and those notes that count, as
	// "line:col severity slug".
	findings []string
	says     []string // on the page
	silent   []string // not on the page
}

const (
	sq3  = 1.7320508075688772
	sq6  = 2.449489742783178
	sq12 = 3.4641016151377544
)

func calcOf(lines ...string) string {
	return "```calc\n" + strings.Join(lines, "\n") + "\n```\n"
}

const screwOf10 = "```instruments\nscrew:\n  pitch: 0.5 mm\n  divisions: 50\n  zero: +0.02 mm\n```\n"

var rules = []rule{
	{section: "2", rule: "half-width of a rectangular distribution",
		record:  calcOf("a = 2.914 m ± 1 mm", "b = 2.914 m +/- 1 mm", "c = (2.91 ± 0.01) m"),
		figures: []promised{{"u(a)", 1e-3 / sq3}, {"u(b)", 1e-3 / sq3}, {"u(c)", 1e-2 / sq3}}},
	{section: "2", rule: "triangular, arcsine, std, k=2",
		record:  calcOf("a = 2.914 m ± 1 mm triangular", "b = 2.914 m ± 1 mm arcsine", "c = 2.914 m ± 1 mm std", "d = 2.914 m ± 1 mm k=2", "e = 2.9140(6) m"),
		figures: []promised{{"u(a)", 1e-3 / sq6}, {"u(b)", 1e-3 / math.Sqrt2}, {"u(c)", 1e-3}, {"u(d)", 5e-4}, {"u(e)", 6e-4}}},
	{section: "2", rule: "degrees of freedom of that uncertainty",
		record:  calcOf("a = 2.914 m ± 1 mm k=2 dof=9", "b = 2.914 m ± 1 mm dof=9", "c = 2.914 m ± 1 mm"),
		figures: []promised{{"dof(a)", 9}, {"u(a)", 5e-4}, {"k(a)", 2.2621571627409915}, {"dof(b)", 9}, {"dof(c)", math.Inf(1)}, {"k(c)", 1.959963984540054}}},
	{section: "2, 8", rule: "relative to the value, but percentage points after a value in %",
		record:  calcOf("a = 2.914 m ± 0.5 % std", "b = 12 % ± 0.5 % std", "c = 0.12 ± 0.5 % std"),
		figures: []promised{{"u(a)", 2.914 * 0.005}, {"u(b)", 0.005}, {"u(c)", 0.12 * 0.005}}},
	{section: "8", rule: "Several ± are several sources",
		record:  calcOf("a = 2.914 m ± 1 mm ± 2 mm std", "b = 2.914(6) m ± 1 mm", "c = (2.91 ± 0.01) m ± 1 mm"),
		figures: []promised{{"u(a)", math.Sqrt(1e-6/3 + 4e-6)}, {"u(b)", math.Sqrt(36e-6 + 1e-6/3)}, {"u(c)", math.Sqrt(1e-4/3 + 1e-6/3)}}},
	{section: "8", rule: "an error that suggests brackets",
		record: calcOf("a = 2.91 ± 0.01 m"), findings: []string{"2:17 error limit-unit"}, says: []string{"write `(2.91 ± 0.01) m`"}},
	{section: "2", rule: "kgf, gf, lbf, psi, inch, ft, bar",
		record:  calcOf("a = 1 kgf", "b = 1 gf", "c = 1 inch", "d = 1 ft", "e = 1 bar", "f = 90 °", "g = 50 %"),
		figures: []promised{{"a", 9.80665}, {"b", 9.80665e-3}, {"c", 0.0254}, {"d", 0.3048}, {"e", 1e5}, {"f", math.Pi / 2}, {"g", 0.5}}},
	{section: "2", rule: "at most one /",
		record: calcOf("a = 1 N/m/s"), findings: []string{"2:7 error unit-slashes"}},
	{section: "2", rule: "a temperature; differences are in K",
		record:  calcOf("a = 20 °C", "b = 25 °C - a", "c = 20 °C ± 0.5 K std"),
		figures: []promised{{"a", 293.15}, {"b", 5}, {"u(c)", 0.5}}},
	{section: "2", rule: "an error with both origins, and suggests g",
		record:   calcOf("F = 3 N", "m = 2 kg", "a = F + m", "b = m in N"),
		findings: []string{"4:7 error unit-clash", "5:10 error unit-clash"}, says: []string{"`F` is in N", "`m` is in kg", "multiply it by `g`"}},
	{section: "3", rule: "in sets the display unit: a typed number too is converted",
		record:  calcOf("a = 1 bar in psi", "b = 2.5 m in mm", "c = 60 ° in rad") + "=[d in inch] =[d in m] =[d]\n\n" + calcOf("d = 2.540 m"),
		figures: []promised{{"a", 1e5}, {"b", 2.5}, {"c", math.Pi / 3}},
		says:    []string{"a = 14.50 psi", "b = 2500 mm", "c = 1.047 rad", "100 inch 2.540 m 2.540 m"}},
	{section: "8", rule: "−2^2 = −4; right-associative",
		record:  calcOf("a = −2^2", "b = 2^3^2", "c = 2^-1", "d = 6 / 2 / 3", "e = 2 * -3", "f = √4 + 3·4 × 2 − π + pi"),
		figures: []promised{{"a", -4}, {"b", 512}, {"c", 0.5}, {"d", 1}, {"e", -6}, {"f", 26}}},
	{section: "8", rule: "no space around this /; a spaced / is an operator",
		record:  calcOf("s = 4", "a = 6 m/s / 2", "b = 6 m / s", "c = 4.5 m^2"),
		figures: []promised{{"a", 3}, {"b", 1.5}, {"c", 4.5}}},
	{section: "8", rule: "Reserved: in as and or not if pi",
		record: calcOf("in = 1", "as = 1", "and = 1", "or = 1", "not = 1", "if = 1", "pi = 1"),
		findings: []string{"2:1 error name-reserved", "3:1 error name-reserved", "4:1 error name-reserved", "5:1 error name-reserved",
			"6:1 error name-reserved", "7:1 error name-reserved", "8:1 error name-reserved"}},
	{section: "8", rule: "no chains",
		record: calcOf("a = if(1 < 2 < 3, 1, 2)"), findings: []string{"2:14 error comparison-chain"}},
	{section: "8", rule: "NFC; µ = μ",
		record:  calcOf("\u00b5 = 3 \u00b5m", "a = \u03bc", "e\u0301 = 1", "b = \u00e9"),
		figures: []promised{{"a", 3e-6}, {"b", 1}}},
	{section: "1", rule: "defined exactly once, anywhere; order does not matter",
		record:   "=[b]\n\n" + calcOf("b = a", "c = d", "d = c", "e = gone") + calcOf("a = 1 m", "b = 2 m"),
		figures:  []promised{{"b", 1}},
		findings: []string{"5:1 error circle", "7:5 error undefined", "11:1 error defined-twice"}},
	{section: "1", rule: "An unknown key is a finding with the nearest known key",
		record: "---\ntittle: x\n---\n", findings: []string{"2:1 error unknown-key"}, says: []string{"did you mean `title`?"}},
	{section: "1", rule: "decimal, display only",
		record:  "---\ndecimal: comma\ncoverage: 99 %\ndigits: 1\n---\n" + calcOf("a = 3.14159 m ± 0.01 m std") + "=[a] ?[a = 3.14 m]\n",
		figures: []promised{{"a", 3.14159}, {"k(a)", 2.5758293035489004}},
		says:    []string{"(3,14 ± 0,03) m (99 %) a = 3,14 m"}},
	{section: "3", rule: "a cell – takes no part; a struck row is absent",
		record: screwOf10 + "```data t\nM / kg, y / mm @screw, z / mm @screw\n1, 3.12, 3.14\n~2, 9.99, 3.42 # slip\n3, 3.72, –\n4, -, 4.04\n5, 4.00, ~9.43 # pen\n```\n" +
			calcOf("n = count(t.y)", "N = rows(t.M)", "m = sum(t.y)", "r = sum(t.y.raw)", "p = last(pointmean(t.y, t.z))", "q = sum(t.y + t.z)", "k = count(t.z)"),
		figures: []promised{{"n", 3}, {"N", 4}, {"m", 0.01078}, {"r", 0.01084}, {"p", 0.00398}, {"q", 0.00622}, {"k", 2}}},
	{section: "3", rule: "A struck row needs a reason; an empty cell is an error",
		record:   "```data t\nx / mm, y / mm\n1, \n~2, 3\n4, 5\n```\n",
		findings: []string{"3:3 error empty-cell", "4:1 error no-reason"}},
	{section: "8", rule: "main scale + divisions, range-checked",
		record: screwOf10 + "```data t\nx / mm @screw\n3+12\n3.5+49\n```\n```data u\nx / mm @screw\n3.5+50\n```\n```data v\nx / mm @screw\n3.2+5\n```\n" +
			calcOf("a = sum(t.x.raw)"),
		figures:  []promised{{"a", 0.00711}},
		findings: []string{"14:1 error bad-divisions", "18:1 error bad-divisions"}},
	{section: "8", rule: "Cells accept 3.12(2) and 3.12 ± 0.02 std",
		record:  "```data t\nx / mm\n3.12(2)\n3.12 ± 0.03 std\n```\n" + calcOf("a = first(t.x)", "b = last(t.x)"),
		figures: []promised{{"u(a)", 2e-5}, {"u(b)", 3e-5}}},
	{section: "8", rule: "decimal commas with ; or tab between cells",
		record:  "```data t decimal=comma\nx / mm; y / kg\n3,12; 1,5\n```\n```data u decimal=comma\nx / mm\ty / kg\n3,12\t1,5\n```\n" + calcOf("a = sum(t.x)", "b = sum(u.y)"),
		figures: []promised{{"a", 3.12e-3}, {"b", 1.5}}},
	{section: "8", rule: "headings may be mapped; ~4 # reason strikes the file's row 4",
		record:  "```data t from=t.csv\nup / mm @g = loading\nM / kg = mass\n~2 # a slip\n```\n```instruments\ng:\n  resolution: 0.01 mm\n```\n" + calcOf("a = sum(t.up)", "b = sum(t.M)"),
		more:    files{"t.csv": "mass,loading\n1,3.1\n2,3.2\n3,3.3\n"},
		figures: []promised{{"a", 6.4e-3}, {"b", 4}, {"u(a)", 1e-5 / sq12 * math.Sqrt2}}},
	{section: "8", rule: "2.846 m @tape is one reading; never outside of the record's folder",
		record:  "```instruments\ntape:\n  resolution: 1 mm\n  zero: 1 mm\n```\n" + calcOf("L = 2.846 m @tape") + "```data t from=../t.csv\n```\n",
		figures: []promised{{"L", 2.845}, {"u(L)", 1e-3 / sq6}}, findings: []string{"9:16 error cannot-open"}},
	{section: "3", rule: "A list of zero readings: s/√n, and δ/√12 once",
		record:  "```instruments\nh:\n  resolution: 0.01 mm\n  zero: [0.01 mm, 0.02 mm, 0.01 mm]\n```\n" + calcOf("a = 0.51 mm @h"),
		figures: []promised{{"a", 0.51e-3 - 0.04e-3/3}, {"u(a)", math.Sqrt(2*1e-10/12 + 1e-10/9)}}},
	{section: "3", rule: "an error of indication, then scale",
		record:  "```instruments\nk:\n  resolution: 0.01 mm\n  zero: 0.02 mm\n  calibration: +0.003 mm ± 0.002 mm\n  scale: ± 0.1 %\n```\n" + calcOf("a = 1.50 mm @k"),
		figures: []promised{{"a", 1.477e-3}, {"u(a)", math.Sqrt(2*1e-10/12 + 4e-12/3 + math.Pow(1.477e-6, 2)/3)}}},
	{section: "8", rule: "the entry in force at the record's date; overdue is a caution",
		record: "---\ndate: 2026-06-01\n---\n```instruments\ns:\n  resolution: 0 mm\n  calibrations:\n    - date: 2025-01-01\n      calibration: ± 0.010 mm k=2\n    - date: 2026-02-01\n" +
			"      calibration: ± 0.004 mm k=2\n      due: 2026-05-01\n    - date: 2026-09-01\n      calibration: ± 0.020 mm k=2\n```\n" + calcOf("a = 1.00 mm @s"),
		figures: []promised{{"u(a)", 2e-6}}, findings: []string{"12:12 caution calibration-overdue"}},
	{section: "8", rule: "Keys merge; one key twice is an error",
		record:   "---\napparatus: app.yaml\n---\n```instruments\nb:\n  resolution: 0.1 g\na:\n  resolution: 0.1 g\n```\n" + calcOf("x = 1.0 g @a + 1.0 g @b"),
		more:     files{"app.yaml": "instruments:\n  a:\n    resolution: 0.1 g\n"},
		findings: []string{"7:1 error defined-twice"}},
	{section: "3", rule: "i (from 1) where ⌊(i−1)/n⌋ is even and both exist",
		record:  "```data t\nx / kg, y / mm\n1, 1\n2, 4\n3, 9\n4, –\n5, 25\n6, 36\n7, 49\n8, 64\n```\n" + calcOf("a = sum(pairs(t.y, 2))", "n = count(pairs(t.y, 2))", "b = sum(pairs(t.y, 2, t.x))", "c = sum(steps(t.y))", "d = count(steps(t.y))"),
		figures: []promised{{"a", (8 + 24 + 28) * 1e-3}, {"n", 3}, {"b", (4 + 12 + 14) * 1e-3}, {"c", (3 + 5 + 11 + 13 + 15) * 1e-3}, {"d", 5}}},
	{section: "8", rule: "over unequal spans is a note that proposes pairs(y, n, x)",
		record:   "```data t\nx / kg, y / mm\n1, 1\n~2, 2 # no\n3, 3\n4, 4\n5, 5\n6, 6\n7, 7\n```\n" + calcOf("a = mean(pairs(t.y, 3))"),
		findings: []string{"12:10 note unequal-spans"}, says: []string{"`pairs(t.y, 3, x)`"}},
	{section: "3", rule: "n = p: the floor, ν infinite, a caution",
		record:   "```data t\nx / kg, y / mm @g\n1, 2.1\n2, 3.9\n```\n```instruments\ng:\n  resolution: 0.1 mm\n```\n```fit l\ny: t.y\nx: t.x\n```\n" + calcOf("a = l.slope"),
		figures:  []promised{{"a", 1.8e-3}, {"u(a)", 1e-4 / sq12 * math.Sqrt2}, {"dof(a)", math.Inf(1)}},
		findings: []string{"10:8 caution no-freedom"}},
	{section: "3", rule: "model, weights, keys",
		record: "```data t\nx / kg, y / mm\n1, 2\n2, 3\n3, 5\n```\n```fit a\ny: t.y\nx: t.x\nmodle: straight\n```\n```fit b\ny: t.y\nx: t.x\nmodel: polynomial 11\n```\n" +
			"```fit c\ny: t.y\nx: t.x\nweights: some\n```\n```fit d\ny: t.y\n```\n",
		findings: []string{"10:1 error unknown-key", "15:8 error bad-value", "20:10 error bad-value", "22:4 error missing-key"}},
	{section: "3", rule: "The finding is made where the condition holds; row is its number",
		record:   "```data t\nx / mm\n1\n~9 # slip\n5\n```\n" + calcOf("a = 3 m") + "```checks\nfar: t.x > 4 mm | caution | =[t.x in mm] in row =[row]\nno: a > 5 m | error | never\nyes: a > 2 m | note | more than =[2 m]\n```\n",
		findings: []string{"5:1 caution far", "13:1 note yes"}, says: []string{"5 mm in row 3", "More than 2 m"}, silent: []string{"never"}},
	{section: "4", rule: "FORM: interval, concise, value, statement, sf, dp",
		record: calcOf("E = 197.3 GPa ± 4.1 GPa std dof=14") + "1 =[E] 2 =[E as concise] 3 =[E in Pa as concise] 4 =[E as value] 5 =[E as 2 sf] 6 =[E as 2 dp] 7 =[E as statement]\n",
		says: []string{"1 (197.3 ± 8.8) GPa (95 %) 2 197.3(41) GPa 3 1.973(41)×10^11 Pa 4 197.3 GPa 5 2.0×10^2 GPa 6 197.30 GPa 7 (197.3 ± 8.8) GPa, where",
			"k = 2.14", "14 degrees of freedom", "95 %"}},
	{section: "4", rule: "rounded half-even to the claim's own decimals",
		record:   calcOf("x = 0.125", "y = 2.5 m", "E = 197.3 GPa") + "?[x = 0.12] ?[y = 2 m] ?[E = 197 GPa] ?[E = 1.97×10^11 Pa] ?[y = 250 cm]\n?[x = 0.13]\n?[y = 3 m]\n?[E = 197 kg]\n?[E = 197(4) GPa]\n",
		findings: []string{"7:1 error wrong-claim", "8:1 error wrong-claim", "9:7 error unit-clash", "10:7 error claim-form"}, says: []string{"rounded alike: 0.12"}},
	{section: "4", rule: "a place to fill in: a note elsewhere",
		record: calcOf("T = 3.217 s") + "Here ?[T = ].\n", findings: []string{"4:6 note to-fill-in"}, says: []string{"to-fill-in"}},
	{section: "4", rule: "it has gone stale; nothing is read inside code",
		record:   calcOf("E = 197.3 GPa") + "E = 197 GPa, `E = 100 GPa`, `=[gone]`, \\=[gone] \\?[gone = 1] and\nE = 198 GPa\n\n    =[gone]\n\n~~~\n=[gone] E = 1 GPa\n~~~\n",
		findings: []string{"5:5 caution stale-number"}, says: []string{"=[gone] ?[gone = 1] and"}},
	{section: "3", rule: "print=no: compute, print nothing",
		record: "```calc print=no\na = 4711 m\n```\n", figures: []promised{{"a", 4711}}, silent: []string{"4711"}},
	{section: "3", rule: "every other fence is ordinary code",
		record: "```python\na = =[b]\n```\n```\nc = 1\n```\n", says: []string{"a = =[b]"}},
	{section: "8", rule: "An answer refers to its question; labels are no names",
		record:   "```calc a\na = 1 m\n```\n```question a\nWhy?\n```\n```answer a\nSo.\n```\n```answer b\nSo.\n```\n```question a\nHow?\n```\n```checks a\nq: a > 1 m | note | m\n```\n",
		findings: []string{"10:11 error no-question", "13:13 error defined-twice"}},
	{section: "3", rule: "Different reductions of shared cells: a caution; equal ones are one source",
		record: "```data t\nx / kg, y / mm @g\n1, 1.00\n2, 2.01\n3, 3.02\n4, 4.02\n```\n```instruments\ng:\n  resolution: 0.01 mm\n```\n```fit a\ny: t.y\nx: t.x\n```\n```fit b\ny: t.y\nx: t.x\n```\n" +
			calcOf("c = a.slope - b.slope", "d = mean(t.y) - mean(t.y)", "e = (a.slope + mean(pairs(t.y, 2, t.x))) / 2"),
		figures: []promised{{"u(c)", 0}, {"u(d)", 0}}, findings: []string{"23:5 caution shared-readings"}},
	{section: "3", rule: "En where both uncertainties are stated",
		record:  calcOf("E = 210 GPa ± 4 GPa std") + "```compare a\nof: E\nwith: 200 GPa ± 3 GPa std\n```\n```compare b\nof: E\nwith: 200 GPa\n```\n" + calcOf("n = a.En"),
		figures: []promised{{"n", 10 / (5 * 1.959963984540054)}}, says: []string{"5.0 %", "not assessable"}},
	{section: "8", rule: "k uses max(1, ⌊ν + 0.01⌋)",
		record:  calcOf("a = 1 m ± 1 mm std dof=3.995", "b = 1 m ± 1 mm std dof=3.98", "c = 1 m ± 1 mm std dof=1.2"),
		figures: []promised{{"k(a)", 2.7764451051977987}, {"k(b)", 3.182446305284263}, {"k(c)", 12.706204736432095}, {"dof(a)", 3.995}}},
	{section: "5", rule: "dependents say which name they wait for",
		record: calcOf("a = nope", "b = 2 * a") + "=[b]\n", findings: []string{"2:5 error undefined"}, says: []string{"waits for"}},
	{section: "methods", rule: "the block exists only if all those roles are bound",
		record: "```practical p method=./m.md\nlength = 3 m\n```\n",
		more: files{"m.md": "---\nmethod: m\ntitle: M\nversion: 1\nresults: E\n---\n```roles\nrole, takes, unit, absent, with, table, what\nlength, quantity, m, –, , , the length\nweight, quantity, N, optional, , , a weight\nextra, quantity, m, 2 * length, , , more\n```\n" +
			"## results\n```calc\nE = length + extra\n```\n```calc needs=weight\nw = weight\n```\n```calc lacks=weight\nw = 4 N\n```\n## checks\n```checks\ng: not given(weight) | note | no weight\n```\n"},
		figures: []promised{{"p.E", 9}, {"p.w", 4}}, findings: []string{"1:14 note g"}, silent: []string{"w = weight", "```"}},
}

// Each promise of the record language, to the letter.
func TestContract(t *testing.T) {
	for i, r := range rules {
		t.Run(fmt.Sprintf("%02d_%s", i, r.section), func(t *testing.T) {
			t.Log(r.rule)
			f := files{"record.md": r.record}
			for name, text := range r.more {
				f[name] = text
			}
			w := buildAnyway(t, f.write(t), 1)
			for _, x := range r.figures {
				got := w.get(x.what)
				if got != x.want && !(math.Abs(got-x.want) <= 1e-9*math.Max(math.Abs(x.want), 1e-12)) {
					t.Errorf("%s = %.15g, by hand %.15g", x.what, got, x.want)
				}
			}
			w.findsJust(r.findings)
			w.says(r.says...)
			// What is said of the record at its end is not what it shows.
			// Nor is its style.
			_, body, _ := strings.Cut(string(w.HTML), "</head>")
			text := html.UnescapeString(tag.ReplaceAllString(body, ""))
			for _, s := range r.silent {
				if strings.Contains(text, s) {
					t.Errorf("the page says %q", s)
				}
			}
		})
	}
}

// findsJust demands these findings and no other error or caution.
func (w *whole) findsJust(want []string) {
	w.t.Helper()
	open := map[string]bool{}
	for _, s := range want {
		open[s] = true
	}
	for _, f := range w.Findings {
		line, col := f.At.Position()
		s := fmt.Sprintf("%d:%d %s %s", line, col, f.Severity, f.Slug)
		if !open[s] && f.Severity != finding.Note {
			w.t.Errorf("unexpected: %s: %s", s, f.Message)
		}
		delete(open, s)
	}
	for _, s := range want {
		if open[s] {
			w.t.Errorf("missing: %s", s)
		}
	}
}
