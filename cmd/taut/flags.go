package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"example.org/taut/engine/finding"
)

// flags are the options of a subcommand: long names with two hyphens, names of
// one letter with one. They may stand before or after the paths; after `--`
// nothing is an option.
type flags struct {
	set *pflag.FlagSet
	// shown is the name of each option's value, "DIR"; in the order of the
	// help.
	shown []flagHelp
}

type flagHelp struct{ name, value, what string }

func newFlags() *flags { return &flags{set: pflag.NewFlagSet("taut", pflag.ContinueOnError)} }

// text adds an option that takes a value.
func (f *flags) text(p *string, name, value, what string) {
	f.set.StringVarP(p, longName(name), letter(name), *p, what)
	f.shown = append(f.shown, flagHelp{name, value, what})
}

// yes adds an option that takes no value.
func (f *flags) yes(p *bool, name, what string) {
	f.set.VarPF((*yesValue)(p), longName(name), letter(name), what).NoOptDefVal = noValue
	f.shown = append(f.shown, flagHelp{name, "", what})
}

// list adds an option that takes a value and may be given several times.
func (f *flags) list(p *[]string, name, value, what string) {
	f.set.StringArrayVarP(p, longName(name), letter(name), *p, what)
	f.shown = append(f.shown, flagHelp{name, value, what})
}

// letter is the name of an option with one hyphen, "" for those with two.
func letter(name string) string {
	if len(name) == 1 {
		return name
	}
	return ""
}

// unwritable begins the long name that the library wants of each option, where
// the option has none: nobody can type it, since no long name begins so.
const unwritable = "-"

func longName(name string) string {
	if len(name) == 1 {
		return unwritable + name
	}
	return name
}

// dashed is an option as it is typed.
func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

// yesValue is the value of an option that takes none.
type yesValue bool

// noValue is what the library sets when no value was typed.
const noValue = "\x00"

func (y *yesValue) Set(v string) error {
	if v != noValue {
		return errors.New("takes no value")
	}
	*y = true
	return nil
}

func (y *yesValue) String() string { return fmt.Sprint(bool(*y)) }

func (y *yesValue) Type() string { return "bool" }

// usageOf says in our words what the library finds wrong with the options.
func (f *flags) usageOf(err error) error {
	var unknown *pflag.NotExistError
	var syntax *pflag.InvalidSyntaxError
	var missing *pflag.ValueRequiredError
	var invalid *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown) && unknown.GetSpecifiedShortnames() != "":
		name, _, _ := strings.Cut(unknown.GetSpecifiedShortnames(), "=")
		return f.unknown("-"+name, name)
	case errors.As(err, &unknown):
		return f.unknown("--"+unknown.GetSpecifiedName(), unknown.GetSpecifiedName())
	case errors.As(err, &syntax):
		return f.unknown(syntax.GetSpecifiedFlag(), "")
	case errors.As(err, &missing):
		return fmt.Errorf("`%s` needs a value", dashed(missing.GetSpecifiedName()))
	case errors.As(err, &invalid):
		return fmt.Errorf("`%s` %v", dashed(strings.TrimPrefix(invalid.GetFlag().Name, unwritable)), invalid.Unwrap())
	}
	return err
}

func (f *flags) unknown(typed, name string) error {
	message := fmt.Sprintf("there is no option `%s`", typed)
	var known []string
	for _, s := range f.shown {
		if s.name == name {
			return errors.New(withHint(message, fmt.Sprintf("write `%s`", dashed(name))))
		}
		known = append(known, dashed(s.name))
	}
	return errors.New(withHint(message, finding.DidYouMean(typed, known)))
}
