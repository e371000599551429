package main

import (
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/plaintext"
	"example.org/taut/engine/record"
	"example.org/taut/engine/source"
	"example.org/taut/examples/manual"
)

// chapter is a chapter of the manual.
type chapter struct {
	name, title string
	file        *source.File
}

// indexName is the chapter that tells of the others, in their order.
const indexName = "index"

var (
	chapterLink  = regexp.MustCompile(`\]\(([\w-]+)(?:/record)?\.html\)`)
	chapterTitle = regexp.MustCompile(`(?m)^title: *(.+)$`)
)

// chapters lists the chapters of the manual: the index, then the others in the
// order in which the index links to them.
func chapters() []chapter {
	all := map[string]chapter{}
	var names []string
	err := fs.WalkDir(manual.Chapters, ".", func(at string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		text, err := fs.ReadFile(manual.Chapters, at)
		if err != nil {
			return err
		}
		name := strings.TrimSuffix(strings.TrimSuffix(at, ".md"), "/record")
		c := chapter{name: name, title: name, file: source.NewFile(path.Base(at), text)}
		if m := chapterTitle.FindSubmatch(text); m != nil {
			c.title = string(m[1])
		}
		all[name], names = c, append(names, name)
		return nil
	})
	if err != nil {
		panic(err) // it is in the program itself
	}
	order := []string{indexName}
	if i, ok := all[indexName]; ok {
		for _, m := range chapterLink.FindAllStringSubmatch(string(i.file.Text), -1) {
			order = append(order, m[1])
		}
	}
	var out []chapter
	for _, name := range append(order, names...) {
		if c, ok := all[name]; ok {
			out = append(out, c)
			delete(all, name)
		}
	}
	return out
}

// workedOut holds the chapters that were worked out, by their names.
var workedOut = map[string]*build.Shown{}

// shown works a chapter out.
func (c *chapter) shown() *build.Shown {
	if workedOut[c.name] == nil {
		workedOut[c.name] = build.InMemory(c.file, c.options())
	}
	return workedOut[c.name]
}

func (c *chapter) options() build.Options { return options(nil) }

// text is a whole chapter, as a terminal shows it.
func (c *chapter) text() string {
	s := c.shown()
	text := strings.ToUpper(c.title) + "\n\n"
	if len(s.Cautions) > 0 {
		text += plaintext.PrintNodes(s.Cautions) + "\n"
	}
	return text + plaintext.Print(s.Body, plaintext.Sections(s.Body.Doc)[0].Nodes)
}

// entry is what the manual says of one word: a section under a heading that
// has the word as code, or a row of a table that begins with it.
type entry struct {
	word         string
	chapter      chapter
	section, row int // row is −1 for the whole section
}

// entries lists the entries of a chapter.
func (c *chapter) entries() []entry {
	rec := record.Parse(c.file, block.KindNames(blocks.All()), &finding.Set{})
	var out []entry
	for i, s := range plaintext.Sections(rec.Doc) {
		for _, code := range s.Codes {
			out = append(out, entry{wordOf(code), *c, i, -1})
		}
		if i == 0 {
			continue // every row stands in a section of its own too
		}
		for n, r := range ownRows(&s, rec.Doc) {
			for _, code := range r.Codes {
				out = append(out, entry{wordOf(code), *c, i, n})
			}
		}
	}
	return slices.DeleteFunc(out, func(e entry) bool { return e.word == "" })
}

// ownRows are the rows of a section that no lower heading parts from its own.
func ownRows(s *plaintext.Section, doc *record.Document) []plaintext.Row {
	own := *s
	for i, n := range own.Nodes {
		if i > 0 && plaintext.IsHeading(n) {
			own.Nodes = own.Nodes[:i]
			break
		}
	}
	return own.Rows(doc)
}

var firstWord = regexp.MustCompile(`^[^\s(=]+`)

// wordOf is the word that a piece of code in a heading explains: `pairs` of
// `pairs(c, n)`, `data` of `data NAME`.
func wordOf(code string) string {
	w := firstWord.FindString(code)
	if strings.HasPrefix(w, "-") || strings.HasPrefix(code, "taut ") {
		return "" // an option or a command, of which `taut help` tells by itself
	}
	return strings.TrimSuffix(w, ":")
}

// text is the entry, as a terminal shows it.
func (e *entry) text() string {
	body := e.chapter.shown().Body
	s := plaintext.Sections(body.Doc)[e.section]
	if e.row < 0 {
		return plaintext.Print(body, s.Nodes)
	}
	return s.Title + " (chapter " + e.chapter.name + ")\n\n" + plaintext.PrintRow(body, ownRows(&s, body.Doc)[e.row])
}

// about is all that the manual says of a word: sections, then rows of tables;
// "" for nothing.
func about(word string) string {
	var sections, rows []entry
	for _, c := range chapters() {
		for _, e := range c.entries() {
			switch {
			case e.word != word || repeats(sections, e) || repeats(rows, e):
			case e.row < 0:
				sections = append(sections, e)
			default:
				rows = append(rows, e)
			}
		}
	}
	var parts, from []string
	for _, e := range append(sections, rows...) {
		parts = append(parts, e.text())
		if see := "`taut help " + e.chapter.asked() + "`"; !slices.Contains(from, see) {
			from = append(from, see)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, "\n") + "\nFrom the manual: " + strings.Join(from, ", ") + "\n"
}

// asked is what a chapter is asked for by.
func (c *chapter) asked() string {
	if commands[c.name] != nil {
		return c.name + ".md"
	}
	return c.name
}

// repeats reports whether an entry is in a list already, as where its heading
// has a word twice.
func repeats(list []entry, e entry) bool {
	return slices.ContainsFunc(list, func(o entry) bool {
		return o.chapter.name == e.chapter.name && o.section == e.section && o.row == e.row
	})
}

// topicNames lists all that `taut help` knows of.
func topicNames() []string {
	names := commandNames()
	for _, c := range chapters() {
		names = append(names, c.name)
		for _, e := range c.entries() {
			names = append(names, e.word)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}
