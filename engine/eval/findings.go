package eval

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/internal/near"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

func errorAt(at source.Span, slug, message, hint string) *finding.Finding {
	return &finding.Finding{Severity: finding.Error, Slug: slug, At: at, Message: message, Hint: hint}
}

// ofData marks a finding that other readings may not have.
func ofData(f *finding.Finding) *finding.Finding {
	f.OfData = true
	return f
}

func didYouMean(n string) string {
	if n == "" {
		return ""
	}
	return fmt.Sprintf("did you mean `%s`?", n)
}

// unknownUnit: `L = 2.91 metre`.
func unknownUnit(at source.Span, text string, err error) *finding.Finding {
	var u *unit.Error
	hint := "`taut units` lists the units"
	msg := fmt.Sprintf("`%s` is not a unit", text)
	if errors.As(err, &u) {
		msg = u.Message
		if !strings.Contains(msg, text) {
			msg = fmt.Sprintf("`%s` can't be read as a unit: %s", text, msg)
		}
		if u.Nearest != "" {
			hint = didYouMean(u.Nearest)
		}
		if at.Text() == text {
			at = at.Sub(u.Offset, u.Offset+u.Len)
		}
	}
	return errorAt(at, "unknown-unit", msg, hint)
}

// unreadableNumber: `x = 1e999 m`.
func unreadableNumber(at source.Span, text string, err error) *finding.Finding {
	msg := fmt.Sprintf("`%s` is not a number that can be used", text)
	if err != nil {
		msg += ": " + err.Error()
	}
	return errorAt(at, "bad-number", msg, "write digits, at most one decimal point, and an exponent such as e11 where needed")
}

// limitClash: `L = 2.91 m ± 1 kg`.
func limitClash(at source.Span, un, limit unit.Unit) *finding.Finding {
	return errorAt(at, "unit-clash",
		fmt.Sprintf("the uncertainty is %s, the value %s", article(dimWords(limit.Dim())), article(dimWords(un.Dim()))),
		fmt.Sprintf("write it in `%s` or in %%", un.Difference().String()))
}

// clashingQualifiers: `± 1 mm std k=2`.
func clashingQualifiers(at source.Span, a, b string) *finding.Finding {
	return errorAt(at, "bad-qualifier", fmt.Sprintf("`%s` and `%s` cannot both describe one ±", a, b), "keep one")
}

// badQualifier: `± 1 mm k=-2`.
func badQualifier(at source.Span, key, want string) *finding.Finding {
	return errorAt(at, "bad-qualifier", fmt.Sprintf("`%s` behind a ± is not understood", key), "it should be "+want)
}

// noSuchPart: `line.slop`.
func noSuchPart(at source.Span, whole, field string, v Value) *finding.Finding {
	msg := fmt.Sprintf("`%s` has no `%s`: it is %s", whole, field, Describe(v))
	hint := ""
	if s, ok := v.(*Space); ok {
		hint = didYouMean(near.Name(field, s.Names))
		if hint == "" && len(s.Names) > 0 {
			hint = "inside are " + strings.Join(s.Names, ", ")
		}
	}
	return errorAt(at, "no-such-part", msg, hint)
}

// notNumeric: `2 * (a < b)`.
func notNumeric(at source.Span, op string, v Value) *finding.Finding {
	return errorAt(at, "not-a-quantity", fmt.Sprintf("%s cannot stand with `%s`", Describe(v), op), "a quantity or a column is needed here")
}

// notANumber: `2^(3 m)`.
func notANumber(at source.Span, what string, v Value) *finding.Finding {
	return errorAt(at, "not-a-number", fmt.Sprintf("%s must be a pure number, this is %s", what, Describe(v)), "divide by a unit, as in `x / (1 m)`")
}

// badExponent: `d^0.123` of a length.
func badExponent(at source.Span, v float64, of Value) *finding.Finding {
	return errorAt(at, "bad-exponent", fmt.Sprintf("%s cannot be raised to the power %g", Describe(of), v), "whole powers and simple roots such as ^(1/3) have a unit")
}

