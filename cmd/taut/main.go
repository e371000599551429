// Command taut builds records: Markdown files whose data and calculations are
// worked out, with units and uncertainties, into static pages.
package main

import (
	"os"
	"runtime/debug"
)

func init() {
	// A record makes a few megabytes of garbage and is done: collecting it half
	// way costs more than it gives. The environment's own word counts.
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
}

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
