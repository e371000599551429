package method

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/instrument"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Cast is one way of binding the roles of a method, with values made up for
// trying it: of the right kinds and dimensions, and of no other meaning. Both
// maps go by the names that the roles make, NAME_1 and NAME_2 among them.
type Cast struct {
	Bound  map[string]bool
	Values map[string]eval.Value
}

// Casts returns ways of binding the roles in which every block that can be
// there is there: the least that is needed, all that is possible, and for each
// block that is in neither one way with little more than the least and one
// with little less than all. What is wrong with the defaults of roles is
// reported.
func (m *Method) Casts(material eval.Value, set *finding.Set) []Cast {
	var out []Cast
	seen := map[string]bool{}
	add := func(columns func(r *Role) int) {
		c := m.cast(columns, material, set)
		key := c.key()
		if !seen[key] {
			seen[key] = true
			out = append(out, c)
		}
	}
	least := func(r *Role) int { return b2i(r.Needed()) }
	add(least)
	add((*Role).Most)
	add(func(r *Role) int { // quantities in the place of columns
		if r.Takes == "readings" {
			return 0
		}
		return least(r)
	})
	for _, b := range m.Record.Blocks {
		needs, lacks := m.roles(b.Option("needs")), m.roles(b.Option("lacks"))
		if slices.ContainsFunc(out, func(c Cast) bool { return c.has(needs, lacks) }) {
			continue
		}
		add(func(r *Role) int { return max(least(r), needs[r.Name]) })
		add(func(r *Role) int {
			if n, ok := lacks[r.Name]; ok {
				return min(r.Most(), n-1)
			}
			return r.Most()
		})
	}
	return out
}

