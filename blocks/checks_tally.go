package blocks

import (
	"fmt"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/view"
)

// checksTally counts what came of checks. Conditions of one slug are one check:
// a method tells its cases apart.
type checksTally struct {
	names   []string // in order
	results map[string]*outcome
	unbound []string // those that need what is not bound
}

func (t *checksTally) add(b *checksBlock) {
	if t.results == nil {
		t.results = map[string]*outcome{}
	}
	for i, cond := range b.conditions {
		if cond.Slug == "" || i >= len(b.outcomes) {
			continue
		}
		r := t.results[cond.Slug]
		if r == nil {
			r = &outcome{}
			t.results[cond.Slug] = r
			t.names = append(t.names, cond.Slug)
		}
		r.made = r.made || b.outcomes[i].made
		r.found = append(r.found, b.outcomes[i].found...)
	}
}

// lack takes up the checks of a block that is not there because it needs what is
// not bound. One that is made otherwise is not counted again.
func (t *checksTally) lack(b *record.Block) {
	var set finding.Set // what is wrong with the method is told elsewhere
	for _, cond := range formula.ParseConditions(b.Body.Span, &set) {
		if t.results[cond.Slug] == nil && cond.Slug != "" && !slices.Contains(t.unbound, cond.Slug) {
			t.unbound = append(t.unbound, cond.Slug)
		}
	}
}

// manyChecks is how many names stand in the sentence itself.
const manyChecks = 5

// show says how many checks could be made and what spoke; nil for no checks.
func (t *checksTally) show() []view.Node {
	var passed, wait []string
	var spoke view.Text
	speak := 0
	for _, slug := range t.names {
		switch r := t.results[slug]; {
		case len(r.found) > 0:
			if speak++; speak > 1 {
				spoke = append(spoke, view.Plain(", "))
			}
			spoke = append(spoke, view.Told{Name: spaced(slug), Of: r.found[0]})
		case r.made:
			passed = append(passed, spaced(slug))
		default:
			wait = append(wait, spaced(slug))
		}
	}
	all := len(t.names) + len(t.unbound)
	made := len(passed) + speak
	if all == 0 {
		return nil
	}
	var unbound []string
	for _, slug := range t.unbound {
		unbound = append(unbound, spaced(slug))
	}
	says := view.Text{view.Plain(checksMade(made, all, speak))}
	if speak > 0 {
		says = append(append(says, spoke...), view.Plain("."))
	}
	var items []view.Fact
	for _, i := range []struct {
		term  string
		names []string
	}{{"passed", passed}, {"wait for readings", wait}, {"need what is not bound", unbound}} {
		if len(i.names) > 0 {
			items = append(items, view.Fact{Term: view.Text{view.Plain(i.term)}, Text: view.Text{view.Plain(strings.Join(i.names, ", "))}})
		}
	}
	if all > manyChecks {
		return []view.Node{&view.Fold{Text: says, Label: "The checks by name", Items: items}}
	}
	if len(passed) == all {
		whole := strings.TrimSuffix(checksMade(made, all, 0), ".")
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: view.Text{view.Plain(whole + ": " + strings.Join(passed, ", ") + ".")}}}
	}
	for _, i := range items {
		says = append(append(append(append(says, view.Plain(" ")), capital(i.Term)...), view.Plain(": ")), append(i.Text, view.Plain("."))...)
	}
	return []view.Node{&view.Paragraph{Standing: view.Computed, Text: says}}
}

// checksMade is the sentence on checks, up to the names of those that spoke.
func checksMade(made, all, spoke int) string {
	of := fmt.Sprintf("%d of %d checks could be made", made, all)
	if made == all {
		of = countOf(made, "check") + " made"
	}
	switch {
	case spoke > 0:
		return fmt.Sprintf("%s; %d spoke: ", of, spoke)
	case made == 0:
		return fmt.Sprintf("None of %s could be made.", countOf(all, "check"))
	case made < all && made == 1:
		return of + "; it found nothing."
	case made < all:
		return of + "; none found anything."
	case all == 1:
		return "The check passed."
	case all == 2:
		return "Both checks passed."
	}
	return fmt.Sprintf("All %d checks passed.", all)
}

// spaced is the slug of a check in words.
func spaced(slug string) string { return strings.ReplaceAll(slug, "_", " ") }

// capital is a text with a capital letter.
func capital(t view.Text) view.Text {
	s, _ := t[0].(view.Plain)
	return view.Text{view.Plain(strings.ToUpper(string(s[:1])) + string(s[1:]))}
}

// outcomeOfChecks says what the checks of the method found.
func (p *practicalBlock) outcomeOfChecks(s *block.Shower) []view.Node {
	if s.View() == view.AsBlank || p.scope == nil {
		return nil
	}
	var t checksTally
	for _, inst := range p.scope.Instances() {
		if b, ok := inst.(*checksBlock); ok {
			t.add(b)
		}
	}
	kind := checks{}.Info().Name
	for _, b := range p.blocks() {
		if b.Kind == kind && p.lacksRole(b) {
			t.lack(b)
		}
	}
	return t.show()
}

// lacksRole reports whether a block needs a role that is not bound.
func (p *practicalBlock) lacksRole(b *record.Block) bool {
	o, ok := b.Option("needs")
	if !ok {
		return false
	}
	for _, name := range strings.Split(o.Value, ",") {
		if !p.scope.Roles[strings.TrimSpace(name)] {
			return true
		}
	}
	return false
}
