package main

import (
	"fmt"

	"example.org/taut/blocks"
	"example.org/taut/engine/block"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/variant"
)

// trials says how often a method was simulated.
func trials(r *variant.Report) string {
	text := fmt.Sprintf("%d simulations without faults", r.Clean)
	switch {
	case r.Faults == 1:
		text += fmt.Sprintf(", %d with its fault", variant.FaultSeeds)
	case r.Faults > 1:
		text += fmt.Sprintf(", %d with each of %d faults", variant.FaultSeeds, r.Faults)
	}
	return text
}

// checkMethod holds a method file to its rules and tries it on its own
// simulation.
func (k *call) checkMethod(path string) ([]*finding.Finding, error) {
	f, err := build.MethodFile(path)
	if err != nil {
		return nil, err
	}
	var set finding.Set // what is read here is found again by the check
	m := method.Read(f, block.KindNames(blocks.All()), &set)
	r := variant.Check(m, blocks.Built(), blocks.All())
	if r.Clean > 0 {
		fmt.Fprintf(k.err, "%s: %s\n", f.Name, trials(r))
	}
	return r.Findings, nil
}
