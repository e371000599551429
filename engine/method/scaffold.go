package method

import (
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/record"
	"example.org/taut/engine/unit"
)

// The files of a new record.
const (
	RecordName    = "record.md"
	ApparatusName = "apparatus.yaml"
)

// Scaffold returns the files of a new record of the method, by their names: a
// record, an apparatus file and the data files. Every reading is still to be
// taken, or, where fill is not nil, is the simulated one. As is how the record
// names the method: its name where it is built in, else the path of its file
// as seen from the record.
func (m *Method) Scaffold(as string, fill *Simulated) map[string]string {
	l := &layout{method: m, as: as, fill: fill, shape: fill}
	if fill == nil {
		// The units in which the method's own simulation reads are those that
		// a reader would use.
		l.shape, _ = m.Simulate(1, nil, true)
	}
	l.tables = l.sheets()
	files := map[string]string{RecordName: l.record(), ApparatusName: l.apparatus()}
	for _, s := range l.tables {
		files[s.name+".csv"] = s.text()
	}
	return files
}

// PracticalName is the name of the practical in a new record: the method's
// name with what no name holds written as `_`.
func (m *Method) PracticalName() string {
	name := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' {
			return r
		}
		return '_'
	}, m.Name)
	if name == "" || !unicode.IsLetter([]rune(name)[0]) {
		name = "practical_" + name
	}
	for slices.ContainsFunc(m.Roles, func(r Role) bool { return m.takenBy(&r, name) }) {
		name += "_practical"
	}
	return name
}

// takenBy reports whether a role makes that name in a new record.
func (m *Method) takenBy(r *Role, name string) bool {
	names, _ := r.suggested()
	return r.Name == name || slices.ContainsFunc(names, func(c ColumnName) bool { return c.Table == name })
}

// layout is a new record in the making.
type layout struct {
	method *Method
	as     string
	fill   *Simulated // nil where the readings are still to be taken
	shape  *Simulated // tells units and instruments; nil for none
	tables []*sheet
}

// given are the columns or quantities that the simulation has for a role.
func (l *layout) given(r *Role) []eval.Value {
	if l.fill == nil {
		return nil
	}
	return members(l.fill.Roles[r.Name])
}

// inTable reports whether a role has columns in the data blocks.
func (l *layout) inTable(r *Role) bool {
	if names, _ := r.suggested(); len(names) == 0 {
		return false
	}
	if l.fill != nil {
		return len(l.given(r)) > 0
	}
	return r.Needed() || len(r.Columns) > 0
}

// inCalc reports whether a role is a line of calc.
func (l *layout) inCalc(r *Role) bool {
	if takesWord(r) || l.inTable(r) {
		return false
	}
	return l.bound(r)
}

// bound reports whether the new record binds the role.
func (l *layout) bound(r *Role) bool {
	if l.fill != nil {
		return l.fill.Roles[r.Name] != nil
	}
	return r.Needed()
}

func (l *layout) unit(r *Role) unit.Unit {
	if l.shape != nil {
		return l.shape.unitOf(r)
	}
	u, _ := r.ParseUnit() // reported when the method was read
	return u
}

// record is the text of the record.
func (l *layout) record() string {
	var b strings.Builder
	fmt.Fprintf(&b, "---\ntitle: %s\n# author: who took the readings\n# date: when, as 2026-01-31\napparatus: %s\n---\n", yamlText(l.method.Title), ApparatusName)
	head, tail := splitProse(l.method.scaffoldText())
	before, with, after := l.parts()
	para := func(text string) {
		if text = strings.Trim(text, "\n"); text != "" {
			b.WriteString("\n" + text + "\n")
		}
	}
	para(head)
	l.writeParts(para, "# Background", before)
	para("# Readings")
	for _, s := range l.tables {
		para(l.explain(s))
		para(fmt.Sprintf("```data %s from=%s.csv\n```", s.name, s.name))
	}
	para(l.calc())
	para(l.practical())
	l.writeParts(para, "# Evaluation", with)
	para(tail)
	l.writeParts(para, "# To think about", after)
	return b.String()
}

