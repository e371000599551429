package block

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/view"
)

// Symbol sets a name as a symbol: one letter italic, what follows an
// underscore or stands before a dot as a subscript.
func Symbol(name string) view.Math {
	head, sub := name, ""
	if i := strings.LastIndexByte(name, '.'); i >= 0 {
		head, sub = name[i+1:], name[:i]
	}
	if a, b, ok := strings.Cut(head, "_"); ok && b != "" {
		head = a
		if sub != "" {
			b += ", " + sub
		}
		sub = b
	}
	m := letter(head)
	if sub == "" {
		return m
	}
	return view.Script{Base: m, Sub: subscript(sub)}
}

// SymbolText is a symbol in plain text, for titles that hold no mathematics: ν
// for nu, E (extra, young) for young.E_extra.
func SymbolText(name string) string {
	return symbolText(Symbol(name))
}

func symbolText(m view.Math) string {
	switch m := m.(type) {
	case view.Ident:
		return m.Name
	case view.Upright:
		return m.Name
	case view.Num:
		return m.Digits
	case view.Words:
		return m.Text
	case view.Script:
		sub := symbolText(m.Sub)
		if _, digits := m.Sub.(view.Num); digits {
			return symbolText(m.Base) + sub
		}
		return symbolText(m.Base) + " (" + sub + ")"
	}
	return ""
}

func subscript(sub string) view.Math {
	if utf8.RuneCountInString(sub) == 1 {
		return letter(sub)
	}
	return view.Words{Text: strings.ReplaceAll(sub, "_", " ")}
}

var greek = map[string]string{
	"alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "zeta": "ζ", "eta": "η", "theta": "θ",
	"kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν", "xi": "ξ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
	"chi": "χ", "ell": "ℓ", "psi": "ψ", "omega": "ω", "Delta": "Δ", "Sigma": "Σ", "Phi": "Φ", "Omega": "Ω",
}

func letter(s string) view.Math {
	if g, ok := greek[s]; ok {
		s = g
	}
	if s != "" && strings.Trim(s, "0123456789") == "" {
		return view.Num{Digits: s}
	}
	if utf8.RuneCountInString(s) == 1 {
		return view.Ident{Name: s}
	}
	return view.Upright{Name: s}
}

// MathOf sets an expression: in symbols where numbers is nil, else with what
// numbers gives for a name (nil keeps the symbol).
func MathOf(x formula.Expr, link func(name string) string, numbers func(n *formula.Name) view.Math) view.Math {
	m := mathSetter{link: link}
	if numbers != nil {
		m.replace = func(x formula.Expr) view.Math {
			if n, ok := x.(*formula.Name); ok {
				return numbers(n)
			}
			return nil
		}
	}
	return m.set(x)
}

// Substituted sets an expression with what replace gives for a part of it; nil
// keeps the part as it is.
func Substituted(x formula.Expr, replace func(formula.Expr) view.Math) view.Math {
	return mathSetter{replace: replace}.set(x)
}

type mathSetter struct {
	link    func(string) string
	replace func(formula.Expr) view.Math // nil: in symbols
	sheet   bool                         // for a blank sheet
}

func (m mathSetter) set(x formula.Expr) view.Math {
	if m.replace != nil {
		if n := m.replace(x); n != nil {
			return n
		}
	}
	switch x := x.(type) {
	case *formula.Name:
		return m.name(x)
	case *formula.Pi:
		return view.Ident{Name: "π"}
	case *formula.Literal:
		return m.literal(x)
	case *formula.Word:
		return view.Words{Text: "“" + x.Text + "”"}
	case *formula.Paren:
		return m.bracketed(x.X)
	case *formula.Unary:
		return m.unary(x)
	case *formula.Binary:
		return m.binary(x)
	case *formula.Call:
		return m.call(x)
	}
	return view.Words{Text: "…"}
}

func (m mathSetter) name(x *formula.Name) view.Math {
	s := Symbol(x.Name)
	if m.link != nil {
		if id := m.link(x.Name); id != "" {
			return view.Linked{ID: id, Body: s}
		}
	}
	return s
}

func (m mathSetter) literal(x *formula.Literal) view.Math {
	if m.sheet && isReading(x) {
		return view.Words{Text: "…"}
	}
	var number view.Math = view.Num{Digits: x.Number.Text}
	if mant, exp, ok := strings.Cut(x.Number.Text, "e"); ok {
		number = view.Seq{Items: []view.Math{view.Num{Digits: mant}, view.Op{Symbol: "×"},
			view.Script{Base: view.Num{Digits: "10"}, Sup: view.Num{Digits: strings.TrimPrefix(exp, "+")}}}}
	}
	if x.Unit.Text == "" {
		return number
	}
	return view.Measure{Number: number, Unit: x.Unit.Text}
}

func (m mathSetter) bracketed(x formula.Expr) view.Math {
	return view.Seq{Items: []view.Math{
		view.Op{Symbol: "(", Fence: true}, m.set(x), view.Op{Symbol: ")", Fence: true}}}
}

func (m mathSetter) unary(x *formula.Unary) view.Math {
	op := "−"
	if x.Op == "not" {
		return view.Seq{Items: []view.Math{view.Words{Text: "not "}, m.set(x.X)}}
	}
	return view.Seq{Items: []view.Math{view.Op{Symbol: op, Form: "prefix"}, m.set(x.X)}}
}

