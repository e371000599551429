package tex

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Limits that keep any input harmless: bytes of text, levels of nesting,
// problems reported.
const (
	maxLength   = 20000
	maxDepth    = 200
	maxProblems = 20
)

// Problem is something in the TeX that could not be read as it stands. Hint
// says what to do about it and may be empty.
type Problem struct {
	At            source.Span
	Message, Hint string
}

// Parse reads the TeX in the span, the dollar signs left out. The tree it
// returns is never nil; problems come in the order of the text, at most 20 of
// them.
func Parse(s source.Span) (view.Math, []*Problem) {
	p := &parser{span: s, src: s.Text()}
	if len(p.src) > maxLength {
		p.problem(token{end: len(p.src)}, "the formula is too long",
			fmt.Sprintf("at most %d bytes are read", maxLength))
		return view.Words{Text: p.src}, p.problems
	}
	p.next()
	items := p.items(0)
	for p.tok.kind != end {
		p.stray()
		items = append(items, p.items(0)...)
	}
	slices.SortStableFunc(p.problems, func(a, b *Problem) int { return a.At.Start - b.At.Start })
	return row(items), p.problems
}

type parser struct {
	span     source.Span
	src      string
	tok      token // the token at hand
	depth    int
	tooDeep  bool
	problems []*Problem
}

// item is one piece of a row.
type item struct {
	math   view.Math
	class  class
	limits bool // scripts stand above and below it
}

func (p *parser) next() { p.tok = scan(p.src, p.tok.end) }

func (p *parser) problem(at token, message, hint string) {
	if p.tooDeep || len(p.problems) >= maxProblems {
		return
	}
	p.problems = append(p.problems, &Problem{p.span.Sub(at.start, at.end), message, hint})
}

