package results

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/fit"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/trial"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

// given is a kind of block that defines what it is given.
type given struct{ defs []*block.Def }

func (given) Info() block.Info                                   { return block.Info{Name: "given", Naming: block.Labelled} }
func (g given) Read(*block.Reader, *record.Block) block.Instance { return g }
func (g given) Defs() []*block.Def                               { return g.defs }
func (given) Show(*block.Shower) []view.Node                     { return nil }
func (given) Jobs(*block.Computing) []*block.Job {
	return []*block.Job{{Of: "E", Result: &trial.Result{Mean: 1.5, U: math.NaN(), Low: 1, High: 2, Trials: 1000, Seed: math.MaxUint64}}, {Of: "none"}}
}

func gather(defs map[string]eval.Value) *File {
	f := source.NewFile("r.md", []byte("# x\n```given\n```\n"))
	g := given{}
	for name, v := range defs {
		g.defs = append(g.defs, &block.Def{Name: name, At: f.Span(4, 5), Quiet: name == "quiet", Compute: func(*block.Computing) eval.Value { return v }})
	}
	set := &finding.Set{}
	p := block.New(record.Parse(f, []string{"given"}, set), []block.Kind{g}, nil, noLibrary{}, block.Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}, set)
	p.Evaluate()
	out := Gather(p)
	out.Taut = "0"
	return out
}

type noLibrary struct{ block.Library }

func (noLibrary) Material(string) (eval.Value, bool) { return nil, false }
func (noLibrary) MaterialNames() []string            { return nil }

func exact(v float64, u string) eval.Scalar {
	un := unit.MustParse(u)
	return eval.Scalar{Q: quantity.Exact(v, un.Dim()), Unit: &un}
}

func uncertain(v, u, dof float64, un string) eval.Scalar {
	x := unit.MustParse(un)
	s := quantity.Source{ID: "s " + un, U: u, DOF: dof, Unit: x, Dist: quantity.Normal}
	return eval.Scalar{Q: quantity.Uncertain(v, x.Dim(), quantity.Term{Source: s.New(), C: 1}), Unit: &x}
}

func columnOf(u string, cells ...float64) *eval.Column {
	un := unit.MustParse(u)
	c := &eval.Column{Dim: un.Dim(), Unit: &un}
	for i, v := range cells {
		c.Cells = append(c.Cells, eval.Cell{Q: quantity.Exact(v, un.Dim()), Hole: math.IsNaN(v), Row: i + 1})
	}
	return c
}

// TestUnits: values are in the coherent unit of the unit that was chosen.
func TestUnits(t *testing.T) {
	for u, want := range map[string]string{"GPa": "Pa", "mm/kg": "m/kg", "g": "kg", "kgf": "N", "°C": "K", "°": "rad", "%": "1", "1": "1", "mm^2": "m^2", "N/mm^2": "N/m^2", "min": "s"} {
		f := gather(map[string]eval.Value{"x": exact(2, u), "c": columnOf(u, 2)})
		if got := f.Values["x"]; got.Unit != want || got.Value != 2 || got.Line != 2 {
			t.Errorf("%s: %+v", u, got)
		}
		if got := f.Columns["c"]; got.Unit != want || got.Values[0] != 2 {
			t.Errorf("%s: %+v", u, got)
		}
	}
}

func TestUncertainty(t *testing.T) {
	// Student's t at the 95 % level: GUM table G.2 gives 2.26 for 9 degrees of
	// freedom, 2.57 for 5 and 1.96 for infinitely many.
	for _, c := range []struct{ dof, k float64 }{{9, 2.26}, {5, 2.57}, {5.9, 2.57}, {math.Inf(1), 1.96}} {
		v := gather(map[string]eval.Value{"E": uncertain(1.973e11, 4.1e9, c.dof, "GPa")}).Values["E"]
		if v.U == nil || *v.U != 4.1e9 || v.K == nil || math.Abs(float64(*v.K)-c.k) > 0.005 {
			t.Fatalf("%v degrees of freedom: %+v", c.dof, v)
		}
		if got := float64(*v.Expanded) / float64(*v.K); math.Abs(got/4.1e9-1) > 1e-15 {
			t.Errorf("U/k is %v", got)
		}
		switch {
		case math.IsInf(c.dof, 1) != (v.DOF == nil):
			t.Errorf("%v degrees of freedom: %v", c.dof, v.DOF)
		case v.DOF != nil && math.Abs(float64(*v.DOF)-c.dof) > 1e-12:
			t.Errorf("%v degrees of freedom, not %v", *v.DOF, c.dof)
		}
	}
	v := gather(map[string]eval.Value{"E": uncertain(1.973e11, 4.1e9, 9, "GPa")}).Values["E"]
	if v.Display != "(197.3 ± 9.3) GPa" {
		t.Errorf("shown as %s", v.Display)
	}
	text, err := json.Marshal(gather(map[string]eval.Value{"x": exact(3, "m")}).Values["x"])
	if want := `{"value":3,"unit":"m","line":2,"display":"3 m"}`; err != nil || string(text) != want {
		t.Errorf("an exact value is %s, %v", text, err)
	}
}

