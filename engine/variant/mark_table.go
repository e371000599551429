package variant

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
)

// values are the points that are values.
func (m *Marked) values() []Point {
	var out []Point
	for _, p := range m.Key.Points {
		if p.Kind == PointValue {
			out = append(out, p)
		}
	}
	return out
}

// byHand is how many marks the teacher has to give.
func (m *Marked) byHand() int {
	n := 0
	for _, p := range m.Key.Points {
		if p.Kind == PointQuestion {
			n += p.Marks
		}
	}
	return n
}

// faultWord says in a word what a student made of the fault in the readings.
func (s *Sheet) faultWord() string {
	if s.Refused != "" {
		return "–"
	}
	if len(s.Faults) == 0 {
		return "none"
	}
	for _, f := range s.Faults {
		switch {
		case f.Noticed:
			return "noticed"
		case strings.HasPrefix(f.Words, "struck"):
			return "struck"
		case strings.HasPrefix(f.Words, "not"):
			return "missed"
		}
	}
	return "by hand"
}

// Summary is what a class came to. Median and mean are of those that were
// marked; the ratios are those of the claims that were taken for the first
// result.
type Summary struct {
	HandedIn, Marked, Absent int
	Of                       int     // marks that can be had for values
	Mean, Median             float64 // of the marks; NaN where nobody was marked
	Ratios                   int     // how many claims of the first result there are
	MedianRatio              float64 // NaN for none
	Covered                  int     // how many of them hold the reference within their expanded uncertainty
}

// Summary sums a class up.
func (m *Marked) Summary() Summary {
	s := Summary{HandedIn: len(m.Sheets), Absent: len(m.Absent), Mean: math.NaN(), Median: math.NaN(), MedianRatio: math.NaN()}
	var marks, ratios []float64
	for _, sheet := range m.Sheets {
		if sheet.Refused == "" {
			got, of := sheet.Marks()
			marks = append(marks, float64(got))
			s.Of = max(s.Of, of)
		}
	}
	for _, r := range m.ratios() {
		ratios = append(ratios, r.Ratio)
		if math.Abs(r.Ratio-1) <= r.Spread {
			s.Covered++
		}
	}
	s.Marked, s.Ratios = len(marks), len(ratios)
	if len(marks) > 0 {
		sum := 0.0
		for _, x := range marks {
			sum += x
		}
		s.Mean, s.Median = sum/float64(len(marks)), median(marks)
	}
	if len(ratios) > 0 {
		s.MedianRatio = median(ratios)
	}
	return s
}

func median(x []float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	n := len(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return (x[n/2-1] + x[n/2]) / 2
}

// ratio is the first result of one student beside the reference.
type ratio struct {
	ID            string
	Ratio, Spread float64 // Spread is the expanded uncertainty of the student's own data by the reference
	Right         bool
}

// first is the point whose results are drawn: the method's first result; else
// the last value. Ok is false where no value is marked.
func (m *Marked) first() (Point, bool) {
	values := m.values()
	if len(m.Key.Order) > 0 {
		for _, p := range values {
			if p.Name == m.Key.Practical+"."+m.Key.Order[0] {
				return p, true
			}
		}
	}
	if len(values) == 0 {
		return Point{}, false
	}
	return values[len(values)-1], true
}

// againstTruth reports whether every student has a true value of a point.
func (m *Marked) againstTruth(p Point) bool {
	for _, s := range m.Sheets {
		if t := s.Student.Truth[m.Key.short(p.Name)+TrueSuffix]; t.Value == nil || *t.Value == 0 {
			return false
		}
	}
	return true
}

// ratios are the claims of the first result divided by the true values, or by
// the expected ones where there is no truth.
func (m *Marked) ratios() []ratio {
	p, ok := m.first()
	if !ok {
		return nil
	}
	truth := m.againstTruth(p)
	var out []ratio
	for _, s := range m.Sheets {
		for _, j := range s.Values {
			if j.Point.Name != p.Name || math.IsNaN(j.Claimed) || math.IsNaN(j.Ratio) || math.IsInf(j.Ratio, 0) {
				continue
			}
			r := ratio{ID: s.Student.ID, Ratio: j.Ratio, Spread: j.Spread, Right: j.way != wrong}
			if truth {
				// The claim over what is expected of it, times that over the truth.
				scale := j.Claimed / j.Ratio / float64(*s.Student.Truth[m.Key.short(p.Name)+TrueSuffix].Value)
				r.Ratio, r.Spread = r.Ratio*scale, math.Abs(r.Spread*scale)
			}
			out = append(out, r)
		}
	}
	return out
}

// head are the headings of the class table.
func (m *Marked) head() []string {
	out := []string{"student", "marks"}
	for _, p := range m.values() {
		out = append(out, m.Key.short(p.Name))
	}
	if n := m.byHand(); n > 0 {
		out = append(out, "questions")
	}
	return append(out, "fault", "remarks")
}

// rows are the rows of the class table.
func (m *Marked) rows() [][]string {
	var out [][]string
	for _, s := range m.Sheets {
		got, of := s.Marks()
		row := []string{s.Student.ID, fmt.Sprintf("%d / %d", got, of)}
		if s.Refused != "" {
			row[1] = "not marked"
		}
		for _, j := range s.Values {
			row = append(row, s.cell(j))
		}
		if m.byHand() > 0 {
			row = append(row, fmt.Sprintf("__ / %d", m.byHand()))
		}
		out = append(out, append(row, s.faultWord(), s.remarkWord()))
	}
	return out
}

// cell is one value in the class table: its marks, and f where they were
// earned with own earlier results.
func (s *Sheet) cell(j *Judged) string {
	if s.Refused != "" || j.Claim == "" {
		return "–"
	}
	text := strconv.Itoa(j.Got)
	if j.way == byOwn {
		text += " f"
	}
	return text
}

func (s *Sheet) remarkWord() string {
	if s.Refused != "" {
		return s.Refused
	}
	var out []string
	for _, f := range s.Findings {
		if !slices.Contains(out, f.Slug) {
			out = append(out, f.Slug)
		}
	}
	for _, st := range s.Struck {
		if !st.Wrong && !slices.Contains(out, "honest-struck") {
			out = append(out, "honest-struck")
		}
	}
	return orDash(strings.Join(out, ", "))
}

// WriteText writes the class table as a terminal shows it.
func (m *Marked) WriteText(w io.Writer) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	head := m.head()
	for i, p := range m.values() {
		head[2+i] += fmt.Sprintf("/%d", p.Marks)
	}
	fmt.Fprintln(t, strings.Join(head, "\t"))
	for _, row := range m.rows() {
		fmt.Fprintln(t, strings.Join(row, "\t"))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, strings.Join(m.sentences(), "\n"))
	return err
}

