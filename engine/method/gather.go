package method

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/unit"
)

// gatherRoles sorts what was computed into roles and truths.
func (r *run) gatherRoles() {
	for _, st := range r.steps {
		v := r.values[st.Name]
		if _, waits := v.(eval.Waiting); waits || v == nil {
			continue // reported
		}
		role, _ := r.method.role(st.Name)
		if role == nil {
			r.out.Truths[st.Name] = v
			r.out.Names = append(r.out.Names, st.Name)
			continue
		}
		if !r.untold[st.Name] && r.fits(role, st, v) {
			r.give(role, st.Name, r.told(role, st, v))
		}
	}
}

// give puts a value into its role; two columns become a list.
func (r *run) give(role *Role, name string, v eval.Value) {
	if rd, ok := r.reads[name]; ok {
		r.out.Units[role.Name] = rd.Unit
		r.out.Readings[role.Name] = rd
	} else if _, known := r.out.Units[role.Name]; !known && !takesWord(role) {
		r.out.Units[role.Name] = eval.UnitOf(v)
	}
	if name == role.Name {
		r.out.Roles[name] = v
		return
	}
	if name == role.Name+"_1" && r.values[role.Name+"_2"] == nil {
		r.out.Roles[role.Name] = v
		return
	}
	l, _ := r.out.Roles[role.Name].(eval.List)
	if len(l.Members) == 0 {
		l.Members = make([]eval.Value, 2)
	}
	l.Members[name[len(name)-1]-'1'] = v
	r.out.Roles[role.Name] = l
}

// toldDigits is how many significant digits a quantity has that is told and
// not read: as many as a teacher writes down.
const toldDigits = 4

// told is a quantity as a teacher tells it: in a unit that suits its size, and
// rounded where it was computed. A number that the method's author typed stays
// as it is, and so does what an instrument shows.
func (r *run) told(role *Role, st *formula.Statement, v eval.Value) eval.Value {
	s, single := v.(eval.Scalar)
	_, read := r.reads[st.Name]
	_, typed := st.X.(*formula.Literal)
	if !single || read || typed || role.Takes != "quantity" {
		return v
	}
	u := suited(eval.UnitOf(s), s.Q.Value())
	if r.plan {
		return eval.Scalar{Q: s.Q, Unit: &u}
	}
	text := strconv.FormatFloat(u.FromSI(s.Q.Value()), 'e', toldDigits-1, 64)
	rounded, err := u.ToSI(text)
	if err != nil {
		return v
	}
	return eval.Scalar{Q: quantity.Exact(rounded, s.Q.Dim()), Unit: &u}
}

// suited is a unit, with the prefix with which a value has one to three digits
// before its point where it has too many or none without.
func suited(u unit.Unit, v float64) unit.Unit {
	const least, most = 0.1, 10000
	size := func(u unit.Unit) float64 { return math.Abs(u.FromSI(v)) }
	if x := size(u); v == 0 || u.IsOne() || u.IsTemperature() || x >= least && x < most {
		return u
	}
	bare := withoutPrefix(u)
	for _, p := range append(unit.Prefixes(), unit.Prefix{}) {
		if other, err := unit.Parse(p.Symbol + bare); err == nil && p.Power%3 == 0 && other.Dim() == u.Dim() && size(other) >= 1 && size(other) < 1000 {
			return other
		}
	}
	return u
}

// withoutPrefix is the symbol of a unit without its prefix: g for kg.
func withoutPrefix(u unit.Unit) string {
	for _, p := range unit.Prefixes() {
		rest, ok := strings.CutPrefix(u.String(), p.Symbol)
		if bare, err := unit.Parse(rest); ok && err == nil && bare.Dim() == u.Dim() && math.Abs(u.Factor()/bare.Factor()/math.Pow10(p.Power)-1) < 1e-9 {
			return rest
		}
	}
	return u.String()
}

