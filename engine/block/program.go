package block

import (
	"fmt"
	"sort"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/graph"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/view"
)

// Program is a record whose blocks have been read and brought together.
type Program struct {
	Record   *record.Record
	Set      *finding.Set
	Settings Settings
	Root     *Scope
	View     view.View // what is shown; it changes nothing that is computed

	kinds      map[string]Kind
	files      Files
	library    Library
	units      []*Unit
	front      []*Unit
	within     map[place]*contents
	ledger     *ledger
	displayed  map[*Unit]bool // blocks of which the page shows something beside findings
	hints      int            // how often the names that could have been meant were asked for
	candidates map[*Scope][]string
	data       map[*source.File]bool // files that blocks of the record read
	defs       []*Def
	names      map[string]*Def // by full name; instruments with "@" before the last part
	inlines    map[*record.Inline]*inline
	order      []*inline
	ids        map[string]int
	jobs       []*Job
	warnings   map[string]bool
	uses       []usedAt
	texts      []*record.Document // the bodies of blocks that are text

	put replacements // values in the place of computed ones

	expanded int // how many of defs were made by blocks that stand for others
	read     int // how many findings there were before anything was computed

	rehearsing bool
	// said are the places in methods of which it has been said what is wrong
	// there, however the roles are bound.
	said map[source.Span]bool
}

// usedAt is a use outside definitions.
type usedAt struct {
	Use
	scope *Scope
}

// inline is an inline value within a scope.
type inline struct {
	node  *record.Inline
	scope *Scope
	unit  *Unit // in whose text it stands; nil for prose
	value eval.Value
	// number is its place among all, from 1; 0 where that was not asked for.
	number int
}

// New reads the blocks of a record and expands those that stand for others.
func New(rec *record.Record, kinds []Kind, files Files, lib Library, settings Settings, set *finding.Set) *Program {
	p := &Program{Record: rec, Set: set, Settings: settings, Root: &Scope{}, kinds: map[string]Kind{}, files: files, library: lib,
		within: map[place]*contents{}, displayed: map[*Unit]bool{}, candidates: map[*Scope][]string{}, data: map[*source.File]bool{}, names: map[string]*Def{}, inlines: map[*record.Inline]*inline{}, ids: map[string]int{}, warnings: map[string]bool{}}
	for _, k := range kinds {
		p.kinds[k.Info().Name] = k
	}
	p.readFront(kinds)
	for _, b := range rec.Blocks {
		p.add(b, p.Root)
	}
	p.addInlines(rec.Inlines, p.Root, nil)
	p.expand()
	p.expanded = len(p.defs)
	p.define()
	p.read = set.Len()
	return p
}

// KindNames lists the names of kinds, sorted.
func KindNames(kinds []Kind) []string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = k.Info().Name
	}
	sort.Strings(out)
	return out
}

// FrontKeys lists the keys of the front matter that kinds read.
func FrontKeys(kinds []Kind) []string {
	var out []string
	for _, k := range kinds {
		if f, ok := k.(FrontReader); ok {
			out = append(out, f.FrontKeys()...)
		}
	}
	return out
}

func (p *Program) readFront(kinds []Kind) {
	for _, k := range kinds {
		f, ok := k.(FrontReader)
		if !ok {
			continue
		}
		for _, key := range f.FrontKeys() {
			v := p.Record.Front.Get(key)
			if v == nil {
				continue
			}
			u := &Unit{Block: &record.Block{Kind: k.Info().Name, Span: v.At, Head: v.At, KindAt: v.At, NameAt: v.At, Doc: p.Record.Doc},
				Info: k.Info(), Scope: p.Root, ID: p.uniqueID(key), front: key}
			r := &Reader{Set: p.Set, Scope: p.Root, Settings: p.Settings, Files: p.files, program: p, unit: u}
			if u.Inst = f.ReadFront(r, key, v); u.Inst != nil {
				p.units = append(p.units, u)
				p.front = append(p.front, u)
			}
		}
	}
}

