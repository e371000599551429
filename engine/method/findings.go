package method

import (
	"fmt"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func errorAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

// badFront: `version: two`.
func badFront(at source.Span, key, want string) *finding.Finding {
	return errorAt(at, "bad-value", fmt.Sprintf("this is no value for `%s`", key), "it should be "+want)
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
