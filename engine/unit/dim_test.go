package unit

import (
	"math/rand/v2"
	"testing"
)

func randomDim(r *rand.Rand) Dim {
	var d Dim
	for i := range d.e {
		switch r.IntN(4) {
		case 0:
			d.e[i] = int32(r.IntN(9)-4) * grain
		case 1:
			d.e[i] = int32(r.IntN(13)-6) * (grain / int32(1+r.IntN(6)))
		}
	}
	return d
}

func TestDimProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 2000 {
		a, b := randomDim(r), randomDim(r)
		if a.Mul(b).Div(b) != a || a.Div(b).Mul(b) != a || a.Mul(b) != b.Mul(a) || !a.Div(a).IsOne() {
			t.Fatalf("products of %s and %s", a, b)
		}
		n := 1 + r.IntN(6)
		p, ok := a.Pow(n, 1)
		if !ok {
			t.Fatalf("(%s)^%d", a, n)
		}
		product := Dim{}
		for range n {
			product = product.Mul(a)
		}
		if p != product {
			t.Fatalf("(%s)^%d = %s, want %s", a, n, p, product)
		}
		if back, ok := p.Pow(1, n); !ok || back != a {
			t.Fatalf("root %d of %s = %s, %v", n, p, back, ok)
		}
		if inv, ok := a.Pow(-1, 1); !ok || !inv.Mul(a).IsOne() {
			t.Fatalf("inverse of %s", a)
		}
		u := Of(a)
		if u.Dim() != a || u.Factor() != 1 || u.Coherent() != u {
			t.Fatalf("Of(%s) = %+v", a, u)
		}
		checkUnit(t, u)
		if read, err := Parse(a.String()); err != nil || read.Dim() != a {
			t.Fatalf("%s read back: %v, %v", a, read.Dim(), err)
		}
	}
}

func TestPow(t *testing.T) {
	m := MustParse("m").Dim()
	for _, c := range []struct {
		num, den int
		want     string
		ok       bool
	}{
		{1, 3, "m^(1/3)", true},
		{-1, 3, "m^(-1/3)", true},
		{1, -3, "m^(-1/3)", true},
		{37, 100, "m^(37/100)", true},
		{2, 4, "m^(1/2)", true},
		{0, 5, "1", true},
		{1, 0, "1", false},
		{1, 11, "1", false},
		{10000, 1, "1", false},
		{1 << 62, 1, "1", false},
		{-1 << 63, -1 << 63, "1", false},
	} {
		if got, ok := m.Pow(c.num, c.den); got.String() != c.want || ok != c.ok {
			t.Errorf("m^(%d/%d) = %s, %v; want %s, %v", c.num, c.den, got, ok, c.want, c.ok)
		}
	}
	if one, ok := (Dim{}).Pow(1, 11); !ok || !one.IsOne() {
		t.Error("a number may be raised to any power")
	}
}

func TestKinds(t *testing.T) {
	seen := map[Dim]bool{}
	for _, k := range kinds {
		if seen[k.dim] {
			t.Errorf("%s stands twice among the kinds", k.dim)
		}
		seen[k.dim] = true
		if u := Of(k.dim); u.Dim() != k.dim || !Same(u, MustParse(k.dim.String())) {
			t.Errorf("Of(%s) = %s of %s", k.dim, u, u.Dim())
		}
		if u := Of(k.dim); MustParse(u.String()).Dim() != k.dim {
			t.Errorf("Of(%s) is written %s, which is another dimension", k.dim, u)
		}
	}
	for _, c := range []struct{ unit, name, of string }{
		{"mm", "length", "m"},
		{"kgf", "force", "N"},
		{"psi", "pressure or stress", "Pa"},
		{"m^2", "area", "m^2"},
		{"mm/kg", "length per mass", "m/kg"},
		{"N/mm", "force per length", "N/m"},
		{"N m", "energy or torque", "J"},
		{"kg cm^2", "moment of inertia", "kg m^2"},
		{"m/s^2", "acceleration", "m/s^2"},
		{"°", "number", "1"},
		{"1/s", "frequency", "s^-1"},
		{"kg^2 m", "", "kg^2 m"},
		{"m s/kg", "", "m s/kg"},
		{"m kg^-1 s^-1", "", "kg^-1 m s^-1"},
	} {
		d := MustParse(c.unit).Dim()
		if d.Name() != c.name || Of(d).String() != c.of {
			t.Errorf("%s: %q, %s; want %q, %s", c.unit, d.Name(), Of(d), c.name, c.of)
		}
	}
}
