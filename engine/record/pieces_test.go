package record

import (
	"fmt"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

func TestParagraphs(t *testing.T) {
	const text = "# Why\n\nA *long* wire,\nby $\\Delta l$: =[E] and `code` <b>x</b> [link](http://example.org).\n\n- one\n- two\n\n```\nx < y\n```\n"
	rec := Parse(source.NewFile("a.md", []byte(text)), nil, &finding.Set{})
	var b strings.Builder
	for _, list := range rec.Doc.Paragraphs() {
		for _, p := range list {
			if p.Kind == PlainPiece {
				b.WriteString(p.Text)
			} else {
				fmt.Fprintf(&b, "{%d %s}", p.Kind, p.Text)
			}
		}
		b.WriteString("|")
	}
	const want = "Why|A {2 long} wire, by {3 \\Delta l}: {1 =[E]} and {1 code} {1 <b>}x{1 </b>} link.|one|two|{1 x < y} |"
	if b.String() != want {
		t.Errorf("%s\nnot\n%s", b.String(), want)
	}
}
