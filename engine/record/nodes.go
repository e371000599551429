package record

import (
	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/source"
)

// Document is one Markdown file or a stretch of one: goldmark's tree over the
// file's bytes, with our own nodes in it.
type Document struct {
	File *source.File
	Root ast.Node
}

// Kinds of our own nodes in goldmark's tree.
var (
	KindBlock  = ast.NewNodeKind("TautBlock")
	KindInline = ast.NewNodeKind("TautInline")
	KindMath   = ast.NewNodeKind("TautMath")
)

// BlockNode stands in the tree where a block of the record language stood.
type BlockNode struct {
	ast.BaseBlock
	Block *Block
}

// InlineNode stands where an inline value or claim stood.
type InlineNode struct {
	ast.BaseInline
	Inline *Inline
}

// MathNode is TeX mathematics: $…$ within a line, $$…$$ displayed.
type MathNode struct {
	ast.BaseInline
	Display bool
	Span    source.Span // the mathematics without its dollar signs
}

// Kind implements ast.Node.
func (*BlockNode) Kind() ast.NodeKind { return KindBlock }

// Kind implements ast.Node.
func (*InlineNode) Kind() ast.NodeKind { return KindInline }

// Kind implements ast.Node.
func (*MathNode) Kind() ast.NodeKind { return KindMath }

// Dump implements ast.Node.
func (n *BlockNode) Dump(src []byte, level int) { ast.DumpHelper(n, src, level, nil, nil) }

// Dump implements ast.Node.
func (n *InlineNode) Dump(src []byte, level int) { ast.DumpHelper(n, src, level, nil, nil) }

// Dump implements ast.Node.
func (n *MathNode) Dump(src []byte, level int) { ast.DumpHelper(n, src, level, nil, nil) }

// Block is one fenced block of the record language, read but not interpreted.
type Block struct {
	Kind    string
	Name    string
	Span    source.Span // the whole fence
	Head    source.Span // the info string
	KindAt  source.Span
	NameAt  source.Span // the place of the name; of the kind where there is none
	Options []Option
	Body    Body
	Doc     *Document
	// Level is that of the heading under which the block stands; 0 for none.
	Level int
	// Settings, where set, is the body already read as YAML, as when an
	// apparatus file stands for a block.
	Settings *Setting
}

// Option is one key=value of a block's head.
type Option struct {
	Key, Value  string
	At, ValueAt source.Span
}

// Option returns the value of a key in the block's head.
func (b *Block) Option(key string) (Option, bool) {
	for _, o := range b.Options {
		if o.Key == key {
			return o, true
		}
	}
	return Option{}, false
}

// Body is the text of a block between its fences. Lines are its lines without
// indentation and line end; Span reaches from the first to the last.
type Body struct {
	Span  source.Span
	Lines []source.Span
}

// Inline is one inline value =[…] or claim ?[…].
type Inline struct {
	Span   source.Span // with its brackets
	Claim  bool
	Insert *formula.Insert
	Doc    *Document
}
