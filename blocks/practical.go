package blocks

import (
	"fmt"
	"strings"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/block"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/method"
	"example.org/taut/engine/quantity"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
	"example.org/taut/engine/view"
)

var _ = add(practical{})

// practical is the kind `practical`: a method with its roles bound to the
// record's own names. It stands for all the blocks of the method.
type practical struct{}

// Info implements block.Kind.
func (practical) Info() block.Info {
	return block.Info{Name: "practical", Naming: block.Named, Options: []string{"method", "plan"}, What: "a method, with its roles bound to the record's own names"}
}

type practicalBlock struct {
	block    *record.Block
	name     string
	at       source.Span
	bindings []*formula.Binding
	method   *method.Method
	scope    *block.Scope
	// materials are the materials that roles are bound to.
	materials map[string]string
	// lined are the names that stand under a line of the method; nil until
	// somebody asks.
	lined map[string]bool
}

// Read implements block.Kind.
func (practical) Read(r *block.Reader, b *record.Block) block.Instance {
	p := &practicalBlock{block: b, name: b.Name, at: b.NameAt, bindings: formula.ParseBindings(b.Body.Span, r.Set)}
	if o, ok := b.Option("method"); !ok || o.Value == "" {
		r.Set.Add(noMethod(b))
	}
	return p
}

// noMethod: “```practical young” without `method=`.
func noMethod(b *record.Block) *finding.Finding {
	return errorAt(b.KindAt, "missing-key", "this practical does not name its method", "write `practical NAME method=METHOD`; `taut methods` lists them")
}

// Defs implements block.Definer.
func (p *practicalBlock) Defs() []*block.Def {
	if p.name == "" {
		return nil
	}
	return []*block.Def{{Name: p.name, At: p.at, Quiet: true, Compute: func(*block.Computing) eval.Value {
		s := &eval.Space{What: "practical", Name: p.name, Get: func(string) (eval.Value, bool) { return nil, false }}
		if p.method != nil {
			s.Names = p.method.Results
		}
		return s
	}}}
}

// Expand implements block.Expander: it reads the method into a scope of its
// own and binds the roles.
func (p *practicalBlock) Expand(x *block.Expansion) {
	o, ok := p.block.Option("method")
	if !ok || p.name == "" {
		return
	}
	f := p.open(x, o)
	if f == nil {
		return
	}
	// What is wrong with the method itself is reported where the method is
	// used, once.
	var own finding.Set
	p.method = method.Read(f, x.Kinds(), &own)
	p.scope = x.Enter(p.name, p.at)
	wrong := own.Sorted()
	if isPath(o.Value) {
		// A method that is built in is held to this by the tests of the
		// program, not at every record.
		wrong = append(wrong, settled(p.method, x)...)
	}
	x.Settled(p.scope, wrong)
	p.bind(x)
	x.Add(p.scope, p.blocks(), p.inlines())
}

// isPath reports whether a method is named by the path of its file.
func isPath(name string) bool { return strings.ContainsAny(name, "/.") }

func (p *practicalBlock) open(x *block.Expansion, o record.Option) *source.File {
	if isPath(o.Value) {
		f, err := x.Open(o.Value)
		if err != nil {
			x.Set.Add(block.CannotOpen(o.ValueAt, err))
			return nil
		}
		return f
	}
	f, ok := x.Library().Method(o.Value)
	if !ok {
		names := x.Library().MethodNames()
		hint := finding.DidYouMean(o.Value, names)
		if hint == "" {
			hint = "`taut methods` lists them; a method of your own is named by its path, `method=./my-method.md`"
		}
		x.Set.Add(errorAt(o.ValueAt, "unknown-method", fmt.Sprintf("there is no method `%s`", o.Value), hint))
		return nil
	}
	return f
}

