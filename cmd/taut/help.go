package main

import (
	"fmt"
	"strings"

	"example.org/taut/engine/finding"
)

var (
	_ = add(&command{name: "help", args: "[COMMAND]", what: "tell how a command is used", setup: plain(runHelp)})
	_ = add(&command{name: "version", what: "print the version", setup: plain(runVersion)})
)

func runHelp(k *call) int {
	if len(k.args) > 1 {
		return k.wrongUsage("`help` tells of one command at a time")
	}
	if len(k.args) == 0 {
		fmt.Fprint(k.out, usage())
		return exitOK
	}
	c := commands[k.args[0]]
	if c == nil {
		return wrongUsage(k.err, withHint(fmt.Sprintf("there is no command `%s`", k.args[0]), finding.DidYouMean(k.args[0], commandNames())), "taut help")
	}
	fmt.Fprint(k.out, c.help())
	return exitOK
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
	b.WriteString("\n`taut help COMMAND` tells more of one.\n\nExit codes: 0 no errors, 1 errors in a record, 2 wrong usage, 3 files that can't be\nread or written.\n")
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