// parts sorts the parts of the method: those before the readings, those that
// evaluate them and those that come at the end. Readings that were simulated
// are for a student to work on, who gets none of the method's own answers.
func (l *layout) parts() (before, with, after []string) {
	var names []string
	for i, p := range l.method.Parts {
		if p.Name != scaffoldPart && p.Name != PlanPart && p.Name != "" && !l.withheld(i) {
			names = append(names, p.Name)
		}
	}
	i := max(slices.Index(names, "results"), 0)
	j := max(slices.Index(names, "results"), slices.Index(names, "checks")) + 1
	if j == 0 {
		j = len(names)
	}
	return names[:i], names[i:j], names[j:]
}

// withheld reports whether the part with that index is left out.
func (l *layout) withheld(part int) bool {
	return l.fill != nil && !l.fill.Planning && l.method.answers(part)
}

// withholds reports whether any part is left out.
func (l *layout) withholds() bool {
	for i := range l.method.Parts {
		if l.withheld(i) {
			return true
		}
	}
	return false
}

// answers reports whether the part with that index holds an answer.
func (m *Method) answers(part int) bool {
	start, end := m.Parts[part].At.Start, len(m.File.Text)
	if part+1 < len(m.Parts) {
		end = m.Parts[part+1].At.Start
	}
	return slices.ContainsFunc(m.Record.Blocks, func(b *record.Block) bool {
		return b.Kind == "answer" && b.Span.Start >= start && b.Span.Start < end
	})
}

func (l *layout) writeParts(para func(string), heading string, names []string) {
	if len(names) > 0 {
		para(heading)
	}
	for _, n := range names {
		para(fmt.Sprintf("```part %s.%s\n```", l.method.PracticalName(), n))
	}
}

