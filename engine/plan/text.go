package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// Permits is what stands under every plan.
const Permits = "This is arithmetic on proposed values, not a permission to load anything. Local rules and the instructions of competent staff prevail."

// Text is the report for a terminal.
func (r *Report) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "Plan: %s (%s)\n", r.Method.Title, r.Method.Name)
	r.settingsText(&b)
	if r.Of != nil {
		r.resultsText(&b)
		r.partText(&b)
		r.budgetText(&b)
		if r.Of.U > 0 {
			r.changesText(&b)
		}
	}
	if len(r.Speaks) > 0 {
		b.WriteString("\nChecks that speak\n")
		for _, f := range r.Speaks {
			fmt.Fprintf(&b, "  %s: %s: %s\n", f.Severity, f.Slug, f.Message)
		}
	}
	b.WriteString("\n")
	wrap(&b, Permits)
	return b.String()
}

// rows writes cells in columns; those of right are aligned to the right.
func rows(b *strings.Builder, lines [][]string, right ...bool) {
	var width []int
	for _, l := range lines {
		for i, c := range l {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], len([]rune(c)))
		}
	}
	for _, l := range lines {
		var out strings.Builder
		for i, c := range l {
			pad := strings.Repeat(" ", width[i]-len([]rune(c)))
			if i < len(right) && right[i] {
				out.WriteString("  " + pad + c)
			} else {
				out.WriteString("  " + c + pad)
			}
		}
		b.WriteString(strings.TrimRight(out.String(), " ") + "\n")
	}
}

func (r *Report) settingsText(b *strings.Builder) {
	var lines [][]string
	var others []string
	for _, s := range r.settings() {
		if s.Proposed {
			lines = append(lines, []string{s.Name, s.Text(), s.Comment})
		} else {
			others = append(others, s.Name+" "+s.Text())
		}
	}
	if len(lines) > 0 {
		b.WriteString("\nProposed\n")
		rows(b, lines)
	}
	if len(others) > 0 {
		b.WriteString("\nOf the method\n")
		wrap(b, strings.Join(others, "; "))
	}
}

// textWidth is that of running text on a terminal.
const textWidth = 96

// wrap writes running text, indented.
func wrap(b *strings.Builder, text string) {
	line := " "
	for _, w := range strings.Fields(text) {
		if len([]rune(line))+1+len([]rune(w)) > textWidth && line != " " {
			b.WriteString(line + "\n")
			line = " "
		}
		line += " " + w
	}
	b.WriteString(line + "\n")
}

// settings are the names whose values a reader of the plan needs.
func (r *Report) settings() []method.Truth {
	var out []method.Truth
	for _, t := range r.Truths {
		if t.Proposed || t.Kind == method.Chosen {
			out = append(out, t)
		}
	}
	return out
}

func (r *Report) resultsText(b *strings.Builder) {
	b.WriteString("\nExpected results, with standard uncertainties\n")
	lines := [][]string{{"", "value", "u", "u relative", "k"}}
	for _, e := range r.Results {
		lines = append(lines, []string{e.Name, e.value().String(), e.uncertainty(), percentText(e.Rel()), e.kText()})
	}
	rows(b, lines, false, true, true, true, true)
}

func (r *Report) partText(b *strings.Builder) {
	var lines [][]string
	for _, s := range partSteps(r.Part) {
		lines = append(lines, []string{s.Label, block.PlainText(s.Result)})
	}
	if len(lines) > 0 {
		b.WriteString("\nFor this practical\n")
		rows(b, lines)
	}
}

func (r *Report) budgetText(b *strings.Builder) {
	fmt.Fprintf(b, "\nWhat makes the uncertainty of %s\n", r.Of.Name)
	if r.Of.U == 0 {
		fmt.Fprintf(b, "  %s\n", r.dominates())
		return
	}
	lines := [][]string{{"source", "u relative", "share"}}
	for _, l := range r.Of.Lines {
		if l.Share >= least/10 {
			lines = append(lines, []string{r.label(l.Label), percentText(l.Contrib / math.Abs(r.Of.Value.Q.Value())), shareText(l.Share)})
		}
	}
	rows(b, lines, false, true, true)
	fmt.Fprintf(b, "  %s\n", r.dominates())
}

