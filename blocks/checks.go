package blocks

import (
	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

var _ = add(checks{})

// checks is the kind `checks`: conditions that make findings where they hold.
type checks struct{}

// Info implements block.Kind.
func (checks) Info() block.Info {
	return block.Info{Name: "checks", Naming: block.Labelled, What: "conditions that make a finding where they hold"}
}

type checksBlock struct {
	conditions []*formula.Condition
	messages   [][]block.Part
	outcomes   []outcome // of the conditions, as they were last looked at
}

// outcome is what came of a condition: whether its values were there, and what
// it found.
type outcome struct {
	made  bool
	found []*finding.Finding
}

// Read implements block.Kind.
func (checks) Read(r *block.Reader, b *record.Block) block.Instance {
	c := &checksBlock{conditions: formula.ParseConditions(b.Body.Span, r.Set)}
	for _, cond := range c.conditions {
		c.messages = append(c.messages, block.ParseMessage(cond.Message, r.Set))
	}
	return c
}

// Uses implements block.User.
func (b *checksBlock) Uses() []block.Use {
	var out []block.Use
	for i, cond := range b.conditions {
		if cond.X != nil {
			out = append(out, block.UsesOf(cond.X)...)
		}
		for _, p := range b.messages[i] {
			if p.Insert == nil || p.Insert.X == nil {
				continue
			}
			for _, u := range block.UsesOf(p.Insert.X) {
				if u.Name != "row" {
					out = append(out, u)
				}
			}
		}
	}
	return out
}

// Check implements block.Checker.
func (b *checksBlock) Check(c *block.Computing) {
	b.outcomes = make([]outcome, len(b.conditions))
	for i, cond := range b.conditions {
		o := &b.outcomes[i]
		sev, ok := finding.ParseSeverity(cond.Severity)
		if !ok || cond.X == nil {
			continue
		}
		f := &finding.Finding{Severity: sev, Slug: cond.Slug, At: cond.SlugAt, OfData: true}
		e := c.Eval("check " + cond.Slug)
		switch v := e.Expr(cond.X).(type) {
		case eval.Bool:
			o.made = true
			if v.Truth.Is || c.Rehearsing() {
				f.Message = block.PlainText(c.Message(b.messages[i], e))
				o.found = append(o.found, c.Reported(f))
			}
		case eval.Bools:
			b.rows(c, f, v, i)
		case eval.Waiting:
		default:
			c.Report(errorAt(cond.X.Span(), "not-a-condition", "a check needs a condition, this is "+eval.Describe(v), "compare it: `x > 0 mm`"))
		}
	}
}

// rows makes a finding for each row, or cell, in which the condition holds, at
// its place in the data.
func (b *checksBlock) rows(c *block.Computing, like *finding.Finding, v eval.Bools, i int) {
	o := &b.outcomes[i]
	for k, cell := range v.Cells {
		o.made = o.made || !cell.Hole
		if !c.Rehearsing() && (cell.Hole || !cell.Truth.Is) {
			continue
		}
		f := *like
		e := c.EvalIn("check "+like.Slug, func(env eval.Env) eval.Env { return rowEnv{env, k, cell} })
		f.Message = block.PlainText(c.Message(b.messages[i], e))
		if !cell.At.IsZero() {
			f.Also = append([]finding.Place{{At: like.At, What: "by this check"}}, f.Also...)
			f.At = cell.At
		}
		o.found = append(o.found, c.Reported(&f))
	}
}

// rowEnv is the names as they are in one row: a column means its cell, and
// `row` is the row's number.
type rowEnv struct {
	eval.Env
	index int
	cell  eval.BoolCell
}

// Lookup implements eval.Env.
func (r rowEnv) Lookup(name string) (eval.Value, []string) {
	if name == "row" {
		return eval.Number(float64(r.cell.Row)), nil
	}
	v, rest := r.Env.Lookup(name)
	for len(rest) > 0 {
		in, ok := eval.Field(v, rest[0])
		if !ok {
			return v, rest
		}
		v, rest = in, rest[1:]
	}
	return r.of(v), nil
}

// of returns the cell of a column that belongs to the row; what has not as
// many cells as the condition stays as it is.
func (r rowEnv) of(v eval.Value) eval.Value {
	switch v := v.(type) {
	case *eval.Column:
		if r.index < len(v.Cells) {
			return cellValueOf(v, r.index)
		}
	case eval.List:
		i := r.index
		for _, m := range v.Members {
			col, ok := m.(*eval.Column)
			if !ok {
				return v
			}
			if i < len(col.Cells) {
				return cellValueOf(col, i)
			}
			i -= len(col.Cells)
		}
	case eval.Bools:
		if r.index < len(v.Cells) {
			return eval.Bool{Truth: v.Cells[r.index].Truth}
		}
	}
	return v
}

func cellValueOf(c *eval.Column, i int) eval.Value {
	if c.Cells[i].Hole {
		return eval.Waiting{On: c.Name, Unread: true}
	}
	u := eval.UnitOf(c)
	out := eval.Scalar{Q: c.Cells[i].Q, Unit: &u}
	if c.Raw == nil { // else what was typed is not yet corrected
		out.Typed = c.Cells[i].Typed
	}
	return out
}

// Defined implements eval.Env.
func (r rowEnv) Defined(name string) source.Span {
	if name == "row" {
		return source.Span{}
	}
	return r.Env.Defined(name)
}

// Show implements block.Instance: what the checks found. Those of a method are
// told together, where its part on checks stands.
func (b *checksBlock) Show(s *block.Shower) []view.Node {
	if s.Scope.Roles != nil || s.View() == view.AsBlank {
		return nil
	}
	var t checksTally
	t.add(b)
	return t.show()
}
