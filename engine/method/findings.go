package method

import (
	"errors"
	"fmt"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

func errorAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

// badFront: `version: two`.
func badFront(at source.Span, key, want string) *finding.Finding {
	return errorAt(at, "bad-value", fmt.Sprintf("`%s` is no value for `%s`", at.Text(), key), "it should be "+want)
}

// unknownFront: `author:` in a method file.
func unknownFront(at source.Span, key string) *finding.Finding {
	hint := finding.DidYouMean(key, frontKeys)
	if hint == "" {
		hint = "a method knows method, title, version, results"
	}
	return errorAt(at, "unknown-key", fmt.Sprintf("the front matter of a method has no key `%s`", key), hint)
}

// noMethodName: a method file without `method:`.
func noMethodName(at source.Span) *finding.Finding {
	return errorAt(at, "missing-key", "this file has no `method:` in its front matter", "write `method: my-method` between `---` lines at its top")
}

// noRoles: a method file without a `roles` block.
func noRoles(at source.Span) *finding.Finding {
	return errorAt(at, "no-roles", "a method needs a `roles` block", "it lists what the practical needs")
}

// twoRoles: a second `roles` block.
func twoRoles(at, before source.Span) *finding.Finding {
	f := errorAt(at, "no-roles", "a method has one `roles` block", "put the rows into one table")
	f.Also = []finding.Place{{At: before, What: "the first is here"}}
	return f
}

// badRoleColumn: a column of the roles table that means nothing.
func badRoleColumn(at source.Span, name string) *finding.Finding {
	msg := "the table of roles needs a column `role`"
	if name != "" {
		msg = fmt.Sprintf("the table of roles has no column `%s`", name)
	}
	return errorAt(at, "bad-heading", msg, "its columns are role, takes, unit, absent, with, table, what")
}

// roleTwice: two rows of one role.
func roleTwice(at source.Span, name string, before source.Span) *finding.Finding {
	f := errorAt(at, "defined-twice", fmt.Sprintf("there are two roles `%s`", name), "give one of them another name")
	f.Also = []finding.Place{{At: before, What: "the first is here"}}
	return f
}

// badRole: a role that cannot be.
func badRole(at source.Span, message, hint string) *finding.Finding {
	return errorAt(at, "bad-role", message, hint)
}

// twoBlocks: a second block of a kind of which a method has one.
func twoBlocks(at source.Span, kind string, before source.Span) *finding.Finding {
	f := errorAt(at, "two-blocks", fmt.Sprintf("a method has one `%s` block", kind), "put what they hold into one")
	f.Also = []finding.Place{{At: before, What: "the first is here"}}
	return f
}

// noSimulation: a method without a `simulate` block is to be simulated.
func noSimulation(at source.Span) *finding.Finding {
	return errorAt(at, "no-simulation", "this method has no `simulate` block", "it builds the roles from chosen truths")
}

// unknownTruth: a simulation uses a name that it does not define.
func unknownTruth(at source.Span, name string, known []string) *finding.Finding {
	hint := finding.DidYouMean(name, known)
	if hint == "" {
		hint = "a simulation sees its own statements and the faults, nothing else"
	}
	return errorAt(at, "undefined", fmt.Sprintf("`%s` is not defined in this simulation", name), hint)
}

// idleFault: a fault that no statement of the simulation uses.
func idleFault(at source.Span, name string) *finding.Finding {
	return errorAt(at, "bad-fault", fmt.Sprintf("no statement of the simulation uses the fault `%s`", name), "it would do nothing: use its name, which is zero unless it is chosen")
}

// badFaultHead: a table of faults with other columns.
func badFaultHead(at source.Span) *finding.Finding {
	return errorAt(at, "bad-heading", "a table of faults has the columns fault, least, most, what", "a unit stands in the heading, `least / mm`, or in the cell")
}

// badFault: a row of the table of faults that cannot be used.
func badFault(at source.Span, message, hint string) *finding.Finding {
	return errorAt(at, "bad-fault", message, hint)
}

// badRoleUnit: a role in `metre`.
func badRoleUnit(r *Role, err error) *finding.Finding {
	hint := "a unit of the role's dimension; empty for words and numbers"
	var u *unit.Error
	if errors.As(err, &u) && u.Nearest != "" {
		hint = "did you mean `" + u.Nearest + "`?"
	}
	return badRole(r.UnitAt, "`"+r.Unit+"` is no unit", hint)
}
