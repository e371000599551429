package method

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/formula"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
)

// Constant is one constant of a material, with where it comes from.
type Constant struct {
	Material string
	Name     string // E, G, K, nu, density, expansion, strength_annealed …
	Value    eval.Scalar
	Typed    string // as the table writes it
	From     string
	At       source.Span
}

// Materials is a table of constants, sorted by material; those of one material
// stay in the order of the files.
type Materials struct {
	Constants []Constant
	names     []string
	by        map[string][]Constant
}

var materialColumns = []string{"material", "constant", "value", "from"}

// ReadMaterials reads tables with the columns material, constant, value, from.
// Values are quantities of the record language: an uncertainty stands there
// only where the source states one.
func ReadMaterials(files []*source.File, set *finding.Set) *Materials {
	m := &Materials{by: map[string][]Constant{}}
	for _, f := range files {
		t := record.ReadTable(f.Span(0, len(f.Text)), record.Lines(f), '.', set)
		if !isMaterialHead(t.Head) {
			at := t.At
			if len(t.Head) > 0 {
				at = t.Head[0].At
			}
			set.Add(badMaterialHead(at))
			continue
		}
		for _, row := range t.Rows {
			m.add(row, set)
		}
	}
	for name := range m.by {
		m.names = append(m.names, name)
	}
	sort.Strings(m.names)
	sort.SliceStable(m.Constants, func(i, j int) bool { return m.Constants[i].Material < m.Constants[j].Material })
	return m
}

func isMaterialHead(head []record.TableCell) bool {
	return slices.EqualFunc(head, materialColumns, func(c record.TableCell, want string) bool { return c.Text == want })
}

func (m *Materials) add(row record.TableRow, set *finding.Set) {
	if len(row.Cells) != len(materialColumns) {
		set.Add(badConstant(row.At, fmt.Sprintf("this row has %d cells instead of 4", len(row.Cells)), "material, constant, value, from; put a cell that holds commas between quotation marks"))
		return
	}
	c := Constant{Material: row.Cells[0].Text, Name: row.Cells[1].Text, Typed: row.Cells[2].Text, From: row.Cells[3].Text, At: row.At}
	for i, cell := range row.Cells {
		switch {
		case cell.Struck || i == 0 && row.Struck:
			set.Add(badConstant(cell.At, "a constant cannot be struck", "delete the row"))
			return
		case i < 2 && !record.IsName(cell.Text):
			set.Add(badConstant(cell.At, fmt.Sprintf("`%s` is no name", cell.Text), "a letter followed by letters, digits and `_`"))
			return
		}
	}
	if c.From == "" {
		set.Add(badConstant(row.At, fmt.Sprintf("`%s.%s` has no source", c.Material, c.Name), "write in the last cell where the value comes from, or that it is from memory"))
		return
	}
	for _, before := range m.by[c.Material] {
		if before.Name == c.Name {
			f := badConstant(row.At, fmt.Sprintf("`%s.%s` is given twice", c.Material, c.Name), "keep one of the rows")
			f.Also = []finding.Place{{At: before.At, What: "the first is here"}}
			set.Add(f)
			return
		}
	}
	v, ok := constantValue(&c, row.Cells[2].At, set)
	if !ok {
		return
	}
	c.Value = v
	m.Constants = append(m.Constants, c)
	m.by[c.Material] = append(m.by[c.Material], c)
}

// constantValue evaluates the quantity at a place. What it states as its
// uncertainty is one source, wherever the constant is quoted.
func constantValue(c *Constant, at source.Span, set *finding.Set) (eval.Scalar, bool) {
	lit, negative := formula.ParseLiteral(at, false, set)
	if lit == nil {
		return eval.Scalar{}, false
	}
	if lit.Instrument != "" {
		set.Add(badConstant(lit.InstrAt, "a constant is not the reading of an instrument", "leave `@"+lit.Instrument+"` out"))
		return eval.Scalar{}, false
	}
	e := &eval.Eval{Owner: c.Material + "." + c.Name + " of the handbook", Report: set.Add}
	v, ok := e.Literal(lit, negative).(eval.Scalar)
	v.From = c.From
	return v, ok
}

// badMaterialHead: a table of materials with other columns.
func badMaterialHead(at source.Span) *finding.Finding {
	return errorAt(at, "bad-heading", "a table of materials begins with its headings", "they are "+strings.Join(materialColumns, ", "))
}

// badConstant: a row of a table of constants that cannot be used.
func badConstant(at source.Span, message, hint string) *finding.Finding {
	return errorAt(at, "bad-constant", message, hint)
}

// Names lists the materials.
func (m *Materials) Names() []string { return m.names }

// Material returns a material as a value with its constants inside. Its
// functions strength(temper) and yield(temper) give the constant of that
// temper: in a method whose role material is copper and whose role temper is
// hard-drawn, material.strength(temper) is copper.strength_hard_drawn.
func (m *Materials) Material(name string) (eval.Value, bool) {
	list, ok := m.by[name]
	if !ok {
		return nil, false
	}
	s := &eval.Space{What: "material", Name: name}
	for _, c := range list {
		s.Names = append(s.Names, c.Name)
	}
	s.Get = func(constant string) (eval.Value, bool) {
		for _, c := range list {
			if c.Name == constant {
				return c.Value, true
			}
		}
		return nil, false
	}
	s.Call = func(c *eval.Call, function string) (eval.Value, bool) {
		if !slices.Contains(byTemper, function) {
			return nil, false
		}
		return ofTemper(s, c, function), true
	}
	return s, true
}

// byTemper are the properties that go by the temper of the material.
var byTemper = []string{"strength", "yield"}

// ofTemper is a property of a material in a temper. A temper for which there
// is no constant is an error: a strength of another temper would be unsafe.
func ofTemper(s *eval.Space, c *eval.Call, property string) eval.Value {
	if len(c.Args) != 1 {
		return c.Fail(c.X.At, "wrong-arguments", fmt.Sprintf("`%s` takes one temper", property), temperHint(s, property))
	}
	w, ok := c.Args[0].(eval.Word)
	if !ok {
		return c.Fail(c.X.Args[0].Span(), "wrong-argument", fmt.Sprintf("`%s` takes a temper, this is %s", property, eval.Describe(c.Args[0])), temperHint(s, property))
	}
	v, ok := s.Get(property + "_" + temperName(w.Text))
	if !ok {
		f := errorAt(c.X.Args[0].Span(), "unknown-temper", fmt.Sprintf("the tables hold no %s of %s %q", property, s.Name, w.Text), temperHint(s, property))
		f.OfData = true
		c.E.Report(f)
		return eval.Waiting{}
	}
	return v
}

// temperName is how a temper stands in the name of a constant: hard-drawn is
// hard_drawn.
func temperName(word string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(word), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), "_")
}

func temperHint(s *eval.Space, property string) string {
	var known []string
	for _, n := range s.Names {
		if t, ok := strings.CutPrefix(n, property+"_"); ok {
			known = append(known, `"`+strings.ReplaceAll(t, "_", "-")+`"`)
		}
	}
	if len(known) == 0 {
		return fmt.Sprintf("they hold no tempers of %s: give the strength and its source yourself", s.Name)
	}
	return fmt.Sprintf("they hold %s; else give the strength and its source yourself", strings.Join(known, ", "))
}
