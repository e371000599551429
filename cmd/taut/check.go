package main

import (
	"errors"
	"fmt"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

var _ = add(&command{
	name: "check", args: "PATH…", what: "tell what is wrong in records and methods, and write no file",
	more: "A folder stands for every record below it. A method file is tried on its own\n" +
		"simulation: results that miss their truths, checks that cry where nothing is wrong,\n" +
		"faults that no check finds. The findings go to the standard output,\n" +
		"how many there are to the standard error.",
	setup: func(f *flags) func(*call) int {
		format := "text"
		f.text(&format, "format", "text|json", "how the findings are printed (text)")
		return func(k *call) int { return runCheck(k, format) }
	},
})

func runCheck(k *call, format string) int {
	if format != "text" && format != "json" {
		return k.wrongUsage(withHint(fmt.Sprintf("`--format` can't be `%s`", format), "it is text or json"))
	}
	if len(k.args) == 0 {
		return k.wrongUsage("`check` needs the path of a record or a folder")
	}
	list, err := targets(k.args)
	if err != nil {
		return k.complain(err)
	}
	o := options(nil)
	all := []*finding.Finding{}
	var sum tally
	code := exitOK
	for _, t := range list {
		out, err := build.Record(t.record, o)
		var isMethod *build.MethodError
		if errors.As(err, &isMethod) {
			list, err := k.checkMethod(t.record)
			if err != nil {
				code = max(code, k.complain(err))
			}
			all = append(all, list...)
			sum.count(list)
			continue
		}
		if err != nil {
			code = max(code, k.complain(err))
			continue
		}
		all = append(all, out.Findings...)
		sum.add(out)
	}
	write := finding.WriteText
	if format == "json" {
		write = finding.WriteJSON
	}
	if err := write(k.out, all); err != nil {
		return k.complain(err)
	}
	fmt.Fprintln(k.err, sum)
	return max(code, sum.exit())
}
