// Command make makes the records of the example archive: two invented
// apparatus, each with a year of invented records, from a seed. Every set of
// readings comes from the simulation of its method, in which the truths below
// stand in the place of drawn ones.
//
//	go run ./examples/archive/make -o DIR [-count N] [-seed S]
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
)

func main() { os.Exit(run(os.Args[1:], os.Stderr)) }

func run(args []string, errs io.Writer) int {
	f := flag.NewFlagSet("make", flag.ContinueOnError)
	f.SetOutput(errs)
	dir := f.String("o", "", "the folder for the records, new or empty")
	count := f.Int("count", 26, "how many records of each apparatus, spread over the year")
	seed := f.String("seed", "example", "the phrase from which all chance comes")
	if err := f.Parse(args); err != nil {
		return 2
	}
	if *dir == "" || *count < 2 || *count > 365 || f.NArg() > 0 {
		fmt.Fprintln(errs, "make: it needs -o DIR, and a -count from 2 to 365")
		return 2
	}
	if list, err := os.ReadDir(*dir); err == nil && len(list) > 0 {
		fmt.Fprintf(errs, "make: the folder %s is not empty\n", *dir)
		return 2
	}
	if err := os.MkdirAll(*dir, 0o777); err != nil {
		fmt.Fprintf(errs, "make: %v\n", err)
		return 1
	}
	// Below a folder with this file records keep their paths when they are
	// sealed, so that a later version is known for one.
	if err := os.WriteFile(filepath.Join(*dir, "taut.root"), nil, 0o666); err != nil {
		fmt.Fprintf(errs, "make: %v\n", err)
		return 1
	}
	for _, a := range apparatus {
		for i := range *count {
			if err := write(*dir, a, i, *count, *seed); err != nil {
				fmt.Fprintf(errs, "make: %v\n", err)
				return 1
			}
		}
	}
	return 0
}

// write writes one record with its files into a folder of its own.
func write(dir string, a *frame, i, count int, seed string) error {
	files, folder, err := a.record(i, count, seed)
	if err != nil {
		return err
	}
	dir = filepath.Join(dir, a.identity, folder)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	var names []string
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(files[name]), 0o666); err != nil {
			return err
		}
	}
	return nil
}
