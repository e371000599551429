package formula

import (
	"go/ast"
	goparser "go/parser"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// TestAgainstGo compares the structure of random expressions with that which
// Go's own parser (package go/parser, The Go Programming Language
// Specification, "Operator precedence") gives them. The two languages share
// the operators below and their order; Go has no power, and its ! binds more
// strongly than our not.
func TestAgainstGo(t *testing.T) {
	ours := []string{"+", "-", "*", "/", "and", "or"}
	theirs := map[string]string{"and": "&&", "or": "||"}
	r := rand.New(rand.NewPCG(1, 2))
	for i := 0; i < 5000; i++ {
		var a, b strings.Builder
		compared := false
		for j := 0; j < 2+r.IntN(8); j++ {
			if j > 0 {
				op := ours[r.IntN(len(ours))]
				if !compared && r.IntN(4) == 0 {
					op = []string{"<", "<=", "==", "!=", ">", ">="}[r.IntN(6)]
				}
				// One comparison between and/or: we refuse chains.
				compared = op != "and" && op != "or" && (compared || strings.ContainsAny(op, "<=>!"))
				a.WriteString(" " + op + " ")
				if g := theirs[op]; g != "" {
					op = g
				}
				b.WriteString(" " + op + " ")
			}
			x := strings.Repeat("-", r.IntN(3)/2) + string(rune('a'+j))
			a.WriteString(x)
			b.WriteString(x)
		}
		g, err := goparser.ParseExpr(b.String())
		if err != nil {
			t.Fatal(err)
		}
		if x, y := bracketed(parse(t, a.String())), goBracketed(g); x != y {
			t.Fatalf("%s\nours %s\nGo's %s", a.String(), x, y)
		}
	}
}

func goBracketed(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.BinaryExpr:
		op := e.Op.String()
		switch op {
		case "&&":
			op = "and"
		case "||":
			op = "or"
		}
		return "(" + goBracketed(e.X) + " " + op + " " + goBracketed(e.Y) + ")"
	case *ast.UnaryExpr:
		return "(" + e.Op.String() + " " + goBracketed(e.X) + ")"
	}
	return e.(*ast.Ident).Name
}

// TestPower: power binds more strongly than a sign before it and is grouped
// from the right, as in ISO/IEC 1539-1 (Fortran), 10.1.3 and 10.1.5.2: -A**2
// is -(A**2), 2**3**2 is 2**(3**2). Quoted from memory.
func TestPower(t *testing.T) {
	for text, want := range map[string]string{
		"-a^2":    "(- (a ^ <2>))",
		"a^b^c":   "(a ^ (b ^ c))",
		"a*b^c":   "(a * (b ^ c))",
		"a/b^c*d": "((a / (b ^ c)) * d)",
	} {
		if got := bracketed(parse(t, text)); got != want {
			t.Errorf("%s: %s", text, got)
		}
	}
}

// random builds a tree without Paren nodes, of any shape that the syntax can
// express with brackets.
func random(r *rand.Rand, depth int) Expr {
	if depth == 0 || r.IntN(4) == 0 {
		switch r.IntN(4) {
		case 0:
			return &Pi{}
		case 1:
			return &Literal{Number: Number{Text: "2"}}
		case 2:
			return &Literal{Number: Number{Text: "2.5", Paren: "3"}, Unit: Unit{Text: "kg m^-2"},
				Limits: []Limit{{Number: Number{Text: "1"}, Unit: Unit{Text: "%"}, Qualifiers: []Qualifier{{Key: "std"}, {Key: "dof", Value: "9"}}}}}
		}
		return &Name{Name: "line.slope"}
	}
	switch r.IntN(8) {
	case 0:
		return &Unary{Op: "-", X: random(r, depth-1)}
	case 1:
		return &Unary{Op: "not", X: random(r, depth-1)}
	case 2:
		return &Call{Name: "if", Args: []Expr{random(r, depth-1), random(r, depth-1)}}
	}
	ops := []string{"+", "-", "*", "/", "^", "^", "<", "==", "and", "or"}
	return &Binary{Op: ops[r.IntN(len(ops))], X: random(r, depth-1), Y: random(r, depth-1)}
}

// strip takes the Paren nodes out of a tree.
func strip(e Expr) Expr {
	switch e := e.(type) {
	case *Paren:
		return strip(e.X)
	case *Unary:
		return &Unary{Op: e.Op, X: strip(e.X)}
	case *Binary:
		return &Binary{Op: e.Op, X: strip(e.X), Y: strip(e.Y)}
	case *Call:
		c := &Call{Name: e.Name}
		for _, a := range e.Args {
			c.Args = append(c.Args, strip(a))
		}
		return c
	}
	return e
}

