package block

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Script is what a method file holds, as far as this package must know it.
type Script struct {
	Blocks  []*record.Block
	Inlines []*record.Inline
	Roles   []ScriptRole
	Results []Use // the names that it promises
	Casts   []Cast
}

// ScriptRole is a role of a script.
type ScriptRole struct {
	Name string
	At   source.Span
	// Needed roles are always bound; Optional ones may be missing, and then
	// have no value; any other role always has a value.
	Needed, Optional bool
	// Two says that it may be bound to two columns, NAME_1 and NAME_2.
	Two bool
}

// Cast is one way in which the roles of a script may be bound: which are, and
// a value of the right kind and dimension for each name that they make.
type Cast struct {
	Bound  map[string]bool
	Values map[string]eval.Value
}

// Settle holds a script to what must be so however its roles are bound: every
// use of a name is covered by the `needs` and `lacks` of its definition, no name
// has two definitions that can meet, and what it promises is there. Then it
// tries each cast, for dimensions and kinds of values. The findings stand at
// the script's own lines.
func Settle(s *Script, kinds []Kind, files Files, lib Library) []*finding.Finding {
	set := &finding.Set{}
	settle(s, kinds, files, lib, set)
	said := map[source.Span]bool{}
	for _, f := range set.Sorted() {
		said[f.At] = true
	}
	for _, c := range s.Casts {
		for _, f := range rehearse(s, c, kinds, files, lib) {
			if !said[f.At] {
				said[f.At] = true
				set.Add(f)
			}
		}
	}
	return set.Sorted()
}

// Settle holds a script to what must be so however its roles are bound. It is
// alone if no file was opened for that: the same script then has the same
// findings in every record.
func (x *Expansion) Settle(s *Script) (found []*finding.Finding, alone bool) {
	p := x.program
	var kinds []Kind
	for _, name := range x.Kinds() {
		kinds = append(kinds, p.kinds[name])
	}
	files := &countedFiles{Files: p.files}
	found = Settle(s, kinds, files, p.library)
	return found, files.opened == 0
}

// countedFiles counts the files that are asked for.
type countedFiles struct {
	Files
	opened int
}

// Open implements Files.
func (c *countedFiles) Open(from *source.File, path string) (*source.File, error) {
	c.opened++
	return c.Files.Open(from, path)
}

// Rehearsing reports whether a method is only tried out.
func (x *Expansion) Rehearsing() bool { return x.program.rehearsing }

// stage is an empty program with one scope for a script.
func stage(kinds []Kind, files Files, lib Library, roles map[string]bool) *Program {
	p := New(&record.Record{Front: &record.Setting{Kind: record.MapSetting}, Doc: &record.Document{}}, kinds, files, lib, Settings{Coverage: 0.95, CoverageText: "95 %", Digits: 2}, &finding.Set{})
	p.Root.Roles, p.Root.Bindings = roles, map[string]source.Span{}
	p.rehearsing = true
	return p
}

// rehearse works a script out with the values of a cast. What is said of those
// values is not kept.
func rehearse(s *Script, c Cast, kinds []Kind, files Files, lib Library) (out []*finding.Finding) {
	p := stage(kinds, files, lib, c.Bound)
	for name, v := range c.Values {
		p.addDef(&Def{Name: name, Quiet: true, Compute: func(*Computing) eval.Value { return v }}, p.Root, nil)
	}
	for _, b := range s.Blocks {
		if Present(b, p.Root) {
			p.add(b, p.Root)
		}
	}
	p.addInlines(s.Inlines, p.Root, nil)
	p.expand()
	p.define()
	p.Evaluate()
	for _, f := range p.Set.Sorted() {
		if f.Severity == finding.Error && !f.OfData && f.Slug != slugUndefined && f.Slug != slugUnbound && f.Slug != slugTwice {
			out = append(out, f)
		}
	}
	return out
}

// defined is one definition of a name, with the condition under which it is
// there.
type defined struct {
	at   source.Span
	when guard
	role bool
}

// settler gathers what a script defines and uses.
type settler struct {
	script *Script
	set    *finding.Set
	defs   map[string][]defined
	atoms  map[string]string // by the names that may stand in needs and lacks
	two    map[string]string // NAME_2 to NAME
	always map[string]bool
	names  []string
}

