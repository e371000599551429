// Package formula reads and prints the expressions of the record language. It
// never evaluates one.
package formula

import "example.org/taut/engine/source"

// Expr is a node of an expression. The set of nodes is closed. Every node
// knows the stretch of the file that it was read from.
type Expr interface {
	Span() source.Span
	expr()
}

// Name is a name, dotted where it reaches inside: line.slope.
type Name struct {
	At   source.Span
	Name string // NFC, with µ (U+00B5) written μ (U+03BC)
}

// Pi is the constant, typed pi or π.
type Pi struct{ At source.Span }

// Literal is a number or a quantity.
//
//	literal = core {"±" number (unit|"%") {qualifier}} ["@" name]
type Literal struct {
	At         source.Span
	Number     Number
	Unit       Unit    // Unit.Text is "" for a number alone
	Limits     []Limit // each ± with what follows it
	Bracket    bool    // written (number ± number) unit: the first limit stood inside and has the same unit
	Instrument string  // after @; "" for none
	InstrAt    source.Span
}

// Number is a decimal number as typed, without its unit.
type Number struct {
	At    source.Span
	Text  string // "-" is never part of it; digits, at most one point, exponent as e: "1.97e11"
	Paren string // digits between the brackets of a concise uncertainty, "41" or "0.0006"; "" for none
}

// Unit is the text of a unit, not looked up. It is canonical: NFC, μ for µ,
// factors separated by one space whether · or a space was typed, powers as
// ^2 and ^-2 whether ^ or superscripts were typed, one / without spaces.
type Unit struct {
	At   source.Span
	Text string
}

// Limit is one ± of a literal.
type Limit struct {
	At         source.Span
	Number     Number
	Unit       Unit // Unit.Text is "%" for a relative one written so; "" only for a number without unit
	Qualifiers []Qualifier
}

// Qualifier says what a ± means: triangular, arcsine, std, k=2, dof=9. Value
// is "" where nothing is assigned.
type Qualifier struct {
	At    source.Span
	Key   string
	Value string
}

// Unary is a sign or a negation; Op is "-" or "not".
type Unary struct {
	At source.Span
	Op string
	X  Expr
}

// Binary is an operation on two operands; Op is one of + - * / ^ == != < <= >
// >= and or, whatever sign was typed for it.
type Binary struct {
	At   source.Span
	Op   string
	OpAt source.Span
	X, Y Expr
}

// Call is a function applied to arguments. Name is dotted for a function of a
// named thing: line.at.
type Call struct {
	At   source.Span
	Name string
	NmAt source.Span
	Args []Expr
}

// Paren is an expression in brackets, kept so that printing gives back what
// was written.
type Paren struct {
	At source.Span
	X  Expr
}

// Unread stands for a quantity that has not been read yet, typed – in the
// place of a whole expression.
type Unread struct{ At source.Span }

// Bad stands where nothing sensible could be read; a finding has been made. An
// expression is never half read: where any part of it is an error, the whole
// of it is Bad, so that no number can come of it.
type Bad struct{ At source.Span }

// Span implements Expr.
func (e *Name) Span() source.Span    { return e.At }
func (e *Pi) Span() source.Span      { return e.At }
func (e *Literal) Span() source.Span { return e.At }
func (e *Unary) Span() source.Span   { return e.At }
func (e *Binary) Span() source.Span  { return e.At }
func (e *Call) Span() source.Span    { return e.At }
func (e *Paren) Span() source.Span   { return e.At }
func (e *Unread) Span() source.Span  { return e.At }
func (e *Bad) Span() source.Span     { return e.At }

func (*Name) expr()    {}
func (*Pi) expr()      {}
func (*Literal) expr() {}
func (*Unary) expr()   {}
func (*Binary) expr()  {}
func (*Call) expr()    {}
func (*Paren) expr()   {}
func (*Unread) expr()  {}
func (*Bad) expr()     {}

// Statement is one line name = expression [in unit] [| label] [# comment].
type Statement struct {
	At     source.Span
	Name   string
	NameAt source.Span
	X      Expr
	In     Unit   // In.Text is "" where there is none
	Label  string // after |
}

// Binding is one line role = expression, expression of a practical.
type Binding struct {
	At     source.Span
	Name   string
	NameAt source.Span
	Values []Expr // a Name may be yes, no or a material; a Word is a quoted word
}

// Word is a quoted word, allowed in a binding only.
type Word struct {
	At   source.Span
	Text string
}

// Span implements Expr.
func (e *Word) Span() source.Span { return e.At }
func (*Word) expr()               {}

// Condition is one line of checks: slug: condition | severity | message.
type Condition struct {
	At       source.Span
	Slug     string
	SlugAt   source.Span
	X        Expr
	Severity string
	SevAt    source.Span
	Message  source.Span // the message as typed, inline values and all
}

// Insert is what stands between the brackets of =[…] or ?[…].
//
//	value = expression ["in" unit] ["as" form]
//	claim = name "=" [literal] ["marks=" int]
type Insert struct {
	At     source.Span
	X      Expr // for a claim, the claimed name
	In     Unit
	Form   string   // "", interval, concise, value, statement, sf, dp
	Digits int      // for sf and dp
	Claim  *Literal // the claimed quantity; nil for a place to fill in
	Sign   bool     // the claimed quantity has a minus sign
	Marks  int      // what the claim is worth; 0 where nothing is said
}
