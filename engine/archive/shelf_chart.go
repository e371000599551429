package archive

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/taut/engine/stat"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var one = unit.Of(unit.Dim{})

// chart is the control chart of a history.
func (h *history) chart(id, title, quantity string) view.Node {
	c := &view.Chart{ID: id, Title: title, Desc: h.describe(), Moving: "moving range", Standing: view.Computed, Y: view.Axis{Quantity: quantity, Unit: h.unit.String()}}
	in := h.unit.FromSI
	difference := h.unit.Difference().FromSI
	first := h.drawn()
	c.Before = first
	for _, s := range h.segments {
		if s.to <= first {
			continue
		}
		scatter := s.control.Sigma
		v := view.ChartSegment{Name: s.name, From: max(s.from-first, 0), To: s.to - first, Mean: in(s.control.Mean), Lower: math.NaN(), Upper: math.NaN(),
			MeanRange: math.NaN(), RangeUpper: math.NaN(), Reference: math.NaN(), ReferenceU: math.NaN(), MeanText: number(s.control.Mean, scatter, h.unit)}
		if s.control.HasLimits() {
			v.Lower, v.Upper, v.MeanRange, v.RangeUpper = in(s.control.Lower), in(s.control.Upper), difference(s.control.MeanRange), difference(s.control.RangeUpper)
			v.LowerText, v.UpperText = number(s.control.Lower, scatter, h.unit), number(s.control.Upper, scatter, h.unit)
			v.MeanRangeText, v.RangeUpperText = number(s.control.MeanRange, scatter, h.unit.Difference()), number(s.control.RangeUpper, scatter, h.unit.Difference())
		}
		if p := h.points[s.to-1]; !math.IsNaN(p.certified) {
			v.Reference, v.ReferenceU, v.ReferenceText = in(p.certified), difference(p.certifiedU), number(p.certified, scatter, h.unit)
		}
		c.Segments = append(c.Segments, v)
		for i := max(s.from, first); i < s.to; i++ {
			c.Points = append(c.Points, h.chartPoint(i, &s))
		}
	}
	return c
}

func (h *history) chartPoint(i int, s *segment) view.ChartPoint {
	p := h.points[i]
	out := view.ChartPoint{Value: h.unit.FromSI(p.value), U: h.unit.Difference().FromSI(p.u), Range: h.unit.Difference().FromSI(s.control.Ranges[i-s.from]),
		Date: p.record.Date, Note: fmt.Sprintf("no. %d, %s: %s", i+1, p.record.Date, p.shown)}
	for _, g := range p.signals {
		if !out.Marked && (i == s.from || !h.points[i-1].spoke(g.Rule)) {
			out.Words = h.brief(g)
		}
		out.Marked = true
		out.Note += "; " + g.Rule.String()
	}
	if p.jump {
		out.RangeWords = "beyond"
	}
	return out
}

// spoke reports whether a point has a signal of that rule or of a graver one:
// the point behind it then needs no words of its own.
func (p *point) spoke(r stat.Rule) bool {
	return slices.ContainsFunc(p.signals, func(g stat.Signal) bool { return g.Rule <= r })
}

// brief is a rule in as few words as a chart has room for.
func (h *history) brief(g stat.Signal) string {
	switch g.Rule {
	case stat.Beyond:
		return "beyond a limit"
	case stat.OneSide:
		return "nine on one side"
	case stat.Trend:
		if h.points[g.Last].value > h.points[g.First].value {
			return "six rising"
		}
		return "six falling"
	case stat.TwoOfThree:
		return "two of three beyond 2σ"
	}
	return "four of five beyond 1σ"
}

// remarks say what is remarkable at a point.
func (p *point) remarks() string {
	var parts []string
	for _, g := range p.signals {
		parts = append(parts, g.Rule.String())
	}
	if p.jump {
		parts = append(parts, "moving range beyond its limit")
	}
	return strings.Join(parts, "; ")
}