// sentences sum the class up in words.
func (m *Marked) sentences() []string {
	s := m.Summary()
	out := []string{fmt.Sprintf("%d of %d handed in, %d marked", s.HandedIn, len(m.Key.Students), s.Marked)}
	if len(m.Absent) > 0 {
		out[0] += "; missing: " + strings.Join(m.Absent, ", ")
	}
	if s.Marked > 0 {
		out = append(out, fmt.Sprintf("marks for values: median %s, mean %s of %d", decimals(s.Median, 1), decimals(s.Mean, 1), s.Of))
	}
	if p, ok := m.first(); ok && s.Ratios > 0 {
		out = append(out, fmt.Sprintf("%s by its %s value: median %s of %d; %d within the expanded uncertainty of the student's own data",
			m.Key.short(p.Name), m.reference(p), decimals(s.MedianRatio, 3), s.Ratios, s.Covered))
	}
	return out
}

func (m *Marked) reference(p Point) string {
	if m.againstTruth(p) {
		return "true"
	}
	return "expected"
}

func decimals(v float64, n int) string { return strconv.FormatFloat(v, 'f', n, 64) }

// CSV is the class table for a spreadsheet: a row for each student, marks as
// numbers, the claims as typed.
func (m *Marked) CSV() ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	head := []string{"id", "marked", "marks", "of"}
	for _, p := range m.values() {
		n := m.Key.short(p.Name)
		head = append(head, n, n+" marks", n+" of", n+" how", n+" expected", n+" ratio")
	}
	head = append(head, "questions of", "fault", "remarks", "from")
	rows := [][]string{head}
	for _, s := range m.Sheets {
		got, of := s.Marks()
		yes := "yes"
		if s.Refused != "" {
			yes = "no"
		}
		row := []string{s.Student.ID, yes, strconv.Itoa(got), strconv.Itoa(of)}
		for _, j := range s.Values {
			r := ""
			if !math.IsNaN(j.Ratio) && !math.IsInf(j.Ratio, 0) {
				r = strconv.FormatFloat(j.Ratio, 'g', 6, 64)
			}
			row = append(row, inert(j.Claim), strconv.Itoa(j.Got), strconv.Itoa(j.Point.Marks), j.how(), j.Expected, r)
		}
		rows = append(rows, append(row, strconv.Itoa(s.Pending()), s.faultWord(), s.remarkWord(), inert(s.From)))
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// inert keeps a spreadsheet from taking a student's text for a formula.
func inert(text string) string {
	if text != "" && strings.ContainsAny(text[:1], "=+@\t\r") || strings.HasPrefix(text, "-") && !isDigit(text[1:]) {
		return "'" + text
	}
	return text
}

func isDigit(text string) bool { return text != "" && text[0] >= '0' && text[0] <= '9' }

// Way is how a value is right, in a letter: r by the student's own data, o with
// own earlier results, w wrong; – where nothing was handed in.
func (j *Judged) Way() string {
	switch {
	case j.Claim == "":
		return "–"
	case j.way == direct:
		return "r"
	case j.way == byOwn:
		return "o"
	}
	return "w"
}

// ways says in words what Way says in a letter.
var ways = map[string]string{"–": "missing", "r": "right", "o": "right by own earlier result", "w": "wrong"}

func (j *Judged) how() string { return ways[j.Way()] }
