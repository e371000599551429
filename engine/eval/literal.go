package eval

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Literal evaluates a number or quantity as typed.
func (e *Eval) Literal(x *formula.Literal, negative bool) Value {
	un, ok := e.unit(x.Unit)
	if !ok {
		return failed
	}
	v, ok := e.convert(x.Number.Text, un, x.Number.At, negative)
	if !ok {
		return failed
	}
	e.literals++
	id := fmt.Sprintf("%s#%d", e.Owner, e.literals)
	own, ok := e.uncertainties(x, un, v)
	if !ok {
		return failed
	}
	e.remarkGravity(x, un)
	dim := un.Dim()
	if x.Instrument != "" {
		return e.readingLiteral(x, un, v, id, own)
	}
	terms := make([]quantity.Term, len(own))
	for i, o := range own {
		s := quantity.Source{ID: fmt.Sprintf("%s ±%d", id, i+1), Label: e.Owner + ": " + o.Label, Dist: o.Dist, Value: v,
			Unit: un, U: o.U, Half: o.Half, DOF: o.DOF, Origin: x.At}
		terms[i] = quantity.Term{Source: s.New(), C: 1}
	}
	out := Scalar{Q: quantity.Uncertain(v, dim, terms...), Unit: &un}
	if len(terms) == 0 {
		out.Typed = sign(negative) + x.Number.Text
	}
	if x.Unit.Text == "" {
		out.Unit = nil
	}
	return out
}

func sign(negative bool) string {
	if negative {
		return "-"
	}
	return ""
}

// readingLiteral is one reading by an instrument: 2.846 m @tape.
func (e *Eval) readingLiteral(x *formula.Literal, un unit.Unit, v float64, id string, own []instrument.Own) Value {
	in, w, ok := e.Env.Instrument(x.Instrument)
	if !ok {
		return w
	}
	if f := CheckInstrument(in, un, x.InstrAt); f != nil {
		return e.fail(f)
	}
	if in.Unread {
		return Waiting{On: "@" + x.Instrument, Unread: true}
	}
	return Scalar{Q: in.Read(id, v, un.Dim(), un, own...).Corrected, Unit: &un}
}

func (e *Eval) unit(u formula.Unit) (unit.Unit, bool) {
	if u.Text == "" {
		return unit.Of(unit.Dim{}), true
	}
	return ParseUnit(u.Text, u.At, e)
}

// ParseUnit looks a unit up and reports one that is not known.
func ParseUnit(text string, at source.Span, e *Eval) (unit.Unit, bool) {
	un, err := unit.Parse(text)
	if err != nil {
		e.Report(unknownUnit(at, text, err))
		return un, false
	}
	return un, true
}

func (e *Eval) convert(text string, un unit.Unit, at source.Span, negative bool) (float64, bool) {
	v, err := un.ToSI(sign(negative) + text)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		e.Report(unreadableNumber(at, text, err))
		return 0, false
	}
	return v, true
}

// uncertainties returns the sources that a literal states, in the order
// written: the digits in brackets, then each ±.
func (e *Eval) uncertainties(x *formula.Literal, un unit.Unit, v float64) ([]instrument.Own, bool) {
	var out []instrument.Own
	if x.Number.Paren != "" {
		text, err := bracketDigits(x.Number.Text, x.Number.Paren)
		if err != nil {
			e.Report(unreadableNumber(x.Number.At, x.Number.Paren, err))
			return nil, false
		}
		u, ok := e.convert(text, un.Difference(), x.Number.At, false)
		if !ok {
			return nil, false
		}
		out = append(out, instrument.Own{Label: "standard uncertainty as stated", Dist: quantity.Normal, U: u})
	}
	for i := range x.Limits {
		o, ok := e.Limit(&x.Limits[i], un, v)
		if !ok {
			return nil, false
		}
		if o.Relative {
			if v == 0 && o.U > 0 {
				e.Report(noPercentage(x.Limits[i].At))
			}
			o.U *= math.Abs(v)
			o.Half *= math.Abs(v)
			o.Relative = false
		}
		out = append(out, o)
	}
	return out, true
}

