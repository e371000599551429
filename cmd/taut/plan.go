package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/taut/blocks"
	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
	"example.org/taut/engine/method"
	"example.org/taut/engine/plan"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "plan", args: "METHOD [FILE]", what: "tell what a practical can be expected to give, before it is set up",
	more: "METHOD is a name that `taut methods` lists, or the path of a method file. FILE holds the\n" +
		"values proposed, NAME: VALUE; `taut plan METHOD --new FILE` writes one with the names there\n" +
		"are. The method's simulation is run on them: expected results and uncertainties, what makes\n" +
		"them, what a change would bring, what the method says of safe loads. The report goes to the\n" +
		"standard output, and as a page beside FILE (or into the present folder), named NAME.plan.html.\n" +
		"It is arithmetic, not a permission to load anything.",
	setup: func(f *flags) func(*call) int {
		p := &planner{}
		f.yes(&p.fresh, "new", "write FILE (METHOD.plan.yaml) to begin with, and plan nothing")
		f.list(&p.set, "set", "NAME=VALUE", "propose a value, instead of that in FILE; may be given again")
		f.text(&p.of, "of", "RESULT", "the result whose budget is shown (the method's first)")
		f.text(&p.dir, "o", "DIR", "write the page into this folder")
		f.text(&p.themeName, "theme", "NAME|DIR", "how the page looks")
		return p.run
	},
})

// planner is one call of `taut plan`.
type planner struct {
	*call
	fresh     bool
	set       []string
	of, dir   string
	themeName string
	method    *method.Method
	file      string // the plan file; "" for none
	findings  finding.Set
	proposals []method.Proposal
}

func (p *planner) run(k *call) int {
	p.call = k
	if len(k.args) == 0 || len(k.args) > 2 {
		return k.wrongUsage("`plan` needs a method, and takes one plan file")
	}
	if len(k.args) == 2 {
		p.file = k.args[1]
	}
	n := &newRecord{call: k}
	if err := n.open(k.args[0]); err != nil {
		return k.complain(err)
	}
	p.method = n.method
	if n.set.Count(finding.Error) > 0 {
		return p.faulty(n.set.Sorted())
	}
	var err error
	code := exitOK
	if p.fresh {
		code, err = p.begin()
	} else {
		code, err = p.plan()
	}
	if err != nil {
		return k.complain(err)
	}
	return code
}

func (p *planner) faulty(list []*finding.Finding) int {
	if err := finding.WriteText(p.err, list); err != nil {
		return p.complain(err)
	}
	return exitErrors
}

// begin writes a plan file.
func (p *planner) begin() (int, error) {
	if len(p.set) > 0 || p.of != "" || p.dir != "" {
		return 0, usageError("`--new` writes a plan file and takes no other option")
	}
	s, findings := p.method.Simulation()
	if s == nil {
		if len(findings) == 0 {
			return 0, usageError(fmt.Sprintf("the method `%s` has no `simulate` block, so nothing can be planned with it", p.method.Name))
		}
		return p.faulty(findings), nil
	}
	path := p.file
	if path == "" {
		path = p.method.Name + ".plan.yaml"
	}
	if _, err := os.Lstat(path); err == nil {
		return 0, usageError(fmt.Sprintf("`%s` is there already, and nothing was written; name another file", slashed(path)))
	}
	if err := write(path, []byte(plan.New(p.method, s))); err != nil {
		return 0, err
	}
	_, err := fmt.Fprintln(p.out, slashed(path))
	return exitOK, err
}

// plan works the plan out.
func (p *planner) plan() (int, error) {
	b := &builder{call: p.call, themeName: p.themeName}
	theme, err := b.theme()
	if err == nil && theme == nil {
		theme, err = themes.Load("")
	}
	if err != nil {
		return 0, err
	}
	if err := p.checkOf(); err != nil {
		return 0, err
	}
	if p.file != "" {
		f, err := build.TextFile(p.file)
		if err != nil {
			return 0, err
		}
		p.proposals = plan.Read(f, &p.findings)
	}
	p.proposals = plan.ReadSet(p.set, p.proposals, &p.findings)
	if p.findings.Count(finding.Error) > 0 {
		return p.faulty(p.findings.Sorted()), nil
	}
	r := plan.Make(p.method, p.proposals, blocks.Built(), blocks.All(), plan.Options{Of: p.of, Coverage: 0.95})
	if err := finding.WriteText(p.err, r.Findings); err != nil {
		return 0, err
	}
	if len(r.Truths) == 0 {
		return exitErrors, nil
	}
	if _, err := fmt.Fprint(p.out, r.Text()); err != nil {
		return 0, err
	}
	html, err := r.Page(theme, version)
	if err != nil {
		return 0, err
	}
	path := p.page()
	if err := write(path, html); err != nil {
		return 0, err
	}
	fmt.Fprintf(p.err, "page: %s\n", slashed(path))
	var sum tally
	sum.count(r.Findings)
	return sum.exit(), nil
}

func (p *planner) checkOf() error {
	if p.of == "" {
		return nil
	}
	for _, name := range p.method.Results {
		if name == p.of {
			return nil
		}
	}
	hint := finding.DidYouMean(p.of, p.method.Results)
	if hint == "" {
		hint = "its results are " + strings.Join(p.method.Results, ", ")
	}
	return usageError(withHint(fmt.Sprintf("the method `%s` has no result `%s`", p.method.Name, p.of), hint))
}

// page is where the page goes.
func (p *planner) page() string {
	name, dir := p.method.Name, ""
	if p.file != "" {
		name = strings.TrimSuffix(filepath.Base(p.file), filepath.Ext(p.file))
		dir = filepath.Dir(p.file)
	}
	if p.dir != "" {
		dir = p.dir
	}
	return filepath.Join(dir, strings.TrimSuffix(name, ".plan")+".plan.html")
}
