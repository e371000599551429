package record

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/source"
)

// reading is what one parse of a document gathers.
type reading struct {
	doc    *Document
	kinds  func(string) bool
	known  []string
	set    *finding.Set
	blocks []*Block
	inline []*Inline
	vain   [3]stretch // looked through in vain: for ] and for one and two closing dollars
}

// stretch is a stretch of text. What was looked for in it once need not be
// looked for again, however many begin within it.
type stretch struct{ start, end int }

func (s stretch) holds(seg text.Segment) bool { return s.start <= seg.Start && seg.Stop <= s.end }

func (s *stretch) add(start, end int) {
	if start < s.start || start > s.end {
		s.start = start
	}
	s.end = max(s.end, end)
	if s.end < start {
		s.end = end
	}
}

var readingKey = parser.NewContextKey()

// markdown is goldmark with pipe tables, footnotes, mathematics and the record
// language. It holds no state of a parse; that is in the parser.Context.
var markdown = goldmark.New(
	goldmark.WithExtensions(extension.Table, extension.Footnote),
	goldmark.WithParserOptions(
		parser.WithInlineParsers(
			util.Prioritized(insertParser{}, 150),
			util.Prioritized(mathParser{}, 160),
		),
		parser.WithASTTransformers(util.Prioritized(blockTransformer{}, 10)),
	),
)

// parseMarkdown parses the file from byte start up to byte end.
func parseMarkdown(f *source.File, start, end int, r *reading) {
	in := text.NewReader(f.Text[:end])
	in.SetPosition(-1, text.NewSegment(start, start))
	in.AdvanceLine() // to the line that begins there
	r.doc = &Document{File: f}
	pc := parser.NewContext()
	pc.Set(readingKey, r)
	r.doc.Root = markdown.Parser().Parse(in, parser.WithContext(pc))
}

// insertParser reads =[…] and ?[…].
type insertParser struct{}

func (insertParser) Trigger() []byte { return []byte{'=', '?'} }

func (insertParser) Parse(_ ast.Node, block text.Reader, pc parser.Context) ast.Node {
	r, _ := pc.Get(readingKey).(*reading)
	if r == nil {
		return nil
	}
	line, seg := block.PeekLine()
	if len(line) < 2 || line[1] != '[' || seg.Padding != 0 {
		return nil
	}
	l, pos := block.Position()
	start := seg.Start
	stop := start
	for n := 0; n < 4; n++ {
		line, seg = block.PeekLine()
		if line == nil {
			break
		}
		stop = seg.Stop
		if r.vain[0].holds(seg) {
			block.AdvanceLine()
			continue
		}
		if i := bytes.IndexByte(line, ']'); i >= 0 {
			end := seg.Start + i + 1
			block.Advance(i + 1)
			return r.insert(start, end)
		}
		block.AdvanceLine()
	}
	r.vain[0].add(start, stop)
	block.SetPosition(l, pos)
	r.set.Add(unclosedInsert(r.doc.File.Span(start, start+2)))
	return nil
}

func (r *reading) insert(start, end int) ast.Node {
	f := r.doc.File
	in := &Inline{Span: f.Span(start, end), Claim: f.Text[start] == '?', Doc: r.doc}
	in.Insert = formula.ParseInsert(f.Span(start+2, end-1), in.Claim, r.set)
	r.inline = append(r.inline, in)
	return &InlineNode{Inline: in}
}

// mathParser reads $…$ and $$…$$. An opening dollar has no space after it, a
// closing one no space before it and no digit after it, so that prices in
// prose stay prose.
type mathParser struct{}

func (mathParser) Trigger() []byte { return []byte{'$'} }

func (mathParser) Parse(_ ast.Node, block text.Reader, pc parser.Context) ast.Node {
	r, _ := pc.Get(readingKey).(*reading)
	if r == nil {
		return nil
	}
	line, seg := block.PeekLine()
	if seg.Padding != 0 {
		return nil
	}
	fence := 1
	if bytes.HasPrefix(line, []byte("$$")) {
		fence = 2
	}
	if len(line) <= fence || fence == 1 && isSpace(line[1]) {
		return nil
	}
	l, pos := block.Position()
	start := seg.Start + fence
	skip, stop := fence, start
	for n := 0; n < 60; n++ {
		line, seg = block.PeekLine()
		if line == nil {
			break
		}
		stop = seg.Stop
		if r.vain[fence].holds(seg) {
			skip = 0
			block.AdvanceLine()
			continue
		}
		if i := closing(line, skip, fence); i >= 0 {
			span := r.doc.File.Span(start, seg.Start+i)
			block.Advance(i + fence)
			if strings.TrimSpace(span.Text()) == "" {
				block.SetPosition(l, pos)
				return nil
			}
			return &MathNode{Display: fence == 2, Span: span}
		}
		skip = 0
		block.AdvanceLine()
	}
	r.vain[fence].add(start, stop)
	block.SetPosition(l, pos)
	return nil
}

