package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plaintext"
)

var _ = add(&command{
	name: "methods", args: "[NAME]", what: "list the methods of practicals, with their results and what they need",
	more:  "With NAME, one method. A role is needed, optional, or has the default that is shown.",
	setup: plain(runMethods),
})

func runMethods(k *call) int {
	names := blocks.Built().MethodNames()
	switch len(k.args) {
	case 0:
	case 1:
		if _, ok := blocks.Built().Method(k.args[0]); !ok {
			hint := finding.DidYouMean(k.args[0], names)
			if hint == "" {
				hint = "they are " + strings.Join(names, ", ")
			}
			return k.wrongUsage(withHint(fmt.Sprintf("there is no method `%s`", k.args[0]), hint))
		}
		names = k.args
	default:
		return k.wrongUsage("`methods` takes the name of one method")
	}
	for i, name := range names {
		if i > 0 {
			fmt.Fprintln(k.out)
		}
		if err := k.listMethod(name); err != nil {
			return exitFiles
		}
	}
	return exitOK
}

// listMethod writes what a method gives and what it needs.
func (k *call) listMethod(name string) error {
	f, _ := blocks.Built().Method(name)
	var set finding.Set // the tests hold the built-in methods to no findings
	m := method.Read(f, block.KindNames(blocks.All()), &set)
	fmt.Fprintf(k.out, "%s  %s\n  results: %s\n", m.Name, m.Title, strings.Join(m.Results, ", "))
	w := tabwriter.NewWriter(k.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  role\ttakes\tunit\tneeded\twhat")
	for _, r := range m.Roles {
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", r.Name, r.Takes, dash(r.Unit), need(&r), dash(plaintext.Line(r.What)))
	}
	return w.Flush()
}

// need says whether a role must be bound, and else what stands in for it.
func need(r *method.Role) string {
	switch {
	case r.Needed():
		return "needed"
	case r.Optional():
		return "optional"
	}
	return "else " + r.Absent
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