// TestPrintAnyTree: a tree that nobody typed prints with the brackets it
// needs.
func TestPrintAnyTree(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for i := 0; i < 5000; i++ {
		e := random(r, 5)
		text := Print(e)
		if again := strip(parse(t, text)); !Equal(e, again) {
			t.Fatalf("%s\n%s\n%s", text, bracketed(e), bracketed(again))
		}
		if Equal(e, &Unary{Op: "-", X: e}) {
			t.Fatal("Equal calls different trees equal")
		}
	}
}

func seeds(f *testing.F) {
	for _, c := range structures {
		f.Add(c.text)
	}
	for _, s := range []string{"a = 2 in m | x # y", "a: b < 2 m | note | =[x]", "E = -1.2(3)×10^11 Pa", "a = \"b\", c", "± 0.1 % k=2 dof=9", "x as 3 sf", "º²⁻\xff\u0301"} {
		f.Add(s)
	}
}

// inSpan fails unless everything lies in the text.
func inSpan(t *testing.T, e Expr, n int) {
	Walk(e, func(e Expr) bool {
		if s := e.Span(); s.Start < 0 || s.End < s.Start || s.End > n {
			t.Fatalf("%T at %d…%d of %d", e, s.Start, s.End, n)
		}
		return true
	})
}

// hasBad reports whether an expression was not read.
func hasBad(e Expr) bool {
	bad := false
	Walk(e, func(e Expr) bool {
		_, b := e.(*Bad)
		bad = bad || b
		return true
	})
	return bad
}

func roundTrip(t *testing.T, e Expr) {
	t.Helper()
	text := Print(e)
	if len(text) > maxLength {
		return
	}
	var set finding.Set
	again := ParseExpr(whole(text), &set)
	if !Equal(e, again) {
		t.Fatalf("%q parses as %s: %v", text, bracketed(again), set.Sorted())
	}
	if p := Print(again); p != text {
		t.Fatalf("%q prints as %q", text, p)
	}
}

func FuzzExpr(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		var set finding.Set
		e := ParseExpr(whole(text), &set)
		inSpan(t, e, len(text))
		if hasBad(e) != (set.Count(finding.Error) > 0) {
			t.Fatalf("%q: %s with %v", text, Print(e), set.Sorted())
		}
		if !hasBad(e) {
			roundTrip(t, e)
		}
	})
}

func FuzzLines(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		var a, b, c finding.Set
		for _, s := range ParseStatements(whole(text), &a) {
			inSpan(t, s.X, len(text))
			if !hasBad(s.X) {
				roundTrip(t, s.X)
			}
		}
		for _, s := range ParseBindings(whole(text), &b) {
			for _, x := range s.Values {
				inSpan(t, x, len(text))
			}
		}
		for _, s := range ParseConditions(whole(text), &c) {
			inSpan(t, s.X, len(text))
			if _, ok := finding.ParseSeverity(s.Severity); !ok && !hasBad(s.X) {
				t.Fatalf("%q: a condition without severity", text)
			}
		}
	})
}

func FuzzPieces(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, text string) {
		for _, claim := range []bool{false, true} {
			var set finding.Set
			in := ParseInsert(whole(text), claim, &set)
			if hasBad(in.X) != (set.Count(finding.Error) > 0) {
				t.Fatalf("%q: %v", text, set.Sorted())
			}
			var lit finding.Set
			l, _ := ParseLiteral(whole(text), claim, &lit)
			if (l == nil) != (lit.Count(finding.Error) > 0) {
				t.Fatalf("%q: %v", text, lit.Sorted())
			}
			if l != nil {
				roundTrip(t, l)
			}
		}
		var set finding.Set
		if m := ParseLimit(whole(text), &set); (m == nil) != (set.Count(finding.Error) > 0) {
			t.Fatalf("%q: %v", text, set.Sorted())
		}
		var us finding.Set
		u := parseUnit(whole(text), &us)
		if us.Len() == 0 {
			var again finding.Set
			if v := parseUnit(whole(u.Text), &again); v.Text != u.Text {
				t.Fatalf("%q: %q, then %q", text, u.Text, v.Text)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	s := whole("E = g * (L + 2.5 mm ± 0.5 mm) / (pi * mean(wire.across, wire.along)^2 / 4 * line.slope)  in GPa  | modulus")
	b.SetBytes(int64(s.End))
	for b.Loop() {
		var set finding.Set
		ParseStatement(s, &set)
	}
}

func BenchmarkPrint(b *testing.B) {
	var set finding.Set
	e := ParseExpr(whole("g * (L + 2.5 mm ± 0.5 mm) / (pi * mean(wire.across, wire.along)^2 / 4 * line.slope)"), &set)
	for b.Loop() {
		Print(e)
	}
}

// parseUnit reads a unit alone. Its Text is "" where none can be read; a finding
// has been made.
func parseUnit(s source.Span, set *finding.Set) (u Unit) {
	p := newParser(s, set)
	ok := p.try(func() {
		u = p.unitDue(0)
		p.finishUnit()
	})
	if !ok {
		return Unit{At: p.trimmed(0)}
	}
	return u
}