// explain says what is to be read into a table.
func (l *layout) explain(s *sheet) string {
	var out []string
	said := map[*Role]bool{}
	for _, c := range s.columns {
		if said[c.role] {
			continue
		}
		said[c.role] = true
		var names []string
		for _, d := range s.columns {
			if d.role == c.role {
				names = append(names, "*"+d.name+"*")
			}
		}
		line := "- " + strings.Join(names, ", ")
		if what := proseOf(c.role.What); what != "" {
			line += ": " + what
		}
		if l.fill == nil && !c.role.Needed() {
			line += " (may be left out)"
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}

// proseOf is the sentence of a role as prose of the record: one with inline
// values of the method means nothing there.
func proseOf(what string) string {
	if strings.Contains(what, "=[") || strings.Contains(what, "?[") {
		return ""
	}
	return what
}

// calc is the block of quantities; those that a student is told stand apart
// from those that were read, since they stay on an empty sheet.
func (l *layout) calc() string {
	var told, read [][2]string
	for i := range l.method.Roles {
		r := &l.method.Roles[i]
		switch {
		case !l.inCalc(r):
		case l.told(r):
			told = append(told, l.statement(r))
		default:
			read = append(read, l.statement(r))
		}
	}
	var blocks []string
	if len(told) > 0 {
		blocks = append(blocks, "```calc given=yes\n"+statements(told)+"```")
	}
	if len(read) > 0 {
		blocks = append(blocks, "```calc\n"+statements(read)+"```")
	}
	return strings.Join(blocks, "\n\n")
}

// told reports whether a role is a quantity that the simulation gives without
// reading it off an instrument.
func (l *layout) told(r *Role) bool { return len(l.given(r)) > 0 && !l.measured(r) }

// measured reports whether a quantity is read off an instrument.
func (l *layout) measured(r *Role) bool {
	_, read := l.fill.Readings[r.Name]
	return read && r.With != ""
}

// statement is the line of calc of a role.
func (l *layout) statement(r *Role) [2]string {
	u := l.unit(r)
	text := "–"
	if given := l.given(r); len(given) > 0 {
		text = l.quantity(r, given[0])
	} else if !u.IsOne() {
		text += " in " + u.String()
	}
	if what := proseOf(r.What); what != "" {
		text += "   | " + strings.Map(noMarks, what)
	}
	return [2]string{l.calcName(r), text}
}

// noMarks drops what would end a label.
func noMarks(r rune) rune {
	if r == '#' || r == '|' {
		return -1
	}
	return r
}

// quantity is one simulated quantity as it stands in calc.
func (l *layout) quantity(r *Role, v eval.Value) string {
	if text, ok := l.fill.typed[r.Name]; ok {
		return text
	}
	text := l.fill.texts(r, v)[0]
	if u := l.unit(r); !u.IsOne() {
		text += " " + u.String()
	}
	if l.measured(r) {
		text += " @" + r.With
	}
	return text
}

// calcName is the name of a quantity in the record: that of its role, unless a
// data block has it.
func (l *layout) calcName(r *Role) string {
	for _, s := range l.tables {
		if s.name == r.Name {
			return r.Name + "_value"
		}
	}
	return r.Name
}

// practical is the block that binds the roles.
func (l *layout) practical() string {
	var bound, others [][2]string
	for i := range l.method.Roles {
		r := &l.method.Roles[i]
		line := [2]string{r.Name, l.binding(r)}
		if l.bound(r) {
			bound = append(bound, line)
			continue
		}
		if what := proseOf(r.What); what != "" {
			line[1] += "   # " + what
		}
		others = append(others, line)
	}
	options := ""
	switch {
	case l.withholds():
		options = " print=no" // its parts stand where the record has them, and no others
	case l.fill != nil && l.fill.Planning:
		options = " plan=yes"
	}
	text := fmt.Sprintf("```practical %s method=%s%s\n%s", l.method.PracticalName(), l.as, options, statements(bound))
	if len(others) > 0 && l.fill == nil {
		text += "# What follows is optional. To bind one, take its # away.\n"
		for _, line := range strings.Split(strings.TrimSuffix(statements(others), "\n"), "\n") {
			text += "# " + line + "\n"
		}
	}
	return text + "```"
}

// binding is what a role is bound to, or could be.
func (l *layout) binding(r *Role) string {
	if l.inCalc(r) {
		return l.calcName(r)
	}
	if names, _ := l.columns(r); l.inTable(r) {
		var out []string
		for i, n := range names {
			if l.fill == nil || i < len(l.given(r)) {
				out = append(out, n.Table+"."+n.Column)
			}
		}
		return strings.Join(out, ", ")
	}
	if l.fill != nil {
		switch v := l.fill.Roles[r.Name].(type) {
		case eval.Word:
			return quoted(v.Text)
		case eval.Bool:
			if v.Truth.Is {
				return "yes"
			}
			return "no"
		}
	}
	if !r.Needed() && !r.Optional() {
		return r.Absent
	}
	return "–"
}

// statements writes lines `name = text` with their signs below each other.
func statements(lines [][2]string) string {
	width := 0
	for _, l := range lines {
		width = max(width, len([]rune(l[0])))
	}
	var b strings.Builder
	for _, l := range lines {
		fmt.Fprintf(&b, "%-*s = %s\n", width, l[0], l[1])
	}
	return b.String()
}

// scaffoldText is the text of the part `scaffold`, as it stands.
func (m *Method) scaffoldText() string {
	for i, p := range m.Parts {
		if p.Name != scaffoldPart {
			continue
		}
		line, _ := p.At.Position()
		start, end := m.File.LineStart(line+1), len(m.File.Text)
		if i+1 < len(m.Parts) {
			next, _ := m.Parts[i+1].At.Position()
			end = m.File.LineStart(next)
		}
		return string(m.File.Text[min(start, end):end])
	}
	return ""
}

var atxHeading = regexp.MustCompile(`^ {0,3}(#{1,6})(?:[ \t]|$)`)

// splitProse splits prose before the second of its highest headings: what
// stands before the readings and what stands after them.
func splitProse(text string) (head, tail string) {
	type heading struct{ level, at int }
	var all []heading
	highest, fenced, at := 7, false, 0
	for _, line := range strings.SplitAfter(text, "\n") {
		if t := strings.TrimSpace(line); strings.HasPrefix(t, "```") || strings.HasPrefix(t, "~~~") {
			fenced = !fenced
		}
		if m := atxHeading.FindStringSubmatch(line); m != nil && !fenced {
			all = append(all, heading{len(m[1]), at})
			highest = min(highest, len(m[1]))
		}
		at += len(line)
	}
	n := 0
	for _, h := range all {
		if h.level == highest {
			if n++; n == 2 {
				return text[:h.at], text[h.at:]
			}
		}
	}
	return text, ""
}

// yamlText writes a text as one YAML scalar.
func yamlText(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ").Replace(s) + `"`
}

// FileName is the last part of the path of the method's file.
func (m *Method) FileName() string { return path.Base(m.File.Name) }