// bracketDigits writes out the uncertainty that stands in brackets behind a
// number: 2.9140(6) is 0.0006; a decimal point in the brackets means what it
// says.
func bracketDigits(number, paren string) (string, error) {
	mantissa, exponent := number, ""
	if i := strings.IndexAny(number, "eE"); i >= 0 {
		mantissa, exponent = number[:i], number[i:]
	}
	if strings.Contains(paren, ".") {
		return paren + exponent, nil
	}
	places := 0
	if i := strings.IndexByte(mantissa, '.'); i >= 0 {
		places = len(mantissa) - i - 1
	}
	shift := 0
	if exponent != "" {
		n, err := strconv.Atoi(strings.TrimPrefix(exponent[1:], "+"))
		if err != nil {
			return "", err
		}
		shift = n
	}
	return fmt.Sprintf("%se%d", paren, shift-places), nil
}

// Limit evaluates one ±. Un is the unit of the value before it; a limit in per
// cent is relative unless the value itself is in per cent.
func (e *Eval) Limit(l *formula.Limit, un unit.Unit, v float64) (instrument.Own, bool) {
	o := instrument.Own{Dist: quantity.Rectangular}
	lu := un.Difference()
	switch {
	case l.Unit.Text == "%" && un.String() != "%":
		o.Relative = true
		lu, _ = unit.Parse("%")
	case l.Unit.Text != "":
		var ok bool
		if lu, ok = ParseUnit(l.Unit.Text, l.Unit.At, e); !ok {
			return o, false
		}
		lu = lu.Difference()
		if lu.Dim() != un.Dim() {
			e.Report(limitClash(l.Unit.At, un, lu))
			return o, false
		}
	}
	a, ok := e.convert(l.Number.Text, lu, l.Number.At, false)
	if !ok {
		return o, false
	}
	if l.Number.Paren != "" {
		e.Report(unreadableNumber(l.Number.At, l.Number.Text+"("+l.Number.Paren+")", nil))
		return o, false
	}
	text := "± " + l.Number.Text
	if l.Unit.Text != "" {
		text += " " + l.Unit.Text
	}
	return e.qualify(o, l, a, text)
}

// qualify applies the words behind a ±.
func (e *Eval) qualify(o instrument.Own, l *formula.Limit, a float64, text string) (instrument.Own, bool) {
	shape, kind := "rectangular", ""
	k := 1.0
	for _, q := range l.Qualifiers {
		switch q.Key {
		case "triangular", "arcsine", "std", "k":
			if kind != "" {
				e.Report(clashingQualifiers(q.At, kind, q.Key))
				return o, false
			}
			kind = q.Key
			if q.Key == "k" {
				v, err := strconv.ParseFloat(q.Value, 64)
				if err != nil || !(v > 0) || math.IsInf(v, 0) {
					e.Report(badQualifier(q.At, "k", "a coverage factor above 0"))
					return o, false
				}
				k = v
			}
		case "dof":
			v, err := strconv.ParseFloat(q.Value, 64)
			if err != nil || !(v >= 1) {
				e.Report(badQualifier(q.At, "dof", "a number of 1 or more"))
				return o, false
			}
			o.DOF = v
		default:
			e.Report(badQualifier(q.At, q.Key, "one of triangular, arcsine, std, k=…, dof=…"))
			return o, false
		}
	}
	switch kind {
	case "std":
		o.Dist, o.U = quantity.Normal, a
		o.Label = "standard uncertainty " + strings.TrimPrefix(text, "± ") // ± is that of limits
		return o, true
	case "k":
		o.Dist, o.U = quantity.Normal, a/k
		o.Label = fmt.Sprintf("expanded uncertainty %s, k = %s", strings.TrimPrefix(text, "± "), strconv.FormatFloat(k, 'g', -1, 64))
		return o, true
	case "triangular":
		o.Dist, o.U, shape = quantity.Triangular, a/math.Sqrt(6), "triangular"
	case "arcsine":
		o.Dist, o.U, shape = quantity.Arcsine, a/math.Sqrt2, "U-shaped"
	default:
		o.U = a / math.Sqrt(3)
	}
	o.Half = a
	o.Label = shape + " limits " + text
	if shape == "rectangular" {
		o.Label = "limits " + text
	}
	return o, true
}

// Stated returns the sources that a literal states beside a value already
// known, as for a cell of a table.
func (e *Eval) Stated(x *formula.Literal, un unit.Unit, v float64) ([]instrument.Own, bool) {
	return e.uncertainties(x, un, v)
}