// add reads one block into a scope.
func (p *Program) add(b *record.Block, s *Scope) *Unit {
	k := p.kinds[b.Kind]
	info := k.Info()
	u := &Unit{Block: b, Info: info, Scope: s, set: p.setOf(s)}
	here := p.at(b.Doc, s)
	here.units = append(here.units, u)
	p.checkHead(u)
	name := s.Prefix + b.Kind
	if b.Name != "" {
		name = s.Prefix + b.Name
		if info.Naming != Named {
			name = b.Kind + "-" + name
		}
	}
	u.ID = p.uniqueID(name)
	u.Inst = k.Read(&Reader{Set: u.set, Scope: s, Settings: p.Settings, Files: p.files, program: p, unit: u}, b)
	s.units = append(s.units, u)
	p.units = append(p.units, u)
	return u
}

// idOf makes a name fit for an ID.
var idOf = strings.NewReplacer(".", "-", " ", "-", "@", "")

// setOf is where findings within a scope go: those in a method point at the
// record first.
func (p *Program) setOf(s *Scope) *finding.Set {
	if s.Via.IsZero() {
		return p.Set
	}
	return finding.To(func(f *finding.Finding) { p.Set.Add(p.via(f, s)) })
}

// uniqueID makes an ID for the page out of a name.
func (p *Program) uniqueID(name string) string {
	id := idOf.Replace(name)
	p.ids[id]++
	if n := p.ids[id]; n > 1 {
		id = fmt.Sprintf("%s-%d", id, n)
		p.ids[id]++
	}
	return id
}

