package eval

import (
	"math"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// namesOf are names with values, for tests.
type namesOf map[string]Value

func (g namesOf) Lookup(name string) (Value, []string) {
	if v, ok := g[name]; ok {
		return v, nil
	}
	return Waiting{On: name}, nil
}
func (namesOf) Instrument(name string) (*instrument.Instrument, Waiting, bool) {
	return nil, Waiting{On: name}, false
}
func (namesOf) Given(string) (bound, known bool)  { return false, false }
func (namesOf) Defined(string) (none source.Span) { return none }

// evaluateWith evaluates with names, and with a function that is known here
// only.
func evaluateWith(t *testing.T, g namesOf, text string) (Value, []*finding.Finding) {
	t.Helper()
	var set finding.Set
	f := source.NewFile("test", []byte(text))
	x := formula.ParseExpr(f.Span(0, len(text)), &set)
	twice := Extra{Usage: "twice(x)", Least: 1, Most: 1, F: func(c *Call) Value {
		return c.Each(0, UnitOf(c.Args[0]), func(q quantity.Q) quantity.Q { return q.Mul(quantity.Number(2)) })
	}}
	v := (&Eval{Env: g, Owner: "test", Report: set.Add, Extra: map[string]Extra{"twice": twice}}).Expr(x)
	return v, set.Sorted()
}

// TestRowwise follows a value that is fresh in every row through operators and
// functions: alone and with quantities it stays so, with a column it becomes
// one.
func TestRowwise(t *testing.T) {
	mm := unit.MustParse("mm")
	r := Rowwise{Dim: mm.Dim(), Unit: &mm, At: func(i int) quantity.Q { return quantity.Exact(float64(i+1)*1e-3, mm.Dim()) }}
	col := &Column{Dim: mm.Dim(), Unit: &mm}
	for i := range 3 {
		col.Cells = append(col.Cells, Cell{Q: quantity.Exact(float64(10*i)*1e-3, mm.Dim()), Row: i + 1})
	}
	col.Cells = append(col.Cells, Cell{Hole: true, Row: 4})
	names := namesOf{"r": r, "c": col, "l": List{Members: []Value{col, col}}}
	for _, c := range []struct {
		text string
		want []float64 // in SI units; the first four rows of what stays row-wise
	}{
		{"r", []float64{1e-3, 2e-3, 3e-3, 4e-3}},
		{"r + 1 mm", []float64{2e-3, 3e-3, 4e-3, 5e-3}},
		{"1 mm - r", []float64{0, -1e-3, -2e-3, -3e-3}},
		{"-r", []float64{-1e-3, -2e-3, -3e-3, -4e-3}},
		{"r * r", []float64{1e-6, 4e-6, 9e-6, 16e-6}},
		{"r^2 / r", []float64{1e-3, 2e-3, 3e-3, 4e-3}},
		{"sqrt(r * 1 mm)", []float64{1e-3, math.Sqrt2 * 1e-3, math.Sqrt(3) * 1e-3, 2e-3}},
		{"abs(-r)", []float64{1e-3, 2e-3, 3e-3, 4e-3}},
		{"twice(r)", []float64{2e-3, 4e-3, 6e-3, 8e-3}},
		{"c + r", []float64{1e-3, 12e-3, 23e-3}},
		{"r * c", []float64{0, 20e-6, 60e-6}},
		{"if(c > 5 mm, r, 0 mm)", []float64{0, 2e-3, 3e-3}},
		{"twice(c)", []float64{0, 20e-3, 40e-3}},
	} {
		v, f := evaluateWith(t, names, c.text)
		if len(f) > 0 {
			t.Errorf("%s: %v", c.text, f)
			continue
		}
		for i, want := range c.want {
			q, hole := cellOf(v, i)
			if hole || math.Abs(q.Value()-want) > 1e-15 {
				t.Errorf("%s is %g in row %d, not %g", c.text, q.Value(), i+1, want)
			}
		}
		column, isColumn := v.(*Column)
		if isColumn != (len(c.want) == 3) {
			t.Errorf("%s is %s", c.text, Describe(v))
		}
		if isColumn && !column.Cells[3].Hole {
			t.Errorf("%s fills a hole", c.text)
		}
		d, _ := DimOf(v)
		if q, _ := cellOf(v, 0); q.Dim() != d {
			t.Errorf("%s has the dimension %s, its rows %s", c.text, d, q.Dim())
		}
	}
	if v, f := evaluateWith(t, names, "l + r"); len(f) > 0 || len(v.(List).Members) != 2 {
		t.Errorf("with a list: %v, %v", v, f)
	}
	if s := Single(r).(Scalar); s.Q.Value() != 1e-3 {
		t.Errorf("alone it is %g", s.Q.Value())
	}
	if v, f := evaluateWith(t, names, "r > 0.5 mm"); len(f) > 0 || !v.(Bool).Truth.Is {
		t.Errorf("a comparison gives %v, %v", v, f)
	}
	for text, slug := range map[string]string{"r + 1 kg": "unit-clash", "mean(r)": "wrong-argument", "1 m / (c * 0 - r + r)": "not-finite", "twice(r, r)": "wrong-arguments"} {
		if _, f := evaluateWith(t, names, text); len(f) != 1 || f[0].Slug != slug {
			t.Errorf("%s gives %v, not %s", text, f, slug)
		}
	}
}

// TestExtra calls a function of one place elsewhere.
func TestExtra(t *testing.T) {
	if _, f := evaluate(t, "twice(2)"); len(f) != 1 || f[0].Slug != "unknown-function" {
		t.Errorf("got %v", f)
	}
	for _, name := range []string{"draw", "noise", "seq", "read"} {
		if _, f := evaluate(t, name+"(1)"); len(f) != 1 || f[0].Slug != "unknown-function" {
			t.Errorf("%s outside of a simulation gives %v", name, f)
		}
	}
	if !ByName("given") || ByName("mean") || ByName("twice") {
		t.Error("given looks at names, mean does not")
	}
}
