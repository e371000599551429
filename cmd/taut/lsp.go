package main

import "example.org/taut/engine/editor"

var _ = add(&command{
	name: "lsp", what: "help an editor while a record is written, over its standard input and output",
	more: "An editor that speaks the Language Server Protocol starts this command by itself: tell\n" +
		"it to run `taut lsp` for Markdown files. It shows findings while one types, unsaved\n" +
		"texts included, says what a name stands for (value, uncertainty, definition), goes to\n" +
		"its definition, and completes names, instruments, functions, units, kinds, keys,\n" +
		"roles and methods. Nothing is written and nothing is asked of the network.",
	setup: plain(runLSP),
})

func runLSP(k *call) int {
	if len(k.args) > 0 {
		return k.wrongUsage("`lsp` takes no argument: an editor speaks to it")
	}
	if !editor.Serve(k.in, k.out, k.err, options(nil)) {
		return exitErrors // as the protocol asks where the editor left without `shutdown`
	}
	return exitOK
}
