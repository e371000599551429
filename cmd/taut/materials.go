package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"example.org/taut/blocks"
	"example.org/taut/engine/finding"
)

var _ = add(&command{
	name: "materials", args: "[NAME]", what: "list the constants of materials, with the source of each",
	more: "With NAME, those of one material. A record writes a constant as steel.E, and a strength by\n" +
		"temper as copper.strength_annealed; in a method, material.strength(temper) is that of the\n" +
		"temper bound. A ± stands only where the source states one; a value from memory says so.\n" +
		"Strengths are plausibility limits, and no permission to load anything.",
	setup: plain(runMaterials),
})

func runMaterials(k *call) int {
	only := ""
	switch len(k.args) {
	case 0:
	case 1:
		only = k.args[0]
		if _, ok := blocks.Built().Material(only); !ok {
			names := blocks.Built().MaterialNames()
			hint := finding.DidYouMean(only, names)
			if hint == "" {
				hint = "they are " + strings.Join(names, ", ")
			}
			return k.wrongUsage(withHint(fmt.Sprintf("there is no material `%s`", only), hint))
		}
	default:
		return k.wrongUsage("`materials` takes the name of one material")
	}
	w := tabwriter.NewWriter(k.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "material\tconstant\tvalue\tsource")
	for _, c := range blocks.Built().Constants() {
		if only == "" || c.Material == only {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", c.Material, c.Name, c.Typed, c.From)
		}
	}
	if err := w.Flush(); err != nil {
		return exitFiles
	}
	return exitOK
}
