package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// shellPrograms call a shell's own completion: each reads the script from
// `taut completion`, completes the words that are its arguments, of which the
// last is not yet finished, and prints what it proposes.
var shellPrograms = map[string]string{
	"bash": `
source /usr/share/bash-completion/bash_completion
source <(taut completion bash)
complete -p taut >/dev/null || exit 1
COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMP_LINE="$*"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9
__start_taut 2>/dev/null
printf '%s\n' "${COMPREPLY[@]}"`,
	"fish": `
taut completion fish | source
complete -C "$argv"`,
	// zsh completes in its line editor only: it is given a terminal, the words
	// and a tab.
	"zsh": `
zmodload zsh/zpty
zpty z zsh -f -i
zpty -w z 'PROMPT=go"""">> RPROMPT=; stty cols 200; autoload -U compinit; compinit -u -D; source <(taut completion zsh); PROMPT=go">>"'
zpty -r z line '*go>>*'
zpty -n -w z "$*"$'\t\t\C-U'$'exit\n'
while zpty -r z line; do print -r -- $line; done`,
}

func inShell(t *testing.T, shell string, words ...string) string {
	t.Helper()
	path, err := exec.LookPath(shell)
	if err != nil {
		t.Skip("there is no " + shell)
	}
	args := append([]string{"-c", shellPrograms[shell]}, words...)
	if shell != "fish" {
		args = slices.Insert(args, 2, shell)
	}
	c := exec.Command(path, args...)
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", shell, err, out)
	}
	return string(out)
}

// TestCompletion completes words in real shells.
func TestCompletion(t *testing.T) {
	if _, err := os.Stat("/usr/share/bash-completion/bash_completion"); err != nil {
		t.Skip("the package bash-completion is not installed")
	}
	dir := t.TempDir()
	for _, name := range []string{"wire.md", "pull.csv"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	for _, c := range []struct {
		words []string
		want  string
		not   string // bash alone leaves files out by their endings, and shows no more than its answer
	}{
		{[]string{"taut", "bu"}, "build", "check"},
		{[]string{"taut", "build", "--vi"}, "--view", "--theme"},
		{[]string{"taut", "build", "--view", ""}, "worked", "wire.md"},
		{[]string{"taut", "build", ""}, "wire.md", "pull.csv"},
		{[]string{"taut", "new", "spr"}, "spring-static", "stretched-wire"},
		{[]string{"taut", "build", "--theme", "be"}, "bench", "wire.md"},
	} {
		for _, shell := range []string{"bash", "zsh", "fish"} {
			t.Run(shell+" "+strings.Join(c.words, " "), func(t *testing.T) {
				out := inShell(t, shell, c.words...)
				if !strings.Contains(out, c.want) || shell == "bash" && strings.Contains(out, c.not) {
					t.Errorf("%q, want %q and not %q", out, c.want, c.not)
				}
			})
		}
	}
}
