package main

import (
	"errors"
	"fmt"
	"io"
	"sort"

	"example.org/taut/engine/finding"
)

// Exit codes.
const (
	exitOK     = 0
	exitErrors = 1 // errors in a record
	exitUsage  = 2 // wrong usage
	exitFiles  = 3 // files that can't be read or written
)

// version is that of the program; results files carry it.
const version = "0.1.0"

// command is a subcommand. Each has a file of its own, which adds it to the
// list.
type command struct {
	name string
	args string // what follows the name, "PATH…"
	what string // one line
	more string // the rest of its help; may be empty
	// setup adds the options and returns what runs the command once they are
	// read.
	setup func(*flags) func(*call) int
}

var commands = map[string]*command{}

func add(c *command) struct{} {
	commands[c.name] = c
	return struct{}{}
}

func commandNames() []string {
	var names []string
	for n := range commands {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// call is one call of a subcommand.
type call struct {
	*command
	in       io.Reader
	out, err io.Writer
	args     []string // without the options
}

// run runs the program and returns its exit code.
func run(args []string, in io.Reader, out, errs io.Writer) int {
	if len(args) == 0 {
		fmt.Fprint(errs, usage())
		return exitUsage
	}
	name := args[0]
	switch name {
	case "--help", "-h":
		name = "help"
	case "--version":
		name = "version"
	}
	c := commands[name]
	if c == nil {
		return wrongUsage(errs, withHint(fmt.Sprintf("there is no command `%s`", name), finding.DidYouMean(name, commandNames())), "taut help")
	}
	k := &call{command: c, in: in, out: out, err: errs}
	f := newFlags()
	do := c.setup(f)
	rest, err := f.parse(args[1:])
	if errors.Is(err, errHelp) {
		fmt.Fprint(out, c.help())
		return exitOK
	}
	if err != nil {
		return k.wrongUsage(err.Error())
	}
	k.args = rest
	return do(k)
}

func wrongUsage(errs io.Writer, message, help string) int {
	fmt.Fprintf(errs, "taut: %s\n`%s` tells how it is used\n", message, help)
	return exitUsage
}

func (k *call) wrongUsage(message string) int {
	return wrongUsage(k.err, message, "taut help "+k.name)
}

// plain is the setup of a command without options.
func plain(run func(*call) int) func(*flags) func(*call) int {
	return func(*flags) func(*call) int { return run }
}

func withHint(message, hint string) string {
	if hint == "" {
		return message
	}
	return message + "; " + hint
}
