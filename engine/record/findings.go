package record

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/source"
)

// unclosedInsert: `the modulus is =[E in GPa` with no closing bracket.
func unclosedInsert(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "unclosed-insert", At: at,
		Message: "this inline value has no closing `]`",
		Hint:    "close it within the paragraph, or write `\\" + at.Text() + "` for the text itself"}
}

// mistypedKind: “```dta pull”. Other fences are ordinary code, so only a near
// miss is worth a word.
func (r *reading) mistypedKind(words []source.Span) *finding.Finding {
	kind := words[0].Text()
	if strings.ContainsAny(kind, "={.") || len(kind) < 4 && len(words) < 2 {
		return nil
	}
	n := near.Name(kind, r.known)
	if n == "" {
		return nil
	}
	return &finding.Finding{Severity: finding.Caution, Slug: "unknown-kind", At: words[0],
		Message: fmt.Sprintf("there is no kind of block `%s`, so this fence is ordinary code", kind),
		Hint:    fmt.Sprintf("did you mean `%s`?", n)}
}

// quotedBlock: a block behind `>`.
func quotedBlock(b *Block) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "quoted-block", At: b.KindAt,
		Message: fmt.Sprintf("a `%s` block within a block quote is not computed", b.Kind),
		Hint:    "move it out of the quotation"}
}

// repeatedOption: “```data pull from=a.csv from=b.csv”.
func repeatedOption(o, before Option) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "repeated-key", At: o.At,
		Message: fmt.Sprintf("`%s` is given twice", o.Key), Hint: "keep one",
		Also: []finding.Place{{At: before.At, What: "given here first"}}}
}

// badHead: “```data my pull”.
func badHead(b *Block, at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-head", At: at,
		Message: fmt.Sprintf("`%s` does not fit into the head of a `%s` block", at.Text(), b.Kind),
		Hint:    "a head is KIND NAME key=value …; a name is a letter followed by letters, digits and `_`"}
}

// unclosedFront: a file that begins with `---` and settings, without a second
// `---`.
func unclosedFront(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "unclosed-front-matter", At: at,
		Message: "the front matter is not closed", Hint: "put a line `---` after its last key"}
}

// frontNotMap: front matter that is a list or a bare word.
func frontNotMap(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-settings", At: at,
		Message: "the front matter holds no `key: value` lines", Hint: "write, say, `title: Young's modulus of a wire`"}
}

// notSettings: a settings body that is a list or a bare word.
func notSettings(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-settings", At: at,
		Message: "this block holds no `key: value` lines", Hint: "write one setting a line, `key: value`"}
}

// badYAML: `y: [up, down` without its bracket.
func badYAML(at source.Span, msg string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-settings", At: at,
		Message: "these settings can't be read as YAML: " + msg,
		Hint:    "one `key: value` a line; indent by spaces; quote a text that holds `: ` or begins with a special sign"}
}

// noAliases: `a: &x [1]` and `b: *x`.
func noAliases(at source.Span, name string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-settings", At: at,
		Message: fmt.Sprintf("`*%s` is an alias, which is not read in settings", name), Hint: "write the value out, here and in other places"}
}

// tooManySettings: a settings body beyond all measure.
func tooManySettings(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "too-large", At: at,
		Message: fmt.Sprintf("more than %d settings, or nested more than 50 deep", maxSettings), Hint: "split them"}
}

// repeatedKey: one key twice in one map.
func repeatedKey(p Pair, before source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "repeated-key", At: p.KeyAt,
		Message: fmt.Sprintf("`%s` is given twice", p.Key), Hint: "keep one",
		Also: []finding.Place{{At: before, What: "given here first"}}}
}