// dominates says which measurement dominates.
func (r *Report) dominates() string {
	if len(r.Shares) == 0 {
		return "No source has an uncertainty."
	}
	s := r.Shares[0]
	how := "Greatest share: "
	if s.Share > 0.5 {
		how = "Dominating: "
	}
	return fmt.Sprintf("%s%s, with %s of the variance.", how, s.Of, shareText(s.Share))
}

func (r *Report) changesText(b *strings.Builder) {
	fmt.Fprintf(b, "\nWhat would change it: u of %s, relative, now %s\n", r.Of.Name, percentText(r.Of.Rel()))
	lines := [][]string{}
	for _, c := range r.Changes {
		lines = append(lines, []string{r.changeText(c), percentText(c.Rel), c.effect(), c.warning()})
	}
	rows(b, lines, false, true, true)
	if text := r.littleText(); text != "" {
		wrap(b, text)
	}
}

func (r *Report) littleText() string {
	if len(r.Little) == 0 {
		return ""
	}
	return "Twice the value changes it by less than 1 %: " + strings.Join(r.Little, ", ") + "."
}

func (r *Report) changeText(c Change) string {
	switch c.Kind {
	case Halved:
		return "half the uncertainty: " + r.label(c.What)
	case TwiceRead:
		return "twice the readings: " + r.label(c.What)
	}
	return "twice the value: " + c.What
}

// effect is by how much the uncertainty falls or rises.
func (c Change) effect() string {
	text := quantity.RoundPlaces(100*(c.Ratio-1), 0) + " %"
	if c.Ratio > 1 {
		return "+" + text
	}
	return strings.Replace(text, "-", "−", 1)
}

// warning names the checks that a change would make speak.
func (c Change) warning() string {
	switch {
	case len(c.Speaks) == 0:
		return ""
	case c.Grave:
		return "NOT ALLOWED: " + strings.Join(c.Speaks, ", ")
	}
	return "caution: " + strings.Join(c.Speaks, ", ")
}

// label is that of a source without the name of the practical.
func (r *Report) label(text string) string {
	return strings.ReplaceAll(text, r.Method.PracticalName()+".", "")
}

func (e *Expected) value() quantity.Display {
	return block.RoundedTo(e.Value.Q.Value(), e.U, eval.UnitOf(e.Value))
}

func (e *Expected) uncertainty() string {
	if e.U == 0 {
		return "–"
	}
	return e.spread().String()
}

func (e *Expected) spread() quantity.Display {
	return quantity.Format(e.U, 0, 0, eval.UnitOf(e.Value).Difference(), quantity.Figures, quantity.Options{N: 2})
}

func (e *Expected) kText() string {
	if e.U == 0 {
		return "–"
	}
	return quantity.RoundFigures(e.K, 3)
}

var percent = unit.MustParse("%")

func percentText(ratio float64) string {
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return "–"
	}
	if ratio == 0 {
		return "0 %"
	}
	return quantity.Format(ratio, 0, 0, percent, quantity.Figures, quantity.Options{N: 2}).String()
}

func shareText(share float64) string {
	if share < 0.0005 {
		return "< 0.1 %"
	}
	return quantity.RoundPlaces(100*share, 1) + " %"
}

// partSteps are the steps of calculation that the method's part shows.
func partSteps(nodes []view.Node) []view.Step {
	var out []view.Step
	for _, n := range nodes {
		switch n := n.(type) {
		case *view.Steps:
			for _, s := range n.Steps {
				if s.Label != "" {
					out = append(out, s)
				}
			}
		case *view.Group:
			out = append(out, partSteps(n.Nodes)...)
		case *view.Prose:
			var blocks []*record.Block
			for b := range n.Blocks {
				blocks = append(blocks, b)
			}
			slices.SortFunc(blocks, func(a, b *record.Block) int { return a.Span.Start - b.Span.Start })
			for _, b := range blocks {
				out = append(out, partSteps(n.Blocks[b])...)
			}
		}
	}
	return out
}
