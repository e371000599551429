package main

import (
	"bytes"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/results"
	"example.org/taut/engine/view"
)

// examplePaths lists the records of the examples, each in its folder.
func examplePaths(t *testing.T) []string {
	t.Helper()
	list, err := build.Records(filepath.FromSlash("../../examples"))
	if err != nil || len(list) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	return list
}

// viewTrials keeps the draws of one example for its other views.
var viewTrials = build.NewMemory(64)

func viewOf(t *testing.T, path string, v view.View) *build.Output {
	t.Helper()
	o := options(nil)
	o.Trials = viewTrials
	o.View = v
	out, err := build.Record(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestBlankHoldsNoAnswers searches the blank sheet of every example, the whole
// file with its attributes, for what it must not hold: the digits of every
// number of the results file as displayed, those of every reading, every
// sentence of an answer, and the sums of the files. What stands in the author's
// own prose, in a block that is given or in the apparatus file is no answer.
func TestBlankHoldsNoAnswers(t *testing.T) {
	all := 0
	for _, path := range examplePaths(t) {
		t.Run(filepath.ToSlash(path), func(t *testing.T) {
			out := viewOf(t, path, view.AsBlank)
			page := string(out.HTML)
			seen := plainPage(page)
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			methods := methodsOf(t, path, string(text))
			words := squeezed(ownWords(string(text)))
			told := numbersIn(ownWords(string(text)) + ownWords(methods) + apparatusOf(t, path, string(text)))
			for n := range givenIn(string(text)+methods, out.Results) {
				told[n] = true
			}
			secrets := 0
			for _, n := range answersOf(out.Results) {
				if !told[n] {
					secrets++
					if numbersIn(seen)[n] {
						t.Errorf("the number %s is in the page", n)
					}
				}
			}
			for _, n := range readingsOf(t, path, string(text)) {
				if !told[n] {
					secrets++
					if numbersIn(seen)[n] {
						t.Errorf("the reading %s is in the page", n)
					}
				}
			}
			for _, sentence := range append(answerSentences(string(text)), answerSentences(methods)...) {
				if strings.Contains(squeezed(seen), sentence) && !strings.Contains(words, sentence) {
					t.Errorf("an answer is in the page: %s", sentence)
				}
			}
			for _, in := range out.Results.Inputs {
				if strings.Contains(page, in.SHA256) {
					t.Errorf("the sum of %s is in the page", in.Path)
				}
			}
			for _, safety := range regexp.MustCompile(`(?s)<aside class="safety".*?</aside>`).FindAllString(page, -1) {
				if strings.Contains(safety, `class="blank"`) {
					t.Errorf("a caution has a gap: %s", safety)
				}
			}
			for _, mark := range []string{`class="q computed`, `class="read`, `"fig-mark`, `"fig-fitted`, `"fig-num`, `class="answer`, `<data class="q"`, `class="finding`} {
				if strings.Contains(seen, mark) {
					t.Errorf("%s is in the page", mark)
				}
			}
			if worked := numbersIn(plainPage(string(viewOf(t, path, view.AsWorked).HTML))); len(worked) < secrets/2 {
				t.Errorf("%d numbers were looked for, %d are in the worked view: the search is blind", secrets, len(worked))
			}
			all += secrets
		})
	}
	if all < 100 {
		t.Errorf("only %d numbers were looked for in all", all)
	}
}

// TestViewsShareTheirResults: the results file and the findings are those of
// the record, whatever is shown.
func TestViewsShareTheirResults(t *testing.T) {
	for _, path := range examplePaths(t) {
		want, err := viewOf(t, path, view.AsRecord).Results.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range []view.View{view.AsWorked, view.AsBlank} {
			got, err := viewOf(t, path, v).Results.Bytes()
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s: the results of the view %s differ: %v", path, v, err)
			}
		}
	}
}

// plainPage is a page without its style, the groups of its digits joined and
// its minus signs those of a keyboard.
func plainPage(page string) string {
	page = regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAllString(page, "")
	page = regexp.MustCompile(`(?s) (d|viewBox|width|height|x|y|dy|cx|cy|textLength|style)="[^"]*"`).ReplaceAllString(page, "")
	page = regexp.MustCompile(`<span class="g">(\d+)</span>`).ReplaceAllString(page, "$1")
	return html.UnescapeString(page)
}

var number = regexp.MustCompile(`\d+(?:\.\d+)?`)

// numbersIn gathers the numbers of a text that have three digits or more that
// count.
func numbersIn(text string) map[string]bool {
	out := map[string]bool{}
	for _, n := range number.FindAllString(text, -1) {
		if len(strings.TrimLeft(strings.ReplaceAll(n, ".", ""), "0")) >= 3 {
			out[n] = true
		}
	}
	return out
}

// answersOf lists the digits that the results file displays.
func answersOf(r *results.File) []string {
	var out []string
	for _, v := range r.Values {
		for n := range numbersIn(v.Display) {
			out = append(out, n)
		}
	}
	return out
}

// givenIn are the digits in which the page displays what stands in blocks that
// are given; a method's names stand behind those of its practicals.
func givenIn(text string, r *results.File) map[string]bool {
	out := map[string]bool{}
	list, _ := fencesOf(text)
	for _, b := range list {
		if !strings.HasPrefix(b.info, "calc") || !strings.Contains(b.info, "given=yes") {
			continue
		}
		for _, m := range regexp.MustCompile(`(?m)^(\S+) *=`).FindAllStringSubmatch(b.body, -1) {
			for name, v := range r.Values {
				if name == m[1] || strings.HasSuffix(name, "."+m[1]) {
					for n := range numbersIn(v.Display) {
						out[n] = true
					}
				}
			}
		}
	}
	return out
}

var fence = regexp.MustCompile("(?ms)^(```+)([^\n]*)\n(.*?)^```+ *$")

// fenced is a fenced block of a record: its fence's words, its body and all of
// it.
type fenced struct{ info, body, whole string }

var opening = regexp.MustCompile("^(```+)([^`]*)$")

// fencesOf splits a text into its fenced blocks and the rest. A longer fence
// holds shorter ones as code.
func fencesOf(text string) (list []fenced, rest string) {
	var open *fenced
	ticks := ""
	for _, line := range strings.SplitAfter(text, "\n") {
		bare := strings.TrimRight(line, " \n")
		switch m := opening.FindStringSubmatch(bare); {
		case open == nil && m != nil:
			open, ticks = &fenced{info: strings.TrimSpace(m[2]), whole: line}, m[1]
		case open == nil:
			rest += line
		case strings.HasPrefix(bare, ticks) && strings.Trim(bare, "`") == "":
			open.whole += line
			list = append(list, *open)
			open = nil
		default:
			open.body += line
			open.whole += line
		}
	}
	return list, rest
}

// ownWords is a record without the blocks that a blank sheet empties and
// without its claims.
func ownWords(text string) string {
	list, words := fencesOf(text)
	for _, b := range list {
		kind, _, _ := strings.Cut(b.info, " ")
		switch {
		case strings.Contains(b.info, "given=yes"), kind == "question", kind == "caution", kind == "instruments", kind == "compare", !isKind(kind):
			words += b.whole
		case kind == "calc": // its labels are the author's words
			for _, line := range strings.Split(b.body, "\n") {
				_, label, _ := strings.Cut(line, "|")
				words += label + "\n"
			}
		}
	}
	return regexp.MustCompile("`[^`\n]*`|[=?]\\[[^\\]]*\\]").ReplaceAllStringFunc(words, func(s string) string {
		if s[0] == '`' {
			return s // code is read as it stands
		}
		return ""
	})
}

// isKind reports whether a fence of this word computes; every other is code.
func isKind(word string) bool {
	return slices.ContainsFunc(blocks.All(), func(k block.Kind) bool { return k.Info().Name == word })
}

// apparatusOf is the text of the apparatus file that a record names.
func apparatusOf(t *testing.T, path, text string) string {
	t.Helper()
	front := regexp.MustCompile(`(?s)\A---\n.*?\n---\n`).FindString(text)
	m := regexp.MustCompile(`(?m)^apparatus: *(\S+)`).FindStringSubmatch(front)
	if m == nil {
		return ""
	}
	b, err := os.ReadFile(filepath.Join(filepath.Dir(path), m[1]))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// methodsOf is the text of the methods that a record uses.
func methodsOf(t *testing.T, path, text string) string {
	t.Helper()
	var b strings.Builder
	for _, m := range regexp.MustCompile("(?m)^```+practical .*method=(\\S+)").FindAllStringSubmatch(text, -1) {
		var text []byte
		if f, ok := blocks.Built().Method(m[1]); ok {
			text = f.Text
		} else if own, err := os.ReadFile(filepath.Join(filepath.Dir(path), m[1])); err == nil {
			text = own
		}
		b.Write(text)
		list, _ := fencesOf(string(text))
		for _, block := range list {
			if block.info == "roles" { // its defaults are told
				b.WriteString(block.body)
			}
		}
	}
	return b.String()
}

// readingsOf lists the numbers of tables that are not given.
func readingsOf(t *testing.T, path, text string) []string {
	t.Helper()
	var out []string
	list, _ := fencesOf(text)
	for _, f := range list {
		kind, _, _ := strings.Cut(f.info, " ")
		if kind != "data" || strings.Contains(f.info, "given=yes") {
			continue
		}
		body := f.body
		if from := regexp.MustCompile(`from=(\S+)`).FindStringSubmatch(f.info); from != nil {
			b, err := os.ReadFile(filepath.Join(filepath.Dir(path), from[1]))
			if err != nil {
				t.Fatal(err)
			}
			body = string(b)
		}
		for n := range numbersIn(body) {
			out = append(out, n)
		}
	}
	return out
}

// answerSentences lists the sentences of a record's answers.
func answerSentences(text string) []string {
	var out []string
	list, _ := fencesOf(text)
	for _, f := range list {
		if !strings.HasPrefix(f.info, "answer ") {
			continue
		}
		for _, s := range strings.SplitAfter(squeezed(f.body), ". ") {
			if s = strings.TrimSpace(s); len(s) > 12 {
				out = append(out, s)
			}
		}
	}
	return out
}

func squeezed(s string) string { return strings.Join(strings.Fields(s), " ") }
