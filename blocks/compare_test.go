package blocks

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// noFiles is a door that opens nothing.
type noFiles struct{}

func (noFiles) Open(*source.File, string) (*source.File, error) {
	return nil, errors.New("there are no files here")
}

// worked is a record that has been computed.
type worked struct {
	*block.Program
	values map[string]eval.Value
}

// work computes a record for a coverage probability of 95 %.
func work(t *testing.T, text string) *worked {
	t.Helper()
	var set finding.Set
	rec := record.Parse(source.NewFile("record.md", []byte(text)), block.KindNames(All()), &set)
	w := &worked{Program: block.New(rec, All(), noFiles{}, Built(), block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}, &set), values: map[string]eval.Value{}}
	w.Evaluate()
	for _, d := range w.Values() {
		w.values[d.Full()] = d.Value()
	}
	return w
}

func (w *worked) noFindings(t *testing.T) {
	t.Helper()
	for _, f := range w.Set.Sorted() {
		t.Error(f)
	}
}

// inside returns the value of a dotted name.
func (w *worked) inside(name string) eval.Value {
	head, field, _ := strings.Cut(name, ".")
	v, ok := eval.Field(w.values[head], field)
	if !ok {
		return nil
	}
	return v
}

func (w *worked) number(t *testing.T, name string) float64 {
	t.Helper()
	v, ok := w.inside(name).(eval.Scalar)
	if !ok {
		t.Fatalf("%s is %#v", name, w.inside(name))
	}
	return v.Q.Value()
}

// shown is the plain text of what the blocks of a kind show.
func (w *worked) shown(kind string) string {
	var b strings.Builder
	prose := w.Show()
	for _, rb := range w.Record.Blocks {
		if rb.Kind == kind {
			for _, n := range prose.Blocks[rb] {
				nodeText(&b, n)
			}
		}
	}
	return b.String()
}

func nodeText(b *strings.Builder, n view.Node) {
	switch n := n.(type) {
	case *view.Group:
		for _, in := range n.Nodes {
			nodeText(b, in)
		}
	case *view.Facts:
		for _, f := range n.Items {
			plainText(b, f.Term)
			b.WriteString(": ")
			plainText(b, f.Text)
			b.WriteByte('\n')
		}
	case *view.Paragraph:
		plainText(b, n.Text)
		b.WriteByte('\n')
	}
}

func plainText(b *strings.Builder, t view.Text) {
	for _, p := range t {
		switch p := p.(type) {
		case view.Plain:
			b.WriteString(string(p))
		case view.Number:
			b.WriteString(p.Display.String())
		case view.Missing:
			b.WriteString("[" + p.Why + "]")
		}
	}
}

func comparison(of, with string) string {
	return "```calc\nx = " + of + "\nref = " + with + "\n```\n```compare c\nof: x\nwith: ref\n```\n"
}

// TestNormalizedError works En out by its formula, En = (x − ref)/√(U² + U_ref²)
// with expanded uncertainties of k = 2 (ISO 13528:2015, 9.7; ISO/IEC
// 17043:2010, B.3.1.3 e; from memory). A ± of k=1.959963984540054 expands, for
// a coverage of 95 %, to itself.
func TestNormalizedError(t *testing.T) {
	const k = "k=1.959963984540054"
	for _, c := range []struct {
		what, of, with string
		en             float64
	}{
		{"3, 4, 5", "10.3 mm ± 0.4 mm " + k, "10.0 mm ± 0.3 mm " + k, 0.6},
		{"below", "10.0 mm ± 0.4 mm " + k, "11.0 mm ± 0.3 mm " + k, -2},
		{"a reference with hardly any U (constructed)", "205 GPa ± 8 GPa " + k, "211.4 GPa ± 0.000001 GPa " + k, -0.8},
		{"other units", "0.205 TPa ± 8 GPa " + k, "211.4 GPa ± 6 GPa " + k, -0.64},
	} {
		w := work(t, comparison(c.of, c.with))
		w.noFindings(t)
		if en := w.number(t, "c.En"); math.Abs(en-c.en) > 1e-9 {
			t.Errorf("%s: En = %.12g, not %g", c.what, en, c.en)
		}
	}
}

// TestNormalizedErrorDegreesOfFreedom expands with t where the degrees of
// freedom are few: t(0.95, 9) = 2.26 (GUM table G.2).
func TestNormalizedErrorDegreesOfFreedom(t *testing.T) {
	w := work(t, comparison("10.3 mm ± 0.1 mm std dof=9", "10.0 mm ± 0.000001 mm std"))
	if en := w.number(t, "c.En"); math.Abs(en-0.3/0.226) > 0.005 {
		t.Errorf("En = %g", en)
	}
}

// TestNormalizedErrorProperties: exchanging the two changes the sign, a change
// of scale changes nothing, and En is the difference in units of U.
func TestNormalizedErrorProperties(t *testing.T) {
	const a, b = "197.3 %s ± 4.1 %s std dof=12", "206.0 %s ± 5.0 %s"
	in := func(s, u string) string { return fmt.Sprintf(s, u, u) }
	first := work(t, comparison(in(a, "GPa"), in(b, "GPa"))).number(t, "c.En")
	if swapped := work(t, comparison(in(b, "GPa"), in(a, "GPa"))).number(t, "c.En"); swapped != -first {
		t.Errorf("exchanged: %g and %g", first, swapped)
	}
	if scaled := work(t, comparison(in(a, "kPa"), in(b, "kPa"))).number(t, "c.En"); math.Abs(scaled/first-1) > 1e-12 {
		t.Errorf("scaled: %g and %g", first, scaled)
	}
}