// fits checks a value against what its role takes.
func (r *run) fits(role *Role, st *formula.Statement, v eval.Value) bool {
	if takesWord(role) {
		return true
	}
	_, single := v.(eval.Scalar)
	_, column := v.(*eval.Column)
	ok := column && role.Takes != "quantity" || single && (role.Takes == "quantity" || role.Takes == "readings")
	if !ok {
		f := errorAt(st.X.Span(), "wrong-argument", fmt.Sprintf("the role `%s` takes %s, this is %s", role.Name, role.TakesWords(), eval.Describe(v)), "")
		f.Also = []finding.Place{{At: role.TakesAt, What: "the role is here"}}
		r.set.Add(f)
		return false
	}
	want, err := role.ParseUnit()
	if d, _ := eval.DimOf(v); err == nil && d != want.Dim() {
		f := errorAt(st.X.Span(), "unit-clash", fmt.Sprintf("the role `%s` is in %s, this is %s", role.Name, want, eval.Describe(v)), "check the statement and its units")
		f.Also = []finding.Place{{At: role.UnitAt, What: "the role is here"}}
		r.set.Add(f)
		return false
	}
	return true
}

// gatherInstruments makes the apparatus out of what was read and of the truths
// named after instruments.
func (r *run) gatherInstruments() {
	for i := range r.method.Roles {
		role := &r.method.Roles[i]
		if role.With == "" || r.out.Roles[role.Name] == nil {
			continue
		}
		in := r.out.Instruments[role.With]
		if in == nil {
			in = &Instrument{Name: role.With, Unit: r.out.Units[role.Name]}
			r.out.Instruments[role.With] = in
			r.furnish(in)
		}
		for _, name := range []string{role.Name, role.Name + "_1", role.Name + "_2"} {
			if rd, ok := r.reads[name]; ok {
				r.agree(in, name, rd)
			}
		}
	}
}

// agree takes resolution and zero from a read statement; all that are read by
// one instrument must have them alike.
func (r *run) agree(in *Instrument, name string, rd Reading) {
	if in.HasZero && (in.Resolution != rd.Resolution || in.Zero != rd.Zero) {
		r.set.Add(errorAt(r.Defined(name), "bad-simulation", fmt.Sprintf("`%s` is read with another resolution or zero than the rest by `%s`", name, in.Name), "one instrument has one of each"))
		return
	}
	in.Resolution, in.Zero, in.Unit, in.HasZero = rd.Resolution, rd.Zero, rd.Unit, true
}

// furnished are the settings of an instrument that a truth named INSTRUMENT_KEY
// fills in.
var furnished = []string{"resolution", "pitch", "divisions", "calibration", "scale", "each"}

// furnish reads the truths named after an instrument: `screw_pitch`.
func (r *run) furnish(in *Instrument) {
	for _, key := range furnished {
		v, ok := r.out.Truths[in.Name+"_"+key].(eval.Scalar)
		if !ok {
			continue
		}
		switch u := eval.UnitOf(v); key {
		case "resolution":
			in.Resolution, in.Unit = v.Q.Value(), u
			continue
		case "pitch":
			in.Pitch = v.Q.Value()
			in.Extra = append(in.Extra, InstrumentSetting{key, quantityText(v.Q.Value(), u)})
		case "divisions":
			in.Extra = append(in.Extra, InstrumentSetting{key, quantityText(v.Q.Value(), u)})
		default:
			in.Extra = append(in.Extra, InstrumentSetting{key, r.limits(in.Name+"_"+key, v, u)})
		}
	}
}

// limits is how a ± stands in an apparatus file. A statement that is a quantity
// with its own ± stands as typed; a quantity alone is an expanded uncertainty.
func (r *run) limits(name string, v eval.Scalar, u unit.Unit) string {
	for _, st := range r.steps {
		if l, ok := st.X.(*formula.Literal); ok && st.Name == name && (len(l.Limits) > 0 || l.Number.Paren != "") {
			text := formula.Print(l)
			if i := strings.IndexRune(text, '±'); i >= 0 && v.Q.Value() == 0 && !l.Bracket {
				text = text[i:]
			}
			return text
		}
	}
	return "± " + quantityText(v.Q.Value(), u) + " k=2"
}

// quantityText writes a value in a unit with all its digits.
func quantityText(v float64, u unit.Unit) string {
	text := numberText(v, u, 0)
	if u.IsOne() {
		return text
	}
	return text + " " + u.String()
}

// members are the columns or quantities of what a role was given.
func members(v eval.Value) []eval.Value {
	if l, ok := v.(eval.List); ok {
		return l.Members
	}
	if v == nil {
		return nil
	}
	return []eval.Value{v}
}

// cells are the values of a column or the one of a quantity.
func cells(v eval.Value) []eval.Cell {
	switch v := v.(type) {
	case *eval.Column:
		return v.Cells
	case eval.Scalar:
		return []eval.Cell{{Q: v.Q, Row: 1}}
	}
	return nil
}
