package plan

import (
	"fmt"
	"slices"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Read reads a plan file: settings, NAME: VALUE.
func Read(f *source.File, set *finding.Set) []method.Proposal {
	before := set.Len()
	s := record.ParseSettings(f, set)
	if s == nil {
		return nil // an empty plan, or reported
	}
	if s.Kind != record.MapSetting {
		if set.Len() == before {
			set.Add(badPlan(s.At))
		}
		return nil
	}
	var out []method.Proposal
	for _, p := range s.Pairs {
		at, _ := p.Value.Inner()
		if p.Value.Kind != record.ScalarSetting || strings.TrimSpace(at.Text()) == "" {
			set.Add(badPlan(p.KeyAt))
			continue
		}
		out = append(out, method.Proposal{Name: p.Key, NameAt: p.KeyAt, At: at})
	}
	return out
}

// ReadSet reads values given in the form NAME=VALUE. They stand instead of
// those of a plan.
func ReadSet(args []string, from []method.Proposal, set *finding.Set) []method.Proposal {
	f := source.NewFile("--set", []byte(strings.Join(args, "\n")))
	var given []method.Proposal
	start := 0
	for _, a := range args {
		end := start + len(a)
		name, value, ok := strings.Cut(a, "=")
		if name, value = strings.TrimSpace(name), strings.TrimSpace(value); !ok || name == "" || value == "" {
			set.Add(badSet(f.Span(start, end), a))
		} else {
			nameAt := start + strings.Index(a, name)
			valueAt := start + strings.Index(a, "=") + 1
			valueAt += strings.Index(a[valueAt-start:], value)
			given = append(given, method.Proposal{Name: name, NameAt: f.Span(nameAt, nameAt+len(name)), At: f.Span(valueAt, valueAt+len(value))})
		}
		start = end + 1
	}
	out := slices.DeleteFunc(slices.Clone(from), func(p method.Proposal) bool {
		return slices.ContainsFunc(given, func(q method.Proposal) bool { return q.Name == p.Name })
	})
	return append(out, given...)
}

// badPlan: a plan with something else than `NAME: VALUE`.
func badPlan(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-plan", At: at, Message: "a plan holds lines NAME: VALUE", Hint: "as in `d_true: 0.3 mm`"}
}

// badSet: --set d_true.
func badSet(at source.Span, arg string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-plan", At: at, Message: fmt.Sprintf("`%s` gives no name a value", arg), Hint: "write NAME=VALUE, as in `d_true=0.3 mm`"}
}

// New writes a plan file for a method: what can be chosen with its present
// value, what may be told of the specimen, and as a comment all else.
func New(m *method.Method, s *method.Simulation) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# A plan for %s (method %s).\n# Put the values in that you propose; leave out or delete what may stay. A value is a quantity,\n"+
		"# or a formula of other names and of materials: copper.E. Nothing here permits to load anything.\n", m.Title, m.Name)
	truths := s.Truths()
	var chosen, told [][3]string
	for _, t := range truths {
		line := [3]string{t.Name, t.Text(), t.Comment}
		switch t.Kind {
		case method.Chosen:
			chosen = append(chosen, line)
		case method.Stated:
			told = append(told, [3]string{t.Name, "–", t.Comment})
		}
	}
	for i := range m.Roles {
		r := &m.Roles[i]
		single := r.Takes != "column" && r.Takes != "columns" && r.Takes != "readings"
		if r.Optional() && single && !slices.ContainsFunc(truths, func(t method.Truth) bool { return t.Name == r.Name }) {
			told = append(told, [3]string{r.Name, "–", r.What})
		}
	}
	writeLines(&b, "", chosen)
	if len(told) > 0 {
		b.WriteString("\n# Of the specimen. To state one, take its # away and put the value in the place of –.\n")
		writeLines(&b, "# ", told)
	}
	writeOthers(&b, "\n# Left to chance, as noise is, unless it is given here:\n", truths, method.Chance)
	writeOthers(&b, "\n# These follow from the others; one that is given here does so no more:\n", truths, method.Following)
	return b.String()
}

func writeOthers(b *strings.Builder, head string, truths []method.Truth, kind method.TruthKind) {
	var lines [][3]string
	for _, t := range truths {
		if t.Kind == kind {
			lines = append(lines, [3]string{t.Name, strings.Join(strings.Fields(t.Typed), " "), t.Comment})
		}
	}
	if len(lines) > 0 {
		b.WriteString(head)
		writeLines(b, "# ", lines)
	}
}

// writeLines writes lines NAME: VALUE # comment.
func writeLines(b *strings.Builder, prefix string, lines [][3]string) {
	width := 0
	for _, l := range lines {
		width = max(width, len([]rune(l[0]+l[1]))+2)
	}
	for _, l := range lines {
		text := prefix + l[0] + ": " + l[1]
		if l[2] != "" && prefix == "" {
			text += strings.Repeat(" ", max(1, width-len([]rune(l[0]+l[1]))+1)) + "# " + l[2]
		} else if l[2] != "" {
			text += "   # " + l[2]
		}
		b.WriteString(text + "\n")
	}
}
