package blocks_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/page"
	"example.org/taut/engine/record"
	"example.org/taut/engine/results"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

// oneFile gives the same text for every path.
type oneFile struct{ f *source.File }

func (o oneFile) Open(*source.File, string) (*source.File, error) {
	if o.f == nil {
		return nil, &block.OpenError{Message: "there is no such file"}
	}
	return o.f, nil
}

// texts reads files of the project as seeds.
func texts(f *testing.F, patterns ...string) []string {
	var out []string
	for _, p := range patterns {
		list, err := filepath.Glob(p)
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range list {
			text, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			out = append(out, string(text))
		}
	}
	return out
}

// FuzzRecord takes any text for a record, and another for every file that it
// reads, all the way to the page, without Monte Carlo trials: nothing panics,
// and every finding has a place in a text and says something.
func FuzzRecord(f *testing.F) {
	for _, t := range texts(f, "../examples/*/*.md", faultyDir+"/*.md") {
		f.Add(t, "up / mm, down / mm\n1, 2\n~3, 4 # no\n5, –\n")
	}
	small := texts(f, faultyDir+"/method-small.md")[0]
	f.Add("```practical p method=./m.md\nlength = 3 m\nmass = 4 kg\n```\n=[p.out]", small)
	f.Add("---\napparatus: a.yaml\n---\n```data t from=x.csv decimal=comma\na / mm @screw = b\n~2 # why\n```", "instruments:\n  screw: {pitch: 1 mm, divisions: 100, zero: [1 mm, –]}\n")
	theme, err := themes.Load("")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text, data string) {
		if len(text) > 20000 || len(data) > 20000 {
			return
		}
		var set finding.Set
		files := oneFile{source.NewFile("data", []byte(data))}
		rec := record.Parse(source.NewFile("r.md", []byte(text)), block.KindNames(blocks.All()), &set)
		p := block.New(rec, blocks.All(), files, blocks.Built(), block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2, Date: "2026-01-01"}, &set)
		p.Evaluate()
		p.CheckProse(strings.Contains(text, ","))
		body := p.Show()
		front := append(p.Warnings(), p.ShowFront()...)
		if len(p.Elsewhere()) > 0 {
			front = append(front, &view.Notice{Findings: p.Elsewhere()})
		}
		if _, err := page.Render(&view.Page{Title: "t", Name: "t", Front: front, Body: body}, theme); err != nil {
			t.Fatal(err)
		}
		results.Gather(p)
		placed(t, &set)
	})
}

// placed holds that findings have a place, a slug and a message.
func placed(t *testing.T, set *finding.Set) {
	t.Helper()
	for _, f := range set.Sorted() {
		if f.At.File == nil || f.At.Start < 0 || f.At.End > len(f.At.File.Text) || f.At.Start > f.At.End || f.Slug == "" || f.Message == "" {
			t.Errorf("a finding without place or words: %s", f)
		}
		_ = f.String()
	}
	if err := finding.WriteText(discard{}, set.Sorted()); err != nil {
		t.Error(err)
	}
}

type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

// FuzzMethod reads any text as a method file.
func FuzzMethod(f *testing.F) {
	for _, t := range texts(f, "methods/*.md", faultyDir+"/method-*.md") {
		f.Add(t)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 20000 {
			return
		}
		var set finding.Set
		m := method.Read(source.NewFile("m.md", []byte(text)), block.KindNames(blocks.All()), &set)
		for _, p := range m.Parts {
			if m.Part(p.Name) == nil {
				t.Errorf("the part %q is lost", p.Name)
			}
		}
		placed(t, &set)
	})
}

// FuzzTable reads any text as a table, typed in and from a file: no cell is
// lost that stands in the text, and cells stand where they say.
func FuzzTable(f *testing.F) {
	f.Add("a / m, b\n1, 2 # c\n~3, \"x, y\"\n", false)
	f.Add("| a | b |\n| --- | --- |\n| 1 | \\| |\n", false)
	f.Add("a;b\n1,5;2\n\"x\ny\";3\n", true)
	f.Add("\ufeffa\tb\r\n1\t2\r\n", false)
	f.Fuzz(func(t *testing.T, text string, comma bool) {
		decimal := byte('.')
		if comma {
			decimal = ','
		}
		var set finding.Set
		file := source.NewFile("t.csv", []byte(text))
		table := record.ReadTable(file.Span(0, len(text)), record.Lines(file), decimal, &set)
		for _, r := range table.Rows {
			for _, c := range r.Cells {
				if at := c.At.Text(); !strings.ContainsAny(at, `"\`) && at != c.Text {
					t.Errorf("the cell %q stands at %q", c.Text, at)
				}
			}
		}
		placed(t, &set)
	})
}

// FuzzSettings reads any text as settings: every scalar stands where it says,
// or is known not to.
func FuzzSettings(f *testing.F) {
	f.Add("y: [t.x, 'a''b']\nx: &a \"q\\u0041\"\nz: *a\nw: |\n  long\n  er\n")
	f.Add("a: {b: [1, {c: ü}]}\n? x\n: y\n!!str k: !t v\n")
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 20000 {
			return
		}
		var set finding.Set
		s := record.ParseSettings(source.NewFile("s.yaml", []byte(text)), &set)
		inside(t, s)
		placed(t, &set)
	})
}

func inside(t *testing.T, s *record.Setting) {
	if s == nil {
		return
	}
	if at, ok := s.Inner(); ok && s.Kind == record.ScalarSetting && at.Text() != s.Text {
		t.Errorf("%q is said to stand at %q", s.Text, at.Text())
	}
	for _, i := range s.Items {
		inside(t, i)
	}
	for _, p := range s.Pairs {
		inside(t, p.Value)
	}
}
