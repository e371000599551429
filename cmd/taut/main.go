// Command taut builds records: Markdown files whose data and calculations are
// worked out, with units and uncertainties, into static pages.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
