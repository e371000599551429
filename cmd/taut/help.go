package main

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/plaintext"
)

var (
	_ = add(&command{name: "help", args: "[TOPIC]", what: "tell how a command is used, or what the manual says of a topic",
		more: "TOPIC is a command, a chapter of the manual, or any word that has an entry there: a kind of\n" +
			"block, a key, a function, a unit, a method, a finding. What a chapter computes is computed\n" +
			"when it is shown. A chapter that has the name of a command is asked for as NAME.md.",
		setup: plain(runHelp)})
	_ = add(&command{name: "version", what: "print the version", setup: plain(runVersion)})
)

func runHelp(k *call) int {
	if len(k.args) > 1 {
		return k.wrongUsage("`help` tells of one topic at a time")
	}
	if len(k.args) == 0 {
		fmt.Fprint(k.out, usage())
		return exitOK
	}
	text := topic(k.args[0])
	if text == "" {
		hint := finding.DidYouMean(k.args[0], topicNames())
		return wrongUsage(k.err, withHint(fmt.Sprintf("there is no help on `%s`", k.args[0]), hint), "taut help")
	}
	fmt.Fprint(k.out, text)
	return exitOK
}

// topic is all that is said of a word; "" for nothing.
func topic(word string) string {
	c := commands[word]
	for _, ch := range chapters() {
		switch {
		case ch.name != strings.TrimSuffix(word, ".md"):
		case ch.name == word && c != nil:
			return c.help() + fmt.Sprintf("\n`taut help %s` shows the chapter of the manual.\n", ch.asked())
		default:
			return ch.text()
		}
	}
	if c != nil {
		return c.help()
	}
	return about(word)
}

func runVersion(k *call) int {
	if len(k.args) > 0 {
		return k.wrongUsage("`version` takes no argument")
	}
	fmt.Fprintf(k.out, "taut %s\n", version)
	return exitOK
}

// usage is the help of the whole program.
func usage() string {
	var b strings.Builder
	b.WriteString("Taut works out laboratory records: data and calculations in Markdown, with units\nand uncertainties, to static pages.\n\n")
	var rows [][2]string
	for _, n := range commandNames() {
		rows = append(rows, [2]string{strings.Join(append([]string{"taut", n}, commands[n].arguments()...), " "), commands[n].what})
	}
	writeRows(&b, rows)
	b.WriteString("\n`taut help COMMAND` tells more of one, and `taut help TOPIC` shows the manual.\nIts chapters:\n\n")
	rows = nil
	for _, c := range chapters() {
		rows = append(rows, [2]string{c.asked(), c.title})
	}
	writeRows(&b, rows)
	b.WriteString("\nKinds of blocks, keys, functions, units, methods and findings are topics too:\ntaut help pairs\n\nExit codes: 0 no errors, 1 errors in a record, 2 wrong usage, 3 files that\ncan't be read or written.\n")
	return b.String()
}

// options are the options of a command, in the order of its help.
func (c *command) options() []flagHelp {
	f := newFlags()
	c.setup(f)
	return f.shown
}

// typed is an option with the name of its value, as it is typed.
func (h *flagHelp) typed() string { return strings.TrimSpace(dashed(h.name) + " " + h.value) }

// usageWidth is the number of columns of the lines that say how a command is
// typed: they stand as code in the manual, on pages that are printed.
const usageWidth = 72

// usage is how a command is typed: its arguments, the options that it needs,
// then the others in brackets. Lines end between options only.
func (c *command) usage() string {
	words := append([]string{"taut", c.name}, c.arguments()...)
	options := c.options()
	needed := func(o flagHelp) bool { return slices.Contains(strings.Fields(c.args), dashed(o.name)) }
	for _, o := range options {
		if needed(o) {
			words = append(words, o.typed())
		}
	}
	for _, o := range options {
		if !needed(o) {
			words = append(words, "["+o.typed()+"]")
		}
	}
	for i, w := range words {
		words[i] = unparted(w)
	}
	const indent = "    "
	lines := plaintext.Wrap(strings.Join(words, " "), usageWidth-len(indent))
	return parted(strings.ReplaceAll(lines, "\n", "\n"+indent))
}

// told is what the command does, as a sentence.
func (c *command) told() string { return strings.ToUpper(c.what[:1]) + c.what[1:] + "." }

// paragraph is a part of what is told of a command: words, or lines that stand
// as they are because they begin with a space.
type paragraph struct {
	text string
	code bool
}

// paragraphs are the parts of what is told of a command.
func (c *command) paragraphs() []paragraph {
	var out []paragraph
	fresh := true
	for _, line := range strings.Split(c.more, "\n") {
		code := strings.HasPrefix(line, " ")
		switch {
		case line == "":
			fresh = true
			continue
		case fresh || code != out[len(out)-1].code:
			out = append(out, paragraph{line, code})
		case code:
			out[len(out)-1].text += "\n" + line
		default:
			out[len(out)-1].text += " " + line
		}
		fresh = false
	}
	return out
}

// help is the help of one command.
func (c *command) help() string {
	var b strings.Builder
	b.WriteString(c.usage() + "\n\n" + c.told() + "\n")
	for _, p := range c.paragraphs() {
		if p.code {
			b.WriteString("\n" + p.text + "\n")
		} else {
			b.WriteString("\n" + wrapped(p.text, plaintext.Width) + "\n")
		}
	}
	var rows [][2]string
	for _, o := range c.options() {
		rows = append(rows, [2]string{o.typed(), o.what})
	}
	if len(rows) > 0 {
		b.WriteString("\n")
		writeRows(&b, rows)
	}
	return b.String()
}

// writeRows writes two aligned columns.
func writeRows(b *strings.Builder, rows [][2]string) {
	width := 0
	for _, r := range rows {
		width = max(width, len([]rune(r[0])))
	}
	next := "\n" + strings.Repeat(" ", width+4)
	for _, r := range rows {
		fmt.Fprintf(b, "  %-*s  %s\n", width, r[0], strings.ReplaceAll(wrapped(r[1], plaintext.Width-width-4), "\n", next))
	}
}

var inCode = regexp.MustCompile("`[^`]*`")

// wrapped sets words in lines; code between backticks is parted nowhere.
func wrapped(s string, width int) string {
	return parted(plaintext.Wrap(inCode.ReplaceAllStringFunc(s, unparted), width))
}

// unparted has spaces at which no line ends, parted again the usual ones.
func unparted(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
func parted(s string) string   { return strings.ReplaceAll(s, "\u00a0", " ") }
