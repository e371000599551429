package main

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
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
		c := commands[n]
		rows = append(rows, [2]string{strings.TrimSpace("taut " + n + " " + c.args), c.what})
	}
	writeRows(&b, rows)
	b.WriteString("\n`taut help COMMAND` tells more of one, and `taut help TOPIC` shows the manual. Its chapters:\n\n")
	rows = nil
	for _, c := range chapters() {
		rows = append(rows, [2]string{c.asked(), c.title})
	}
	writeRows(&b, rows)
	b.WriteString("\nKinds of blocks, keys, functions, units, methods and findings are topics too: taut help pairs\n\nExit codes: 0 no errors, 1 errors in a record, 2 wrong usage, 3 files that can't be\nread or written.\n")
	return b.String()
}

// help is the help of one command.
func (c *command) help() string {
	var b strings.Builder
	f := newFlags()
	c.setup(f)
	fmt.Fprintf(&b, "taut %s", c.name)
	if c.args != "" {
		b.WriteString(" " + c.args)
	}
	for _, s := range f.shown {
		fmt.Fprintf(&b, " [%s]", strings.TrimSpace(dashed(s.name)+" "+s.value))
	}
	fmt.Fprintf(&b, "\n\n%s.\n", strings.ToUpper(c.what[:1])+c.what[1:])
	if c.more != "" {
		b.WriteString("\n" + c.more + "\n")
	}
	var rows [][2]string
	for _, s := range f.shown {
		rows = append(rows, [2]string{strings.TrimSpace(dashed(s.name) + " " + s.value), s.what})
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
	for _, r := range rows {
		fmt.Fprintf(b, "  %-*s  %s\n", width, r[0], r[1])
	}
}
