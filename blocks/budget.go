package blocks

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/budget"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(budgetKind{})

// budgetKind is the kind `budget`: the uncertainty budget of a value, with the
// Monte Carlo evaluation beside it.
type budgetKind struct{}

// Info implements block.Kind.
func (budgetKind) Info() block.Info {
	return block.Info{Name: "budget", Naming: block.Named, Keys: []block.Keys{{Of: "a budget", Names: budgetKeys}}, What: "the uncertainty budget of a value, with the Monte Carlo result beside it"}
}

var budgetKeys = []string{"of", "trials", "seed"}

type budgetBlock struct {
	name    string
	at      source.Span
	of      formula.Expr
	options trial.Options
	value   eval.Value
	job     *block.Job
}

// Read implements block.Kind.
func (budgetKind) Read(r *block.Reader, b *record.Block) block.Instance {
	m := b.ReadSettings(r.Set)
	out := &budgetBlock{name: b.Name, at: b.NameAt}
	checkKeys(m, "a budget", budgetKeys, r.Set)
	if s := scalar(m, "of", r.Set); s != nil {
		out.of = expression(s, r.Set)
	} else if m.Lacks("of") {
		r.Set.Add(missingKey(b.KindAt, "of", "a budget"))
	}
	out.options.Seed = 1
	if s := scalar(m, "seed", r.Set); s != nil {
		n, err := strconv.ParseUint(s.Text, 10, 64)
		if err != nil {
			r.Set.Add(badValue(s.At, "seed", s.Text, "a whole number of 0 or more"))
		}
		out.options.Seed = n
	}
	if s := scalar(m, "trials", r.Set); s != nil {
		n, err := strconv.Atoi(s.Text)
		if err != nil || n < trial.MinTrials || n > trial.MaxTrials {
			r.Set.Add(badValue(s.At, "trials", s.Text, fmt.Sprintf("a whole number from %d to %d", trial.MinTrials, trial.MaxTrials)))
			n = 0
		}
		out.options.Trials = n
	}
	return out
}

// Defs implements block.Definer.
func (b *budgetBlock) Defs() []*block.Def {
	if b.name == "" {
		return nil
	}
	d := &block.Def{Name: b.name, At: b.at, Quiet: true, Compute: func(*block.Computing) eval.Value {
		return &eval.Space{What: "budget", Name: b.name, Get: func(string) (eval.Value, bool) { return nil, false }}
	}}
	return []*block.Def{d}
}

// Uses implements block.User.
func (b *budgetBlock) Uses() []block.Use {
	if b.of == nil {
		return nil
	}
	return block.UsesOf(b.of)
}

// Check implements block.Checker.
func (b *budgetBlock) Check(c *block.Computing) {
	if b.of == nil {
		b.value = eval.Waiting{}
		return
	}
	b.value = c.Expr("budget "+b.name, b.of)
	switch v := b.value.(type) {
	case eval.Scalar:
		if !v.Q.IsUncertain() {
			c.Report(&finding.Finding{Severity: finding.Note, Slug: "exact", At: b.of.Span(), Message: "`" + formula.Print(b.of) + "` has no uncertainty: there is nothing to budget",
				Hint: "state the uncertainties of what goes in"})
		}
	case eval.Waiting:
	default:
		c.Report(errorAt(b.of.Span(), "wrong-argument", "a budget is of one quantity, this is "+eval.Describe(v), ""))
		b.value = eval.Waiting{}
	}
}

// Jobs implements block.Trialist.
func (b *budgetBlock) Jobs(c *block.Computing) []*block.Job {
	v, ok := b.value.(eval.Scalar)
	if !ok || !v.Q.IsUncertain() {
		return nil
	}
	o := b.options
	o.Coverage, o.Digits = c.Settings.Coverage, c.Settings.Digits
	b.job = &block.Job{Of: c.Full(formula.Print(b.of)), At: b.of.Span(), Q: v.Q, Expanded: budget.Expand(v.Q, c.Settings.Coverage).Expanded, Options: o}
	return []*block.Job{b.job}
}