func (h *history) rangeText(i int) string {
	s, un := h.segments[h.points[i].segment], h.unit.Difference()
	r := s.control.Ranges[i-s.from]
	if math.IsNaN(r) {
		return ""
	}
	return number(r, s.control.Sigma, un) + unitTail(un)
}

// remarkable tells by rule at which values a signal is complete: "beyond a
// control limit: no. 1 to 5, 19".
func (h *history) remarkable() string {
	at := map[string][]int{}
	for i, p := range h.recent() {
		n := h.drawn() + i + 1
		for _, g := range p.signals {
			at[g.Rule.String()] = append(at[g.Rule.String()], n)
		}
		if p.jump {
			at[""] = append(at[""], n)
		}
	}
	var parts []string
	for _, r := range stat.Rules() {
		if n := at[r.String()]; len(n) > 0 {
			parts = append(parts, r.String()+": no. "+stretches(n))
		}
	}
	if n := at[""]; len(n) > 0 {
		parts = append(parts, "moving range beyond its limit: no. "+stretches(n))
	}
	return strings.Join(parts, "; ")
}

// stretches writes rising numbers with those that follow each other drawn
// together.
func stretches(n []int) string {
	var parts []string
	for i := 0; i < len(n); {
		j := i
		for j+1 < len(n) && n[j+1] == n[j]+1 {
			j++
		}
		switch {
		case j > i+1:
			parts = append(parts, fmt.Sprintf("%d to %d", n[i], n[j]))
		case j == i+1:
			parts = append(parts, fmt.Sprint(n[i]), fmt.Sprint(n[j]))
		default:
			parts = append(parts, fmt.Sprint(n[i]))
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}

// describe tells the chart to those who cannot see it.
func (h *history) describe() string {
	var parts []string
	for _, s := range h.segments {
		if s.to <= h.drawn() {
			continue
		}
		text := counted(s.to-s.from, "value")
		if s.name != "" {
			text = s.name + ": " + text
		}
		text += ", mean " + number(s.control.Mean, s.control.Sigma, h.unit)
		if s.control.HasLimits() {
			text += ", limits " + number(s.control.Lower, s.control.Sigma, h.unit) + " and " + number(s.control.Upper, s.control.Sigma, h.unit)
		}
		parts = append(parts, text+unitTail(h.unit))
	}
	text := strings.Join(parts, "; ") + "."
	if said := h.summary(); said != "" {
		text += " Signals: " + said + "."
	}
	return text
}

// limitsTable tells the limits of the segments.
func (h *history) limitsTable(id, title string) view.Node {
	t := table(id, "Limits: "+title, "segment", "#mean", "#lower limit", "#upper limit", "#mean moving range", "#its upper limit", "standing")
	if !h.unit.IsOne() {
		for i := 1; i < 6; i++ {
			t.Columns[i].Unit = h.unit.String()
		}
	}
	for _, s := range h.segments {
		if s.to <= h.drawn() {
			continue
		}
		c, d := s.control, h.unit.Difference()
		name := fmt.Sprintf("no. %d to %d", s.from+1, s.to)
		if s.name != "" {
			name = s.name + ", " + name
		}
		addRow(t, name, number(c.Mean, c.Sigma, h.unit), number(c.Lower, c.Sigma, h.unit), number(c.Upper, c.Sigma, h.unit),
			number(c.MeanRange, c.Sigma, d), number(c.RangeUpper, c.Sigma, d), s.standing())
	}
	return t
}

// standing says how far the limits of a segment can be trusted.
func (s *segment) standing() string {
	switch c := s.control; {
	case !c.HasLimits():
		return "too few values for limits"
	case s.coarse:
		return "closer than half the resolution: no signals are told"
	case c.Provisional():
		return "PROVISIONAL: they rest on " + counted(c.Base, "value")
	default:
		return "they rest on " + counted(c.Base, "value")
	}
}
