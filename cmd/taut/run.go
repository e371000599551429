package main

import (
	"fmt"
	"io"
	"sort"

	"github.com/spf13/cobra"

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
	args string // what follows the name, "PATH…"; its words say what completes them, see completion.go
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
	switch args[0] {
	case "--help", "-h":
		args = append([]string{"help"}, args[1:]...)
	case "--version":
		args = append([]string{"version"}, args[1:]...)
	case cobra.ShellCompRequestCmd, cobra.ShellCompNoDescRequestCmd:
		out = completionsOnly{out}
	default:
		if commands[args[0]] == nil {
			return wrongUsage(errs, withHint(fmt.Sprintf("there is no command `%s`", args[0]), finding.DidYouMean(args[0], commandNames())), "taut help")
		}
	}
	code := exitOK
	root := tree(call{in: in, out: out, err: errs}, &code)
	root.SetArgs(args)
	if c, err := root.ExecuteC(); err != nil {
		return wrongUsage(errs, err.Error(), "taut help "+c.Name())
	}
	return code
}

// tree is the program as the command library wants it. What a subcommand
// returns goes to code.
func tree(base call, code *int) *cobra.Command {
	root := &cobra.Command{Use: "taut", SilenceErrors: true, SilenceUsage: true}
	root.SetOut(base.out)
	root.SetErr(base.err)
	root.SetUsageFunc(func(*cobra.Command) error { return nil })
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { fmt.Fprint(base.out, commands[c.Name()].help()) })
	for _, name := range commandNames() {
		k := base
		k.command = commands[name]
		c := k.library(code)
		if name == "help" {
			root.SetHelpCommand(c)
		}
		root.AddCommand(c)
	}
	return root
}

// library is a subcommand as the command library wants it.
func (k *call) library(code *int) *cobra.Command {
	c := &cobra.Command{Use: k.name, Short: k.what}
	f := &flags{set: c.Flags()}
	do := k.setup(f)
	c.Flags().Bool("help", false, "tell how it is used")
	c.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return f.usageOf(err) })
	c.Run = func(_ *cobra.Command, args []string) {
		k.args = args
		*code = do(k)
	}
	k.completes(c, f)
	return c
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