// notCondition: `a and 3`.
func notCondition(at source.Span, op string, v Value) *finding.Finding {
	return errorAt(at, "not-a-condition", fmt.Sprintf("`%s` needs a condition, this is %s", op, Describe(v)), "compare it: `x > 0 mm`")
}

// notFinite: `1 / (a - a)`.
func notFinite(at source.Span, q quantity.Q, row int) *finding.Finding {
	what := quoted(at)
	if row > 0 {
		what += fmt.Sprintf(", in row %d,", row)
	}
	switch v := q.Value(); {
	case math.IsNaN(v):
		what += " has no value (a root or logarithm of a negative number, or 0/0)"
	case math.IsInf(v, 0):
		what += " is infinite or too large (a division by zero, or a number beyond 1.8e308)"
	default:
		what += " has no finite uncertainty: it changes without bound here"
	}
	return ofData(errorAt(at, "not-finite", what, "look at the numbers that go in"))
}

// quoted is the text of a place for a message, cut where it is long.
func quoted(at source.Span) string {
	text := strings.Join(strings.Fields(at.Text()), " ")
	if r := []rune(text); len(r) > 40 {
		text = string(r[:40]) + "…"
	}
	if text == "" {
		return "this"
	}
	return "`" + text + "`"
}

// roundingOnly: `0.1 + 0.2 == 0.3`, which differ in the last digit that a
// computer holds.
func roundingOnly(at source.Span, x *formula.Binary) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "rounding-only", At: at,
		Message: fmt.Sprintf("the two sides of `%s` differ by the rounding of the computation alone, and count as unequal", x.Op),
		Hint:    "compare with a tolerance, such as `abs(a - b) < 0.001 mm`"}
}

// noPercentage: `0 m ± 5 %`.
func noPercentage(at source.Span) *finding.Finding {
	return &finding.Finding{Severity: finding.Caution, Slug: "percent-of-zero", At: at,
		Message: "a percentage of 0 is 0: this ± states no uncertainty", Hint: "state the limits in the unit of the value"}
}

// raggedColumns: `a.x + b.y` of tables with unequal numbers of rows.
func raggedColumns(at, a, b source.Span, na, nb int) *finding.Finding {
	f := errorAt(at, "ragged-columns", fmt.Sprintf("%d rows cannot combine with %d rows", na, nb), "take columns of one table, or strike the same rows")
	f.Also = []finding.Place{{At: a, What: fmt.Sprintf("%d rows", na)}, {At: b, What: fmt.Sprintf("%d rows", nb)}}
	return f
}

// unitClash: `L + m`. It shows both operands with where they come from, and
// knows the commonest slip of the practical: a load in kilograms where a force
// is due.
func unitClash(e *Eval, x *formula.Binary, a, b Value) *finding.Finding {
	da, _ := DimOf(a)
	db, _ := DimOf(b)
	verb := map[string]string{"+": "add", "-": "subtract"}[x.Op]
	msg := fmt.Sprintf("cannot %s %s and %s", verb, Describe(a), Describe(b))
	if verb == "" {
		msg = fmt.Sprintf("cannot compare %s with %s", Describe(a), Describe(b))
	}
	f := errorAt(x.OpAt, "unit-clash", msg, clashHint(da, db))
	f.Also = []finding.Place{
		{At: x.X.Span(), What: fmt.Sprintf("`%s` is in %s", formula.Print(x.X), UnitOf(a))},
		{At: x.Y.Span(), What: fmt.Sprintf("`%s` is in %s", formula.Print(x.Y), UnitOf(b))},
	}
	f.Also = append(f.Also, e.origins(x.X)...)
	f.Also = append(f.Also, e.origins(x.Y)...)
	return f
}

// origins returns where the names of an operand are defined.
func (e *Eval) origins(x formula.Expr) []finding.Place {
	var out []finding.Place
	for _, n := range formula.Names(x) {
		if at := e.Env.Defined(n.Name); !at.IsZero() && len(out) < 3 {
			out = append(out, finding.Place{At: at, What: fmt.Sprintf("`%s` is defined here", n.Name)})
		}
	}
	return out
}

var acceleration = unit.MustParse("m/s^2").Dim()

