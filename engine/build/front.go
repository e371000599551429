package build

import (
	"path"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Front is what the front matter of a record says.
type Front struct {
	Title  string // as given; "" where it is not
	Author string
	Date   string // ISO 8601
	Theme  string // "" for the default
	Comma  bool   // decimal comma, for display

	block.Settings
	facts []view.Fact
}

// frontKeys are the keys that every record knows, whatever the kinds.
var frontKeys = []string{"title", "author", "date", "coverage", "digits", "theme", "decimal"}

// frontReader reads the front matter.
type frontReader struct {
	rec    *record.Record
	set    *finding.Set
	themes []string
	front  Front
}

// readFront reads the front matter. What is wrong in it is a finding, and the
// default stands.
func readFront(rec *record.Record, kinds []block.Kind, themes []string, set *finding.Set) Front {
	r := &frontReader{rec: rec, set: set, themes: themes}
	r.front.Settings = block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}
	extra := block.FrontKeys(kinds)
	known := FrontKeys(kinds)
	sort.Strings(known)
	for _, p := range rec.Front.Pairs {
		switch {
		case !has(known, p.Key):
			set.Add(unknownFrontKey(p, known))
		case has(extra, p.Key):
			r.fact(p)
		default:
			r.key(p)
		}
	}
	return r.front
}

func has(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// fact notes a key that a kind reads, such as the apparatus, for the head of
// the page.
func (r *frontReader) fact(p record.Pair) {
	if p.Value.Kind != record.ScalarSetting || p.Value.Text == "" {
		return // the kind says what is wrong
	}
	r.front.facts = append(r.front.facts, view.Fact{
		Term: view.Text{view.Plain(strings.ToUpper(p.Key[:1]) + p.Key[1:])},
		Text: view.Text{view.Code(p.Value.Text)},
	})
}

// nameApparatus puts the name of the apparatus in the place of that of its
// file, which stands among the files of the page.
func (f *Front) nameApparatus(p *block.Program) {
	for _, in := range p.Instances() {
		e, ok := in.(block.Equipped)
		if !ok {
			continue
		}
		a := e.Equipment().Apparatus
		if a == nil || a.Name == "" {
			continue
		}
		name := a.Name
		if a.Identity != "" && a.Identity != a.Name {
			name += " (" + a.Identity + ")"
		}
		for i := range f.facts {
			if f.facts[i].Term[0] == view.Plain("Apparatus") {
				f.facts[i].Text = view.Text{view.Plain(name)}
			}
		}
	}
}

func (r *frontReader) key(p record.Pair) {
	text, ok := r.text(p)
	if !ok {
		return
	}
	f := &r.front
	switch p.Key {
	case "title":
		f.Title = text
	case "author":
		f.Author = text
	case "date":
		if _, err := time.Parse(time.DateOnly, text); err != nil {
			r.set.Add(badFront(p, text, "a date of ISO 8601, such as 2026-03-14"))
			return
		}
		f.Date, f.Settings.Date = text, text
	case "coverage":
		r.coverage(p, text)
	case "digits":
		if text != "1" && text != "2" {
			r.set.Add(badFront(p, text, "1 or 2, the significant digits of an uncertainty (GUM 7.2.6)"))
			return
		}
		f.Digits = int(text[0] - '0')
	case "decimal":
		if text != "point" && text != "comma" {
			r.set.Add(badFront(p, text, "point or comma"))
			return
		}
		f.Comma = text == "comma"
	case "theme":
		r.theme(p, text)
	}
}

// text returns the value of a key as one line. Several authors may be a list.
func (r *frontReader) text(p record.Pair) (string, bool) {
	var parts []string
	for _, s := range p.Value.List() {
		if s.Kind != record.ScalarSetting || p.Value.Kind == record.ListSetting && p.Key != "author" {
			r.set.Add(badFront(p, "a list or map", "one line of text"))
			return "", false
		}
		parts = append(parts, strings.Join(strings.Fields(s.Text), " "))
	}
	text := strings.Join(parts, ", ")
	if text == "" {
		r.set.Add(badFront(p, "nothing", "a text; leave the key out where there is none"))
		return "", false
	}
	return text, true
}

var coverageForm = regexp.MustCompile(`^(\d{1,3}(?:\.\d{1,12})?|\.\d{1,12})\s*(%)?$`)

// coverage reads a coverage probability: `95 %`, `0.95`. Powers of ten are
// shifted in decimal, so that 68.27 % and 0.6827 are the same number.
func (r *frontReader) coverage(p record.Pair, text string) {
	m := coverageForm.FindStringSubmatch(text)
	if m == nil {
		r.set.Add(badFront(p, text, "a probability such as 95 % or 0.95"))
		return
	}
	probability, percent := m[1]+"e-2", m[1]
	if m[2] == "" {
		probability, percent = m[1], m[1]+"e2"
	}
	v, err := strconv.ParseFloat(probability, 64)
	hundred, err2 := strconv.ParseFloat(percent, 64)
	if err != nil || err2 != nil || !(v > 0 && v < 1) {
		want := "a probability between 0 and 1, such as 0.95 or 95 %"
		if v > 1 && v < 100 && m[2] == "" {
			want = "a probability below 1; write `" + m[1] + " %` for a percentage"
		}
		r.set.Add(badFront(p, text, want))
		return
	}
	r.front.Coverage = v
	r.front.CoverageText = strconv.FormatFloat(hundred, 'f', -1, 64) + " %"
	r.front.facts = append(r.front.facts, view.Fact{
		Term: view.Text{view.Plain("Coverage probability")}, Text: view.Text{view.Plain(r.front.CoverageText)}})
}

func (r *frontReader) theme(p record.Pair, text string) {
	if !has(r.themes, text) {
		f := badFront(p, text, "one of "+strings.Join(r.themes, ", "))
		if h := finding.DidYouMean(text, r.themes); h != "" {
			f.Hint = h
		}
		r.set.Add(f)
		return
	}
	r.front.Theme = text
}

// title returns what a record is called: its given title, else its first
// heading, else the name of its file.
func (f Front) title(rec *record.Record) string {
	if f.Title != "" {
		return f.Title
	}
	for n := rec.Doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok {
			if text := headingText(h, rec.File); text != "" {
				return text
			}
		}
	}
	return strings.TrimSuffix(path.Base(rec.File.Name), path.Ext(rec.File.Name))
}

