package variant

import (
	"slices"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
)

// What a point is worth where the record does not say.
const (
	firstMarks    = 3 // of the method's first result
	valueMarks    = 2 // of any other value
	questionMarks = 1
)

// points are the marking points of a class: the values that the record claims,
// where it claims any of the practical's, else the method's first result, the
// results with a known truth and those on which the first rests; then the
// questions. Where some claims state marks the others are no points, and so
// with questions: the sheet's sum is that of the marks it shows. The values
// stand in the order in which one rests on another.
func (w *maker) points() ([]Point, []*finding.Finding) {
	w.number = 1
	readings, bad := w.clean()
	if readings == nil {
		return nil, bad
	}
	p := w.bench.Run(readings).Program
	prefix := w.method.PracticalName() + "."
	values := stated(claimedPoints(w.Record, w.Bound+".", prefix))
	if len(values) == 0 {
		for i, name := range w.method.Results {
			_, known := readings.Truths[name+TrueSuffix]
			if i == 0 || known || p.Rests(prefix+w.method.Results[0], prefix+name) {
				values = append(values, Point{Name: prefix + name, Kind: PointValue})
			}
		}
	}
	values = slices.DeleteFunc(values, func(v Point) bool {
		value, ok := p.Lookup(v.Name)
		return !ok || !isScalar(value)
	})
	for i := range values {
		switch v := &values[i]; {
		case v.Marks > 0:
		case len(w.method.Results) > 0 && v.Name == prefix+w.method.Results[0]:
			v.Marks = firstMarks
		default:
			v.Marks = valueMarks
		}
	}
	questions := stated(questionPoints(w.Record))
	for i := range questions {
		questions[i].Marks = max(questions[i].Marks, questionMarks)
	}
	return append(inOrder(p, values), questions...), nil
}

// stated are the points with marks of their own, where there are any; else all.
func stated(list []Point) []Point {
	none := func(p Point) bool { return p.Marks == 0 }
	if !slices.ContainsFunc(list, func(p Point) bool { return !none(p) }) {
		return list
	}
	return slices.DeleteFunc(list, none)
}

// claimedPoints are the claims of a record on values of its practical, each
// once, named as in the students' records.
func claimedPoints(rec *record.Record, bound, prefix string) []Point {
	var out []Point
	if rec == nil {
		return nil
	}
	for _, in := range rec.Inlines {
		if !in.Claim || in.Insert == nil {
			continue
		}
		n, ok := in.Insert.X.(*formula.Name)
		if !ok {
			continue
		}
		inside, ok := strings.CutPrefix(n.Name, bound)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, func(p Point) bool { return p.Name == prefix+inside })
		if i < 0 {
			i = len(out)
			out = append(out, Point{Name: prefix + inside, Kind: PointValue})
		}
		out[i].Marks = max(out[i].Marks, in.Insert.Marks)
	}
	return out
}

// BesideThePractical lists the claims of a record, each once, that are on no
// value of the practical: its variants do not ask for them.
func BesideThePractical(rec *record.Record, practical string) []string {
	var out []string
	for _, in := range rec.Inlines {
		if !in.Claim || in.Insert == nil {
			continue
		}
		if n, ok := in.Insert.X.(*formula.Name); ok && !strings.HasPrefix(n.Name, practical+".") && !slices.Contains(out, n.Name) {
			out = append(out, n.Name)
		}
	}
	return out
}

// inOrder puts values that rest on others behind them, and keeps the order in
// which they stand else.
func inOrder(p *block.Program, values []Point) []Point {
	out := []Point{}
	for len(values) > 0 {
		next := slices.IndexFunc(values, func(v Point) bool {
			return !slices.ContainsFunc(values, func(o Point) bool { return p.Rests(v.Name, o.Name) })
		})
		next = max(next, 0) // two that rest on each other stay as they stand
		out = append(out, values[next])
		values = slices.Delete(values, next, next+1)
	}
	return out
}

// asked reports whether a block is a question that a student can be given: one
// that prints no value and shows no picture.
func asked(b *record.Block) bool {
	body := b.Body.Span.Text()
	return b.Kind == "question" && !strings.Contains(body, "=[") && !strings.Contains(body, "?[") && !strings.Contains(body, "](")
}

// questionPoints are the record's own questions, with their model answers.
func questionPoints(rec *record.Record) []Point {
	var out []Point
	if rec == nil {
		return nil
	}
	for _, q := range rec.Blocks {
		if !asked(q) || slices.ContainsFunc(out, func(p Point) bool { return p.Name == q.Name }) {
			continue
		}
		p := Point{Name: q.Name, Kind: PointQuestion, Question: textOf(q)}
		if o, ok := q.Option("marks"); ok {
			if n, err := strconv.Atoi(o.Value); err == nil && n > 0 {
				p.Marks = n
			}
		}
		p.Answer = answerIn(rec, q.Name)
		out = append(out, p)
	}
	return out
}

func textOf(b *record.Block) string { return strings.TrimSpace(b.Body.Span.Text()) }

// answerIn is what a record answers to a question; "" for nothing.
func answerIn(rec *record.Record, question string) string {
	var out []string
	for _, b := range rec.Blocks {
		if b.Kind == "answer" && b.Name == question && textOf(b) != "" {
			out = append(out, textOf(b))
		}
	}
	return strings.Join(out, "\n\n")
}

// sheetQuestions are the record's questions as the students get them, each
// with an empty answer to fill in.
func sheetQuestions(rec *record.Record) string {
	if rec == nil {
		return ""
	}
	var b strings.Builder
	for _, q := range rec.Blocks {
		if !asked(q) {
			continue
		}
		if b.Len() == 0 {
			b.WriteString("\n# Questions\n")
		}
		b.WriteString("\n" + strings.TrimRight(fenced(q).Text(), "\r\n") + "\n\n```answer " + q.Name + "\n```\n")
	}
	return b.String()
}