// TestNormalizedErrorShared: a source that both share drops out of the
// difference and of what it is compared with.
func TestNormalizedErrorShared(t *testing.T) {
	const text = "```calc\nzero = 0 mm ± 5 mm std\na = 10.3 mm ± 0.4 mm std + zero\nb = 10.0 mm ± 0.3 mm std + zero\n```\n```compare c\nof: a\nwith: b\n```\n"
	w := work(t, text)
	w.noFindings(t)
	if en := w.number(t, "c.En"); math.Abs(en*1.959963984540054-0.6) > 1e-6 {
		t.Errorf("En = %g", en)
	}
	same := work(t, "```calc\na = 10.3 mm ± 0.4 mm std\nb = 2 * a / 2\n```\n```compare c\nof: a\nwith: b\n```\n")
	if v, ok := same.inside("c.En").(eval.Waiting); !ok || !strings.Contains(v.On, "same sources") {
		t.Errorf("a value beside itself: %#v", same.inside("c.En"))
	}
	if s := same.shown("compare"); !strings.Contains(s, "not assessable: both rest on the same sources") || !strings.Contains(s, "equals the reference value") {
		t.Error(s)
	}
}

// TestDifference: the difference and the percentage difference carry the sign
// of result − reference, whatever the sign of the reference.
func TestDifference(t *testing.T) {
	for _, c := range []struct {
		of, with         string
		diff, percentage float64
		sentence         string
	}{
		{"198 GPa", "220 GPa", -22e9, -0.1, "lies 10 % below"},
		{"231 GPa", "220 GPa", 11e9, 0.05, "lies 5.0 % above"},
		{"-9 V", "-10 V", 1, 0.1, "lies 10 % above"},
	} {
		w := work(t, comparison(c.of, c.with))
		w.noFindings(t)
		if d, p := w.number(t, "c.difference"), w.number(t, "c.percent"); math.Abs(d-c.diff) > 1e-9*math.Abs(c.diff) || math.Abs(p-c.percentage) > 1e-12 {
			t.Errorf("%s beside %s: %g, %g", c.of, c.with, d, p)
		}
		if s := w.shown("compare"); !strings.Contains(s, c.sentence) {
			t.Errorf("%q is not in\n%s", c.sentence, s)
		}
	}
}

// TestZeroReference: nothing is relative to zero.
func TestZeroReference(t *testing.T) {
	w := work(t, comparison("0.2 mm ± 0.1 mm std", "0 mm"))
	w.noFindings(t)
	if v, ok := w.inside("c.percent").(eval.Waiting); !ok {
		t.Errorf("percent is %#v", v)
	}
	if s := w.shown("compare"); strings.Contains(s, "%") && strings.Contains(s, "percentage") || !strings.Contains(s, "lies above the reference value") {
		t.Error(s)
	}
}

// TestUnstatedUncertainty: for every constant whose source states no
// uncertainty, and for no other, En is not assessable.
func TestUnstatedUncertainty(t *testing.T) {
	var text strings.Builder
	list := Built().Constants()
	for i, c := range list {
		fmt.Fprintf(&text, "```compare c%d\nof: 1.1 * %s.%s * (1 ± 0.1)\nwith: %s.%s\n```\n", i, c.Material, c.Name, c.Material, c.Name)
	}
	w := work(t, text.String())
	w.noFindings(t)
	unstated := 0
	for i, c := range list {
		v, waits := w.inside(fmt.Sprintf("c%d.En", i)).(eval.Waiting)
		if states := strings.Contains(c.Typed, "±"); states == waits {
			t.Errorf("%s.%s = %s: En waits: %v", c.Material, c.Name, c.Typed, waits)
		}
		if waits {
			unstated++
			if !strings.Contains(v.On, "not assessable: the reference value has no stated uncertainty") {
				t.Errorf("%s.%s: %q", c.Material, c.Name, v.On)
			}
		}
	}
	if unstated < 100 || unstated == len(list) {
		t.Errorf("%d of %d constants state no uncertainty", unstated, len(list))
	}
	if s := w.shown("compare"); strings.Count(s, "not assessable: the reference value has no stated uncertainty") != unstated {
		t.Error("the page says otherwise")
	}
}

// TestCompareFindings holds what cannot be compared to its message.
func TestCompareFindings(t *testing.T) {
	for _, c := range []struct{ of, with, slug, hint string }{
		{"200 GPa", "copper", "wrong-argument", "`copper.E`"},
		{"8900 kg/m^3", "copper", "wrong-argument", "`copper.density`"},
		{"200 GPa", "copper.density", "unit-clash", ""},
		{"200 GPa", "copper.E_modulus", "no-such-part", ""},
	} {
		w := work(t, "```compare c\nof: "+c.of+"\nwith: "+c.with+"\n```\n")
		list := w.Set.Sorted()
		if len(list) != 1 || !strings.Contains(list[0].Full(), c.hint) {
			t.Errorf("%s beside %s: %v", c.of, c.with, list)
			continue
		}
		if list[0].Slug != c.slug && c.slug != "no-such-part" {
			t.Errorf("%s beside %s: %v", c.of, c.with, list[0])
		}
		w.Show() // what is faulty still shows
	}
}

// TestHandbookOnPage: the page names the source of a reference value.
func TestHandbookOnPage(t *testing.T) {
	w := work(t, "```compare c\nof: 205 GPa ± 8 GPa k=2\nwith: steel.E\n```\n")
	w.noFindings(t)
	s := w.shown("compare")
	for _, want := range []string{"211.9", "Kaye and Laby", "from memory", "lies 3.3 % below the reference value, which is within the result's own expanded uncertainty"} {
		if !strings.Contains(s, want) {
			t.Errorf("%q is not in\n%s", want, s)
		}
	}
}
