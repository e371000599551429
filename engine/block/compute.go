package block

import (
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/source"
)

// Computing is what a block may use while values are computed: the names of
// its scope, and a way to report.
type Computing struct {
	Settings Settings
	Scope    *Scope
	program  *Program
	unit     *Unit
}

func (p *Program) computing(s *Scope, u *Unit) *Computing {
	return &Computing{Settings: p.Settings, Scope: s, program: p, unit: u}
}

// Report adds a finding. One that stands in a method points at the place in
// the record first, then at the line in the method.
func (c *Computing) Report(f *finding.Finding) { c.Reported(f) }

// Reported is Report, and returns the finding as the page shows it; nil where it
// was told already.
func (c *Computing) Reported(f *finding.Finding) *finding.Finding {
	if f.Severity == finding.Error && !f.OfData && c.program.said[f.At] {
		return nil
	}
	f = c.program.via(f, c.Scope)
	c.program.Set.Add(f)
	return f
}

// Rehearsing reports whether nothing is worked out for its values: a method is
// tried out, to see whether all in it goes together.
func (c *Computing) Rehearsing() bool { return c.program.rehearsing }

// ID returns the ID of the block on the page.
func (c *Computing) ID() string { return c.unit.ID }

// Eval returns an evaluation in the block's scope. Owner names what is typed
// in the expression.
func (c *Computing) Eval(owner string) *eval.Eval {
	return &eval.Eval{Env: env{c.program, c.Scope}, Owner: c.Scope.Prefix + owner, Report: c.Report}
}

// EvalIn is Eval with another view of the names.
func (c *Computing) EvalIn(owner string, wrap func(eval.Env) eval.Env) *eval.Eval {
	e := c.Eval(owner)
	e.Env = wrap(e.Env)
	return e
}

// Full returns the full name of a local one.
func (c *Computing) Full(name string) string { return c.Scope.Prefix + name }

// Anchor returns the ID on the page of what defines a name; "" where nothing
// does.
func (c *Computing) Anchor(name string) string {
	if d, _ := c.program.find(name, c.Scope); d != nil {
		return d.Anchor
	}
	return ""
}

// via lets a finding in a method point at the record first.
func (p *Program) via(f *finding.Finding, s *Scope) *finding.Finding {
	for ; s != nil && !s.Via.IsZero(); s = s.Parent {
		if f.At.File == s.Via.File && f.At.File == p.Record.File {
			return f // it stands in the record already
		}
		if p.data[f.At.File] {
			return f
		}
		g := *f
		g.At = s.Via
		g.Also = append([]finding.Place{{At: f.At, What: "in the method, here"}}, f.Also...)
		f = &g
	}
	return f
}

// env is the names of a scope.
type env struct {
	p *Program
	s *Scope
}

// Lookup implements eval.Env.
func (e env) Lookup(name string) (eval.Value, []string) {
	d, rest := e.p.find(name, e.s)
	if d == nil {
		head := splitRest("." + name)
		if v, ok := e.p.library.Material(head[0]); ok {
			return v, head[1:]
		}
		return eval.Waiting{On: name}, nil
	}
	if w, ok := d.value.(eval.Waiting); ok {
		on := name
		if w.Unread && w.On != "" {
			on = w.On
		}
		return eval.Waiting{On: on, Unread: w.Unread}, nil
	}
	if d.value == nil { // within a circle
		return eval.Waiting{On: name}, nil
	}
	return d.value, rest
}

// Instrument implements eval.Env.
func (e env) Instrument(name string) (*instrument.Instrument, eval.Waiting, bool) {
	d := e.p.names[instrumentKey(e.s, name)]
	if d == nil {
		return nil, eval.Waiting{On: "@" + name}, false
	}
	if s, ok := d.value.(*eval.Space); ok {
		if in, ok := s.Data.(*instrument.Instrument); ok {
			return in, eval.Waiting{}, true
		}
	}
	return nil, eval.Waiting{On: "@" + name}, false
}

// Given implements eval.Env.
func (e env) Given(role string) (bound, known bool) {
	bound, known = e.s.Roles[role]
	return bound, known
}

// Defined implements eval.Env.
func (e env) Defined(name string) source.Span {
	if d, _ := e.p.find(name, e.s); d != nil {
		return d.At
	}
	return source.Span{}
}

// Expr evaluates an expression in the block's scope.
func (c *Computing) Expr(owner string, x formula.Expr) eval.Value { return c.Eval(owner).Expr(x) }
