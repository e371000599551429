package editor

import (
	"regexp"
	"slices"
	"strings"

	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/eval"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/source"
	"example.org/taut/engine/unit"
)

// offer is something that can be written.
type offer struct {
	text   string
	kind   int
	detail string
}

func (s *server) completion(p positionParams) (any, error) {
	out := completionList{Items: []completionItem{}}
	d, at, ok := s.asked(p)
	if !ok {
		return out, nil
	}
	typed := rangeOf(d.worked.Record.File.Span(at.word.Start, at.word.Start+len(at.typed)), s.encoding)
	seen := map[string]bool{}
	for _, o := range s.offers(d, at) {
		if seen[o.text] || !strings.HasPrefix(strings.ToLower(o.text), strings.ToLower(at.typed)) {
			continue
		}
		seen[o.text] = true
		out.Items = append(out.Items, completionItem{Label: o.text, Kind: o.kind, Detail: o.detail, TextEdit: textEdit{Range: typed, NewText: o.text}})
	}
	return out, nil
}

// offers lists what can be written at a place, the likeliest first.
func (s *server) offers(d *document, at place) []offer {
	switch at.region {
	case inFront:
		if strings.TrimSpace(at.before) == "" {
			return keys(build.FrontKeys(s.options.Kinds), ": ")
		}
		return s.frontValues(at)
	case inHead:
		return s.headOffers(at)
	case inInsert:
		return s.expressionOffers(d, at)
	case inBody:
		return s.bodyOffers(d, at)
	}
	return nil
}

func keys(names []string, after string) []offer {
	var out []offer
	names = slices.Clone(names)
	slices.Sort(names)
	for _, n := range names {
		out = append(out, offer{n + after, completeProperty, ""})
	}
	return out
}

func (s *server) frontValues(at place) []offer {
	var values []string
	switch key, _, _ := strings.Cut(at.before, ":"); key {
	case "theme":
		values = s.options.Themes.Names()
	case "decimal":
		values = []string{"point", "comma"}
	case "digits":
		values = []string{"1", "2"}
	}
	return keys(values, "")
}

var headWords = regexp.MustCompile("^ {0,3}(?:`{3,}|~{3,})\\s*(.*)$")

// headOffers are kinds, then the options of a kind and what they can be.
func (s *server) headOffers(at place) []offer {
	m := headWords.FindStringSubmatch(at.before)
	if m == nil {
		return nil
	}
	var out []offer
	if m[1] == "" {
		for _, k := range s.options.Kinds {
			if i := k.Info(); !i.MethodOnly {
				out = append(out, offer{i.Name, completeKeyword, i.What})
			}
		}
		return out
	}
	if strings.HasSuffix(at.before, "method=") {
		for _, n := range s.options.Library.MethodNames() {
			f, _ := s.options.Library.Method(n)
			out = append(out, offer{n, completeConstant, s.readMethod(f).Title})
		}
		return out
	}
	kind, _, _ := strings.Cut(m[1], " ")
	for _, k := range s.options.Kinds {
		if i := k.Info(); i.Name == kind {
			return keys(append([]string{"print"}, i.Options...), "=")
		}
	}
	return nil
}

// afterNumber: a unit is due after a number or after `in`.
var afterNumber = regexp.MustCompile(`(?:^|[^\p{L}\p{N}_.])(?:[0-9][0-9.]*(?:\([0-9.]+\))?(?:e[+-]?[0-9]+)?|in)\s+$`)

func (s *server) bodyOffers(d *document, at place) []offer {
	m := s.boundMethod(d, at.block)
	atStart := strings.TrimSpace(at.before) == ""
	var out []offer
	switch {
	case m != nil && atStart:
		for _, r := range m.Roles {
			out = append(out, offer{r.Name + " = ", completeProperty, r.TakesWords() + roleNeed(&r)})
		}
		return out
	case m != nil:
		for _, n := range s.options.Library.MaterialNames() {
			out = append(out, offer{n, completeConstant, "material"})
		}
	case atStart:
		if offers := s.settingOffers(at.block.Kind); len(offers) > 0 {
			return offers
		}
	}
	return append(s.expressionOffers(d, at), out...)
}

// settingOffers are the keys of a body that is settings.
func (s *server) settingOffers(kind string) []offer {
	var out []offer
	for _, k := range s.options.Kinds {
		if k.Info().Name != kind {
			continue
		}
		for _, ks := range k.Info().Keys {
			for _, o := range keys(ks.Names, ": ") {
				o.detail = "of " + ks.Of
				out = append(out, o)
			}
		}
	}
	return out
}

func roleNeed(r *method.Role) string {
	if r.Needed() {
		return ", needed"
	}
	return ""
}

// expressionOffers are what can stand in an expression.
func (s *server) expressionOffers(d *document, at place) []offer {
	var out []offer
	known := d.worked.Program.Known()
	instruments := strings.HasPrefix(at.typed, "@")
	if !instruments && afterNumber.MatchString(at.before) {
		return unitOffers()
	}
	depth := strings.Count(at.typed, ".")
	for _, n := range known {
		if strings.HasPrefix(n, "@") != instruments || !instruments && strings.Count(n, ".") > depth+1 {
			continue // what lies deeper is offered once one gets there
		}
		o := offer{n, completeVariable, ""}
		if t, ok := d.worked.Program.Tell(n); ok {
			o.detail = block.PlainText(t.Entry.Value)
		}
		out = append(out, o)
	}
	if instruments {
		return out
	}
	out = append(out, s.inner(d, at)...)
	if depth == 0 {
		for _, f := range eval.Functions() {
			out = append(out, offer{f.Name, completeFunction, f.Usage})
		}
	}
	return out
}

// unitOffers are the units, then those with a prefix.
func unitOffers() []offer {
	var out, prefixed []offer
	for _, u := range unit.All() {
		out = append(out, offer{u.Symbol, completeUnit, u.Name})
		if !u.Prefixes {
			continue
		}
		for _, p := range unit.Prefixes() {
			prefixed = append(prefixed, offer{p.Symbol + u.Symbol, completeUnit, p.Name + u.Name})
		}
	}
	return append(out, prefixed...)
}

// inner are the names within what stands before the last dot: line.slope.
func (s *server) inner(d *document, at place) []offer {
	i := strings.LastIndexByte(at.typed, '.')
	if i < 0 {
		return nil
	}
	head := at.typed[:i]
	v, ok := d.worked.Program.Lookup(head)
	if !ok {
		if v, ok = s.options.Library.Material(head); !ok {
			return nil
		}
	}
	var out []offer
	for _, n := range eval.FieldNames(v) {
		out = append(out, offer{head + "." + n, completeProperty, ""})
	}
	return out
}

// readMethod reads a method once for each text of it.
func (s *server) readMethod(f *source.File) *method.Method {
	return method.Read(f, block.KindNames(s.options.Kinds), &finding.Set{})
}
