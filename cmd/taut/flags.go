package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"

	"example.org/taut/engine/finding"
)

// flags are the options of a subcommand: long names with two hyphens, names of
// one letter with one. They may stand before or after the paths; after `--`
// nothing is an option.
type flags struct {
	*flag.FlagSet
	// shown is the name of each option's value, "DIR"; in the order of the
	// help.
	shown []flagHelp
}

type flagHelp struct{ name, value, what string }

var errHelp = errors.New("help is asked for")

func newFlags() *flags {
	f := &flags{FlagSet: flag.NewFlagSet("taut", flag.ContinueOnError)}
	f.SetOutput(io.Discard)
	return f
}

// text adds an option that takes a value.
func (f *flags) text(p *string, name, value, what string) {
	f.StringVar(p, name, *p, what)
	f.shown = append(f.shown, flagHelp{name, value, what})
}

// yes adds an option that takes no value.
func (f *flags) yes(p *bool, name, what string) {
	f.BoolVar(p, name, *p, what)
	f.shown = append(f.shown, flagHelp{name, "", what})
}

// list adds an option that takes a value and may be given several times.
func (f *flags) list(p *[]string, name, value, what string) {
	f.Func(name, what, func(v string) error {
		*p = append(*p, v)
		return nil
	})
	f.shown = append(f.shown, flagHelp{name, value, what})
}

// takesNone reports whether an option takes no value.
func (f *flags) takesNone(name string) bool {
	b, ok := f.Lookup(name).Value.(interface{ IsBoolFlag() bool })
	return ok && b.IsBoolFlag()
}

// parse sets the options and returns the other arguments.
func (f *flags) parse(args []string) (rest []string, err error) {
	for len(args) > 0 {
		a := args[0]
		args = args[1:]
		if a == "--" {
			return append(rest, args...), nil
		}
		if len(a) < 2 || a[0] != '-' {
			rest = append(rest, a)
			continue
		}
		name, value, has := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(a, "-"), "-"), "=")
		if name == "help" || a == "-h" {
			return nil, errHelp
		}
		if typed, _, _ := strings.Cut(a, "="); f.Lookup(name) == nil || typed != dashed(name) {
			return nil, f.unknown(typed, name)
		}
		switch {
		case f.takesNone(name) && has:
			return nil, fmt.Errorf("`%s` takes no value", dashed(name))
		case f.takesNone(name):
			value = "true"
		case !has:
			if len(args) == 0 {
				return nil, fmt.Errorf("`%s` needs a value", a)
			}
			value, args = args[0], args[1:]
		}
		if err := f.Set(name, value); err != nil {
			return nil, fmt.Errorf("`%s` can't be `%s`: %v", dashed(name), value, err)
		}
	}
	return rest, nil
}

// dashed is an option as it is typed.
func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

func (f *flags) unknown(typed, name string) error {
	message := fmt.Sprintf("there is no option `%s`", typed)
	if f.Lookup(name) != nil {
		return errors.New(withHint(message, fmt.Sprintf("write `%s`", dashed(name))))
	}
	var known []string
	for _, s := range f.shown {
		known = append(known, dashed(s.name))
	}
	return errors.New(withHint(message, finding.DidYouMean(typed, known)))
}