// headingText is the text of a heading without its markup.
func headingText(n ast.Node, file *source.File) string {
	var b strings.Builder
	_ = ast.Walk(n, func(a ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch a := a.(type) {
		case *ast.Text:
			b.Write(a.Segment.Value(file.Text))
			if a.SoftLineBreak() || a.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(a.Value)
		case *record.MathNode:
			b.WriteString(a.Span.Text())
		}
		return ast.WalkContinue, nil
	})
	return strings.Join(strings.Fields(b.String()), " ")
}

// emptyRecord: a file of no bytes, or of space alone.
func emptyRecord(f *source.File) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: "empty-record", At: f.Span(0, 0),
		Message: "this record holds nothing", Hint: "write in it, or copy back what was there"}
}

// unknownFrontKey: `autor: …`.
func unknownFrontKey(p record.Pair, known []string) *finding.Finding {
	hint := "it knows " + strings.Join(known, ", ")
	if h := finding.DidYouMean(p.Key, known); h != "" {
		hint = h
	}
	return &finding.Finding{Severity: finding.Error, Slug: "unknown-key", At: p.KeyAt,
		Message: "the front matter has no key `" + p.Key + "`", Hint: hint}
}

// badFront: `digits: 3`.
func badFront(p record.Pair, got, want string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: "bad-value", At: p.Value.At,
		Message: "`" + p.Key + "` in the front matter is " + quoted(got), Hint: "it should be " + want}
}

func quoted(got string) string {
	if got == "nothing" || got == "a list or map" {
		return got
	}
	return "`" + got + "`"
}