// bind defines the roles inside the scope.
func (p *practicalBlock) bind(x *block.Expansion) {
	bound := map[string]*formula.Binding{}
	for _, b := range p.bindings {
		if before, twice := bound[b.Name]; twice {
			f := errorAt(b.NameAt, "defined-twice", fmt.Sprintf("the role `%s` is bound twice", b.Name), "keep one")
			f.Also = []finding.Place{{At: before.NameAt, What: "bound here first"}}
			x.Set.Add(f)
			continue
		}
		bound[b.Name] = b
	}
	meant := p.unknownRoles(x, bound)
	for i := range p.method.Roles {
		r := &p.method.Roles[i]
		b := bound[r.Name]
		p.scope.Roles[r.Name] = b != nil
		switch {
		case b != nil:
			p.scope.Bindings[r.Name] = b.NameAt
			p.bindRole(x, r, b)
		case r.Needed():
			if !meant[r.Name] {
				x.Set.Add(p.unboundNeeded(r))
			}
			p.scope.Roles[r.Name] = true // what depends on it waits
			p.waits(x, r.Name)
			if r.Most() == 2 {
				p.waits(x, r.Name+"_1")
			}
		case !r.Optional():
			p.bindDefault(x, r)
		}
	}
}

// unknownRoles reports bindings of roles that the method has not, and returns
// the roles that seem to be meant.
func (p *practicalBlock) unknownRoles(x *block.Expansion, bound map[string]*formula.Binding) (meant map[string]bool) {
	meant = map[string]bool{}
	var names []string
	for _, r := range p.method.Roles {
		names = append(names, r.Name)
	}
	for _, b := range p.bindings {
		if has(names, b.Name) || bound[b.Name] != b {
			continue
		}
		hint := finding.DidYouMean(b.Name, names)
		for _, name := range names {
			meant[name] = meant[name] || hint != "" && finding.DidYouMean(b.Name, []string{name}) == hint
		}
		if hint == "" {
			hint = "its roles are " + strings.Join(names, ", ")
		}
		x.Set.Add(errorAt(b.NameAt, "unknown-role", fmt.Sprintf("the method `%s` has no role `%s`", p.method.Name, b.Name), hint))
	}
	return meant
}

// unboundNeeded: a practical without its `length`.
func (p *practicalBlock) unboundNeeded(r *method.Role) *finding.Finding {
	what := r.What
	if what != "" {
		what = " (" + what + ")"
	}
	f := errorAt(p.at, "unbound-role", fmt.Sprintf("the role `%s`%s is not bound", r.Name, what), fmt.Sprintf("add a line `%s = …`", r.Name))
	f.Also = []finding.Place{{At: r.At, What: "the method needs it, here"}}
	return f
}

func (p *practicalBlock) waits(x *block.Expansion, name string) {
	x.Define(p.scope, &block.Def{Name: name, At: p.at, Quiet: true, Compute: func(*block.Computing) eval.Value { return eval.Waiting{On: name} }})
}

// bindDefault gives an unbound role its default, an expression over earlier
// roles.
func (p *practicalBlock) bindDefault(x *block.Expansion, r *method.Role) {
	var set finding.Set
	e := formula.ParseExpr(r.AbsentAt, &set)
	for _, f := range set.Sorted() {
		x.Report(p.scope, f)
	}
	if r.Takes == "yesno" || r.Takes == "word" || r.Takes == "material" {
		x.Define(p.scope, &block.Def{Name: r.Name, At: r.At, Quiet: true, Compute: func(c *block.Computing) eval.Value { return p.wordRole(c, r, e) }})
		return
	}
	x.Define(p.scope, &block.Def{Name: r.Name, At: r.At, Uses: block.UsesOf(e), Compute: func(c *block.Computing) eval.Value {
		return p.checked(c, r, c.Expr(r.Name, e), e.Span())
	}})
}

