package blocks_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/num/dual"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

var variables = []string{"x", "y", "z"}

// worked is a formula with its value and its partial derivatives by x, y, z.
type worked struct {
	text  string
	value float64
	c     [3]float64
}

// derivatives reads the table of formulas worked by a computer algebra system;
// its head says which.
func derivatives(t *testing.T) []worked {
	t.Helper()
	text, err := os.ReadFile("../testdata/published/derivatives.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out []worked
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, "; ")
		n := make([]float64, 4)
		for i, f := range fields[1:] {
			if n[i], err = strconv.ParseFloat(f, 64); err != nil {
				t.Fatal(err)
			}
		}
		out = append(out, worked{fields[0], n[0], [3]float64(n[1:])})
	}
	if len(out) != 44 {
		t.Fatalf("%d formulas", len(out))
	}
	return out
}

// three evaluates formulas of x, y and z, each with a source of its own.
type three [3]float64

func (p three) Lookup(name string) (eval.Value, []string) {
	for i, v := range variables {
		if v == name {
			s := quantity.Source{ID: v, U: 1}.New()
			return eval.Scalar{Q: quantity.Uncertain(p[i], unit.Dim{}, quantity.Term{Source: s, C: 1})}, nil
		}
	}
	return eval.Waiting{}, nil
}

func (three) Instrument(string) (*instrument.Instrument, eval.Waiting, bool) {
	return nil, eval.Waiting{}, false
}
func (three) Given(string) (bound, known bool) { return false, false }
func (three) Defined(name string) source.Span  { return source.Span{} }

// work returns the value and the sensitivities of a formula.
func (p three) work(t *testing.T, text string) (formula.Expr, worked, bool) {
	t.Helper()
	f := source.NewFile("formula", []byte(text))
	var set finding.Set
	x := formula.ParseExpr(f.Span(0, len(text)), &set)
	if set.Len() > 0 {
		t.Fatalf("%s: %s", text, set.Sorted()[0].Message)
	}
	e := &eval.Eval{Env: p, Owner: "f", Report: func(*finding.Finding) {}}
	v, ok := e.Expr(x).(eval.Scalar)
	if !ok {
		return x, worked{}, false
	}
	out := worked{text: text, value: v.Q.Value()}
	for _, term := range v.Q.Terms() {
		for i, name := range variables {
			if term.Source.ID == name {
				out.c[i] = term.C
			}
		}
	}
	return x, out, true
}

// dualOf evaluates a formula over dual numbers: value and derivative by the
// variable of that index.
func dualOf(x formula.Expr, p three, by int) dual.Number {
	switch x := x.(type) {
	case *formula.Name:
		for i, v := range variables {
			if v == x.Name {
				n := dual.Number{Real: p[i]}
				if i == by {
					n.Emag = 1
				}
				return n
			}
		}
	case *formula.Pi:
		return dual.Number{Real: math.Pi}
	case *formula.Literal:
		v, _ := strconv.ParseFloat(x.Number.Text, 64)
		return dual.Number{Real: v}
	case *formula.Paren:
		return dualOf(x.X, p, by)
	case *formula.Unary:
		return dual.Scale(-1, dualOf(x.X, p, by))
	case *formula.Binary:
		a, b := dualOf(x.X, p, by), dualOf(x.Y, p, by)
		switch x.Op {
		case "+":
			return dual.Add(a, b)
		case "-":
			return dual.Sub(a, b)
		case "*":
			return dual.Mul(a, b)
		case "/":
			return dual.Mul(a, dual.Inv(b))
		case "^":
			if b.Emag == 0 {
				return dual.PowReal(a, b.Real)
			}
			return dual.Pow(a, b)
		}
	case *formula.Call:
		f := map[string]func(dual.Number) dual.Number{"abs": dual.Abs, "sqrt": dual.Sqrt, "exp": dual.Exp, "ln": dual.Log, "sin": dual.Sin,
			"cos": dual.Cos, "tan": dual.Tan, "asin": dual.Asin, "acos": dual.Acos, "atan": dual.Atan,
			"log10": func(n dual.Number) dual.Number { return dual.Scale(1/math.Ln10, dual.Log(n)) }}[x.Name]
		return f(dualOf(x.Args[0], p, by))
	}
	return dual.Number{Real: math.NaN()}
}

