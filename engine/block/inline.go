package block

import (
	"fmt"
	"strconv"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// evaluateInline computes an inline value and checks a claim.
func (p *Program) evaluateInline(in *inline) {
	ins := in.node.Insert
	if !readable(ins) {
		in.value = eval.Waiting{}
		return
	}
	c := p.computing(in.scope, nil)
	e := c.Eval("inline " + formula.Print(ins.X))
	in.value = c.InUnit(e, e.Expr(ins.X), ins.In, ins.X)
	if !in.node.Claim {
		return
	}
	if ins.Claim == nil {
		if w, waits := in.value.(eval.Waiting); waits && !w.Unread {
			return // what is wrong is said elsewhere
		}
		p.Set.Add(p.via(toFillIn(in.node.Span, formula.Print(ins.X)), in.scope))
		return
	}
	p.checkClaim(in, c, e)
}

// readable reports whether an inline value could be read.
func readable(ins *formula.Insert) bool {
	if ins == nil || ins.X == nil {
		return false
	}
	_, bad := ins.X.(*formula.Bad)
	return !bad
}

// checkClaim compares a number that the author worked out by hand with the
// computed one, rounded half-even to the claim's own decimals.
func (p *Program) checkClaim(in *inline, c *Computing, e *eval.Eval) {
	ins := in.node.Insert
	s, ok := in.value.(eval.Scalar)
	if !ok {
		return // it waits: the finding is elsewhere
	}
	un := unit.Of(unit.Dim{})
	if ins.Claim.Unit.Text != "" {
		if un, ok = eval.ParseUnit(ins.Claim.Unit.Text, ins.Claim.Unit.At, e); !ok {
			return
		}
	}
	if un.Dim() != s.Q.Dim() {
		c.Report(claimUnit(ins.Claim.At, formula.Print(ins.X), un, eval.UnitOf(s)))
		return
	}
	typed := typedClaim(ins)
	if !Agrees(typed, s.Q.Value(), un) {
		c.Report(wrongClaim(in.node.Span, formula.Print(ins.X), claimed(ins).String(), c.Display(eval.Scalar{Q: s.Q, Unit: &un}, quantity.Auto, 0).String(),
			quantity.RoundIn(s.Q.Value(), un, Places(typed))))
	}
}

// typedClaim is the number of a claim with its sign.
func typedClaim(ins *formula.Insert) string {
	if ins.Sign {
		return "-" + ins.Claim.Number.Text
	}
	return ins.Claim.Number.Text
}

// claimed sets a claim as it was typed.
func claimed(ins *formula.Insert) quantity.Display {
	d := quantity.Typed(typedClaim(ins), unit.Of(unit.Dim{}))
	d.Unit = ins.Claim.Unit.Text
	return d
}

// claimNumber is a claim as the page shows it; plain text where its unit is
// none.
func claimNumber(ins *formula.Insert) view.Run {
	d := claimed(ins)
	un, err := unit.Parse(d.Unit)
	v, bad := strconv.ParseFloat(typedClaim(ins), 64)
	if err != nil || bad != nil {
		return view.Plain(d.String())
	}
	return view.Number{Value: un.SI(v), Display: d, Standing: view.Given}
}

// Agrees reports whether a typed number equals the value, rounded half-even to
// the typed number's own decimals in the unit.
func Agrees(typed string, v float64, un unit.Unit) bool {
	n := Places(typed)
	t, err := strconv.ParseFloat(typed, 64)
	return err == nil && quantity.RoundIn(v, un, n) == quantity.RoundPlaces(t, n)
}

// Places is the number of decimals of a typed number: 1.97e11 has −9.
func Places(typed string) int {
	mantissa, exp := typed, 0
	if i := strings.IndexAny(typed, "eE"); i >= 0 {
		mantissa = typed[:i]
		if _, err := fmt.Sscanf(typed[i+1:], "%d", &exp); err != nil {
			exp = 0
		}
	}
	n := 0
	if i := strings.IndexByte(mantissa, '.'); i >= 0 {
		n = len(mantissa) - i - 1
	}
	return n - exp
}

// inlineText is what the page shows of an inline value.
func (p *Program) inlineText(in *inline) view.Text {
	ins := in.node.Insert
	if !readable(ins) {
		return view.Text{view.Code(in.node.Span.Text()), view.Plain(" "), view.Missing{Why: WaitsFor(eval.Waiting{})}}
	}
	c := p.computing(in.scope, nil)
	link := ""
	if n, ok := ins.X.(*formula.Name); ok {
		link = c.Anchor(n.Name)
	}
	if !in.node.Claim {
		t := Wanting(p.marked(in, c.Text(in.value, FormOf(ins.Form), ins.Digits, link)), p.fullName(ins.X, in.scope))
		if p.given(ins.X, in.scope) {
			t = asGiven(t)
		}
		return t
	}
	name := view.Text{view.Formula{Math: Symbol(formula.Print(ins.X))}, view.Plain(" = ")}
	if ins.Claim == nil {
		un := ""
		if _, ok := eval.DimOf(in.value); ok {
			un = eval.UnitOf(in.value).String()
		}
		return append(append(name, view.Blank{Unit: un}), view.MarksOf(ins.Marks)...)
	}
	text := append(append(name, claimNumber(ins)), view.MarksOf(ins.Marks)...)
	return append(text, p.claimVerdict(in)...)
}

// inlineID is the ID on the page of an inline value, by its place in the order
// of the record's.
func (p *Program) inlineID(in *inline) string {
	if in.number == 0 {
		for i, o := range p.order {
			o.number = i + 1
		}
	}
	return "text-" + strconv.Itoa(in.number)
}

// marked gives the first number of an inline value its ID.
func (p *Program) marked(in *inline, t view.Text) view.Text {
	for i, r := range t {
		if n, ok := r.(view.Number); ok {
			n.ID = p.inlineID(in)
			t[i] = n
			break
		}
	}
	return t
}

// claimVerdict marks a claim that is wrong where it stands.
func (p *Program) claimVerdict(in *inline) view.Text {
	if f := p.findingIn(in.node.Span); f != nil {
		return view.Text{view.Plain(" "), view.Emph("(" + f.Severity.String() + ": " + f.Message + ")")}
	}
	if w, waits := in.value.(eval.Waiting); waits {
		return view.Text{view.Plain(" "), view.Missing{Why: WaitsFor(w)}}
	}
	return nil
}

// toFillIn: `?[T = ]` in a record.
func toFillIn(at source.Span, name string) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "to-fill-in", At: at,
		Message: fmt.Sprintf("`%s` is still to be filled in", name)}
}

// claimUnit: `?[E = 197 kg]`.
func claimUnit(at source.Span, name string, un, want unit.Unit) *finding.Finding {
	return errorAt(at, "unit-clash", fmt.Sprintf("the claim is in `%s`, but `%s` is in `%s`", un, name, want), "check the unit of the claim")
}

// wrongClaim: `?[E = 197 GPa]` where 187 GPa is computed.
func wrongClaim(at source.Span, name, claimed, computed, rounded string) *finding.Finding {
	return errorAt(at, "wrong-claim", fmt.Sprintf("the text says `%s` = %s, the data give %s (rounded alike: %s)", name, claimed, computed, rounded),
		"check the arithmetic, the units and the rounding")
}