// stray reports a token that closes or parts what was never opened.
func (p *parser) stray() {
	switch {
	case p.tok.kind == closing:
		p.problem(p.tok, "a closing brace without its opening one", `a brace to be shown is written \}`)
	case p.tok.kind == amp:
		p.problem(p.tok, "& outside a table", `put the rows between \begin{aligned} and \end{aligned}, or write \&`)
	case p.tok.is(`\`):
		p.problem(p.tok, `a line break \\ outside a table`, `put the rows between \begin{aligned} and \end{aligned}`)
	case p.tok.is("end"):
		p.problem(p.tok, `\end without \begin`, "")
		p.next()
		p.name()
		return
	case p.tok.is("right"):
		p.problem(p.tok, `\right without \left`, "")
	default:
		p.problem(p.tok, `\`+p.tok.text+` outside \left and \right`, "")
	}
	p.next()
}

// stops reports whether the token at hand ends a row; until is a further
// character that does, or 0.
func (p *parser) stops(until byte) bool {
	switch t := p.tok; t.kind {
	case end, closing, amp:
		return true
	case char:
		return until != 0 && t.text[0] == until
	case command:
		return t.text == `\` || t.text == "end" || t.text == "right" || t.text == "middle"
	}
	return false
}

// bare reports whether no piece begins at the token at hand.
func (p *parser) bare() bool {
	k := p.tok.kind
	return k == sup || k == sub || k == prime || p.stops(0)
}

// items reads pieces up to a token that ends the row.
func (p *parser) items(until byte) []item {
	if p.depth++; p.depth > maxDepth {
		return []item{p.rest()}
	}
	defer func() { p.depth-- }()
	var items []item
	for !p.stops(until) {
		t := p.tok
		if t.kind == command {
			switch t.text {
			case "displaystyle", "textstyle":
				p.next()
				return append(items, item{math: view.Styled{Style: t.text, Body: row(p.items(until))}})
			case "over", "atop", "choose":
				p.next()
				return []item{{math: fraction(t.text, row(items), row(p.items(until)))}}
			case "nonumber", "notag":
				p.next()
				continue
			}
		}
		items = append(items, p.scripted())
	}
	return items
}

// rest gives the remaining text up as words: it is nested too deeply.
func (p *parser) rest() item {
	p.problem(p.tok, "the formula is nested too deeply", "split it into several formulas")
	text := p.src[p.tok.start:]
	p.tok = token{kind: end, start: len(p.src), end: len(p.src)}
	p.tooDeep = true
	return item{math: view.Words{Text: text}}
}

// scripted reads a piece with its subscript, superscript and primes.
func (p *parser) scripted() item {
	base := item{math: view.Seq{}}
	if !p.bare() {
		base = p.atom()
	}
	for p.tok.is("limits") || p.tok.is("nolimits") {
		base.limits = p.tok.is("limits")
		p.next()
	}
	var under, over view.Math
	for {
		t := p.tok
		switch t.kind {
		case prime:
			marks := p.primes()
			if over != nil {
				p.problem(t, "a prime after a superscript", "write the prime first, or put braces around the base")
				over = row([]item{{math: over}, {math: marks}})
			} else if over = marks; p.tok.kind == sup {
				p.next()
				over = row([]item{{math: marks}, {math: p.argument(t)}})
			}
		case sup:
			p.next()
			arg := p.argument(t)
			if over != nil {
				p.problem(t, "a second superscript on the same base", "put braces around the base: {x^a}^b")
				arg = row([]item{{math: over}, {math: arg}})
			}
			over = arg
		case sub:
			p.next()
			arg := p.argument(t)
			if under != nil {
				p.problem(t, "a second subscript on the same base", "put braces around the base: {x_a}_b")
				arg = row([]item{{math: under}, {math: arg}})
			}
			under = arg
		default:
			return attach(base, under, over)
		}
	}
}

// primes reads one or more primes as one operator.
func (p *parser) primes() view.Math {
	n := 0
	for ; p.tok.kind == prime; p.next() {
		n++
	}
	if n <= 4 {
		return view.Op{Symbol: [...]string{"′", "″", "‴", "⁗"}[n-1]}
	}
	return view.Op{Symbol: strings.Repeat("′", n)}
}

// attach sets scripts on a base.
func attach(base item, under, over view.Math) item {
	if under == nil && over == nil {
		return base
	}
	if base.class == gap {
		base.class = ordinary
	}
	if !base.limits {
		base.math = view.Script{Base: base.math, Sub: under, Sup: over}
		return base
	}
	if f, ok := base.math.(view.Upright); ok {
		base.math = view.Op{Symbol: f.Name}
	}
	base.math = view.Limits{Base: base.math, Under: under, Over: over}
	return base
}

// argument reads one argument of the command or mark t: a group or one token.
func (p *parser) argument(t token) view.Math {
	if p.tok.kind == opening {
		return p.group()
	}
	if p.bare() {
		what := "an argument"
		if t.kind == sup || t.kind == sub {
			what = "something to set there"
		}
		p.problem(t, fmt.Sprintf("%s lacks %s", p.src[t.start:t.end], what), "put it in braces { }")
		return view.Seq{}
	}
	if t.kind == sup || t.kind == sub {
		p.warnSplit(t)
	}
	if p.tok.kind == char && digit(p.tok.text[0]) {
		d := p.tok.text
		p.next()
		return view.Num{Digits: d}
	}
	return row([]item{p.atom()})
}

// warnSplit reports a script such as ^23 or ^-1, of which TeX takes the first
// character only: the number shown would not be the one meant.
func (p *parser) warnSplit(t token) {
	i, j := p.tok.start, p.tok.end
	if first := p.src[i:j]; first != "-" && first != "+" && first != "−" && !digit(first[0]) {
		return
	}
	for j < len(p.src) && digit(p.src[j]) {
		j++
	}
	if mark := p.src[t.start:t.end]; j > p.tok.end {
		p.problem(token{start: t.start, end: j}, fmt.Sprintf("%s applies to the first character only", mark),
			fmt.Sprintf("write %s{%s}", mark, p.src[i:j]))
	}
}

// group reads { … }.
func (p *parser) group() view.Math {
	brace := p.tok
	p.next()
	m := row(p.items(0))
	for p.tok.kind == amp || p.tok.is(`\`) { // reported here, to go on inside the braces
		p.stray()
		m = view.Seq{Items: []view.Math{m, row(p.items(0))}}
	}
	if p.tok.kind != closing {
		p.problem(brace, "an opening brace is never closed", "add }")
		return m
	}
	p.next()
	return m
}

// atom reads one piece without scripts.
func (p *parser) atom() item {
	switch t := p.tok; t.kind {
	case opening:
		return item{math: p.group()}
	case char:
		if n := p.number(); n != "" {
			return item{math: view.Num{Digits: n}}
		}
		p.next()
		return p.character(t)
	default:
		if p.depth++; p.depth > maxDepth {
			return p.rest()
		}
		defer func() { p.depth-- }()
		p.next()
		return p.command(t)
	}
}

// number reads digits with a decimal marker, "." or "{,}"; it returns "" where
// none begin.
func (p *parser) number() string {
	i := p.tok.start
	run := func(j int) int {
		for j < len(p.src) && digit(p.src[j]) {
			j++
		}
		return j
	}
	j := run(i)
	n := p.src[i:j]
	for _, mark := range []string{".", "{,}"} {
		if k := j + len(mark); strings.HasPrefix(p.src[j:], mark) && run(k) > k {
			n, j = n+strings.Trim(mark, "{}")+p.src[k:run(k)], run(k)
			break
		}
	}
	if j > i {
		p.tok = scan(p.src, j)
	}
	return n
}

// character is a character that stands for itself.
func (p *parser) character(t token) item {
	if s, ok := characters[t.text]; ok {
		return s.item()
	}
	r, _ := utf8.DecodeRuneInString(t.text)
	switch {
	case t.text == "|":
		return item{math: view.Op{Symbol: "|", Form: "prefix"}}
	case t.text == "~":
		return item{math: view.Space{Em: spaces[" "]}, class: gap}
	case t.text == "%":
		p.problem(t, "a bare % begins a comment in TeX", `write \%`)
	case t.text == `\`:
		p.problem(t, "a backslash at the end", "")
	case t.text == "$":
		p.problem(t, "a dollar sign within mathematics", `write \$`)
	case t.text == "°", t.text == "µ", 'Α' <= r && r <= 'Ω':
		return item{math: view.Upright{Name: t.text}}
	case unicode.IsLetter(r):
		return item{math: view.Ident{Name: t.text}}
	case unicode.IsSymbol(r) || unicode.IsPunct(r):
		return item{math: view.Op{Symbol: t.text}}
	}
	return item{math: view.Words{Text: t.text}}
}

// item is a symbol as a piece of a row.
func (s symbol) item() item {
	switch s.class {
	case ordinary:
		return item{math: view.Ident{Name: s.text}}
	case upright:
		return item{math: view.Upright{Name: s.text}}
	case function:
		return item{math: view.Upright{Name: s.text}, class: function}
	case limit:
		return item{math: view.Upright{Name: s.text}, class: function, limits: true}
	case opens:
		return item{math: bracket(s.text, "prefix", false), class: opens}
	case closes:
		return item{math: bracket(s.text, "postfix", false), class: closes}
	}
	return item{math: view.Op{Symbol: s.text}, class: s.class, limits: s.class == large}
}

// unknown reports a command that there is none of and shows its text.
func (p *parser) unknown(t token) item {
	shown := item{math: view.Words{Text: `\` + t.text}}
	if len(p.problems) >= maxProblems {
		return shown
	}
	if slices.Contains(structures, t.text) {
		p.problem(t, `\`+t.text+" cannot stand here", "")
		return shown
	}
	hint := ""
	if n := nearest(t.text); n != "" {
		hint = `did you mean \` + n + "?"
	}
	p.problem(t, `unknown command \`+t.text, hint)
	return shown
}

// nearest returns the command nearest to a mistyped one, if possible one of
// the same case: \sigma and \Sigma are two.
func nearest(name string) string {
	var same []string
	for _, n := range commandNames {
		if n[0]&0x20 == name[0]&0x20 {
			same = append(same, n)
		}
	}
	if n := near.Name(name, same); n != "" {
		return n
	}
	return near.Name(name, commandNames)
}
