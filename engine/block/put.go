package block

import (
	"example.org/taut/engine/eval"
	"example.org/taut/engine/formula"
)

// replacements are values that stand in the place of computed ones: by the
// full name of a definition, and of what is inside one.
type replacements struct {
	whole  map[string]eval.Value
	inside map[string]map[string]eval.Value // by full name, then by the name inside
}

// Put has the next Evaluate take v for a name of the record, whatever its
// definition computes, so that all that follows from the name follows from v.
// Where the definition does nothing but repeat another name, v stands for that
// one too: it is the same quantity. Renew forgets what was put. Ok is false
// where the name has no definition of its own.
func (p *Program) Put(name string, v eval.Value) (ok bool) {
	d, rest := p.find(name, p.Root)
	if p.put.whole == nil {
		p.put = replacements{map[string]eval.Value{}, map[string]map[string]eval.Value{}}
	}
	for range len(p.defs) { // a circle of repetitions ends too
		if d == nil || len(rest) > 1 {
			break
		}
		ok = true
		if len(rest) == 1 {
			if p.put.inside[d.full] == nil {
				p.put.inside[d.full] = map[string]eval.Value{}
			}
			p.put.inside[d.full][rest[0]] = v
			break
		}
		p.put.whole[d.full] = v
		if d.Alias == "" {
			break
		}
		d, rest = p.find(d.Alias, d.from())
	}
	return ok
}

// compute is the value of a definition, or what was put in its place.
func (p *Program) compute(d *Def) eval.Value {
	if v, ok := p.put.whole[d.full]; ok {
		return v
	}
	v := d.Compute(p.computing(d.from(), d.unit))
	s, ok := v.(*eval.Space)
	inside := p.put.inside[d.full]
	if !ok || len(inside) == 0 {
		return v
	}
	other := *s
	other.Get = func(name string) (eval.Value, bool) {
		if v, ok := inside[name]; ok {
			return v, true
		}
		return s.Get(name)
	}
	return &other
}

// Lookup returns the value of a name as the record knows it, young.E or
// young.line.slope; ok is false where nothing has that name.
func (p *Program) Lookup(name string) (v eval.Value, ok bool) {
	d, rest := p.find(name, p.Root)
	if d == nil {
		return nil, false
	}
	v = d.value
	for _, field := range rest {
		if _, waits := v.(eval.Waiting); waits {
			return v, true
		}
		if v, ok = eval.Field(v, field); !ok {
			return nil, false
		}
	}
	return v, true
}

// Rests reports whether a name rests on another one: whether its definition,
// or one of those that it uses, uses that name or what it repeats.
func (p *Program) Rests(name, on string) bool {
	from, _ := p.find(name, p.Root)
	to := map[*Def]bool{}
	for d, rest := p.find(on, p.Root); d != nil && !to[d]; d, rest = p.find(d.Alias, d.from()) {
		to[d] = true
		if len(rest) > 0 || d.Alias == "" {
			break
		}
	}
	if from == nil || to[from] {
		return false
	}
	seen := map[*Def]bool{from: true}
	for todo := []*Def{from}; len(todo) > 0; {
		d := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, u := range d.Uses {
			next := p.resolve(u, d.from(), false)
			if next == nil || seen[next] {
				continue
			}
			if to[next] {
				return true
			}
			seen[next] = true
			todo = append(todo, next)
		}
	}
	return false
}

// AliasOf returns the name that an expression repeats; "" where it is more
// than a name.
func AliasOf(x formula.Expr) string {
	for {
		b, ok := x.(*formula.Paren)
		if !ok {
			break
		}
		x = b.X
	}
	if n, ok := x.(*formula.Name); ok {
		return n.Name
	}
	return ""
}