// Show implements block.Instance.
func (b *budgetBlock) Show(s *block.Shower) []view.Node {
	title := view.Text{view.Plain("Uncertainty budget")}
	if b.of != nil {
		title = append(title, view.Plain(" of "), view.Formula{Math: s.Brief(b.of)})
	}
	if s.View() == view.AsBlank {
		return b.task(s, title)
	}
	v, ok := b.value.(eval.Scalar)
	if !ok || !v.Q.IsUncertain() {
		why := "there is no uncertainty"
		if w, waits := b.value.(eval.Waiting); waits {
			why = block.WaitsFor(w)
		}
		return []view.Node{&view.Paragraph{Standing: view.Computed, Text: append(title, view.Plain(": "), view.Missing{Why: why})}}
	}
	bud := budget.New(v.Q, s.Settings.Coverage)
	un := eval.UnitOf(v)
	nodes := []view.Node{b.table(s, bud, un, title), b.summary(s, bud, v, un)}
	if len(bud.Lines) > 1 {
		nodes = append(nodes, b.bars(s, bud))
	}
	return nodes
}

func (b *budgetBlock) table(s *block.Shower, bud *budget.Budget, un unit.Unit, title view.Text) *view.Table {
	t := b.empty(s, un, title)
	for _, l := range bud.Lines {
		t.Rows = append(t.Rows, budgetRow(l, un))
	}
	t.Rows = append(t.Rows, view.Row{Sum: true, Cells: []view.Cell{
		text("combined standard uncertainty"), {}, {}, {}, dofCell(bud.DOF), {},
		number(quantity.Format(bud.U, 0, 0, un.Difference(), quantity.Figures, quantity.Options{N: 3}), bud.U), text("100")}})
	return t
}

// empty is the table with its headings.
func (b *budgetBlock) empty(s *block.Shower, un unit.Unit, title view.Text) *view.Table {
	t := &view.Table{ID: s.ID() + "-table", Caption: title, Ledger: true, Standing: view.Computed}
	plain := func(text string, numeric bool) view.Column {
		return view.Column{Quantity: view.Text{view.Plain(text)}, Numeric: numeric}
	}
	t.Columns = []view.Column{plain("source", false), plain("estimate", true), plain("distribution", false), plain("standard uncertainty", true),
		plain(b.dofHead(), true), plain("sensitivity", true), {Quantity: view.Text{view.Plain("contribution")}, Unit: axisUnit(un.Difference()), Numeric: true}, {Quantity: view.Text{view.Plain("share")}, Unit: "%", Numeric: true}}
	return t
}

// dofHead heads the degrees of freedom: ν, but in words where a quantity of
// that symbol, such as Poisson's ratio, is what the budget is of.
func (b *budgetBlock) dofHead() string {
	if b.of == nil {
		return nuSymbol
	}
	for _, n := range formula.Names(b.of) {
		if strings.HasPrefix(block.SymbolText(n.Name[strings.LastIndexByte(n.Name, '.')+1:]), nuSymbol) {
			return "d.f."
		}
	}
	return nuSymbol
}

const nuSymbol = "ν"

// task is what a blank sheet asks for: the budget by hand, without what needs
// an engine.
func (b *budgetBlock) task(s *block.Shower, title view.Text) []view.Node {
	un := one
	if v, ok := b.value.(eval.Scalar); ok {
		un = eval.UnitOf(v)
	}
	f := &view.Facts{ID: s.ID() + "-summary", Standing: view.Given, Title: view.Text{view.Plain("Result")}}
	for _, item := range []struct {
		term string
		un   unit.Unit
	}{{"combined standard uncertainty", un.Difference()}, {"effective degrees of freedom (Welch–Satterthwaite)", one},
		{"coverage factor for " + s.Settings.CoverageText, one}, {"expanded uncertainty", un.Difference()}, {"maximum error by logarithmic differentiation", un.Difference()}} {
		f.Items = append(f.Items, view.Fact{Term: view.Text{view.Plain(item.term)}, Text: view.Text{view.Blank{Unit: axisUnit(item.un)}}})
	}
	t := b.empty(s, un, title)
	rows := leastSources
	if v, ok := b.value.(eval.Scalar); ok {
		rows = max(rows, len(budget.New(v.Q, s.Settings.Coverage).Lines))
	}
	t.Standing, t.Fill = view.Given, true
	for range rows {
		t.Rows = append(t.Rows, view.Row{Cells: make([]view.Cell, len(t.Columns))})
	}
	return []view.Node{t, f}
}

// leastSources is the least room of a budget that is to be made by hand.
const leastSources = 6

func text(t string) view.Cell {
	return view.Cell{Text: view.Text{view.Plain(t)}, Standing: view.Computed}
}