func TestWhatIsGathered(t *testing.T) {
	raw := columnOf("mm", 1.5, math.NaN(), 2.5)
	c := columnOf("mm", 1, math.NaN(), 2)
	c.Raw = raw
	f := gather(map[string]eval.Value{
		"pull.up": c, "quiet": exact(1, "m"), "waits": eval.Waiting{On: "x"}, "word": eval.Word{Text: "hard"}, "yes": eval.Bool{},
		"rows": eval.Bools{}, "labels": eval.Labels{Cells: []string{"a"}}, "steel": &eval.Space{What: "material", Names: []string{"E"}, Get: func(string) (eval.Value, bool) { return exact(2e11, "Pa"), true }},
		"both": eval.List{Members: []eval.Value{columnOf("m", 1), columnOf("m", 2)}}, "E": exact(1, "Pa"),
	})
	if len(f.Values) != 1 || len(f.Columns) != 3 || len(f.Fits) != 0 || len(f.MonteCarlo) != 1 {
		t.Fatalf("values %v, columns %v, fits %v, draws %v", f.Values, f.Columns, f.Fits, f.MonteCarlo)
	}
	text, err := json.Marshal(f.Columns)
	want := `{"both_1":{"unit":"m","values":[1]},"both_2":{"unit":"m","values":[2]},"pull.up":{"unit":"m","values":[1,null,2],"raw":[1.5,null,2.5]}}`
	if err != nil || string(text) != want {
		t.Errorf("columns are %s, %v", text, err)
	}
	text, err = json.Marshal(f.MonteCarlo)
	if want := `{"E":{"mean":1.5,"u":null,"low":1,"high":2,"trials":1000,"seed":18446744073709551615}}`; err != nil || string(text) != want {
		t.Errorf("draws are %s, %v", text, err)
	}
}

// TestFit takes a line whose coefficients can be had by hand: through (0, 1),
// (1, 3), (2, 3), (3, 5) ordinary least squares give the slope 1.2 and the
// intercept 1.2, residuals −0.2, 0.6, −0.6, 0.2, s² = 0.8/2; the covariance
// matrix is s²(XᵀX)⁻¹ with Sxx = 5 and mean 1.5: var b = 0.08, var a = 0.28,
// cov = −0.12.
func TestFit(t *testing.T) {
	fitted, err := eval.NewFit(eval.FitInput{Name: "line", X: columnOf("s", 0, 1, 2, 3, 4), Y: []*eval.Column{columnOf("m", 1, 3, 3, 5, math.NaN())}, Options: fit.Options{}})
	if err != nil {
		t.Fatal(err)
	}
	f := gather(map[string]eval.Value{"line": fitted.Space()})
	got := f.Fits["line"]
	near := func(what string, x Float, want float64) {
		t.Helper()
		if math.Abs(float64(x)-want) > 1e-14 {
			t.Errorf("%s is %v, not %v", what, x, want)
		}
	}
	if got.Model != "straight" || got.N != 4 || got.DOF == nil || *got.DOF != 2 || got.Unit != "m" || len(got.Coefficients) != 2 {
		t.Fatalf("%+v", got)
	}
	near("s", got.S, math.Sqrt(0.4))
	for i, name := range []string{"slope", "intercept"} {
		c := got.Coefficients[i]
		if c.Name != name || c.Unit != []string{"m/s", "m"}[i] {
			t.Errorf("coefficient %d is %+v", i, c)
		}
		near(name, c.Value, 1.2)
		near("u of "+name, c.U, math.Sqrt([]float64{0.08, 0.28}[i]))
		near("variance of "+name, got.Covariance[i][i], []float64{0.08, 0.28}[i])
		near("covariance", got.Covariance[i][1-i], -0.12)
	}
	for i, want := range []float64{-0.2, 0.6, -0.6, 0.2} {
		near("a residual", got.Residuals[0][i], want)
	}
	if len(got.Residuals) != 1 || len(got.Residuals[0]) != 5 || !math.IsNaN(float64(got.Residuals[0][4])) {
		t.Errorf("residuals are %v", got.Residuals)
	}
	for _, name := range []string{"line.slope", "line.intercept", "line.s", "line.n", "line.dof", "line.r2"} {
		if _, ok := f.Values[name]; !ok {
			t.Errorf("%s is not among the values", name)
		}
	}
	if v := f.Values["line.slope"]; v.U == nil || v.DOF == nil || *v.DOF != 2 {
		t.Errorf("line.slope is %+v", v)
	}
}

