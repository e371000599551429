package main

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/taut/blocks"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/view"
	"example.org/taut/themes"
)

var shells = map[string]func(root *cobra.Command, out io.Writer) error{
	"bash": func(root *cobra.Command, out io.Writer) error { return root.GenBashCompletionV2(out, true) },
	"zsh":  func(root *cobra.Command, out io.Writer) error { return root.GenZshCompletion(out) },
	"fish": func(root *cobra.Command, out io.Writer) error { return root.GenFishCompletion(out, true) },
}

const shellWords = "bash|zsh|fish"

var _ = add(&command{
	name: "completion", args: shellWords, what: "print what makes a shell complete the words of taut",
	more: "For the shell that is running, in bash (with the package bash-completion) or in zsh:\n" +
		"    source <(taut completion bash)\n" +
		"    source <(taut completion zsh)\n" +
		"in fish:\n" +
		"    taut completion fish | source\n" +
		"For every later one, put that line into `~/.bashrc` or `~/.zshrc` (in zsh, behind compinit),\n" +
		"or write the output to `~/.config/fish/completions/taut.fish`.",
	setup: plain(runCompletion),
})

func runCompletion(k *call) int {
	if len(k.args) != 1 {
		return k.wrongUsage("`completion` needs the name of a shell: " + shellWords)
	}
	print, ok := shells[k.args[0]]
	if !ok {
		names := strings.Split(shellWords, "|")
		hint := finding.DidYouMean(k.args[0], names)
		if hint == "" {
			hint = "there are " + strings.Join(names, ", ")
		}
		return k.wrongUsage(withHint(fmt.Sprintf("there is no completion for `%s`", k.args[0]), hint))
	}
	var code int
	if err := print(tree(call{out: k.out, err: k.err}, &code), k.out); err != nil {
		return k.complain(err)
	}
	return exitOK
}

// choice says how a word of the command line is completed: from names, or
// from files.
type choice struct {
	names func() []string
	files cobra.ShellCompDirective // what stands beside the names, or instead of them
	ext   []string                 // of the files, with ShellCompDirectiveFilterFileExt
}

var (
	records  = choice{files: cobra.ShellCompDirectiveFilterFileExt, ext: []string{"md"}}
	folders  = choice{files: cobra.ShellCompDirectiveFilterDirs}
	anyFile  = choice{files: cobra.ShellCompDirectiveDefault}
	nothing  = choice{files: cobra.ShellCompDirectiveNoFileComp}
	methods  = choice{names: func() []string { return blocks.Built().MethodNames() }, files: cobra.ShellCompDirectiveDefault}
	noPath   = cobra.ShellCompDirectiveNoFileComp
	anyWords = map[string]choice{
		"PATH": records, "RECORD": records, "KEY": anyFile, "SUBMISSION": anyFile, "ARCHIVE": folders, "METHOD": methods, "DIR": folders, "FILE": anyFile,
		"VIEW":           {names: view.Names, files: noPath},
		"NAME|DIR":       {names: themes.Names, files: cobra.ShellCompDirectiveDefault},
		"methods NAME":   {names: methods.names, files: noPath},
		"materials NAME": {names: func() []string { return blocks.Built().MaterialNames() }, files: noPath},
		"TOPIC":          {names: topicNames, files: noPath},
	}
)

// choiceOf is how the word of a subcommand's usage is completed that stands
// for an argument or the value of an option: "DIR", or of words to choose from,
// "text|json". A word with a meaning of its own in one subcommand has an entry
// with its name.
func choiceOf(command, word string) choice {
	if c, ok := anyWords[command+" "+word]; ok {
		return c
	}
	if c, ok := anyWords[word]; ok {
		return c
	}
	if all := strings.Split(word, "|"); len(all) > 1 && word == strings.ToLower(word) {
		return choice{names: func() []string { return all }, files: noPath}
	}
	return nothing
}

// arguments are the words of the usage for the arguments; options that a
// command needs stand behind them.
func (c *command) arguments() []string {
	words := strings.Fields(c.args)
	if i := slices.IndexFunc(words, func(w string) bool { return strings.HasPrefix(w, "-") }); i >= 0 {
		words = words[:i]
	}
	return words
}

// argument is the word of the usage for an argument at a place: the last one
// stands for all further where it ends in "…".
func (c *command) argument(at int) string {
	words := c.arguments()
	if len(words) == 0 {
		return ""
	}
	if last := words[len(words)-1]; at >= len(words) && strings.HasSuffix(strings.Trim(last, "[]"), "…") {
		at = len(words) - 1
	}
	if at >= len(words) {
		return ""
	}
	return strings.TrimSuffix(strings.Trim(words[at], "[]"), "…")
}

// completes tells the command library how the words of a subcommand are
// completed.
func (c *command) completes(l *cobra.Command, f *flags) {
	l.ValidArgsFunction = func(_ *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
		return choiceOf(c.name, c.argument(len(args))).complete(typed)
	}
	for _, s := range f.shown {
		if s.value == "" {
			continue
		}
		word := choiceOf(c.name, s.value)
		err := l.RegisterFlagCompletionFunc(longName(s.name), func(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
			return word.complete(typed)
		})
		if err != nil {
			panic(err) // the option was just added
		}
	}
}

func (c choice) complete(typed string) ([]string, cobra.ShellCompDirective) {
	if c.names == nil {
		return c.ext, c.files
	}
	var out []string
	for _, n := range c.names() {
		if strings.HasPrefix(n, typed) {
			out = append(out, n)
		}
	}
	return out, c.files
}

// completionsOnly leaves out of the library's answers the long names that
// nobody can type. The library writes one answer at a time.
type completionsOnly struct{ to io.Writer }

func (w completionsOnly) Write(p []byte) (int, error) {
	if bytes.HasPrefix(p, []byte("--"+unwritable)) {
		return len(p), nil
	}
	return w.to.Write(p)
}
