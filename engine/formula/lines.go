package formula

import (
	"strings"
	"unicode"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/source"
)

// entries splits the body of a block into its entries, without blank lines
// and lines that hold only a comment. An entry goes on over lines while
// brackets are open, up to a line that begins an entry of its own.
func entries(body source.Span, begins func(line string) bool) []source.Span {
	text := body.Text()
	var out []source.Span
	start, depth := -1, 0
	for i := 0; i < len(text); {
		j := len(text)
		if k := strings.IndexByte(text[i:], '\n'); k >= 0 {
			j = i + k
		}
		line := text[i:j]
		bare := strings.TrimSpace(line)
		empty := bare == "" || bare[0] == '#'
		if start >= 0 && (depth <= 0 || begins(line)) {
			out = append(out, trim(body.Sub(start, i)))
			start, depth = -1, 0
		}
		if start < 0 && !empty {
			start = i
		}
		if start >= 0 {
			depth += openBrackets(line)
		}
		i = j + 1
	}
	if start >= 0 {
		out = append(out, trim(body.Sub(start, len(text))))
	}
	return out
}

// openBrackets counts the brackets that a line leaves open, up to its label
// or comment.
func openBrackets(line string) int {
	n, quoted := 0, false
	for _, r := range line {
		switch {
		case r == '"':
			quoted = !quoted
		case quoted:
		case r == '(':
			n++
		case r == ')':
			n--
		case r == '#' || r == '|':
			return n
		}
	}
	return n
}

// trim leaves the space away at both ends of a span.
func trim(s source.Span) source.Span {
	t := s.Text()
	start := len(t) - len(strings.TrimLeftFunc(t, unicode.IsSpace))
	return s.Sub(start, max(start, len(strings.TrimRightFunc(t, unicode.IsSpace))))
}

// beginsStatement reports whether a line reads name = …
func beginsStatement(line string) bool {
	name, rest, ok := strings.Cut(line, "=")
	if !ok || strings.HasPrefix(rest, "=") {
		return false
	}
	return isWord(strings.TrimSpace(name))
}

func isWord(w string) bool {
	s := scanner{text: w}
	r, _ := s.rune(0)
	return isLetter(r) && s.wordEnd(0) == len(w)
}

// beginsCondition reports whether a line reads slug: …
func beginsCondition(line string) bool {
	slug, _, ok := strings.Cut(line, ":")
	return ok && isWord(strings.ReplaceAll(strings.TrimSpace(slug), "-", "_"))
}

// ParseStatements reads the statements of a block. A line that has no name
// before its = is left out; a finding has been made.
func ParseStatements(body source.Span, set *finding.Set) []*Statement {
	var out []*Statement
	for _, s := range entries(body, beginsStatement) {
		if st := ParseStatement(s, set); st != nil {
			out = append(out, st)
		}
	}
	return out
}

// ParseStatement reads one statement. It returns nil where no name is to be
// had; a finding has been made.
//
//	statement = name "=" (expression | "–") ["in" unit] ["|" label] ["#" comment]
func ParseStatement(line source.Span, set *finding.Set) *Statement {
	p := newParser(line, set)
	p.comments = true
	st := &Statement{}
	if !p.head(&st.Name, &st.NameAt) {
		return nil
	}
	st.X = p.expressionOrUnread(p.tok.end, func(t token) bool { return t.word("in") || t.is("|") })
	st.At = p.trimmed(0)
	if _, bad := st.X.(*Bad); !bad && !p.try(func() { p.tail(st) }) {
		st.X = &Bad{At: st.X.Span()}
	}
	return st
}

// dashes are what may be typed for what was not read.
const dashes = "–—−-"

// expressionOrUnread reads an expression, or a dash alone for what has not
// been read yet.
func (p *parser) expressionOrUnread(i int, stop func(token) bool) Expr {
	start := p.blank(i)
	r, n := p.rune(start)
	var unread Expr
	if r > 0 && strings.ContainsRune(dashes, r) {
		p.try(func() {
			if t := p.scan(start + n); t.kind == tEnd || stop(t) {
				unread = &Unread{At: p.at(start, start+n)}
				p.last = token{kind: tOp, start: start, end: start + n}
				p.tok = t
			}
		})
	}
	if unread != nil {
		return unread
	}
	return p.expression(i, stop)
}

// head reads name "=", leaving the = in hand.
func (p *parser) head(name *string, at *source.Span) bool {
	return p.try(func() {
		p.start(0)
		t := p.tok
		span := p.at(t.start, t.end)
		switch {
		case t.kind == tName && p.reservedHead(t):
			p.fail(nameReserved(span, t.text))
		case t.kind != tName:
			p.fail(statementForm(span, p.text[t.start:t.end]))
		case strings.Contains(t.text, "."):
			p.fail(nameDotted(span, t.text))
		}
		p.next()
		eq := p.at(p.tok.start, p.tok.end)
		switch {
		case p.tok.is("="):
		case p.tok.kind == tEnd:
			p.fail(statementForm(span, p.text[t.start:t.end]))
		case p.tok.kind == tName || p.tok.kind == tNumber:
			p.fail(nameSpaced(p.at(t.start, p.tok.end), p.text[t.start:t.end]+"_"+p.text[p.tok.start:p.tok.end]))
		case p.tok.is("=="):
			p.fail(operatorSpelling(eq, "==", "="))
		default:
			p.fail(statementForm(eq, p.text[p.tok.start:p.tok.end]))
		}
		*name, *at = t.text, span
	})
}