var signs = map[string]string{"-": "−", "==": "=", "!=": "≠", "<=": "≤", ">=": "≥"}

func (m mathSetter) binary(x *formula.Binary) view.Math {
	switch x.Op {
	case "/":
		return view.Frac{Num: m.set(bare(x.X)), Den: m.set(bare(x.Y))}
	case "^":
		return m.power(x)
	case "*":
		return m.product(x)
	case "and", "or":
		return view.Seq{Items: []view.Math{m.set(x.X), view.Words{Text: " " + x.Op + " "}, m.set(x.Y)}}
	}
	op := x.Op
	if s, ok := signs[op]; ok {
		op = s
	}
	return view.Seq{Items: []view.Math{m.set(x.X), view.Op{Symbol: op}, m.set(x.Y)}}
}

// product sets factors in a row. Between symbols stands a thin space, between
// numbers a cross (SI Brochure 5.4.6); where one cross is needed all signs are
// crosses.
func (m mathSetter) product(x *formula.Binary) view.Math {
	factors := factorsOf(x)
	var sign view.Math = view.Space{Em: 0.17}
	for i := range factors[1:] {
		if m.replace != nil || beginsWithNumber(factors[i+1]) || !oneSymbol(factors[i]) {
			sign = view.Op{Symbol: "×"}
		}
	}
	var items []view.Math
	for i, f := range factors {
		if i > 0 {
			items = append(items, sign)
		}
		items = append(items, m.set(f))
	}
	return view.Seq{Items: items}
}

// factorsOf lists the factors of a product that is written without brackets.
func factorsOf(x *formula.Binary) []formula.Expr {
	if left, ok := x.X.(*formula.Binary); ok && left.Op == "*" {
		return append(factorsOf(left), x.Y)
	}
	return []formula.Expr{x.X, x.Y}
}

func beginsWithNumber(x formula.Expr) bool {
	switch x := x.(type) {
	case *formula.Literal:
		return true
	case *formula.Binary:
		return beginsWithNumber(x.X)
	case *formula.Unary:
		return true
	}
	return false
}

// oneSymbol reports whether the end of x is set as one letter, so that what
// follows may stand beside it.
func oneSymbol(x formula.Expr) bool {
	switch x := x.(type) {
	case *formula.Name:
		s := x.Name[strings.LastIndexByte(x.Name, '.')+1:]
		s, _, _ = strings.Cut(s, "_")
		return utf8.RuneCountInString(s) == 1 || greek[s] != ""
	case *formula.Pi, *formula.Paren:
		return true
	case *formula.Literal:
		return x.Unit.Text == ""
	case *formula.Binary:
		return x.Op == "/" || oneSymbol(x.Y)
	}
	return false
}

func (m mathSetter) power(x *formula.Binary) view.Math {
	base := m.set(x.X)
	if m.replace != nil {
		switch bare(x.X).(type) {
		case *formula.Name, *formula.Literal, *formula.Call:
			if _, isSymbol := base.(view.Linked); !isSymbol {
				base = view.Seq{Items: []view.Math{view.Op{Symbol: "(", Fence: true}, m.set(bare(x.X)), view.Op{Symbol: ")", Fence: true}}}
			}
		}
	}
	return view.Script{Base: base, Sup: m.set(bare(x.Y))}
}

func bare(x formula.Expr) formula.Expr {
	if p, ok := x.(*formula.Paren); ok {
		return p.X
	}
	return x
}

func (m mathSetter) call(x *formula.Call) view.Math {
	if m.sheet {
		if set := m.onSheet(x); set != nil {
			return set
		}
	}
	if x.Name == "sqrt" && len(x.Args) == 1 {
		return view.Root{Body: m.set(bare(x.Args[0]))}
	}
	if x.Name == "abs" && len(x.Args) == 1 {
		return view.Seq{Items: []view.Math{view.Op{Symbol: "|", Fence: true, Form: "prefix"}, m.set(bare(x.Args[0])), view.Op{Symbol: "|", Fence: true, Form: "postfix"}}}
	}
	var head view.Math = view.Upright{Name: x.Name}
	if strings.Contains(x.Name, ".") {
		head = Symbol(x.Name)
	}
	items := []view.Math{head, view.Op{Symbol: "(", Fence: true}}
	for i, a := range x.Args {
		if i > 0 {
			items = append(items, view.Op{Symbol: ","}, view.Space{Em: 0.17})
		}
		items = append(items, m.set(a))
	}
	return view.Seq{Items: append(items, view.Op{Symbol: ")", Fence: true})}
}

// QuantityMath sets a displayed quantity.
func QuantityMath(d quantity.Display, value float64, link string) view.Math {
	var n view.Math = view.Num{Digits: d.Number + concise(d)}
	if d.Exponent != 0 {
		n = view.Seq{Items: []view.Math{n, view.Op{Symbol: "×"},
			view.Script{Base: view.Num{Digits: "10"}, Sup: view.Num{Digits: strconv.Itoa(d.Exponent)}}}}
	}
	if d.Unit != "" {
		n = view.Measure{Number: n, Unit: d.Unit}
	}
	return view.Valued{Value: value, Link: link, Body: n}
}

func concise(d quantity.Display) string {
	if d.Concise == "" {
		return ""
	}
	return "(" + d.Concise + ")"
}
