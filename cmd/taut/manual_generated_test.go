package main

import (
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plaintext"
	"example.org/taut/engine/unit"
)

// generated parts of the manual are written by the program: a heading, and
// what stands below it. With -update they are written anew.
func generated(t *testing.T, name, heading, want string) {
	t.Helper()
	path := "../../examples/manual/" + name + ".md"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	begin := "<!-- " + heading + ", from the program -->\n"
	end := "<!-- end -->\n"
	before, rest, ok := strings.Cut(string(text), begin)
	have, after, ended := strings.Cut(rest, end)
	if !ok || !ended {
		t.Fatalf("%s has no place for %s", path, heading)
	}
	want = "\n" + want + "\n"
	if have == want {
		return
	}
	if !*update {
		t.Errorf("%s: %s are not those of the program; write them with -update", path, heading)
		return
	}
	if err := os.WriteFile(path, []byte(before+begin+want+end+after), 0o666); err != nil {
		t.Fatal(err)
	}
}

// TestManualUnits holds the tables of units to those of the program.
func TestManualUnits(t *testing.T) {
	for prefixes, heading := range map[bool]string{true: "units with prefixes", false: "units without prefixes"} {
		var b strings.Builder
		b.WriteString("| unit | name (quantity) | in SI units | source |\n| --- | --- | --- | --- |\n")
		for _, e := range unit.All() {
			if e.Prefixes != prefixes {
				continue
			}
			symbol := "`" + e.Symbol + "`"
			if e.Also != "" {
				symbol += " or `" + e.Also + "`"
			}
			b.WriteString(cells(symbol, e.Name+" ("+dash(e.Quantity)+")", inSI(t, e), readable(e.Source)))
		}
		generated(t, "units", heading, b.String())
	}
	var b strings.Builder
	b.WriteString("| prefix | name | factor |\n| --- | --- | --- |\n")
	for _, p := range unit.Prefixes() {
		b.WriteString(cells("`"+p.Symbol+"`", p.Name, readable("10^"+strconv.Itoa(p.Power))))
	}
	generated(t, "units", "the prefixes", b.String())
}

// inSI is the size of a unit as one reads it. A ratio of long numbers is worked
// out to seven digits.
func inSI(t *testing.T, e unit.Entry) string {
	t.Helper()
	factor, si, _ := strings.Cut(e.Factor, " ")
	if strings.Contains(factor, "/") && !strings.Contains(factor, "π") {
		u, err := unit.Parse(e.Symbol)
		if err != nil {
			t.Fatal(err)
		}
		factor = strconv.FormatFloat(u.Factor(), 'g', 7, 64)
	}
	return readable(strings.TrimSpace(factor + "\u202f" + si))
}

