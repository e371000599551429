package main

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"example.org/taut/engine/unit"
)

var _ = add(&command{name: "units", what: "list the units, with the source of each factor", setup: plain(runUnits)})

func runUnits(k *call) int {
	if len(k.args) > 0 {
		return k.wrongUsage("`units` takes no argument")
	}
	w := tabwriter.NewWriter(k.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "unit\tname\tquantity\tin SI units\tprefixes\tsource")
	for _, e := range unit.All() {
		symbol := e.Symbol
		if e.Also != "" {
			symbol += " or " + e.Also
		}
		prefixes := "no"
		if e.Prefixes {
			prefixes = "yes"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", symbol, e.Name, e.Quantity, e.Factor, prefixes, e.Source)
	}
	if err := w.Flush(); err != nil {
		return exitFiles
	}
	var list []string
	for _, p := range unit.Prefixes() {
		list = append(list, fmt.Sprintf("%s 10^%d", p.Symbol, p.Power))
	}
	fmt.Fprintf(k.out, "\nprefixes (SI Brochure, table 7): %s\n", strings.Join(list, ", "))
	return exitOK
}