// clashHint looks at two dimensions that should be one. A difference of
// exactly one acceleration is a mass where a force is due.
func clashHint(a, b unit.Dim) string {
	if a.Div(b) == acceleration || b.Div(a) == acceleration {
		return "a load in kilograms is not a force in newtons: multiply it by `g`"
	}
	return "check the formula and the units of what goes in"
}

// InClash: `E = L * load / (A * x) in GPa`, where the result has not the
// dimension of its unit.
func InClash(e *Eval, at source.Span, want unit.Unit, x formula.Expr, got Value) *finding.Finding {
	d, _ := DimOf(got)
	f := errorAt(at, "unit-clash",
		fmt.Sprintf("`%s` is asked for, but the result is in %s (%s)", want, unit.Of(d), strings.TrimPrefix(Describe(got), "a column of ")),
		clashHint(want.Dim(), d))
	f.Also = append([]finding.Place{{At: x.Span(), What: fmt.Sprintf("this is in %s", unit.Of(d))}}, e.origins(x)...)
	return f
}

// unknownFunction: `average(x)`.
func unknownFunction(at source.Span, name string) *finding.Finding {
	hint := didYouMean(near.Name(name, FunctionNames()))
	if hint == "" {
		hint = "the functions are " + strings.Join(FunctionNames(), ", ")
	}
	return errorAt(at, "unknown-function", fmt.Sprintf("there is no function `%s`", name), hint)
}

// wrongArguments: `sqrt(a, b)`.
func wrongArguments(at source.Span, usage string, got int) *finding.Finding {
	return errorAt(at, "wrong-arguments", fmt.Sprintf("`%s` does not take %d arguments", usage, got), "write "+usage)
}

// wrongKind: `mean("x")`, `nth(2 mm, 1)`.
func wrongKind(at source.Span, usage, want string, v Value) *finding.Finding {
	return errorAt(at, "wrong-argument", fmt.Sprintf("`%s` needs %s here, this is %s", usage, want, Describe(v)), "")
}

// wrongSize: `pairs(c, 9)` of a column of eight.
func wrongSize(at source.Span, msg, hint string) *finding.Finding {
	return ofData(errorAt(at, "wrong-size", msg, hint))
}

// noInstrument: the mean of a column that was read by no stated instrument.
func noInstrument(at source.Span, what string) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "no-instrument", At: at,
		Message: fmt.Sprintf("%s was read by no stated instrument: only the scatter counts as uncertainty", what),
		Hint:    "name the instrument in the heading, as in `up / mm @screw`"}
}

// unequalSpans: `mean(pairs(c, 4))` after a row was struck.
func unequalSpans(at source.Span, call string) *finding.Finding {
	return &finding.Finding{Severity: finding.Note, Slug: "unequal-spans", At: at,
		Message: "these pairs span unequal numbers of rows, since a row was struck or not read",
		Hint:    fmt.Sprintf("take slopes instead: `%s`", call)}
}

// UnknownInstrument: `2.846 m @tap`.
func UnknownInstrument(at source.Span, name string, known []string) *finding.Finding {
	hint := didYouMean(near.Name(name, known))
	if hint == "" {
		hint = "describe it in an `instruments` block or in the apparatus file"
	}
	return errorAt(at, "unknown-instrument", fmt.Sprintf("there is no instrument `%s`", name), hint)
}

// CheckInstrument reports a reading in a unit that the instrument cannot give.
func CheckInstrument(in *instrument.Instrument, un unit.Unit, at source.Span) *finding.Finding {
	if in.Unread || in.Dim == un.Dim() {
		return nil
	}
	hint := "check the unit or the instrument"
	switch mass, force := unit.MustParse("kg").Dim(), unit.MustParse("N").Dim(); {
	case in.Dim == mass && un.Dim() == force:
		hint = "if these are masses, head them kg; if they are forces, divide them by g"
	case in.Dim == force && un.Dim() == mass:
		hint = "if these are forces, head them N; if they are masses, multiply them by g"
	}
	return errorAt(at, "unit-clash",
		fmt.Sprintf("`%s` reads %s, this is %s", in.Name, article(dimWords(in.Dim)), article(dimWords(un.Dim()))), hint)
}
