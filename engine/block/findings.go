package block

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Slugs of findings that Settle makes once for all ways of binding.
const (
	slugTwice     = "defined-twice"
	slugUndefined = "undefined"
	slugUnbound   = "unbound-role"
)

func errorAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

// badOption: “```calc print=maybe”.
func badOption(o record.Option, want string) *finding.Finding {
	return errorAt(o.ValueAt, "bad-option", fmt.Sprintf("`%s` is no value for `%s`", o.Value, o.Key), "it should be "+want)
}

// unknownOption: “```data pull form=a.csv”.
func unknownOption(b *record.Block, o record.Option, known []string) *finding.Finding {
	all := append([]string{"print"}, known...)
	hint := "a `" + b.Kind + "` block knows " + strings.Join(all, ", ")
	if h := finding.DidYouMean(o.Key, append(all, "needs", "lacks")); h != "" {
		hint = h
	}
	return errorAt(o.At, "unknown-key", fmt.Sprintf("a `%s` block has no key `%s`", b.Kind, o.Key), hint)
}

// nameless: “```fit” without a name.
func nameless(b *record.Block) *finding.Finding {
	return errorAt(b.KindAt, "no-name", fmt.Sprintf("this `%s` block has no name", b.Kind), fmt.Sprintf("write `%s NAME`, so that others can refer to it", b.Kind))
}

// badName: “```fit my-line”.
func badName(b *record.Block) *finding.Finding {
	return errorAt(b.NameAt, "bad-name", fmt.Sprintf("`%s` cannot be a name", b.Name), "a name is a letter followed by letters, digits and `_`")
}

// needlessName: a name where a kind has none.
func needlessName(b *record.Block) *finding.Finding {
	return errorAt(b.NameAt, "bad-head", fmt.Sprintf("a `%s` block has no name", b.Kind), "leave it out")
}

// onlyInMethods: “```roles” in a record.
func onlyInMethods(at source.Span, what string) *finding.Finding {
	return errorAt(at, "only-in-methods", what+" has a meaning in method files only", "a record binds roles in a `practical` block")
}

// tooDeep: practicals within practicals within practicals.
func tooDeep(b *record.Block) *finding.Finding {
	return errorAt(b.KindAt, "too-deep", fmt.Sprintf("blocks stand for blocks more than %d deep here", maxDepth), "a method that uses itself has no end")
}

// definedTwice: `E = …` in two places.
func definedTwice(d, before *Def) *finding.Finding {
	name := strings.Replace(d.Name, "@", "", 1)
	f := errorAt(d.At, slugTwice, fmt.Sprintf("`%s` is defined a second time", name), "give one of them another name")
	f.Also = []finding.Place{{At: before.At, What: fmt.Sprintf("`%s` is defined here first", name)}}
	return f
}

// undefined: a name that is defined nowhere.
func undefined(u Use, known []string) *finding.Finding {
	hint := ""
	if h := finding.DidYouMean(u.Name, known); h != "" {
		hint = h
	} else if head, _, dotted := strings.Cut(u.Name, "."); dotted {
		if h := finding.DidYouMean(head, known); h != "" {
			hint = h
		}
	}
	if hint == "" {
		hint = "define it in a `calc` or `data` block"
	}
	return errorAt(u.At, slugUndefined, fmt.Sprintf("`%s` is not defined", u.Name), hint)
}

// unboundRole: a method uses a role that this record leaves unbound, outside
// of the blocks that need it.
func unboundRole(u Use) *finding.Finding {
	return errorAt(u.At, slugUnbound, fmt.Sprintf("the role `%s` is not bound", u.Name), fmt.Sprintf("bind it in the `practical` block: `%s = …`", u.Name))
}

// noSuchRole: `needs=strenght`.
func noSuchRole(o record.Option, name string, known []string) *finding.Finding {
	hint := finding.DidYouMean(name, known)
	if hint == "" {
		hint = "`" + o.Key + "` names roles of this method; a second column is NAME_2"
	}
	return errorAt(o.ValueAt, "unknown-role", fmt.Sprintf("this method has no role `%s`", name), hint)
}

// notCovered: a block without `needs=strength` uses what is defined under
// `needs=strength`.
func notCovered(u Use, name string, defs []defined, in *Unit) *finding.Finding {
	var when []string
	for _, d := range defs {
		when = append(when, "`"+d.when.text()+"`")
	}
	under := strings.Join(when, " or ")
	message := fmt.Sprintf("`%s` is not there under every binding: it is defined under %s", name, under)
	if defs[0].role {
		message = fmt.Sprintf("the role `%s` is not always bound", name)
	}
	hint := "write " + when[0] + " in the head of this block too"
	if in == nil {
		hint = "prose is always there: put the value into a block with " + when[0]
	}
	f := errorAt(u.At, "not-covered", message, hint)
	for _, d := range defs {
		f.Also = append(f.Also, finding.Place{At: d.at, What: "defined here"})
	}
	return f
}