// agrees compares with a tolerance relative to the greatest of the numbers
// that went into a derivative.
func agrees(got, want, size float64) bool {
	return math.Abs(got-want) <= 1e-11*(math.Abs(want)+1e-2*size)
}

func (w worked) size() float64 {
	return max(math.Abs(w.value), math.Abs(w.c[0]), math.Abs(w.c[1]), math.Abs(w.c[2]))
}

// Values and sensitivities against a computer algebra system and against dual
// numbers.
func TestDerivatives(t *testing.T) {
	at := three{0.7, 1.9, 0.4}
	for _, want := range derivatives(t) {
		x, got, ok := at.work(t, want.text)
		if !ok || !agrees(got.value, want.value, want.size()) {
			t.Errorf("%s = %.15g, want %.15g", want.text, got.value, want.value)
		}
		for i, v := range variables {
			if !agrees(got.c[i], want.c[i], want.size()) {
				t.Errorf("∂/∂%s of %s = %.15g, want %.15g", v, want.text, got.c[i], want.c[i])
			}
			if d := dualOf(x, at, i); !agrees(d.Emag, want.c[i], want.size()) {
				t.Errorf("∂/∂%s of %s is %.15g by dual numbers, want %.15g", v, want.text, d.Emag, want.c[i])
			}
		}
	}
}

// Formulas and places drawn at random, against dual numbers.
func TestDerivativesAtRandom(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 7))
	checked := 0
	for range 2000 {
		text := draw(rnd, 4)
		at := three{0.2 + rnd.Float64(), 0.2 + 2*rnd.Float64(), 0.2 + rnd.Float64()}
		x, got, ok := at.work(t, text)
		if !ok || got.size() > 1e6 {
			continue
		}
		checked++
		for i, v := range variables {
			d := dualOf(x, at, i)
			if math.IsNaN(d.Emag) { // infinite times nothing, as in acos(x / x)
				continue
			}
			if !agrees(got.value, d.Real, got.size()) || !agrees(got.c[i], d.Emag, got.size()) {
				t.Errorf("%s at %v: %.15g and ∂/∂%s = %.15g; by dual numbers %.15g and %.15g", text, at, got.value, v, got.c[i], d.Real, d.Emag)
			}
		}
	}
	if checked < 1000 {
		t.Errorf("only %d formulas had a value", checked)
	}
}

// draw makes a formula at random.
func draw(rnd *rand.Rand, depth int) string {
	pick := func(list ...string) string { return list[rnd.IntN(len(list))] }
	switch k := rnd.IntN(10); {
	case depth == 0 || k == 0:
		return pick("x", "y", "z", "x", "y", "z", "2", "0.5", "pi")
	case k < 7:
		return fmt.Sprintf("(%s %s %s)", draw(rnd, depth-1), pick("+", "-", "*", "/"), draw(rnd, depth-1))
	case k < 8:
		return fmt.Sprintf("(%s)^%s", draw(rnd, depth-1), pick("2", "3", "-1", "-2", "0.5", "x"))
	case k < 9:
		return "-" + draw(rnd, depth-1)
	}
	return fmt.Sprintf("%s(%s)", pick("sqrt", "exp", "ln", "log10", "sin", "cos", "tan", "asin", "acos", "atan", "abs"), draw(rnd, depth-1))
}

// The same formulas in one record: u = √Σ(c u)² with the table's derivatives.
func TestDerivativesInRecord(t *testing.T) {
	u := [3]float64{0.003, 0.002, 0.001}
	var b strings.Builder
	b.WriteString("```calc\nx = 0.700(3)\ny = 1.900(2)\nz = 0.400(1)\n")
	list := derivatives(t)
	for i, w := range list {
		fmt.Fprintf(&b, "f%d = %s\n", i+1, w.text)
	}
	b.WriteString("```\n")
	w := files{"record.md": b.String()}.build(t)
	for i, want := range list {
		name := fmt.Sprintf("f%d", i+1)
		if got := w.get(name); !agrees(got, want.value, want.size()) {
			t.Errorf("%s = %.15g, want %.15g", want.text, got, want.value)
		}
		if got, sum := w.u(name), root(want.c[0]*u[0], want.c[1]*u[1], want.c[2]*u[2]); !agrees(got, sum, want.size()*0.001) {
			t.Errorf("u(%s) = %.15g, want %.15g", want.text, got, sum)
		}
	}
}