// tail reads what follows the expression of a statement.
func (p *parser) tail(st *Statement) {
	if p.tok.word("in") {
		st.In = p.unitDue(p.tok.end)
	}
	st.At = p.at(0, p.last.end)
	if !p.tok.is("|") {
		p.finishUnit()
		return
	}
	label := p.text[p.tok.end:]
	if strings.HasPrefix(label, "|") {
		p.unexpected()
	}
	if i := strings.IndexByte(label, '#'); i >= 0 {
		label = label[:i]
	}
	st.Label = strings.TrimSpace(label)
	st.At = trim(p.at(0, p.tok.end+len(label)))
}

// ParseBindings reads the body of a practical. A line without a role is left
// out; a finding has been made.
//
//	binding = role "=" value {"," value} ;  value = expression | quoted word
func ParseBindings(body source.Span, set *finding.Set) []*Binding {
	var out []*Binding
	for _, s := range entries(body, beginsStatement) {
		if b := parseBinding(s, set); b != nil {
			out = append(out, b)
		}
	}
	return out
}

func parseBinding(line source.Span, set *finding.Set) *Binding {
	p := newParser(line, set)
	p.comments = true
	b := &Binding{}
	if !p.head(&b.Name, &b.NameAt) {
		return nil
	}
	for more := true; more; {
		x := p.value(p.tok.end)
		b.Values = append(b.Values, x)
		_, bad := x.(*Bad)
		more = !bad && p.tok.is(",")
	}
	b.At = p.trimmed(0)
	return b
}

// value reads one value of a binding, up to a comma.
func (p *parser) value(i int) Expr {
	var word *Word
	comma := func(t token) bool { return t.is(",") }
	if r, _ := p.rune(p.skip(i)); r != '"' {
		return p.expressionOrUnread(i, comma)
	}
	ok := p.try(func() {
		t := p.scan(i)
		word = &Word{At: p.at(t.start, t.end), Text: t.text}
		p.tok = t
		p.next()
		if p.tok.kind != tEnd && !comma(p.tok) {
			p.fail(unexpected(p.at(p.tok.start, p.tok.end), p.text[p.tok.start:p.tok.end]))
		}
	})
	if !ok {
		return &Bad{At: p.trimmed(i)}
	}
	return word
}

// ParseConditions reads the body of a checks block. A line without a slug is
// left out; a finding has been made.
//
//	condition = slug ":" expression "|" ("note"|"caution"|"error") "|" message
//
// The message goes to the end of the line and may hold | and #.
func ParseConditions(body source.Span, set *finding.Set) []*Condition {
	var out []*Condition
	for _, s := range entries(body, beginsCondition) {
		if c := parseCondition(s, set); c != nil {
			out = append(out, c)
		}
	}
	return out
}

func parseCondition(line source.Span, set *finding.Set) *Condition {
	p := newParser(line, set)
	text := p.text
	colon := strings.IndexByte(text, ':')
	if colon < 0 || !isWord(strings.ReplaceAll(strings.TrimSpace(text[:max(colon, 0)]), "-", "_")) {
		set.Add(conditionForm(p.at(0, max(colon, 1))))
		return nil
	}
	c := &Condition{At: line, SlugAt: trim(p.at(0, colon))}
	if !p.try(func() { c.Slug = p.canonical(p.offset(c.SlugAt.Start), p.offset(c.SlugAt.End)) }) {
		return nil
	}
	c.X = p.expression(colon+1, func(t token) bool { return t.is("|") })
	if _, bad := c.X.(*Bad); !bad && !p.try(func() { p.verdict(c) }) {
		c.X = &Bad{At: c.X.Span()}
	}
	return c
}

// verdict reads the severity and the message of a condition.
func (p *parser) verdict(c *Condition) {
	if !p.tok.is("|") {
		p.fail(severityMissing(p.at(p.last.start, p.last.end)))
	}
	i := p.tok.end
	severity, _, found := strings.Cut(p.text[i:], "|")
	j := i + len(severity)
	c.SevAt = trim(p.at(i, j))
	c.Severity = strings.TrimSpace(severity)
	if _, known := finding.ParseSeverity(c.Severity); !known {
		p.fail(severityUnknown(c.SevAt, c.Severity, near.Name(c.Severity, []string{"note", "caution", "error"})))
	}
	if found {
		c.Message = trim(p.at(j+1, len(p.text)))
	}
	if c.Message.Text() == "" {
		p.fail(messageMissing(p.at(j, len(p.text)), c.Slug))
	}
}
