package main

import (
	"os"
	"regexp"
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
	var b strings.Builder
	b.WriteString("| unit | name | quantity | in SI units | prefixes | source |\n| --- | --- | --- | --- | --- | --- |\n")
	for _, e := range unit.All() {
		symbol := "`" + e.Symbol + "`"
		if e.Also != "" {
			symbol += " or `" + e.Also + "`"
		}
		prefixes := "no"
		if e.Prefixes {
			prefixes = "yes"
		}
		b.WriteString("| " + strings.Join([]string{symbol, e.Name, dash(e.Quantity), e.Factor, prefixes, e.Source}, " | ") + " |\n")
	}
	generated(t, "units", "the units", b.String())
	b.Reset()
	b.WriteString("| prefix | factor |\n| --- | --- |\n")
	for _, p := range unit.Prefixes() {
		b.WriteString("| `" + p.Symbol + "` | 10^" + strconv.Itoa(p.Power) + " |\n")
	}
	generated(t, "units", "the prefixes", b.String())
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
				labels[s.Name] = s.Label
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
	b.WriteString("\nIts roles:\n\n| role | takes | unit | if it is not bound | what |\n| --- | --- | --- | --- | --- |\n")
	for _, r := range m.Roles {
		b.WriteString(cells("`"+r.Name+"`", r.Takes, asCode(r.Unit), absent(&r), dash(r.What)))
	}
	b.WriteString("\nIts checks:\n\n| check | severity | what it says |\n| --- | --- | --- |\n")
	said := map[string]bool{} // one check may stand under each of several bindings
	for _, c := range checks {
		if row := cells("`"+c.Slug+"`", c.Severity, insert.ReplaceAllString(c.Message.Text(), "…")); !said[row] {
			said[row] = true
			b.WriteString(row)
		}
	}
	return b.String()
}

// absent is what stands in the place of a role that is not bound.
func absent(r *method.Role) string {
	if rest, ok := strings.CutPrefix(need(r), "else "); ok {
		return asCode(rest)
	}
	return need(r)
}

func asCode(s string) string {
	if s == "" {
		return dash(s)
	}
	return "`" + s + "`"
}

// insert is a computed value within a message, which has no number here.
var insert = regexp.MustCompile(`=\[[^\]]*\]`)

func cells(list ...string) string {
	for i, c := range list {
		list[i] = strings.ReplaceAll(strings.Join(strings.Fields(c), " "), "|", `\|`)
	}
	return "| " + strings.Join(list, " | ") + " |\n"
}

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
	b.WriteString("```text\n" + c.usage() + "\n```\n\n" + c.told() + "\n")
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
