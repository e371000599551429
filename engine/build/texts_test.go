package build

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
)

// TestTexts: the same text under the same name is the same file; another name
// or text is another, and no more is kept than asked for.
func TestTexts(t *testing.T) {
	file := func(x *Texts, name, text string) any { return x.file(name, []byte(text), sha256.Sum256([]byte(text))) }
	x := NewTexts(4000)
	a := file(x, "a", "text")
	if file(x, "a", "text") != a || file(x, "b", "text") == a || file(x, "a", "test") == a {
		t.Error("files are not told apart by name and text")
	}
	for i := range 100 {
		file(x, "long", fmt.Sprintf("%500d", i))
		if file(x, "a", "text") != a {
			t.Fatalf("a file that is asked for again and again was forgotten, at %d", i)
		}
	}
	held := 0
	for _, m := range []map[textKey]bool{keys(x, true), keys(x, false)} {
		held += len(m)
	}
	if held > 10 {
		t.Errorf("%d files of 500 bytes are held by a Texts of 4000 bytes", held)
	}
	large := string(bytes.Repeat([]byte("x"), 3000))
	if file(x, "large", large) == file(x, "large", large) {
		t.Error("a file that would take all the place was kept")
	}
	var none *Texts
	if file(none, "a", "text") == file(none, "a", "text") {
		t.Error("nothing keeps something")
	}
}

func keys(x *Texts, young bool) map[textKey]bool {
	out, of := map[textKey]bool{}, x.old
	if young {
		of = x.young
	}
	for k := range of {
		out[k] = true
	}
	return out
}

// TestTextsShared: records built at once with one Texts are those built alone.
func TestTextsShared(t *testing.T) {
	files := map[string]string{}
	for i := range 12 {
		files[fmt.Sprintf("%d/r.md", i)] = fmt.Sprintf("# %d\n```read from=data.txt\n```\n```let\ny = nothing\n```\n", i%3)
		files[fmt.Sprintf("%d/data.txt", i)] = fmt.Sprint("data ", i%2)
	}
	dir := tree(t, files)
	o := testOptions()
	o.Texts = NewTexts(1 << 20)
	var all sync.WaitGroup
	for i := range 12 {
		all.Go(func() {
			p := filepath.Join(dir, fmt.Sprint(i), "r.md")
			got, err := Record(p, o)
			if err != nil {
				t.Error(err)
				return
			}
			want, err := Record(p, testOptions())
			if err != nil || !bytes.Equal(got.HTML, want.HTML) || fmt.Sprint(got.Findings) != fmt.Sprint(want.Findings) {
				t.Errorf("record %d is another with the texts of others, %v", i, err)
			}
		})
	}
	all.Wait()
}