var (
	tenth      = regexp.MustCompile(`([0-9])e([+-]?\d+)`)
	exponent   = regexp.MustCompile(`\^-?\d+`)
	longNumber = regexp.MustCompile(`(?:ISO )?\d{5,}`) // a standard has a number that is no quantity
	raised     = strings.NewReplacer("^", "", "-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
)

// readable has numbers and powers as the SI Brochure writes them (5.4.1, 5.4.4):
// digits in groups of three, exponents raised.
func readable(s string) string {
	s = tenth.ReplaceAllString(s, "$1\u202f×\u202f10^$2")
	s = exponent.ReplaceAllStringFunc(s, raised.Replace)
	for _, at := range slices.Backward(longNumber.FindAllStringIndex(s, -1)) {
		if strings.HasPrefix(s[at[0]:], "ISO") {
			continue
		}
		s = s[:at[0]] + inThrees(s[at[0]:at[1]], strings.HasSuffix(s[:at[0]], ".")) + s[at[1]:]
	}
	return s
}

// inThrees parts digits in groups of three, from the decimal point outwards.
func inThrees(digits string, behindPoint bool) string {
	first := len(digits) % 3
	if behindPoint || first == 0 {
		first = 3
	}
	out := digits[:first]
	for i := first; i < len(digits); i += 3 {
		out += "\u202f" + digits[i:min(i+3, len(digits))]
	}
	return out
}

func TestReadable(t *testing.T) {
	for s, want := range map[string]string{
		"149597870700 m":      "149 597 870 700 m",
		"0.45359237 kg":       "0.453 592 37 kg",
		"1.602176634e-19 J":   "1.602 176 634 × 10⁻¹⁹ J",
		"9.80665 m/s^2":       "9.806 65 m/s²",
		"ISO 80000-4":         "ISO 80000-4",
		"3rd CGPM 1901":       "3rd CGPM 1901",
		"10^-30":              "10⁻³⁰",
		"4.4482216152605 lbf": "4.448 221 615 260 5 lbf",
	} {
		if got := strings.ReplaceAll(readable(s), "\u202f", " "); got != want {
			t.Errorf("%s: %s, not %s", s, got, want)
		}
	}
}

// TestManualMethods holds the tables of methods to the methods' files.
func TestManualMethods(t *testing.T) {
	names := blocks.Built().MethodNames()
	lacks(t, "methods", names)
	for _, name := range names {
		generated(t, "methods", name, methodTables(t, name))
	}
}

func methodTables(t *testing.T, name string) string {
	f, _ := blocks.Built().Method(name)
	var set finding.Set
	m := read(f, &set)
	labels := map[string]string{}
	var checks []*formula.Condition
	for _, b := range m.Record.Blocks {
		switch b.Kind {
		case "calc":
			for _, s := range formula.ParseStatements(b.Body.Span, &set) {
				if had, again := labels[s.Name]; again {
					labels[s.Name] = agreed(had, s.Label)
				} else {
					labels[s.Name] = s.Label
				}
			}
		case "checks":
			checks = append(checks, formula.ParseConditions(b.Body.Span, &set)...)
		}
	}
	if n := set.Count(finding.Error); n > 0 || len(checks) == 0 {
		t.Errorf("%s: %d errors, %d checks", name, n, len(checks))
	}
	var b strings.Builder
	b.WriteString(m.Title + ".\n\n| result | what |\n| --- | --- |\n")
	for _, r := range m.Results {
		b.WriteString(cells("`"+r+"`", dash(labels[r])))
	}
	b.WriteString("\nIts roles:\n\n| role | what | takes |\n| --- | --- | --- |\n")
	for _, r := range m.Roles {
		b.WriteString(cells("`"+r.Name+"`", dash(r.What), taken(&r)))
	}
	b.WriteString("\nIts checks:\n\n| check | what it says |\n| --- | --- |\n")
	said := map[string]bool{} // one check may stand under each of several bindings
	for _, c := range checks {
		if row := cells("`"+c.Slug+"`", "*"+c.Severity+":* "+withoutNumbers(c.Message.Text())); !said[row] {
			said[row] = true
			b.WriteString(row)
		}
	}
	return b.String()
}

// agreed is what two labels of one result say alike, phrase by phrase; else the
// first. A result may be defined for each of several bindings.
func agreed(a, b string) string {
	first, second := strings.Split(a, ", "), strings.Split(b, ", ")
	n := 0
	for n < min(len(first), len(second)) && first[n] == second[n] {
		n++
	}
	same := first[:n:n]
	if n < min(len(first), len(second)) { // “diameter” and “diameter by weighing”
		for _, pair := range [][2]string{{first[n], second[n]}, {second[n], first[n]}} {
			if strings.HasPrefix(pair[1], pair[0]+" ") {
				same = append(same, pair[0])
			}
		}
	}
	if len(same) == 0 {
		return a
	}
	return strings.Join(same, ", ")
}

// TestAgreedLabel: the description of a result fits all bindings.
func TestAgreedLabel(t *testing.T) {
	for _, c := range []struct{ a, b, want string }{
		{"cross-section", "cross-section, by the micrometer alone", "cross-section"},
		{"density, as given", "density, from the handbook", "density"},
		{"diameter by weighing", "diameter", "diameter"},
		{"by the graph", "from the line", "by the graph"},
		{"period, of each timing", "period, of each timing", "period, of each timing"},
	} {
		if got := agreed(c.a, c.b); got != c.want {
			t.Errorf("%q and %q: %q, not %q", c.a, c.b, got, c.want)
		}
	}
}

// taken is what a role takes, and what stands in its place when it is not
// bound: "a column in `m`; needed".
func taken(r *method.Role) string {
	what := r.Takes
	if r.Unit != "" {
		what += " in `" + r.Unit + "`"
	}
	if rest, ok := strings.CutPrefix(need(r), "else "); ok {
		return what + "; else `" + rest + "`"
	}
	return what + "; " + need(r)
}

// insert is a computed value within a message, which has no number here.
var insert = regexp.MustCompile(`=\[[^\]]*\]`)

// withoutNumbers has … in the place of each computed value; one that ends a
// sentence needs no further dot.
func withoutNumbers(message string) string {
	return strings.ReplaceAll(insert.ReplaceAllString(message, "…"), "….", "…")
}

func cells(list ...string) string {
	for i, c := range list {
		list[i] = strings.ReplaceAll(strings.Join(strings.FieldsFunc(c, breakable), " "), "|", `\|`)
	}
	return "| " + strings.Join(list, " | ") + " |\n"
}

// breakable reports whether a line may be broken at a space: a narrow no-break
// space within a number stays.
func breakable(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }

// TestManualCommands: every command has a section that quotes its help.
func TestManualCommands(t *testing.T) {
	c := chapterNamed(t, "commands")
	for _, name := range commandNames() {
		if !strings.Contains(string(c.file.Text), "\n## `taut "+name+"`\n") {
			t.Errorf("examples/manual/commands.md has no section `taut %s`", name)
			continue
		}
		generated(t, "commands", "taut "+name, commandEntry(commands[name]))
	}
}

// option is an option as it stands in the words of a help.
var option = regexp.MustCompile("`[^`]*`|(?:^|[ (])--?[a-z][a-z-]*")

// commandEntry is the help of a command as the manual shows it: as words and a
// table, so that it fits a page of any width.
func commandEntry(c *command) string {
	var b strings.Builder
	b.WriteString(c.told() + "\n")
	if c.usage() != "taut "+c.name { // else the example above says it already
		b.WriteString("\n```text\n" + c.usage() + "\n```\n")
	}
	for _, p := range c.paragraphs() {
		if p.code {
			b.WriteString("\n```text\n" + regexp.MustCompile("(?m)^ +").ReplaceAllString(p.text, "") + "\n```\n")
			continue
		}
		b.WriteString("\n" + wrapped(option.ReplaceAllStringFunc(p.text, func(s string) string {
			if strings.HasPrefix(s, "`") {
				return s
			}
			at := strings.Index(s, "-")
			return s[:at] + "`" + s[at:] + "`"
		}), 120) + "\n")
	}
	for i, o := range c.options() {
		if i == 0 {
			b.WriteString("\n| option | what |\n| --- | --- |\n")
		}
		b.WriteString(cells("`"+o.typed()+"`", o.what))
	}
	return b.String()
}

// TestUsageLines: how a command is typed is said once for each option, in lines
// that end between options.
func TestUsageLines(t *testing.T) {
	for _, name := range commandNames() {
		c := commands[name]
		usage := c.usage()
		for _, line := range strings.Split(usage, "\n") {
			if len([]rune(line)) > usageWidth || strings.Count(line, "[") != strings.Count(line, "]") {
				t.Errorf("taut %s: this line is too long or ends within an option: %s", name, line)
			}
		}
		for _, o := range c.options() {
			if n := len(regexp.MustCompile(`[ \[]`+regexp.QuoteMeta(o.typed())+`(?:\]|\s|$)`).FindAllString(usage, -1)); n != 1 {
				t.Errorf("taut %s has `%s` %d times in\n%s", name, o.typed(), n, usage)
			}
		}
		for _, line := range strings.Split(c.help(), "\n") {
			if len([]rune(line)) > plaintext.Width {
				t.Errorf("taut help %s has a line of %d columns: %s", name, len([]rune(line)), line)
			}
		}
	}
	for _, line := range strings.Split(usage(), "\n") {
		if len([]rune(line)) > plaintext.Width {
			t.Errorf("taut help has a line of %d columns: %s", len([]rune(line)), line)
		}
	}
}
