package page

import (
	"slices"
	"testing"

	"example.org/taut/engine/view"
)

// BenchmarkRender writes the sample page, figures and all.
func BenchmarkRender(b *testing.B) {
	th, p := theme(b), sample(b)
	b.ReportAllocs()
	for b.Loop() {
		out, err := Render(p, th)
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(out)))
	}
}

// BenchmarkText writes the sample page without its figures.
func BenchmarkText(b *testing.B) {
	th, p := theme(b), sample(b)
	for _, nodes := range p.Body.Blocks {
		for _, n := range nodes {
			dropFigures(n)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Render(p, th); err != nil {
			b.Fatal(err)
		}
	}
}

func dropFigures(n view.Node) {
	g, ok := n.(*view.Group)
	if !ok {
		return
	}
	g.Nodes = slices.DeleteFunc(g.Nodes, func(n view.Node) bool {
		switch n.(type) {
		case *view.Figure, *view.Bars:
			return true
		}
		return false
	})
}