func settle(s *Script, kinds []Kind, files Files, lib Library, set *finding.Set) {
	t := &settler{script: s, set: set, defs: map[string][]defined{}, atoms: map[string]string{}, two: map[string]string{}, always: map[string]bool{}}
	roles := map[string]bool{}
	for _, r := range s.Roles {
		t.role(r)
		roles[r.Name] = true
	}
	p := stage(kinds, files, lib, roles)
	for _, b := range s.Blocks {
		p.add(b, p.Root)
	}
	p.addInlines(s.Inlines, p.Root, nil)
	for _, f := range p.Set.Sorted() {
		set.Add(f)
	}
	for _, u := range p.units {
		t.define(u)
	}
	for name := range t.defs {
		t.names = append(t.names, name)
	}
	sort.Strings(t.names)
	t.twice()
	for _, u := range p.units {
		when := t.guard(u.Block, nil)
		for _, d := range u.defs {
			t.uses(p, d.Uses, u, when)
		}
		if x, ok := u.Inst.(User); ok {
			t.uses(p, x.Uses(), u, when)
		}
	}
	for _, in := range p.order {
		if in.node.Insert == nil || in.node.Insert.X == nil {
			continue
		}
		var when guard
		if in.unit != nil {
			when = t.guard(in.unit.Block, nil)
		}
		t.uses(p, UsesOf(in.node.Insert.X), in.unit, when)
	}
	t.promises()
}

// role defines what a role makes.
func (t *settler) role(r ScriptRole) {
	var when guard
	if r.Optional {
		when.needs = []string{r.Name}
	}
	t.always[r.Name] = r.Needed
	t.atoms[r.Name] = r.Name
	t.defs[r.Name] = []defined{{r.At, when, true}}
	if !r.Two {
		return
	}
	first := when
	if !r.Needed {
		first.needs = []string{r.Name}
	}
	t.atoms[r.Name+"_1"], t.atoms[r.Name+"_2"] = r.Name, r.Name+"_2"
	t.two[r.Name+"_2"] = r.Name
	t.defs[r.Name+"_1"] = []defined{{r.At, first, true}}
	t.defs[r.Name+"_2"] = []defined{{r.At, guard{needs: []string{r.Name + "_2"}}, true}}
}

func (t *settler) define(u *Unit) {
	when := t.guard(u.Block, t.set)
	d, ok := u.Inst.(Definer)
	if !ok {
		return
	}
	u.defs = d.Defs()
	for _, def := range u.defs {
		t.defs[def.Name] = append(t.defs[def.Name], defined{def.At, when, false})
	}
}

// guard reads `needs` and `lacks`; names that are no roles are reported to set,
// where there is one.
func (t *settler) guard(b *record.Block, set *finding.Set) guard {
	read := func(key string) (out []string) {
		o, ok := b.Option(key)
		if !ok {
			return nil
		}
		for _, name := range strings.Split(o.Value, ",") {
			name = strings.TrimSpace(name)
			if a, known := t.atoms[name]; known {
				out = append(out, a)
			} else if set != nil {
				set.Add(noSuchRole(o, name, t.roleNames()))
			}
		}
		return out
	}
	return guard{read("needs"), read("lacks")}
}

func (t *settler) roleNames() []string {
	var out []string
	for name := range t.atoms {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}

// twice reports definitions of one name that can meet.
func (t *settler) twice() {
	for _, name := range t.names {
		list := t.defs[name]
		for j := range list {
			for i := range list[:j] {
				both := guard{slices.Concat(list[i].when.needs, list[j].when.needs), slices.Concat(list[i].when.lacks, list[j].when.lacks)}
				if !t.possible(both) {
					continue
				}
				f := definedTwice(&Def{Name: name, At: list[j].at}, &Def{At: list[i].at})
				if !list[i].when.empty() || !list[j].when.empty() {
					f.Hint = "blocks that define one name must exclude each other: one with `needs=`, the other with `lacks=` of the same role"
				}
				t.set.Add(f)
			}
		}
	}
}

// uses checks that every name is there whenever the block is.
func (t *settler) uses(p *Program, uses []Use, u *Unit, when guard) {
	for _, use := range uses {
		name, defs := t.find(use)
		if defs == nil {
			t.unknown(p, use)
			continue
		}
		if !t.covered(when, defs) {
			t.set.Add(notCovered(use, name, defs, u))
		}
	}
}

// find returns the definitions behind the longest beginning of a dotted name.
func (t *settler) find(u Use) (string, []defined) {
	if u.Instrument {
		return u.Name, t.defs["@"+u.Name]
	}
	for end := len(u.Name); end > 0; end = strings.LastIndexByte(u.Name[:end], '.') {
		if d := t.defs[u.Name[:end]]; d != nil {
			return u.Name[:end], d
		}
	}
	return u.Name, nil
}

func (t *settler) unknown(p *Program, u Use) {
	switch {
	case u.Instrument:
		t.set.Add(eval.UnknownInstrument(u.At, u.Name, nil))
	case !p.builtIn(u.Name):
		t.set.Add(undefined(u, t.names))
	}
}

// promises reports results that are defined nowhere.
func (t *settler) promises() {
	for _, r := range t.script.Results {
		if _, defs := t.find(r); defs == nil {
			f := undefined(r, t.names)
			f.Message = fmt.Sprintf("the result `%s` is not defined in this method", r.Name)
			t.set.Add(f)
		}
	}
}
