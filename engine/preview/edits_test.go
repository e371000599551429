package preview_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/build"
	"example.org/taut/engine/preview"
	"example.org/taut/engine/view"
)

// TestEditsOfTrees: the edits of two pages make the one of the other, byte for
// byte, and none are made of what is the same.
func TestEditsOfTrees(t *testing.T) {
	for seed := range uint64(2000) {
		r := rand.New(rand.NewPCG(seed, 7))
		old := tree(r, 3)
		next := tree(r, 3)
		if seed%2 == 0 {
			next = stirred(r, old)
		}
		holdsEdits(t, old, next)
		if list, _ := preview.Edits(old, old); list != "null" {
			t.Fatalf("nothing changed, and yet %s", list)
		}
	}
}

func holdsEdits(t *testing.T, old, next string) {
	t.Helper()
	list, ok := preview.Edits(old, next)
	if !ok {
		t.Fatalf("can't be taken apart:\n%s\n%s", old, next)
	}
	got, err := preview.Apply(old, list)
	if err != nil || got != next {
		t.Fatalf("from %s\nto   %s\nby   %s\nit is %s (%v)", old, next, list, got, err)
	}
}

// tree is invented markup, some of it with the same names and texts.
func tree(r *rand.Rand, depth int) string {
	var b strings.Builder
	plain := false // no two texts side by side
	for range r.IntN(6) {
		n := r.IntN(8)
		if n < 3 && plain {
			n = 3
		}
		plain = n < 3
		switch {
		case n < 2:
			b.WriteString("\n")
		case n == 2:
			fmt.Fprintf(&b, "text &amp; %d ", r.IntN(3))
		case n == 3:
			b.WriteString([]string{"<br>", `<img alt="a > b" />`, "<!-- <p> -->", "<pre>\n<b>x</b></pre>", "<table><tr><td>1</td></tr></table>"}[r.IntN(5)])
		case n == 4:
			fmt.Fprintf(&b, `<svg><path d="M%d"/><title>%d</title></svg>`, r.IntN(3), r.IntN(3))
		case depth > 0:
			name := []string{"p", "div", "section"}[r.IntN(3)]
			id := []string{"", ` id="a"`, ` id='b"'`, ` class="x" id="c"`}[r.IntN(4)]
			fmt.Fprintf(&b, "<%s%s>%s</%s>", name, id, tree(r, depth-1), name)
		default:
			b.WriteString("<b></b>")
		}
	}
	return b.String()
}

// stirred is markup with a few small changes.
func stirred(r *rand.Rand, text string) string {
	for range 1 + r.IntN(3) {
		old, next := []string{"0", "1", "2", `"a"`, "<br>"}[r.IntN(5)], []string{"3", "12", `"c"`, "<br><br>"}[r.IntN(4)]
		if strings.HasPrefix(old, "<") != strings.HasPrefix(next, "<") || strings.HasPrefix(old, `"`) != strings.HasPrefix(next, `"`) {
			continue
		}
		text = strings.Replace(text, old, next, 1+r.IntN(3))
	}
	return text
}

// TestEditsOfPages: the same of the pages of the examples, from each to the
// next and from view to view. All of them can be taken apart.
func TestEditsOfPages(t *testing.T) {
	records, err := filepath.Glob(filepath.FromSlash("../../examples/*/record.md"))
	if err != nil || len(records) < 5 {
		t.Fatal(records, err)
	}
	last := ""
	o := options().Build // with the same draws for all views
	for _, record := range records {
		for _, name := range view.Names() {
			o.View, _ = view.Named(name)
			out, err := build.Record(record, o)
			if err != nil {
				t.Fatal(err)
			}
			body := preview.AsRead(string(out.HTML))
			holdsEdits(t, last, body)
			last = body
		}
	}
}

// TestEditsAreSmall: of a page with one reading changed only what hangs on it
// is sent.
func TestEditsAreSmall(t *testing.T) {
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(filepath.FromSlash("../../examples/steel-wire"))); err != nil {
		t.Fatal(err)
	}
	body := func() string {
		out, err := build.Record(filepath.Join(dir, "record.md"), options().Build)
		if err != nil {
			t.Fatal(err)
		}
		return preview.AsRead(string(out.HTML))
	}
	data := filepath.Join(dir, "pull.csv")
	text, err := os.ReadFile(data)
	if err != nil {
		t.Fatal(err)
	}
	before := body()
	save(t, data, strings.Replace(string(text), "4.14", "4.15", 1))
	after := body()
	list, _ := preview.Edits(before, after)
	if before == after || len(list) > len(after)/3 {
		t.Errorf("%d bytes are sent of %d", len(list), len(after))
	}
	t.Logf("%d bytes are sent of %d", len(list), len(after))
}

// TestNotTakenApart: what a browser would read otherwise than its tags say is
// left alone.
func TestNotTakenApart(t *testing.T) {
	for _, text := range []string{
		"<p>", "</p>", "<p></div>", "<p></p", "<p title=\"></p>", "<div/>", "<script>1</script>", "<style></style>", "<textarea></textarea>",
		"<!-- ", "<svg><foreignObject></foreignObject></svg>", "<P></p>", "<", "<>", "</>",
	} {
		if list, ok := preview.Edits(text, text); ok {
			t.Errorf("%q is taken apart: %s", text, list)
		}
	}
}