// closing returns where the closing dollars stand in the line, −1 if nowhere.
func closing(line []byte, from, fence int) int {
	for i := from; i < len(line); i++ {
		switch {
		case line[i] == '\\':
			i++
		case line[i] != '$':
		case fence == 2:
			if i+1 < len(line) && line[i+1] == '$' {
				return i
			}
		case i > 0 && isSpace(line[i-1]):
		case i+1 < len(line) && line[i+1] >= '0' && line[i+1] <= '9':
		default:
			return i
		}
	}
	return -1
}

func isSpace(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }

// blockTransformer puts a BlockNode where a fence of a known kind stands.
type blockTransformer struct{}

func (blockTransformer) Transform(root *ast.Document, _ text.Reader, pc parser.Context) {
	r, _ := pc.Get(readingKey).(*reading)
	if r == nil {
		return
	}
	var fences []*ast.FencedCodeBlock
	var levels []int             // of the heading above each fence, 0 for none
	latest := map[ast.Node]int{} // by parent
	_ = ast.Walk(root, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if n.Type() == ast.TypeInline {
			return ast.WalkSkipChildren, nil
		}
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Heading:
			latest[n.Parent()] = n.Level
		case *ast.FencedCodeBlock:
			fences = append(fences, n)
			levels = append(levels, latest[n.Parent()])
		}
		return ast.WalkContinue, nil
	})
	for i, f := range fences {
		if f.Info == nil {
			continue
		}
		if b := r.block(f); b != nil {
			b.Level = levels[i]
			node := &BlockNode{Block: b}
			f.Parent().ReplaceChild(f.Parent(), f, node)
		}
	}
	// Inlines are found in the order in which goldmark parses blocks, which is
	// not the order of the text within tables and footnotes.
	sortInlines(r.inline)
}

// block reads the head of a fence; nil where it is ordinary code.
func (r *reading) block(f *ast.FencedCodeBlock) *Block {
	file := r.doc.File
	seg := f.Info.Segment
	words := splitHead(file.Span(seg.Start, seg.Stop))
	if len(words) == 0 {
		return nil
	}
	kind := words[0].Text()
	if !r.kinds(kind) {
		r.set.Add(r.mistypedKind(words))
		return nil
	}
	b := &Block{Kind: kind, Head: file.Span(seg.Start, seg.Stop), KindAt: words[0], NameAt: words[0], Doc: r.doc}
	r.readHead(b, words[1:])
	lines := f.Lines()
	end := seg.Stop
	for i := 0; i < lines.Len(); i++ {
		s := lines.At(i)
		b.Body.Lines = append(b.Body.Lines, trimLineEnd(file.Span(s.Start, s.Stop)))
		end = s.Stop
	}
	if n := len(b.Body.Lines); n > 0 {
		b.Body.Span = file.Span(b.Body.Lines[0].Start, b.Body.Lines[n-1].End)
	} else {
		b.Body.Span = file.Span(end, end)
	}
	line, _ := file.Position(seg.Start)
	b.Span = file.Span(file.LineStart(line), end)
	for p := f.Parent(); p != nil; p = p.Parent() {
		if p.Kind() == ast.KindBlockquote {
			r.set.Add(quotedBlock(b))
			return nil
		}
	}
	r.blocks = append(r.blocks, b)
	return b
}

func trimLineEnd(s source.Span) source.Span {
	for s.End > s.Start && (s.File.Text[s.End-1] == '\n' || s.File.Text[s.End-1] == '\r') {
		s.End--
	}
	return s
}

// splitHead splits an info string at spaces; a value in double quotes may hold
// spaces.
func splitHead(s source.Span) []source.Span {
	var out []source.Span
	t := s.Text()
	for i := 0; i < len(t); {
		if t[i] == ' ' || t[i] == '\t' {
			i++
			continue
		}
		j, quoted := i, false
		for j < len(t) && (quoted || t[j] != ' ' && t[j] != '\t') {
			if t[j] == '"' {
				quoted = !quoted
			}
			j++
		}
		out = append(out, s.Sub(i, j))
		i = j
	}
	return out
}

func (r *reading) readHead(b *Block, words []source.Span) {
	for i, w := range words {
		t := w.Text()
		eq := strings.IndexByte(t, '=')
		switch {
		case eq > 0:
			o := Option{Key: t[:eq], Value: strings.Trim(t[eq+1:], `"`), At: w, ValueAt: w.Sub(eq+1, len(t))}
			if before, twice := b.Option(o.Key); twice {
				r.set.Add(repeatedOption(o, before))
				continue
			}
			b.Options = append(b.Options, o)
		case i == 0 && isLabel(t):
			b.Name, b.NameAt = t, w
		default:
			r.set.Add(badHead(b, w))
		}
	}
}

// isLabel reports whether the text can stand as a block's name: a name, a
// dotted one as of a part of a practical, or a label with hyphens.
func isLabel(t string) bool {
	for _, part := range strings.FieldsFunc(t, func(r rune) bool { return r == '.' || r == '-' }) {
		if !IsName(part) && !isNumber(part) {
			return false
		}
	}
	first, _ := utf8.DecodeRuneInString(t)
	return unicode.IsLetter(first) && !strings.HasSuffix(t, ".") && !strings.Contains(t, "..")
}

func isNumber(t string) bool { return strings.Trim(t, "0123456789") == "" }