// bindRole binds a role to what the record gives for it.
func (p *practicalBlock) bindRole(x *block.Expansion, r *method.Role, b *formula.Binding) {
	most := r.Most()
	if len(b.Values) > most {
		x.Set.Add(errorAt(b.Values[most].Span(), "wrong-argument", fmt.Sprintf("the role `%s` takes %s", r.Name, r.TakesWords()), "bind fewer columns"))
	}
	values := b.Values[:min(len(b.Values), most)]
	if r.Takes == "yesno" || r.Takes == "word" || r.Takes == "material" {
		x.Define(p.scope, &block.Def{Name: r.Name, At: b.NameAt, Quiet: true, From: x.Scope(), Compute: func(c *block.Computing) eval.Value { return p.wordRole(c, r, values[0]) }})
		return
	}
	var uses []block.Use
	for _, v := range values {
		uses = append(uses, block.UsesOf(v)...)
	}
	def := func(name string, quiet bool, compute func(c *block.Computing) eval.Value) {
		x.Define(p.scope, &block.Def{Name: name, At: b.NameAt, Uses: uses, Quiet: quiet, From: x.Scope(), Compute: compute})
	}
	member := func(i int) func(c *block.Computing) eval.Value {
		return func(c *block.Computing) eval.Value {
			return p.checked(c, r, c.Expr(p.name+"."+r.Name, values[i]), values[i].Span())
		}
	}
	if len(values) == 1 {
		def(r.Name, false, member(0))
	} else {
		def(r.Name, true, func(c *block.Computing) eval.Value {
			out := eval.List{Name: r.Name}
			for i := range values {
				v := member(i)(c)
				if w, ok := v.(eval.Waiting); ok {
					return w
				}
				out.Members = append(out.Members, v)
			}
			return out
		})
	}
	if most == 2 {
		for i := range values {
			name := fmt.Sprintf("%s_%d", r.Name, i+1)
			p.scope.Roles[name] = true
			def(name, true, member(i))
		}
	}
}

// wordRole gives a role that takes a word, yes or no, or a material.
func (p *practicalBlock) wordRole(c *block.Computing, r *method.Role, x formula.Expr) eval.Value {
	text := ""
	switch x := x.(type) {
	case *formula.Word:
		text = x.Text
	case *formula.Name:
		text = x.Name
	case *formula.Unread:
		return eval.Waiting{On: r.Name, Unread: true}
	default:
		c.Report(errorAt(x.Span(), "wrong-argument", fmt.Sprintf("the role `%s` takes %s", r.Name, r.TakesWords()), "write a word, in quotation marks if it has spaces"))
		return eval.Waiting{On: r.Name}
	}
	switch r.Takes {
	case "yesno":
		if text != "yes" && text != "no" {
			c.Report(badValue(x.Span(), r.Name, text, "yes or no"))
			return eval.Waiting{On: r.Name}
		}
		return eval.Bool{Truth: quantity.Known(text == "yes")}
	case "material":
		m, ok := c.Library().Material(text)
		if !ok {
			names := c.Library().MaterialNames()
			hint := finding.DidYouMean(text, names)
			if hint == "" {
				hint = "`taut materials` lists them: " + strings.Join(names, ", ")
			}
			c.Report(errorAt(x.Span(), "unknown-material", fmt.Sprintf("there is no material `%s`", text), hint))
			return eval.Waiting{On: r.Name}
		}
		if p.materials == nil {
			p.materials = map[string]string{}
		}
		p.materials[r.Name] = text
		return m
	}
	return eval.Word{Text: text}
}

// checked returns a value if it is what the role takes, in its dimension.
func (p *practicalBlock) checked(c *block.Computing, r *method.Role, v eval.Value, at source.Span) eval.Value {
	if w, ok := v.(eval.Waiting); ok {
		return w
	}
	_, isScalar := v.(eval.Scalar)
	_, isColumn := v.(*eval.Column)
	fits := isColumn && r.Takes != "quantity" || isScalar && (r.Takes == "quantity" || r.Takes == "readings")
	if !fits {
		f := errorAt(at, "wrong-argument", fmt.Sprintf("the role `%s` takes %s, this is %s", r.Name, r.TakesWords(), eval.Describe(v)), "")
		f.Also = []finding.Place{{At: r.TakesAt, What: "the method says so, here"}}
		c.Report(f)
		return eval.Waiting{On: r.Name}
	}
	want := unit.Of(unit.Dim{})
	if r.Unit != "" {
		u, err := unit.Parse(r.Unit)
		if err != nil {
			return v // the method's own fault, reported when it was read
		}
		want = u
	}
	if name, unread := nothingRead(v); unread {
		return eval.Waiting{On: name, Unread: true}
	}
	if d, _ := eval.DimOf(v); d != want.Dim() {
		f := errorAt(at, "unit-clash", fmt.Sprintf("the role `%s` is in %s, this is %s", r.Name, want, eval.Describe(v)), "check what is bound, and its unit")
		f.Also = []finding.Place{{At: r.UnitAt, What: "the method says so, here"}}
		c.Report(f)
		return eval.Waiting{On: r.Name}
	}
	if f := p.alike(r, v, at); f != nil {
		c.Report(f)
		return eval.Waiting{On: r.Name}
	}
	return v
}