// number is a cell with a number whose unit stands in the heading.
func number(d quantity.Display, v float64) view.Cell {
	d.Unit = ""
	return withUnit(d, v)
}

func withUnit(d quantity.Display, v float64) view.Cell {
	return view.Cell{Text: view.Text{view.Number{Value: v, Display: d, Standing: view.Computed}}, Standing: view.Computed}
}

func budgetRow(l budget.Line, un unit.Unit) view.Row {
	cells := []view.Cell{text(l.Label)}
	if l.HasC {
		cells = append(cells, withUnit(block.RoundedTo(l.Value, l.U, l.Unit), l.Value))
	} else {
		cells = append(cells, text("several coefficients"))
	}
	cells = append(cells, text(l.Dist))
	if l.HasC {
		cells = append(cells, withUnit(quantity.Format(l.U, 0, 0, l.Unit.Difference(), quantity.Figures, quantity.Options{N: 2}), l.U), dofCell(l.DOF), sensitivity(l, un))
	} else {
		cells = append(cells, text("by covariance"), dofCell(l.DOF), text("by covariance"))
	}
	return view.Row{Cells: append(cells,
		number(quantity.Format(l.Contrib, 0, 0, un.Difference(), quantity.Figures, quantity.Options{N: 2}), l.Contrib),
		text(strings.TrimSuffix(shareText(l.Share), " %")))}
}

// sensitivity shows c in the unit of the result per unit of the source.
func sensitivity(l budget.Line, un unit.Unit) view.Cell {
	return withUnit(quantity.Format(l.C, 0, 0, unit.Quotient(un.Difference(), l.Unit.Difference()), quantity.Figures, quantity.Options{N: 3}), l.C)
}

// dofText sets degrees of freedom for reading; more is the word for those
// above what is told apart.
func dofText(nu float64, more string) view.Text {
	if math.IsInf(nu, 1) {
		return view.Text{view.Plain("∞")}
	}
	d, above := quantity.FormatDOF(nu)
	n := view.Number{Value: nu, Display: d, Standing: view.Computed}
	if above {
		return view.Text{view.Plain(more), n}
	}
	return view.Text{n}
}

func dofCell(nu float64) view.Cell {
	return view.Cell{Text: dofText(nu, "> "), Standing: view.Computed}
}

// coverageText says for which degrees of freedom the coverage factor is, where
// that is not the number above it; head is what these are called.
func coverageText(s *block.Shower, c budget.Coverage, head string) string {
	text := "k = " + quantity.RoundFigures(c.K, 3) + " for " + s.Settings.CoverageText
	if whole := quantity.WholeDOF(c.DOF); c.DOF < 100 && math.Abs(whole-c.DOF) > 0.01 {
		text += ", at " + head + " = " + quantity.RoundPlaces(whole, 0)
	}
	return text
}

func shareText(share float64) string {
	if share < 0.0005 {
		return "< 0.1 %"
	}
	return quantity.RoundPlaces(100*share, 1) + " %"
}

func (b *budgetBlock) summary(s *block.Shower, bud *budget.Budget, v eval.Scalar, un unit.Unit) *view.Facts {
	f := &view.Facts{ID: s.ID() + "-summary", Standing: view.Computed, Title: view.Text{view.Plain("Result")}}
	fact := func(term string, t ...view.Run) {
		f.Items = append(f.Items, view.Fact{Term: view.Text{view.Plain(term)}, Text: t})
	}
	d := un.Difference()
	fig := func(x float64, n int) view.Number {
		return view.Number{Value: x, Display: quantity.Format(x, 0, 0, d, quantity.Figures, quantity.Options{N: n}), Standing: view.Computed}
	}
	fact("result", s.Text(v, quantity.Interval, 0, "")...)
	fact("combined standard uncertainty", fig(bud.U, 2), view.Plain(", relative "+percentText(bud.U/math.Abs(bud.Value))))
	fact("effective degrees of freedom (Welch–Satterthwaite)", dofText(bud.DOF, "more than ")...)
	fact("coverage factor", view.Plain(coverageText(s, bud.Coverage, b.dofHead())))
	fact("expanded uncertainty", fig(bud.Expanded, s.Settings.Digits))
	b.monteCarlo(s, fact, fig, un)
	fact("maximum error by logarithmic differentiation", fig(bud.Maximum, 2), view.Plain(", relative "+percentText(bud.Maximum/math.Abs(bud.Value))))
	return f
}

