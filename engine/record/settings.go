package record

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

// SettingKind is the shape of a setting.
type SettingKind int

// The shapes of a setting.
const (
	ScalarSetting SettingKind = iota
	ListSetting
	MapSetting
)

// Setting is a piece of YAML with its place. Scalars keep the text that was
// typed: 012 is the text 012.
type Setting struct {
	Kind  SettingKind
	Text  string      // of a scalar
	At    source.Span // of a scalar its text; of a list or map its start
	Items []*Setting
	Pairs []Pair
	// Broken says that there was more, or something else, that could not be
	// read: the finding has been made.
	Broken bool
}

// Pair is one key of a map, in the order of the text.
type Pair struct {
	Key   string
	KeyAt source.Span
	Value *Setting
}

// Get returns the value of a key, nil if it is absent.
func (s *Setting) Get(key string) *Setting {
	if s == nil {
		return nil
	}
	for _, p := range s.Pairs {
		if p.Key == key {
			return p.Value
		}
	}
	return nil
}

// Lacks reports whether a map has no such key, as far as it could be read.
func (s *Setting) Lacks(key string) bool { return !s.Broken && s.Get(key) == nil }

// List returns the items of a list, or the setting itself as its only item.
func (s *Setting) List() []*Setting {
	if s == nil {
		return nil
	}
	if s.Kind == ListSetting {
		return s.Items
	}
	return []*Setting{s}
}

// ReadSettings reads the body as a YAML map. It returns an empty map where
// nothing can be read.
func (b *Block) ReadSettings(set *finding.Set) *Setting {
	if b.Settings != nil {
		return b.Settings
	}
	empty := &Setting{Kind: MapSetting, At: b.Body.Span}
	before := set.Len()
	s := parseYAML(b.Body.Span, b.Body.Lines, set)
	if s == nil {
		empty.Broken = set.Len() > before
		return empty
	}
	if s.Kind != MapSetting {
		set.Add(notSettings(s.At))
		empty.Broken = true
		return empty
	}
	return s
}

// ParseSettings reads a whole file as YAML, nil where nothing can be read.
func ParseSettings(f *source.File, set *finding.Set) *Setting {
	all := f.Span(0, len(f.Text))
	return parseYAML(all, lineSpans(all), set)
}

// maxSettings bounds the number of YAML nodes of one body.
const maxSettings = 20000

// yamlReader turns yaml's tree, whose places count lines from the start of
// the body, into settings.
type yamlReader struct {
	whole source.Span
	lines []source.Span
	set   *finding.Set
	count int
	alias bool // one was reported
}

var yamlLine = regexp.MustCompile(`line (\d+)`)

func parseYAML(whole source.Span, lines []source.Span, set *finding.Set) *Setting {
	r := &yamlReader{whole: whole, lines: lines, set: set}
	var b strings.Builder
	for _, l := range lines {
		b.WriteString(l.Text())
		b.WriteByte('\n')
	}
	var doc yaml.Node
	if err := decodeYAML(b.String(), &doc); err != nil {
		msg := strings.TrimPrefix(err.Error(), "yaml: ")
		at := whole
		if m := yamlLine.FindStringSubmatch(msg); m != nil {
			n, _ := strconv.Atoi(m[1])
			at = r.line(n)
			msg = strings.TrimPrefix(msg, m[0]+": ")
		}
		set.Add(badYAML(at, msg))
		return nil
	}
	if len(doc.Content) == 0 {
		return nil
	}
	return r.setting(doc.Content[0], 0)
}

// decodeYAML turns a panic of the library into an error: a hostile body must
// not stop the build.
func decodeYAML(text string, doc *yaml.Node) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = errors.New("this can't be read as settings")
		}
	}()
	return yaml.Unmarshal([]byte(text), doc)
}

func (r *yamlReader) line(n int) source.Span {
	if n < 1 || len(r.lines) == 0 {
		return r.whole
	}
	return r.lines[min(n, len(r.lines))-1]
}

// place returns where a node stands. yaml counts lines and columns from 1, and
// columns in characters.
func (r *yamlReader) place(n *yaml.Node) source.Span {
	line := r.line(n.Line)
	text := line.Text()
	start, col := 0, 1
	for start < len(text) && col < n.Column {
		_, size := utf8.DecodeRuneInString(text[start:])
		start += size
		col++
	}
	start += properties(text[start:])
	length := 1
	if n.Kind == yaml.ScalarNode {
		length = len(n.Value)
		if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
			length += 2
		}
	}
	return line.Sub(start, start+length)
}

// properties returns the length of the anchors and tags that stand before a
// value.
func properties(text string) int {
	n := 0
	for n < len(text) && (text[n] == '&' || text[n] == '!') {
		i := strings.IndexAny(text[n:], " \t")
		if i < 0 {
			return 0
		}
		n += i
		n += len(text[n:]) - len(strings.TrimLeft(text[n:], " \t"))
	}
	return n
}

func (r *yamlReader) setting(n *yaml.Node, depth int) *Setting {
	r.count++
	at := r.place(n)
	if r.count > maxSettings || depth > 50 {
		if r.count == maxSettings+1 || depth == 51 {
			r.set.Add(tooManySettings(at))
		}
		return &Setting{At: at, Broken: true}
	}
	switch n.Kind {
	case yaml.AliasNode:
		if !r.alias {
			r.set.Add(noAliases(at, n.Value))
		}
		r.alias = true
		return &Setting{At: at, Broken: true}
	case yaml.SequenceNode:
		s := &Setting{Kind: ListSetting, At: at}
		for _, c := range n.Content {
			item := r.setting(c, depth+1)
			s.Items = append(s.Items, item)
			s.Broken = s.Broken || item.Broken
		}
		return s
	case yaml.MappingNode:
		s := &Setting{Kind: MapSetting, At: at}
		for i := 0; i+1 < len(n.Content); i += 2 {
			k := n.Content[i]
			p := Pair{Key: k.Value, KeyAt: r.place(k)}
			if before := s.Get(p.Key); before != nil {
				r.set.Add(repeatedKey(p, before.At))
				continue
			}
			p.Value = r.setting(n.Content[i+1], depth+1)
			s.Pairs = append(s.Pairs, p)
		}
		return s
	case yaml.ScalarNode:
		return &Setting{Text: n.Value, At: at}
	}
	return &Setting{At: at, Text: fmt.Sprint(n.Value)}
}

// Inner returns the span of a scalar's text, without quotes. Where the text
// was escaped or folded, so that it stands nowhere as such, the whole scalar
// is returned and ok is false.
func (s *Setting) Inner() (at source.Span, ok bool) {
	at = s.At
	if t := at.Text(); len(t) >= 2 && (t[0] == '"' || t[0] == '\'') && t[len(t)-1] == t[0] {
		at = at.Sub(1, len(t)-1)
	}
	return at, at.Text() == s.Text
}