func (p *Program) checkHead(u *Unit) {
	b := u.Block
	for _, o := range b.Options {
		switch {
		case o.Key == "print":
			if o.Value != "no" && o.Value != "yes" {
				u.set.Add(badOption(o, "yes or no"))
			}
			u.hide = o.Value == "no"
		case o.Key == "needs" || o.Key == "lacks":
			if u.Scope.Roles == nil {
				u.set.Add(onlyInMethods(o.At, "`"+o.Key+"`"))
			}
		case !contains(u.Info.Options, o.Key):
			u.set.Add(unknownOption(b, o, u.Info.Options))
		}
	}
	switch {
	case (u.Info.Naming == Named || u.Info.Naming == Referring) && b.Name == "":
		u.set.Add(nameless(b))
	case u.Info.Naming == Named && !record.IsName(b.Name):
		u.set.Add(badName(b))
	case u.Info.Naming == Nameless && b.Name != "":
		u.set.Add(needlessName(b))
	}
	if u.Info.MethodOnly && u.Scope.Roles == nil {
		u.set.Add(onlyInMethods(b.KindAt, "a `"+b.Kind+"` block"))
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// Present reports whether a block exists under the bindings of its scope: all
// roles of `needs` bound, none of `lacks`.
func Present(b *record.Block, s *Scope) bool {
	if o, ok := b.Option("needs"); ok {
		for _, role := range strings.Split(o.Value, ",") {
			if !s.Roles[strings.TrimSpace(role)] {
				return false
			}
		}
	}
	if o, ok := b.Option("lacks"); ok {
		for _, role := range strings.Split(o.Value, ",") {
			if s.Roles[strings.TrimSpace(role)] {
				return false
			}
		}
	}
	return true
}

// maxDepth bounds practicals within practicals.
const maxDepth = 4

// expand lets blocks bring in the blocks that they stand for, until none are
// new.
func (p *Program) expand() {
	for i := 0; i < len(p.units); i++ {
		u := p.units[i]
		if x, ok := u.Inst.(Expander); ok {
			if u.Scope.Depth() >= maxDepth {
				p.Set.Add(p.via(tooDeep(u.Block), u.Scope))
				continue
			}
			x.Expand(&Expansion{program: p, unit: u, Set: p.setOf(u.Scope)})
		}
	}
}

// Expansion is what a block may use to bring in others.
type Expansion struct {
	Set     *finding.Set
	program *Program
	unit    *Unit
}

// Scope returns the scope of the block that expands.
func (x *Expansion) Scope() *Scope { return x.unit.Scope }

// Library returns what is built in.
func (x *Expansion) Library() Library { return x.program.library }

// Open opens a file through the one door.
func (x *Expansion) Open(path string) (*source.File, error) {
	return x.program.files.Open(x.unit.Block.Head.File, path)
}

// Kinds lists the known kinds, for reading a method file.
func (x *Expansion) Kinds() []string {
	var out []string
	for k := range x.program.kinds {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// Enter makes a scope within that of the block.
func (x *Expansion) Enter(name string, via source.Span) *Scope {
	return &Scope{Prefix: x.unit.Scope.Prefix + name + ".", Parent: x.unit.Scope, Via: via,
		Roles: map[string]bool{}, Bindings: map[string]source.Span{}}
}

// Define adds a definition to a scope.
func (x *Expansion) Define(s *Scope, d *Def) { x.program.addDef(d, s, x.unit) }

// Add reads the blocks of a method into a scope, those that exist under its
// bindings, and its inline values.
func (x *Expansion) Add(s *Scope, blocks []*record.Block, inlines []*record.Inline) {
	for _, b := range blocks {
		if Present(b, s) {
			x.program.add(b, s)
			continue
		}
		here := x.program.at(b.Doc, s)
		here.absent = append(here.absent, b)
	}
	x.program.addInlines(inlines, s, nil)
}

// addInlines takes the inline values of a scope up.
func (p *Program) addInlines(list []*record.Inline, s *Scope, u *Unit) {
	for _, in := range list {
		if _, done := p.inlines[in]; !done {
			i := &inline{node: in, scope: s, unit: u}
			p.inlines[in] = i
			p.order = append(p.order, i)
			here := p.at(in.Doc, s)
			here.inlines = append(here.inlines, i)
		}
	}
}

func (p *Program) addDef(d *Def, s *Scope, u *Unit) (added bool) {
	d.scope, d.unit = s, u
	d.full = s.Prefix + d.Name
	switch {
	case d.Anchor != "" || u == nil:
	case u.Scope == s:
		d.Anchor = u.ID
	default: // a role: the block that binds it shows nothing of it
		d.Anchor = entryID(d.full)
	}
	if before, twice := p.names[d.full]; twice {
		p.Set.Add(p.via(definedTwice(d, before), s))
		return false
	}
	p.names[d.full] = d
	p.defs = append(p.defs, d)
	return true
}

// addDefs adds the definitions of a block. Where its own name is taken, what
// is inside it goes with it.
func (p *Program) addDefs(defs []*Def, u *Unit) {
	taken := ""
	for _, d := range defs {
		if taken != "" && strings.HasPrefix(d.Name, taken) {
			continue
		}
		if !p.addDef(d, u.Scope, u) {
			taken = d.Name + "."
		}
	}
}

// define gathers all definitions and resolves all uses.
func (p *Program) define() {
	p.defineUnits()
	for _, u := range p.units {
		if x, ok := u.Inst.(User); ok {
			for _, use := range x.Uses() {
				p.uses = append(p.uses, usedAt{use, u.Scope})
			}
		}
	}
	for _, in := range p.order {
		if in.node.Insert != nil && in.node.Insert.X != nil {
			for _, use := range UsesOf(in.node.Insert.X) {
				p.uses = append(p.uses, usedAt{use, in.scope})
			}
		}
	}
	for _, u := range p.uses {
		p.resolve(u.Use, u.scope, true)
	}
}

// defineUnits gathers the definitions of the blocks.
func (p *Program) defineUnits() {
	for _, u := range p.units {
		d, ok := u.Inst.(Definer)
		if !ok {
			continue
		}
		if u.defs == nil {
			u.defs = d.Defs()
		}
		p.addDefs(u.defs, u)
	}
}

// UsesOf lists the names that an expression uses, and its instruments.
func UsesOf(x formula.Expr) []Use {
	var out []Use
	named := map[formula.Expr]bool{}
	formula.Walk(x, func(e formula.Expr) bool {
		if c, ok := e.(*formula.Call); ok && eval.ByName(c.Name) {
			for _, a := range c.Args {
				named[a] = true
			}
		}
		return true
	})
	for _, n := range formula.Names(x) {
		if !named[n] {
			out = append(out, Use{Name: n.Name, At: n.At})
		}
	}
	formula.Walk(x, func(e formula.Expr) bool {
		if l, ok := e.(*formula.Literal); ok && l.Instrument != "" {
			out = append(out, Use{Name: l.Instrument, At: l.InstrAt, Instrument: true})
		}
		return true
	})
	return out
}

// find returns the definition behind the longest beginning of a dotted name,
// and what is left of the name.
func (p *Program) find(name string, s *Scope) (*Def, []string) {
	for end := len(name); end > 0; end = strings.LastIndexByte(name[:end], '.') {
		if d, ok := p.names[s.Prefix+name[:end]]; ok {
			return d, splitRest(name[end:])
		}
	}
	return nil, nil
}

func splitRest(rest string) []string {
	if rest == "" {
		return nil
	}
	return strings.Split(rest[1:], ".")
}

func instrumentKey(s *Scope, name string) string { return s.Prefix + "@" + name }

// resolve finds what a use refers to; nil where it is built in or not
// defined. Undefined names are reported if asked for.
func (p *Program) resolve(u Use, s *Scope, report bool) *Def {
	if u.Instrument {
		d := p.names[instrumentKey(s, u.Name)]
		if d == nil && report {
			p.Set.Add(p.via(eval.UnknownInstrument(u.At, u.Name, p.instrumentNames(s)), s))
		}
		return d
	}
	d, _ := p.find(u.Name, s)
	if d == nil && report && !p.said[u.At] && !p.builtIn(u.Name) {
		if bound, isRole := s.Roles[u.Name]; isRole && !bound {
			p.Set.Add(p.via(unboundRole(u), s))
		} else {
			p.Set.Add(p.via(undefined(u, p.known(s)), s))
		}
	}
	return d
}

func (p *Program) builtIn(name string) bool {
	head, _, _ := strings.Cut(name, ".")
	_, ok := p.library.Material(head)
	return ok
}

// mostHints bounds the names for which the nearest known one is looked for.
const mostHints = 200

// known lists the names that could have been meant in a scope. It is asked when
// all definitions are gathered.
func (p *Program) known(s *Scope) []string {
	if p.hints++; p.hints > mostHints {
		return nil
	}
	if out, ok := p.candidates[s]; ok {
		return out
	}
	var out []string
	for full := range p.names {
		if strings.HasPrefix(full, s.Prefix) && !strings.Contains(full, "@") {
			out = append(out, full[len(s.Prefix):])
		}
	}
	out = append(out, p.library.MaterialNames()...)
	sort.Strings(out)
	p.candidates[s] = out
	return out
}

func (p *Program) instrumentNames(s *Scope) []string {
	var out []string
	for full := range p.names {
		if rest, ok := strings.CutPrefix(full, s.Prefix+"@"); ok {
			out = append(out, rest)
		}
	}
	sort.Strings(out)
	return out
}

// Evaluate computes every definition in the order of dependence, then has
// blocks and claims checked.
func (p *Program) Evaluate() {
	p.ordered()
	for _, u := range p.units {
		if c, ok := u.Inst.(Checker); ok {
			c.Check(p.computing(u.Scope, u))
		}
	}
	for _, in := range p.order {
		p.evaluateInline(in)
	}
	for _, u := range p.units {
		if t, ok := u.Inst.(Trialist); ok {
			p.jobs = append(p.jobs, t.Jobs(p.computing(u.Scope, u))...)
		}
	}
}

// Jobs returns the Monte Carlo evaluations that the record asks for.
func (p *Program) Jobs() []*Job { return p.jobs }

// ordered evaluates the definitions.
func (p *Program) ordered() {
	index := make(map[*Def]int, len(p.defs))
	for i, d := range p.defs {
		index[d] = i
	}
	g := make([]graph.Def, len(p.defs))
	for i, d := range p.defs {
		g[i] = graph.Def{Name: d.full, At: d.At}
		for _, u := range d.Uses {
			if to := p.resolve(u, d.from(), true); to != nil {
				g[i].Uses = append(g[i].Uses, graph.Use{Name: u.Name, At: u.At, Target: index[to]})
			}
		}
	}
	order, cycles := graph.Order(g)
	for _, c := range cycles {
		p.Set.Add(p.via(graph.Circle(g, c), p.defs[c[0]].scope))
		for _, i := range c {
			p.defs[i].value = eval.Waiting{}
		}
	}
	for _, i := range order {
		d := p.defs[i]
		if d.value == nil {
			d.value = p.compute(d)
		}
	}
	for _, d := range p.defs {
		if d.value == nil { // behind a circle
			d.value = eval.Waiting{}
		}
	}
}

// Values returns the definitions in the order of their full names.
func (p *Program) Values() []*Def {
	out := append([]*Def(nil), p.defs...)
	sort.Slice(out, func(i, j int) bool { return out[i].full < out[j].full })
	return out
}
