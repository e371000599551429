// Package method reads method files: files in the record language that say
// what a practical needs, how it is worked out and what to look for.
package method

import (
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/yuin/goldmark/ast"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// Method is one method file, read.
type Method struct {
	File    *source.File
	Name    string
	Title   string
	Version int
	Results []string
	// ResultsAt are the places of Results.
	ResultsAt []source.Span
	Roles     []Role
	Intro     *record.Document // before the first part
	Parts     []*Part
	Record    *record.Record

	simulateOnce       sync.Once
	simulation         *Simulation
	simulationFindings []*finding.Finding
}

// Part is a section that begins with a heading of the second level. Its name
// is the first word of the heading, in lower case.
type Part struct {
	Name string
	Doc  *record.Document
	At   source.Span
}

// Role is one row of the table of roles: what the practical needs.
type Role struct {
	Name   string
	Takes  string
	Unit   string
	Absent string // "–", "optional" or an expression
	With   string
	Table  string
	What   string
	// Columns are the columns that Table suggests, Rows how many rows they have;
	// none where it is empty.
	Columns []ColumnName
	Rows    int

	At, TakesAt, UnitAt, AbsentAt, WithAt, TableAt, WhatAt source.Span
}

// ColumnName names a column of a data block: pull.up.
type ColumnName struct{ Table, Column string }

// Needed reports whether the role must be bound.
func (r *Role) Needed() bool { return r.Absent == "–" || r.Absent == "-" || r.Absent == "" }

// Optional reports whether the role may be missing altogether.
func (r *Role) Optional() bool { return r.Absent == "optional" }

// Most is how many columns the role can take.
func (r *Role) Most() int {
	if r.Takes == "readings" || r.Takes == "columns" {
		return 2
	}
	return 1
}

// TakesWords says in words what the role takes.
func (r *Role) TakesWords() string {
	switch r.Takes {
	case "readings":
		return "a quantity, or one or two columns of repeats"
	case "columns":
		return "one or two columns"
	case "column":
		return "one column"
	case "quantity":
		return "one quantity"
	case "yesno":
		return "yes or no"
	}
	return "one " + r.Takes
}

// ParseUnit reads the unit of the role; the unit one where none is given.
func (r *Role) ParseUnit() (unit.Unit, error) {
	if r.Unit == "" {
		return unit.Of(unit.Dim{}), nil
	}
	return unit.Parse(r.Unit)
}

// Role returns the role of that name; nil where there is none.
func (m *Method) Role(name string) *Role {
	for i := range m.Roles {
		if m.Roles[i].Name == name {
			return &m.Roles[i]
		}
	}
	return nil
}

// Takes lists what a role may take.
var Takes = []string{"quantity", "readings", "column", "columns", "material", "word", "yesno"}

var frontKeys = []string{"method", "title", "version", "results"}

// rolesKind is the kind of block that holds the roles.
const rolesKind = "roles"

// Read reads a method file. Kinds are the kinds of blocks.
func Read(f *source.File, kinds []string, set *finding.Set) *Method {
	rec := record.Parse(f, kinds, set)
	m := &Method{File: f, Record: rec}
	m.readFront(rec.Front, set)
	m.split()
	m.dropScaffold()
	m.checkParts(set)
	m.readRoles(set)
	return m
}

func (m *Method) readFront(front *record.Setting, set *finding.Set) {
	for _, p := range front.Pairs {
		if p.Value.Kind != record.ScalarSetting {
			set.Add(badFront(p.Value.At, p.Key, "a single value"))
			continue
		}
		text := strings.TrimSpace(p.Value.Text)
		switch p.Key {
		case "method":
			if text != "" && !isMethodName(text) {
				set.Add(badFront(p.Value.At, p.Key, "a letter followed by letters, digits, `-` and `_`"))
			}
			m.Name = text
		case "title":
			m.Title = text
		case "version":
			n, err := strconv.Atoi(text)
			if err != nil || n < 1 {
				set.Add(badFront(p.Value.At, p.Key, "a whole number from 1"))
			}
			m.Version = n
		case "results":
			m.readResults(p.Value, set)
		default:
			set.Add(unknownFront(p.KeyAt, p.Key))
		}
	}
	if m.Name == "" {
		set.Add(noMethodName(m.File.Span(0, 0)))
	}
}

// isMethodName reports whether a text can name a method, and a folder.
func isMethodName(name string) bool {
	return record.IsName(strings.ReplaceAll(name, "-", "_")) && !strings.HasPrefix(name, "-")
}

// readResults reads the names of the results: one text, with commas between.
func (m *Method) readResults(s *record.Setting, set *finding.Set) {
	at, inText := s.Inner()
	from := 0
	for _, piece := range strings.Split(s.Text, ",") {
		name := strings.TrimSpace(piece)
		place := s.At
		if i := from + strings.Index(piece, name); inText && i+len(name) <= at.End-at.Start {
			place = at.Sub(i, i+len(name))
		}
		from += len(piece) + 1
		switch {
		case !record.IsName(name):
			set.Add(badFront(place, "results", "names with commas between them"))
		case contains(m.Results, name):
			set.Add(errorAt(place, "defined-twice", "the result `"+name+"` is named twice", "keep one"))
		default:
			m.Results = append(m.Results, name)
			m.ResultsAt = append(m.ResultsAt, place)
		}
	}
}

// readRoles reads the one table of roles.
func (m *Method) readRoles(set *finding.Set) {
	var at source.Span
	for _, b := range m.Record.Blocks {
		if b.Kind != rolesKind {
			continue
		}
		if !at.IsZero() {
			set.Add(twoRoles(b.KindAt, at))
			return
		}
		at = b.KindAt
		m.Roles = readRoleTable(b, set)
	}
	if at.IsZero() {
		set.Add(noRoles(m.File.Span(0, 0)))
	}
}

func readRoleTable(b *record.Block, set *finding.Set) []Role {
	t := record.ReadTable(b.Body.Span, b.Body.Lines, '.', set)
	index := map[string]int{}
	for i, h := range t.Head {
		index[h.Text] = i
	}
	for _, h := range t.Head {
		if !contains([]string{"role", "takes", "unit", "absent", "with", "table", "what"}, h.Text) {
			set.Add(badRoleColumn(h.At, h.Text))
		}
	}
	if _, ok := index["role"]; !ok {
		set.Add(badRoleColumn(b.KindAt, ""))
		return nil
	}
	var out []Role
	seen := map[string]source.Span{}
	for _, row := range t.Rows {
		get := func(key string) record.TableCell {
			if i, ok := index[key]; ok && i < len(row.Cells) {
				return row.Cells[i]
			}
			return record.TableCell{At: row.At}
		}
		r := Role{Name: get("role").Text, At: get("role").At, Takes: get("takes").Text, TakesAt: get("takes").At, Unit: get("unit").Text, UnitAt: get("unit").At,
			Absent: get("absent").Text, AbsentAt: get("absent").At, With: get("with").Text, WithAt: get("with").At,
			Table: get("table").Text, TableAt: get("table").At, What: get("what").Text, WhatAt: get("what").At}
		if before, twice := seen[r.Name]; twice {
			set.Add(roleTwice(r.At, r.Name, before))
			continue
		}
		seen[r.Name] = r.At
		if !record.IsName(r.Name) {
			set.Add(badRole(r.At, "`"+r.Name+"` is no name for a role", "a letter followed by letters, digits and `_`"))
			continue
		}
		if !contains(Takes, r.Takes) {
			set.Add(badRole(r.TakesAt, "a role cannot take `"+r.Takes+"`", "it takes one of "+strings.Join(Takes, ", ")))
			continue
		}
		r.check(set)
		out = append(out, r)
	}
	return out
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// check reports what is wrong with the further cells of a role.
func (r *Role) check(set *finding.Set) {
	if _, err := r.ParseUnit(); err != nil {
		set.Add(badRoleUnit(r, err))
	}
	if r.With != "" && !record.IsName(r.With) {
		set.Add(badRole(r.WithAt, "`"+r.With+"` is no name for an instrument", "a letter followed by letters, digits and `_`"))
		r.With = ""
	}
	r.readTableCell(set)
}

// scaffoldPart is the part that holds the prose of a new record: it belongs
// to that record and is nothing of the method.
const scaffoldPart = "scaffold"

// PlanPart is the part that is for planning alone: what it computes and says
// is shown by a plan, and in no record.
const PlanPart = "plan"

// dropScaffold takes blocks and inline values that stand in the scaffold out
// of those of the method.
func (m *Method) dropScaffold() {
	p := m.Part(scaffoldPart)
	if p == nil {
		return
	}
	m.Record.Blocks = slices.DeleteFunc(m.Record.Blocks, func(b *record.Block) bool { return b.Doc == p.Doc })
	m.Record.Inlines = slices.DeleteFunc(m.Record.Inlines, func(in *record.Inline) bool { return in.Doc == p.Doc })
}

// checkParts reports two parts of one name.
func (m *Method) checkParts(set *finding.Set) {
	seen := map[string]source.Span{}
	for _, p := range m.Parts {
		if before, twice := seen[p.Name]; twice {
			f := errorAt(p.At, "defined-twice", "there are two parts `"+p.Name+"`", "the first word of a heading `##` names a part: choose another")
			f.Also = []finding.Place{{At: before, What: "the first is here"}}
			set.Add(f)
			continue
		}
		seen[p.Name] = p.At
	}
}

// split moves the top-level nodes of the file into its parts.
func (m *Method) split() {
	doc := m.Record.Doc
	m.Intro = &record.Document{File: doc.File, Root: ast.NewDocument()}
	cur := m.Intro
	for n := doc.Root.FirstChild(); n != nil; {
		next := n.NextSibling()
		if h, ok := n.(*ast.Heading); ok && h.Level == 2 {
			p := &Part{Name: partName(h, doc.File), Doc: &record.Document{File: doc.File, Root: ast.NewDocument()}}
			if h.Lines().Len() > 0 {
				s := h.Lines().At(0)
				p.At = doc.File.Span(s.Start, s.Stop)
			}
			m.Parts = append(m.Parts, p)
			cur = p.Doc
		}
		doc.Root.RemoveChild(doc.Root, n)
		cur.Root.AppendChild(cur.Root, n)
		reassign(n, cur)
		n = next
	}
}

// reassign tells the blocks and inline values below a node where they stand.
func reassign(n ast.Node, doc *record.Document) {
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			switch n := n.(type) {
			case *record.BlockNode:
				n.Block.Doc = doc
			case *record.InlineNode:
				n.Inline.Doc = doc
			}
		}
		return ast.WalkContinue, nil
	})
}

func partName(h *ast.Heading, f *source.File) string {
	if h.Lines().Len() == 0 {
		return ""
	}
	s := h.Lines().At(0)
	words := strings.Fields(string(f.Text[s.Start:s.Stop]))
	if len(words) == 0 {
		return ""
	}
	return strings.ToLower(words[0])
}

// Part returns the part of that name; nil where there is none.
func (m *Method) Part(name string) *Part {
	for _, p := range m.Parts {
		if p.Name == name {
			return p
		}
	}
	return nil
}
