package main

import (
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"example.org/taut/engine/archive"
)

var _ = add(&command{
	name: "verify", args: "ARCHIVE…", what: "check every byte of archives and run every record again",
	more: "Every file is held against the manifests of its bag, both ways: what is missing, added or\n" +
		"changed is found. The manifests are held against the ledger of the apparatus, each line of\n" +
		"the ledger against the one before, signatures against their keys; and whatever else lies in\n" +
		"the archive is found. Then each record is built again from its bag, which alone is read, and\n" +
		"its page and numbers are compared with those that were sealed:\n" +
		"    identical  every byte is the same\n" +
		"    rounding   the numbers agree within 1e-9 of their size\n" +
		"    changed    they do not; a table says which\n" +
		"Another kind of processor may make a difference of rounding. A page that says what its data\n" +
		"do not is found changed, even if all sums were made to fit it. A record that another version of taut sealed is run again all the same; differences are told\n" +
		"with both versions, and wordings may differ.\n\n" +
		"What cannot be seen from within: that lines were taken off the end of a ledger, or that\n" +
		"everything was made anew. For that, note the heads that `taut seal` prints and give them with\n" +
		"--head; or sign, and give the lab's public key with --public: then every ledger has to end with\n" +
		"a line that it signed. Without --public, signatures are checked with the keys in the ledger\n" +
		"itself, whose fingerprints are shown: that they are the lab's, only you can know.\n\n" +
		"--part K/N verifies the Kth of N parts, for a machine each. Which part a bag belongs to depends\n" +
		"on its path alone. With --format json each part gives a report; --merge takes those instead of\n" +
		"archives and joins them to the report of the whole. examples/archive/cluster has the files for\n" +
		"two common schedulers.\n\n" +
		"The report goes to the standard output. Exit codes: 0 all is as it was sealed, 1 something was\n" +
		"changed or is broken, 2 wrong usage, 3 files that can't be read.",
	setup: func(f *flags) func(*call) int {
		v := &verifying{format: "text"}
		f.text(&v.part, "part", "K/N", "verify the Kth of N parts only")
		f.yes(&v.options.Quick, "quick", "run no record again: check bytes, ledgers and signatures only")
		f.list(&v.public, "public", "FILE", "a public key that counts; may be given several times")
		f.list(&v.heads, "head", "APPARATUS=HEAD", "a line that must be there: at least 16 digits of its sum; may be given several times")
		f.text(&v.workers, "j", "N", "check at most N bags at once (as many as there are processors)")
		f.text(&v.format, "format", "text|json", "how the report is printed (text)")
		f.yes(&v.merge, "merge", "join the reports of parts, given instead of archives")
		return v.run
	},
})

// verifying is one call of `taut verify`.
type verifying struct {
	*call
	part, workers, format string
	public, heads         []string
	merge                 bool

	options archive.VerifyOptions
}

func (v *verifying) run(k *call) int {
	v.call = k
	if err := v.settle(); err != nil {
		return k.wrongUsage(err.Error())
	}
	if v.merge {
		return v.join()
	}
	for _, name := range v.public {
		key, err := readPublic(name)
		if err != nil {
			return k.complain(err)
		}
		v.options.Public = append(v.options.Public, key)
	}
	ctx, signals := untilSignal()
	defer signals.stop()
	report := &archive.Report{Taut: version, Quick: v.options.Quick, Part: v.part}
	code := exitOK
	for _, dir := range k.args {
		a, err := v.one(ctx, dir)
		switch {
		case errors.Is(err, context.Canceled):
			fmt.Fprintln(k.err, "taut: stopped before the end; there is no report")
			signals.pass()
			return exitFiles
		case err != nil:
			code = max(code, k.complain(inArchive(dir, err)))
		default:
			a.Path = slashed(dir)
			report.Archives = append(report.Archives, a)
		}
	}
	if len(report.Archives) == 0 {
		return code
	}
	return max(code, v.write(report))
}

// settle looks at what was typed.
func (v *verifying) settle() error {
	if len(v.args) == 0 {
		return errors.New("`verify` needs the folder of an archive")
	}
	if v.format != "text" && v.format != "json" {
		return errors.New(withHint(fmt.Sprintf("`--format` can't be `%s`", v.format), "it is text or json"))
	}
	if v.merge && (v.part != "" || v.options.Quick || len(v.public) > 0 || len(v.heads) > 0 || v.workers != "") {
		return errors.New("`--merge` joins reports and verifies nothing: of the other options it takes `--format` alone")
	}
	var err error
	if v.options.Workers, err = (&builder{workers: v.workers}).mostWorkers(); err != nil {
		return err
	}
	if v.part != "" {
		if v.options.Part, v.options.Parts, err = archive.ParsePart(v.part); err != nil {
			return fmt.Errorf("`--part` can't be `%s`: %w", v.part, err)
		}
	}
	if len(v.heads) > 0 && len(v.args) > 1 {
		return errors.New("`--head` needs one archive")
	}
	v.options.Heads = map[string]string{}
	for _, h := range v.heads {
		folder, hash, err := archive.ParseHead(h)
		if err != nil {
			return fmt.Errorf("`--head` can't be `%s`: %w", h, err)
		}
		v.options.Heads[folder] = hash
	}
	return nil
}

func readPublic(name string) (ed25519.PublicKey, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	key, err := archive.ParsePublicKey(text)
	if err != nil {
		return nil, usageError(fmt.Sprintf("`%s`: %v", slashed(name), err))
	}
	return key, nil
}

// one verifies an archive.
func (v *verifying) one(ctx context.Context, dir string) (*archive.ArchiveReport, error) {
	o := v.options
	o.Build = options(nil)
	var line *progress
	o.Progress = func(_, total int) {
		if line == nil {
			line = newProgress(v.err, "bags and ledgers", total)
		}
		line.step()
	}
	a, err := archive.Verify(ctx, dir, o)
	if line != nil {
		line.clear()
	}
	return a, err
}

// join merges the reports of parts.
func (v *verifying) join() int {
	var parts []*archive.Report
	for _, name := range v.args {
		text, err := os.ReadFile(name)
		if err != nil {
			return v.complain(err)
		}
		r, err := archive.ParseReport(text)
		if err != nil {
			return v.complain(usageError(fmt.Sprintf("`%s`: %v", slashed(name), err)))
		}
		parts = append(parts, r)
	}
	whole, err := archive.Merge(parts)
	if err != nil {
		return v.wrongUsage(err.Error())
	}
	return v.write(whole)
}

// write prints a report and returns the exit code that it stands for.
func (v *verifying) write(r *archive.Report) int {
	var err error
	if v.format == "json" {
		err = writeJSON(v.out, r)
	} else {
		err = r.WriteText(v.out)
	}
	s := r.Sum()
	switch {
	case err != nil:
		return v.complain(err)
	case s.Unreadable > 0:
		return exitFiles
	case s.Errors > 0:
		return exitErrors
	}
	return exitOK
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