func TestFitsOfOtherModels(t *testing.T) {
	x := columnOf("m", 1, 2, 3, 4)
	y1, y2 := columnOf("m", 1, 2.5, 2.5, 4), columnOf("m", 2, 3.5, 3.5, 5)
	for _, c := range []struct {
		y     []*eval.Column
		o     fit.Options
		model string
		names string
		lists int
	}{
		{[]*eval.Column{y1, y2}, fit.Options{}, "straight", "slope intercept_1 intercept_2", 2},
		{[]*eval.Column{y1}, fit.Options{Model: fit.Proportional}, "proportional", "slope", 1},
		{[]*eval.Column{y1}, fit.Options{Model: fit.Polynomial, Degree: 2}, "polynomial 2", "c0 c1 c2", 1},
	} {
		fitted, err := eval.NewFit(eval.FitInput{Name: "f", X: x, Y: c.y, Options: c.o})
		if err != nil {
			t.Fatal(err)
		}
		f := gather(map[string]eval.Value{"f": fitted.Space()})
		got := f.Fits["f"]
		var names []string
		for _, k := range got.Coefficients {
			names = append(names, k.Name)
			if v, ok := f.Values["f."+k.Name]; !ok || v.Value != k.Value || v.Unit != k.Unit || v.U == nil || *v.U != k.U {
				t.Errorf("%s: %s is %+v among the values, %+v of the fit", c.model, k.Name, v, k)
			}
		}
		if got.Model != c.model || strings.Join(names, " ") != c.names || len(got.Residuals) != c.lists || len(got.Covariance) != len(names) {
			t.Errorf("%s: %+v", c.model, got)
		}
		back := reread(t, f)
		if len(back.Fits["f"].Residuals) != c.lists {
			t.Errorf("%s: read back as %v", c.model, back.Fits["f"].Residuals)
		}
	}
}

func reread(t *testing.T, f *File) *File {
	t.Helper()
	text, err := f.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	back, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	again, err := back.Bytes()
	if err != nil || !bytes.Equal(text, again) {
		t.Errorf("written again as\n%s\nnot\n%s", again, text)
	}
	return back
}

func TestFloat(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 1: "1", -2.5: "-2.5", 0.1: "0.1", 0.30000000000000004: "0.30000000000000004", 1e-5: "1e-05", 1.973e11: "1.973e+11",
		1.0 / 3: "0.3333333333333333", math.MaxFloat64: "1.7976931348623157e+308", math.SmallestNonzeroFloat64: "5e-324",
		math.Inf(1): "null", math.Inf(-1): "null", math.NaN(): "null", 123456789: "123456789",
	} {
		text, err := json.Marshal(Float(v))
		if err != nil || string(text) != want {
			t.Errorf("%v is written %s, %v", v, text, err)
		}
	}
}

// FuzzFloat: what is written is read back as the very same number.
func FuzzFloat(f *testing.F) {
	for _, bits := range []uint64{0, 1, 0x3ff0000000000000, 0x7fefffffffffffff, 0x7ff0000000000000, 0x8000000000000000} {
		f.Add(bits)
	}
	f.Fuzz(func(t *testing.T, bits uint64) {
		v := math.Float64frombits(bits)
		text, err := json.Marshal(Float(v))
		if err != nil {
			t.Fatal(err)
		}
		var back Float
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if finite := v-v == 0; finite && float64(back) != v || !finite && !math.IsNaN(float64(back)) {
			t.Errorf("%v is written %s and read %v", v, text, back)
		}
	})
}

func TestBytes(t *testing.T) {
	f := gather(map[string]eval.Value{"E": uncertain(2, 0.1, 9, "m"), "a<b": exact(1, "1")})
	f.Record = Record{Title: "R & <d>"}
	f.Findings = finding.ToJSON(nil)
	f.Inputs = []Input{{"r.md", "00"}}
	text, err := f.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"taut": "0"`, `"title": "R & <d>"`, `"findings": []`, `"fits": {}`, "}\n"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("%s lacks %s", text, want)
		}
	}
	order := []string{`"taut"`, `"record"`, `"values"`, `"columns"`, `"fits"`, `"monte_carlo"`, `"findings"`, `"inputs"`}
	at := -1
	for _, key := range order {
		i := strings.Index(string(text), "\n  "+key)
		if i < at {
			t.Errorf("%s is out of order", key)
		}
		at = i
	}
	reread(t, f)
}

func TestParseRefuses(t *testing.T) {
	for _, text := range []string{"", "[]", "{}", `{"taut":3}`, `{"taut":"0","values":{"E":{"value":"x"}}}`} {
		if _, err := Parse([]byte(text)); err == nil {
			t.Errorf("%q was read as a results file", text)
		}
	}
}
