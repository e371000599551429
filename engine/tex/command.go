package tex

import (
	"strings"

	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/view"
)

// command reads what follows the command t, which has just been read itself.
func (p *parser) command(t token) item {
	name := t.text
	if s, ok := symbols[name]; ok {
		return s.item()
	}
	if a, ok := accents[name]; ok {
		return p.accented(t, a)
	}
	if style, ok := alphabets[name]; ok {
		return item{math: styled(style, p.argument(t))}
	}
	if style, ok := texts[name]; ok {
		return item{math: styled(style, view.Words{Text: p.words(t)})}
	}
	if em, ok := spaces[name]; ok {
		return item{math: view.Space{Em: em}, class: gap}
	}
	if em, ok := sizes[name]; ok {
		return p.sized(t, em)
	}
	if d, ok := delimiters[`\`+name]; ok {
		return item{math: view.Op{Symbol: d, Form: "prefix"}}
	}
	switch name {
	case "frac", "dfrac", "tfrac", "cfrac", "binom", "dbinom", "tbinom":
		num := p.argument(t)
		return item{math: fraction(name, num, p.argument(t))}
	case "sqrt":
		return p.root(t)
	case "left":
		return p.fenced(t)
	case "begin":
		return p.environment(t)
	case "overset", "stackrel", "underset":
		return p.stacked(t)
	case "xrightarrow":
		return item{math: view.Limits{Base: view.Op{Symbol: "→", Fence: true}, Over: p.argument(t)}, class: relation}
	case "operatorname":
		return p.operator(t)
	case "not":
		return p.negated(t)
	case "substack":
		return p.substack(t)
	case "tag":
		label := view.Words{Text: "(" + p.words(t) + ")"}
		return item{math: view.Seq{Items: []view.Math{view.Space{Em: 2}, label}}}
	}
	return p.unknown(t)
}

// fraction builds the fraction of the given command.
func fraction(name string, num, den view.Math) view.Math {
	var m view.Math = view.Frac{Num: num, Den: den, NoBar: name == "atop" || strings.HasSuffix(name, "binom") || name == "choose"}
	if strings.HasSuffix(name, "binom") || name == "choose" {
		m = fence("(", []view.Math{m}, ")")
	}
	switch name {
	case "dfrac", "dbinom", "cfrac":
		return view.Styled{Style: "displaystyle", Body: m}
	case "tfrac", "tbinom":
		return view.Styled{Style: "textstyle", Body: m}
	}
	return m
}

// bracket is a bracket that may grow. The form is written down only for those
// that look the same on both sides.
func bracket(text, form string, grows bool) view.Op {
	if !strings.Contains("|‖/∖↑↓", text) {
		form = ""
	}
	return view.Op{Symbol: text, Fence: grows, Form: form}
}

// fence sets growing brackets around a body; "" leaves one out.
func fence(left string, body []view.Math, right string) view.Math {
	var all []view.Math
	if left != "" {
		all = append(all, bracket(left, "prefix", true))
	}
	all = append(all, body...)
	if right != "" {
		all = append(all, bracket(right, "postfix", true))
	}
	return view.Seq{Items: all}
}

func (p *parser) root(t token) item {
	var index view.Math
	if p.tok.kind == char && p.tok.text == "[" {
		p.next()
		index = row(p.items(']'))
		if p.tok.kind == char && p.tok.text == "]" {
			p.next()
		} else {
			p.problem(t, `the index of \sqrt is never closed`, "add ]")
		}
	}
	return item{math: view.Root{Body: p.argument(t), Index: index}}
}

// delimiter reads the bracket after \left and its like.
func (p *parser) delimiter(t token) string {
	key := p.src[p.tok.start:p.tok.end]
	d, ok := delimiters[key]
	if !ok && p.tok.kind == command {
		s := symbols[p.tok.text]
		d, ok = s.text, s.class == opens || s.class == closes
	}
	if !ok {
		p.problem(t, p.src[t.start:t.end]+" lacks a bracket", "write . for none, or one of ( ) [ ] | / and so on")
		return ""
	}
	p.next()
	return d
}

// fenced reads \left( … \middle| … \right).
func (p *parser) fenced(t token) item {
	left := p.delimiter(t)
	body := []view.Math{row(p.items(0))}
	for p.tok.is("middle") || p.tok.kind == amp || p.tok.is(`\`) {
		if m := p.tok; m.is("middle") {
			p.next()
			body = append(body, view.Op{Symbol: p.delimiter(m), Fence: true, Form: "prefix"})
		} else {
			p.stray()
		}
		body = append(body, row(p.items(0)))
	}
	right := ""
	if p.tok.is("right") {
		m := p.tok
		p.next()
		right = p.delimiter(m)
	} else {
		p.problem(t, `\left without \right`, `end the pair with \right), or \right. for no bracket`)
	}
	return item{math: fence(left, body, right)}
}

// sized reads the bracket after \big and its like.
func (p *parser) sized(t token, em float64) item {
	side, c := "prefix", ordinary
	switch t.text[len(t.text)-1] {
	case 'l':
		c = opens
	case 'r':
		side, c = "postfix", closes
	}
	op := bracket(p.delimiter(t), side, true)
	if op.Symbol == "" {
		return item{math: view.Seq{}}
	}
	return item{math: view.Sized{Symbol: op.Symbol, Em: em, Form: op.Form}, class: c}
}

func (p *parser) accented(t token, a accent) item {
	mark := view.Op{Symbol: a.text, Fence: a.wide}
	body := p.argument(t)
	if a.under {
		return item{math: view.Limits{Base: body, Under: mark, Accent: !a.brace}, limits: a.brace}
	}
	return item{math: view.Limits{Base: body, Over: mark, Accent: !a.brace}, limits: a.brace}
}

func (p *parser) stacked(t token) item {
	script := p.argument(t)
	base := row([]item{{math: p.argument(t)}})
	l := view.Limits{Base: base, Over: script}
	if t.text == "underset" {
		l = view.Limits{Base: base, Under: script}
	}
	if _, ok := base.(view.Op); ok {
		return item{math: l, class: relation}
	}
	return item{math: l}
}

// operator reads \operatorname{name} or, with limits, \operatorname*{name}.
func (p *parser) operator(t token) item {
	star := p.tok.kind == char && p.tok.text == "*"
	if star {
		p.next()
	}
	return item{math: letters(p.argument(t)), class: function, limits: star}
}

// negated reads \not and strikes the symbol that follows.
func (p *parser) negated(t token) item {
	if p.bare() {
		p.problem(t, `\not lacks the relation to strike`, "")
		return item{math: view.Seq{}}
	}
	it := p.atom()
	op, ok := it.math.(view.Op)
	if !ok {
		p.problem(t, `\not can only strike a symbol`, "")
		return it
	}
	op.Symbol += "\u0338"
	if op.Symbol == "=\u0338" {
		op.Symbol = "≠"
	}
	it.math = op
	return it
}

// substack reads lines one above the other.
func (p *parser) substack(t token) item {
	if p.tok.kind != opening {
		return item{math: p.argument(t)}
	}
	brace := p.tok
	p.next()
	g := view.Grid{Rows: p.rows(), Align: []string{"center"}}
	if p.tok.kind != closing {
		p.problem(brace, "an opening brace is never closed", "add }")
	} else {
		p.next()
	}
	return item{math: g}
}

// name reads {name} as text and returns it; "" where there is none.
func (p *parser) name() string {
	if p.tok.kind != opening {
		return ""
	}
	i := p.tok.end
	j := closingBrace(p.src, i)
	if j < 0 {
		return ""
	}
	p.tok = scan(p.src, j+1)
	return strings.TrimSpace(p.src[i:j])
}

// environment reads \begin{…} … \end{…}.
func (p *parser) environment(t token) item {
	name := p.name()
	env, ok := environments[name]
	if !ok {
		hint := ""
		if n := near.Name(name, collect(nil, environments)); n != "" && name != "" {
			hint = `did you mean \begin{` + n + "}?"
		}
		p.problem(t, `unknown environment in \begin{`+name+"}", hint)
		env.align = "c"
	}
	if at := p.tok; name == "array" {
		if spec := strings.ReplaceAll(p.name(), " ", ""); spec != "" && strings.Trim(spec, "lcr") == "" {
			env.align = spec
		} else {
			p.problem(at, "array needs the alignment of its columns", `write \begin{array}{lcr}, one letter of l, c, r for each`)
		}
	}
	g := view.Grid{Rows: p.rows()}
	p.endOf(t, name)
	for _, r := range g.Rows {
		for c := range r {
			if len(g.Align) <= c {
				g.Align = append(g.Align, sides[env.align[c%len(env.align)]])
			}
			if env.display {
				r[c] = view.Styled{Style: "displaystyle", Body: r[c]}
			}
		}
	}
	if env.left+env.right == "" {
		return item{math: g}
	}
	return item{math: fence(env.left, []view.Math{g}, env.right)}
}

var sides = map[byte]string{'l': "left", 'c': "center", 'r': "right"}

// rows reads the cells of a table up to what ends it. A line break at the very
// end begins no row.
func (p *parser) rows() [][]view.Math {
	var rows [][]view.Math
	var cells []view.Math
	for {
		items := p.items(0)
		last := p.tok.kind != amp && !p.tok.is(`\`)
		if !last || len(items) > 0 || len(cells) > 0 {
			cells = append(cells, row(items))
		}
		if p.tok.is(`\`) || last {
			if len(cells) > 0 {
				rows = append(rows, cells)
			}
			cells = nil
		}
		if last {
			return rows
		}
		p.next()
		if len(cells) == 0 {
			p.skipGap()
		}
	}
}

// skipGap passes over the extra space of a line break, \\[2pt].
func (p *parser) skipGap() {
	if p.tok.kind != char || p.tok.text != "[" {
		return
	}
	if j := strings.IndexByte(p.src[p.tok.end:], ']'); j >= 0 && strings.Trim(p.src[p.tok.end:p.tok.end+j], "0123456789.-pteximc ") == "" {
		p.tok = scan(p.src, p.tok.end+j+1)
	}
}

// endOf reads the \end that belongs to \begin{name} at t.
func (p *parser) endOf(t token, name string) {
	if !p.tok.is("end") {
		p.problem(t, `\begin{`+name+"} is never ended", `add \end{`+name+"}")
		return
	}
	at := p.tok
	p.next()
	if got := p.name(); got != name {
		p.problem(at, `\begin{`+name+`} is ended by \end{`+got+"}", `write \end{`+name+"}")
	}
}

// words reads the text in the braces after t.
func (p *parser) words(t token) string {
	if p.tok.kind != opening {
		p.problem(t, `\`+t.text+" lacks its text", "put it in braces { }")
		return ""
	}
	i := p.tok.end
	j := closingBrace(p.src, i)
	if j < 0 {
		p.problem(p.tok, "an opening brace is never closed", "add }")
		j = len(p.src)
	}
	p.tok = scan(p.src, min(j+1, len(p.src)))
	return p.text(i, j)
}

// text turns the TeX text from byte i up to j into plain text.
func (p *parser) text(i, j int) string {
	var b strings.Builder
	for i < j {
		switch c := p.src[i]; {
		case blank(c):
			b.WriteByte(' ')
			i = min(skipSpace(p.src, i), j)
			continue
		case c == '~':
			b.WriteString("\u00a0")
		case c == '{' || c == '}':
		case c == '$':
			p.problem(token{start: i, end: i + 1}, `mathematics within \text is not read`, `end the text before it, or write \$`)
			b.WriteByte(c)
		case c == '\\':
			t := scan(p.src, i)
			if s, ok := symbols[t.text]; ok {
				b.WriteString(s.text)
			} else if _, ok := spaces[t.text]; ok {
				b.WriteByte(' ')
			} else {
				b.WriteString(p.src[t.start:t.end])
				p.problem(t, p.src[t.start:t.end]+" cannot stand within text", "end the text before it")
			}
			i = t.end
			continue
		default:
			b.WriteByte(c)
		}
		i++
	}
	return b.String()
}