func percentText(ratio float64) string {
	if math.IsNaN(ratio) || math.IsInf(ratio, 0) {
		return "not defined"
	}
	return quantity.Format(ratio, 0, 0, percent, quantity.Figures, quantity.Options{N: 2}).String()
}

var percent = unit.MustParse("%")

func (b *budgetBlock) monteCarlo(s *block.Shower, fact func(string, ...view.Run), fig func(float64, int) view.Number, un unit.Unit) {
	if b.job == nil || b.job.Result == nil {
		why := "not yet drawn"
		switch {
		case b.job == nil, errors.Is(b.job.Err, trial.ErrExact):
			why = "was not made"
		case b.job.Err != nil:
			why = "could not be made: " + b.job.Err.Error()
		}
		fact("Monte Carlo (JCGM 101)", view.Missing{Why: why})
		return
	}
	r := b.job.Result
	at := func(x float64) view.Number {
		return view.Number{Value: x, Display: block.RoundedTo(x, halfWidth(r), un), Standing: view.Computed}
	}
	if math.IsNaN(r.U) {
		fact("Monte Carlo (JCGM 101)", view.Plain("no standard uncertainty: a t distribution with so few degrees of freedom has none; "), trialsNumber(r.Trials), view.Plain(fmt.Sprintf(" trials, seed %d", r.Seed)))
	} else {
		fact("Monte Carlo (JCGM 101)", view.Plain("mean "), at(r.Mean), view.Plain(", standard uncertainty "), fig(r.U, 2),
			view.Plain("; "), trialsNumber(r.Trials), view.Plain(fmt.Sprintf(" trials, seed %d", r.Seed)))
	}
	fact("its shortest coverage interval for "+s.Settings.CoverageText, view.Plain("from "), at(r.Low), view.Plain(" to "), at(r.High))
	fact("verdict of JCGM 101, clause 8", b.verdict(un)...)
}

// halfWidth of the interval tells how many digits of its ends are worth
// printing.
func halfWidth(r *trial.Result) float64 { return (r.High - r.Low) / 2 }

func (b *budgetBlock) verdict(un unit.Unit) view.Text {
	r := b.job.Result
	if r.Verdict == trial.NotAssessable {
		return view.Text{view.Plain("not assessable: " + r.Reason)}
	}
	set := func(x float64) view.Number {
		return view.Number{Value: x, Display: quantity.Format(x, 0, 0, un.Difference(), quantity.Figures, quantity.Options{N: 2}), Standing: view.Computed}
	}
	outcome, relation, end := "validated", ", within δ = ", ""
	if r.Verdict == trial.NotValidated {
		outcome, relation, end = "not validated", ", more than δ = ", "; the Monte Carlo interval is the better one"
	}
	return view.Text{view.Plain("the first-order evaluation is " + outcome + ": the ends differ by "), set(r.DLow), view.Plain(" and "), set(r.DHigh),
		view.Plain(relation), set(r.Tolerance), view.Plain(end)}
}

// trialsNumber is how many trials were made.
func trialsNumber(n int) view.Number {
	return view.Number{Value: float64(n), Display: quantity.Typed(strconv.Itoa(n), one), Standing: view.Computed}
}

// nameText is an expression in plain text, a name by its symbol.
func nameText(s *block.Shower, x formula.Expr) string {
	if n, ok := bare(x).(*formula.Name); ok {
		return block.SymbolText(s.Short(n.Name))
	}
	return formula.Print(x)
}

func (b *budgetBlock) bars(s *block.Shower, bud *budget.Budget) *view.Bars {
	out := &view.Bars{ID: s.ID() + "-bars", Title: "Shares of the variance of " + nameText(s, b.of), Standing: view.Computed}
	rest := 0.0
	for i, l := range bud.Lines {
		if i >= 8 || l.Share < 0.001 && i > 1 {
			rest += l.Share
			continue
		}
		out.Items = append(out.Items, view.Bar{Label: l.Label, Share: l.Share, Text: shareText(l.Share)})
	}
	if rest > 0 {
		out.Items = append(out.Items, view.Bar{Label: "all others", Share: rest, Text: shareText(rest)})
	}
	first := bud.Lines[0]
	out.Desc = fmt.Sprintf("Shares of the variance: the greatest is %s with %s, of %s.", first.Label, shareText(first.Share), countOf(len(bud.Lines), "source"))
	return out
}