// nothingRead reports whether a value is a column of which no cell was read,
// and names it.
func nothingRead(v eval.Value) (name string, unread bool) {
	c, ok := v.(*eval.Column)
	if !ok {
		return "", false
	}
	for _, cell := range c.Cells {
		if !cell.Hole {
			return "", false
		}
	}
	return c.Name, true
}

// Practice implements block.Practised.
func (p *practicalBlock) Practice() *block.Practice {
	if p.method == nil {
		return nil
	}
	out := &block.Practice{Name: strings.TrimSuffix(p.scope.Prefix, "."), Method: p.method.Name, Version: p.method.Version,
		Title: p.method.Title, Results: p.method.Results}
	if o, _ := p.block.Option("method"); isPath(o.Value) {
		out.Path = p.method.File.Name
	}
	for _, r := range p.method.Roles {
		if m := p.materials[r.Name]; m != "" && out.Material == "" {
			out.Material = m
		}
	}
	return out
}

// PartNames implements block.Parted.
func (p *practicalBlock) PartNames() []string {
	var out []string
	if p.method != nil {
		for _, part := range p.method.Parts {
			if part.Name != scaffoldPart && part.Name != method.PlanPart {
				out = append(out, part.Name)
			}
		}
	}
	return out
}

// scaffoldPart is the prose of a new record, never printed from the method.
const scaffoldPart = "scaffold"

// checksPart is the part that tells how readings are checked.
const checksPart = "checks"

// ShowPart implements block.Parted.
func (p *practicalBlock) ShowPart(s *block.Shower, name string, level int) []view.Node {
	if name == checksPart && s.View() == view.AsBlank {
		return nil // there is nothing to check yet
	}
	if p.method == nil || p.method.Part(name) == nil {
		return nil
	}
	part := p.method.Part(name)
	prose := s.Prose(part.Doc, p.scope, max(0, level-1))
	var told []view.Node
	if name == checksPart {
		told = p.outcomeOfChecks(s)
	}
	if !hasContent(prose) && len(told) == 0 {
		return nil
	}
	return append([]view.Node{prose}, told...)
}

// Show implements block.Instance: the parts that are not printed elsewhere.
func (p *practicalBlock) Show(s *block.Shower) []view.Node {
	elsewhere := map[string]bool{}
	for _, inst := range s.Beside() {
		if q, ok := inst.(block.PartOf); ok {
			if of, name := q.Part(); of == p.name {
				elsewhere[name] = true
			}
		}
	}
	var out []view.Node
	if s.View() == view.AsBlank {
		out = p.names(s)
	}
	for _, name := range p.PartNames() {
		if !elsewhere[name] {
			out = append(out, p.ShowPart(s, name, p.block.Level)...)
		}
	}
	if p.method != nil && p.method.Part(checksPart) == nil {
		out = append(out, p.outcomeOfChecks(s)...)
	}
	return out
}

// hasContent reports whether a part shows more than its heading: blocks that
// show nothing leave none behind.
func hasContent(p *view.Prose) bool {
	for n := p.Doc.Root.FirstChild(); n != nil; n = n.NextSibling() {
		switch n := n.(type) {
		case *ast.Heading:
		case *record.BlockNode:
			if len(p.Blocks[n.Block]) > 0 {
				return true
			}
		default:
			return true
		}
	}
	return false
}
