package eval

import (
	"slices"
	"strings"

	"example.org/taut/engine/formula"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Call is one call of a function, with its arguments evaluated.
type Call struct {
	E    *Eval
	X    *formula.Call
	Args []Value
}

// function is one row of the table of functions. Most is −1 where there is no
// limit. Lazy functions get their arguments unevaluated.
type function struct {
	name        string
	usage       string
	what        string
	least, most int
	lazy        bool
	byName      bool // looks at the name of its argument, not at the value
	f           func(*Call) Value
}

// functions is sorted by name and does not change after the program's start.
var functions []function

func init() { functions = sortedFunctions(elementary, reductions, rowwise, inspection, places) }

func sortedFunctions(lists ...[]function) []function {
	all := slices.Concat(lists...)
	slices.SortFunc(all, func(a, b function) int { return strings.Compare(a.name, b.name) })
	return all
}

func findFunction(name string) (*function, bool) {
	i, ok := slices.BinarySearchFunc(functions, name, func(f function, n string) int { return strings.Compare(f.name, n) })
	if !ok {
		return nil, false
	}
	return &functions[i], true
}

// ByName reports whether a function looks at the names of its arguments and
// not at their values, so that it does not use them.
func ByName(function string) bool {
	f, ok := findFunction(function)
	return ok && f.byName
}

// FunctionNames lists the functions of the language.
func FunctionNames() []string {
	out := make([]string, len(functions))
	for i, f := range functions {
		out[i] = f.name
	}
	return out
}

// Function is what the manual says of one function.
type Function struct{ Name, Usage, What string }

// Functions lists the functions of the language with their usage.
func Functions() []Function {
	out := make([]Function, len(functions))
	for i, f := range functions {
		out[i] = Function{f.name, f.usage, f.what}
	}
	return out
}

// Extra is a function that is known in some places only, such as those of a
// method's simulation. Most is −1 where there is no limit.
type Extra struct {
	Usage       string
	Least, Most int
	F           func(*Call) Value
}

// find looks a function up.
func (e *Eval) find(name string) (*function, bool) {
	if x, ok := e.Extra[name]; ok {
		return &function{name: name, usage: x.Usage, least: x.Least, most: x.Most, f: x.F}, true
	}
	return findFunction(name)
}

func (e *Eval) call(x *formula.Call) Value {
	if i := strings.LastIndexByte(x.Name, '.'); i > 0 {
		return e.callInside(x, x.Name[:i], x.Name[i+1:])
	}
	f, ok := e.find(x.Name)
	if !ok {
		e.args(x) // what is wrong in there is said too
		return e.fail(unknownFunction(x.NmAt, x.Name))
	}
	if len(x.Args) < f.least || f.most >= 0 && len(x.Args) > f.most {
		return e.fail(wrongArguments(x.At, f.usage, len(x.Args)))
	}
	c := &Call{E: e, X: x}
	if !f.lazy {
		c.Args = e.args(x)
		if w, ok := waiting(c.Args...); ok {
			return w
		}
	}
	return f.f(c)
}

func (e *Eval) args(x *formula.Call) []Value {
	out := make([]Value, len(x.Args))
	for i, a := range x.Args {
		out[i] = e.Expr(a)
	}
	return out
}

// callInside calls a function of a named thing, such as line.at(2 kg).
func (e *Eval) callInside(x *formula.Call, owner, name string) Value {
	v := e.name(owner, x.NmAt)
	args := e.args(x)
	if w, ok := waiting(append([]Value{v}, args...)...); ok {
		return w
	}
	if s, ok := v.(*Space); ok && s.Call != nil {
		if r, ok := s.Call(&Call{E: e, X: x, Args: args}, name); ok {
			return r
		}
	}
	return e.fail(noSuchPart(x.NmAt, owner, name+"(…)", v))
}

// Fail reports a finding and returns the value that waits for it to be mended.
func (c *Call) Fail(at source.Span, slug, message, hint string) Value {
	return c.E.fail(errorAt(at, slug, message, hint))
}

func (c *Call) at(i int) source.Span { return c.X.Args[i].Span() }

func (c *Call) usage() string {
	if f, ok := c.E.find(c.X.Name); ok {
		return f.usage
	}
	return c.X.Name
}

// Wrong reports that argument i is not what the function needs.
func (c *Call) Wrong(i int, want string) Value { return c.wrong(i, want) }

// Whole returns argument i as a whole number of at least least.
func (c *Call) Whole(i, least int) (int, Value) { return c.whole(i, least) }

// Each applies f to argument i: to a quantity, to each cell of a column, to
// each row of what is row-wise.
func (c *Call) Each(i int, u unit.Unit, f func(quantity.Q) quantity.Q) Value {
	return c.E.map1(c.Args[i], u, c.X.At, f)
}

// wrong reports that argument i is not what the function needs.
func (c *Call) wrong(i int, want string) Value {
	return c.E.fail(wrongKind(c.at(i), c.usage(), want, c.Args[i]))
}

// Scalar returns argument i as one quantity.
func (c *Call) Scalar(i int) (Scalar, Value) {
	if s, ok := c.Args[i].(Scalar); ok {
		return s, nil
	}
	return Scalar{}, c.wrong(i, "one quantity")
}

// pureNumber returns argument i as a certain pure number.
func (c *Call) pureNumber(i int) (float64, Value) {
	s, ok := c.Args[i].(Scalar)
	if !ok || !s.Q.Dim().IsOne() {
		return 0, c.wrong(i, "a pure number")
	}
	return s.Q.Value(), nil
}

// whole returns argument i as a whole number of at least least.
func (c *Call) whole(i, least int) (int, Value) {
	v, bad := c.pureNumber(i)
	if bad != nil {
		return 0, bad
	}
	if v != float64(int(v)) || int(v) < least {
		return 0, c.E.fail(wrongSize(c.at(i), "a whole number is needed here, not "+formula.Print(c.X.Args[i]), ""))
	}
	return int(v), nil
}

// column returns argument i as one column.
func (c *Call) column(i int) (*Column, Value) {
	if col, ok := c.Args[i].(*Column); ok {
		return col, nil
	}
	if l, ok := c.Args[i].(List); ok && len(l.Members) == 1 {
		if col, ok := l.Members[0].(*Column); ok {
			return col, nil
		}
	}
	return nil, c.wrong(i, "a column")
}

// pool gathers the columns and quantities of all arguments, which must be of
// one dimension. Unread says that there is nothing in them yet.
func (c *Call) pool() (*pooled, Value) {
	p := &pooled{}
	for i, a := range c.Args {
		if bad := c.poolOne(p, i, a); bad != nil {
			return nil, bad
		}
	}
	if len(p.qs) == 0 {
		return nil, Waiting{On: p.name(), Unread: true}
	}
	return p, nil
}

// pooled is what the reductions work on: the cells read, in order.
type pooled struct {
	first   Value
	qs      []quantity.Q
	names   []string
	columns int
	scalars int
	cells   []Cell
}

func (p *pooled) name() string {
	if len(p.names) > 0 {
		return p.names[0]
	}
	return "a reading"
}

func (c *Call) poolOne(p *pooled, i int, a Value) Value {
	if p.first != nil {
		d0, _ := DimOf(p.first)
		if d, ok := DimOf(a); ok && d != d0 {
			f := errorAt(c.at(i), "unit-clash", "cannot pool "+Describe(p.first)+" and "+Describe(a), clashHint(d0, d))
			return c.E.fail(f)
		}
	}
	switch a := a.(type) {
	case Scalar:
		p.qs = append(p.qs, a.Q)
		p.cells = append(p.cells, Cell{Q: a.Q, At: c.at(i)})
		p.scalars++
	case *Column:
		p.columns++
		if a.Name != "" {
			p.names = append(p.names, a.Name)
		}
		for _, cell := range a.Cells {
			if !cell.Hole {
				p.qs = append(p.qs, cell.Q)
				p.cells = append(p.cells, cell)
			}
		}
	case List:
		for _, m := range a.Members {
			if bad := c.poolOne(p, i, m); bad != nil {
				return bad
			}
		}
	default:
		return c.wrong(i, "a column")
	}
	if p.first == nil {
		p.first = a
	}
	return nil
}

// result returns a quantity to be shown in the unit of what was pooled.
func (c *Call) result(q quantity.Q, like Value) Value {
	if !q.Finite() {
		return c.E.fail(notFinite(c.X.At, q, 0))
	}
	s := Scalar{Q: q}
	if u := UnitOf(like); u.Dim() == q.Dim() {
		s.Unit = &u
	}
	return s
}