// has reports whether a block with these conditions is there.
func (c Cast) has(needs, lacks map[string]int) bool {
	bound := func(name string, member int) bool {
		if member == 2 {
			name += "_2"
		}
		return c.Bound[name]
	}
	for name, member := range needs {
		if !bound(name, member) {
			return false
		}
	}
	for name, member := range lacks {
		if bound(name, member) {
			return false
		}
	}
	return true
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// roles are those that an option names, each with the number of the column
// that it names.
func (m *Method) roles(o record.Option, ok bool) map[string]int {
	out := map[string]int{}
	if !ok {
		return out
	}
	for _, name := range strings.Split(o.Value, ",") {
		if r, member := m.role(strings.TrimSpace(name)); r != nil {
			out[r.Name] = max(1, member)
		}
	}
	return out
}

// cast makes the values for roles bound to as many columns; a needed role that
// is bound to none is bound to a quantity.
func (m *Method) cast(columns func(*Role) int, material eval.Value, set *finding.Set) Cast {
	c := Cast{Bound: map[string]bool{}, Values: map[string]eval.Value{}}
	for i := range m.Roles {
		r := &m.Roles[i]
		n := columns(r)
		c.Bound[r.Name] = n > 0 || r.Needed()
		switch {
		case c.Bound[r.Name] || !r.Optional() && takesColumns(r):
			c.bind(r, i, n, material)
		case !r.Optional():
			c.Values[r.Name] = r.defaultValue(c, material, set)
		}
	}
	return c
}

// takesColumns reports whether a role takes nothing but columns: there is no
// default for such a one.
func takesColumns(r *Role) bool { return r.Takes == "column" || r.Takes == "columns" }

func (c *Cast) bind(r *Role, i, n int, material eval.Value) {
	u, _ := r.ParseUnit() // reported when the method was read
	switch r.Takes {
	case "material":
		c.Values[r.Name] = material
		return
	case "word":
		c.Values[r.Name] = eval.Word{Text: "annealed"}
		return
	case "yesno":
		c.Values[r.Name] = eval.Bool{Truth: quantity.Known(true)}
		return
	}
	var members []eval.Value
	for k := range max(n, 1) {
		if r.Takes == "quantity" || n == 0 {
			members = append(members, eval.Scalar{Q: quantity.Exact(u.SI(madeUp(i, k)), u.Dim()), Unit: &u})
			continue
		}
		members = append(members, madeUpColumn(r, u, i, k))
	}
	c.Values[r.Name] = members[0]
	if len(members) == 2 {
		c.Values[r.Name] = eval.List{Members: members}
	}
	if r.Most() == 2 {
		for k, v := range members {
			name := fmt.Sprintf("%s_%d", r.Name, k+1)
			c.Bound[name], c.Values[name] = true, v
		}
	}
}

// madeUp is a number near k that follows no simple rule.
func madeUp(i, k int) float64 {
	x := uint32(i*131+k*977+1) * 2654435761
	return 1 + float64(k) + float64(x>>16)/65536/5
}

// madeUpRows is how many rows the columns of a cast have.
const madeUpRows = 9

func madeUpColumn(r *Role, u unit.Unit, i, k int) *eval.Column {
	diff := u.Difference()
	in := &instrument.Instrument{Name: r.Name, Unit: u, Dim: u.Dim(), Resolution: diff.SI(0.01), Pitch: diff.SI(0.5), Divisions: 50}
	out := &eval.Column{Dim: u.Dim(), Unit: &u, Instrument: in, Name: fmt.Sprintf("%s_%d", r.Name, k+1)}
	for row := range madeUpRows {
		v := u.SI(madeUp(i+31*k, row))
		q := in.Read(fmt.Sprintf("%s[%d]", out.Name, row+1), v, u.Dim(), u).Corrected
		out.Cells = append(out.Cells, eval.Cell{Q: q, Row: row + 1})
	}
	out.Raw = out
	return out
}

// key tells casts apart.
func (c *Cast) key() string {
	var names []string
	for name, bound := range c.Bound {
		if bound {
			names = append(names, name)
		}
	}
	for name, v := range c.Values {
		if _, single := v.(eval.Scalar); single {
			names = append(names, name+"=")
		}
	}
	sort.Strings(names)
	return strings.Join(slices.Compact(names), " ")
}

// defaultValue evaluates the default of a role over earlier ones.
func (r *Role) defaultValue(c Cast, material eval.Value, set *finding.Set) eval.Value {
	var own finding.Set
	x := formula.ParseExpr(r.AbsentAt, &own)
	if own.Len() > 0 {
		for _, f := range own.Sorted() {
			set.Add(f)
		}
		return eval.Waiting{On: r.Name}
	}
	if takesWord(r) {
		return r.defaultWord(x, material, set)
	}
	e := &eval.Eval{Env: castEnv(c), Owner: r.Name, Report: set.Add}
	for _, n := range formula.Names(x) {
		if _, known := c.Values[n.Name]; !known {
			set.Add(badRole(n.At, "the default of `"+r.Name+"` uses `"+n.Name+"`, which is no earlier role with a value", "a default is an expression over the roles above it"))
		}
	}
	v := e.Expr(x)
	u, err := r.ParseUnit()
	if d, ok := eval.DimOf(v); ok && err == nil && d != u.Dim() {
		set.Add(badRole(r.AbsentAt, fmt.Sprintf("the role `%s` is in %s, its default is %s", r.Name, u, eval.Describe(v)), "give both in units of one kind"))
		return eval.Waiting{On: r.Name}
	}
	return v
}

func (r *Role) defaultWord(x formula.Expr, material eval.Value, set *finding.Set) eval.Value {
	n, ok := x.(*formula.Name)
	switch {
	case !ok, r.Takes == "yesno" && n.Name != "yes" && n.Name != "no":
		set.Add(badRole(r.AbsentAt, "this is no default for the role `"+r.Name+"`", "it takes "+r.TakesWords()))
		return eval.Waiting{On: r.Name}
	case r.Takes == "yesno":
		return eval.Bool{Truth: quantity.Known(n.Name == "yes")}
	case r.Takes == "material":
		return material
	}
	return eval.Word{Text: n.Name}
}

// castEnv is the roles of a cast as names.
type castEnv Cast

var _ eval.Env = castEnv{}

// Lookup implements eval.Env.
func (c castEnv) Lookup(name string) (eval.Value, []string) {
	head, rest, dotted := strings.Cut(name, ".")
	v, ok := c.Values[head]
	if !ok {
		return eval.Waiting{On: name}, nil
	}
	if !dotted {
		return v, nil
	}
	return v, strings.Split(rest, ".")
}

// Instrument implements eval.Env.
func (c castEnv) Instrument(name string) (*instrument.Instrument, eval.Waiting, bool) {
	return nil, eval.Waiting{On: "@" + name}, false
}

// Given implements eval.Env.
func (c castEnv) Given(role string) (bound, known bool) {
	bound, known = c.Bound[role]
	return bound, known
}

// Defined implements eval.Env.
func (c castEnv) Defined(string) source.Span { return source.Span{} }

// AnyMaterial is a material with every constant that one of a library's
// materials has.
func AnyMaterial(names []string, material func(string) (eval.Value, bool)) eval.Value {
	var all []*eval.Space
	out := &eval.Space{What: "material", Name: "any"}
	for _, n := range names {
		v, _ := material(n)
		if s, ok := v.(*eval.Space); ok {
			all = append(all, s)
			for _, name := range s.Names {
				if !slices.Contains(out.Names, name) {
					out.Names = append(out.Names, name)
				}
			}
		}
	}
	get := func(name string) (eval.Value, bool) {
		for _, s := range all {
			if v, ok := s.Get(name); ok {
				return v, true
			}
		}
		return nil, false
	}
	out.Get = get
	out.Call = func(c *eval.Call, function string) (eval.Value, bool) {
		for _, name := range out.Names {
			if strings.HasPrefix(name, function+"_") {
				return get(name)
			}
		}
		return nil, false
	}
	return out
}
