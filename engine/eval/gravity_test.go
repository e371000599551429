package eval

import (
	"math"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/source"
)

func evaluate(t *testing.T, text string) (Value, []*finding.Finding) {
	t.Helper()
	var set finding.Set
	f := source.NewFile("test", []byte(text))
	x := formula.ParseExpr(f.Span(0, len(text)), &set)
	v := (&Eval{Owner: "test", Report: set.Add}).Expr(x)
	return v, set.Sorted()
}

// TestGravity holds the normal gravity formula to the values at the equator and
// the pole that NIMA TR8350.2 (3rd edition) prints with it, to ten digits, since
// its k is rounded in the twelfth; 45° is computed from its constants. The
// free-air term is 0.3086 mGal/m (from memory).
func TestGravity(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"gravity(0°)", 9.7803253359}, {"gravity(90°)", 9.8321849378}, {"gravity(-90°, 0 m)", 9.8321849378},
		{"gravity(45°)", 9.8061977694}, {"gravity(51.5°, 100 m)", 9.812033575 - 3.086e-4},
	} {
		v, f := evaluate(t, c.text)
		s, ok := v.(Scalar)
		if !ok || len(f) > 0 {
			t.Fatalf("%s: %v %v", c.text, v, f)
		}
		if math.Abs(s.Q.Value()-c.want) > 5e-10 {
			t.Errorf("%s = %.10f, want %.10f", c.text, s.Q.Value(), c.want)
		}
		if math.Abs(s.Q.U()-1e-3/math.Sqrt(3)) > 1e-12 {
			t.Errorf("u(%s) = %g", c.text, s.Q.U())
		}
	}
	// A degree of latitude at 45° is worth about 0.09 % of g: the uncertainty of
	// the place comes through. Derivative by a central difference.
	v, _ := evaluate(t, "gravity(45° ± 1° std)")
	slope := (9.8061977694 - value(t, "gravity(44.9°)")) / (0.1 * math.Pi / 180)
	want := math.Hypot(slope*math.Pi/180, 1e-3/math.Sqrt(3))
	if u := v.(Scalar).Q.U(); math.Abs(u-want) > 1e-3*want {
		t.Errorf("u = %g, want %g", u, want)
	}
	for _, bad := range []string{"gravity(91°)", "gravity(1 m)", "gravity(45°, 2 kg)", "gravity(45°, 20000 m)"} {
		if v, f := evaluate(t, bad); len(f) != 1 || f[0].Slug != "wrong-argument" {
			t.Errorf("%s gives %v %v", bad, v, f)
		}
	}
}

func value(t *testing.T, text string) float64 {
	v, _ := evaluate(t, text)
	return v.(Scalar).Q.Value()
}

func TestBareGravity(t *testing.T) {
	for text, notes := range map[string]int{"9.81 m/s^2": 1, "9.8 m/s^2": 1, "9.81 m/s^2 ± 0.02 m/s^2": 0, "9.81(2) m/s^2": 0, "9.8124 m/s^2": 0, "9.81 m": 0, "9.81": 0} {
		_, f := evaluate(t, text)
		if len(f) != notes || notes == 1 && (f[0].Slug != "bare-g" || !strings.Contains(f[0].Hint, "gravity(")) {
			t.Errorf("%s: %v", text, f)
		}
	}
}
