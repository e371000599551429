package main

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"example.org/taut/engine/archive"
	"example.org/taut/engine/finding"
	"example.org/taut/themes"
)

var _ = add(&command{
	name: "seal", args: "RECORD…", what: "put records into an archive, each with all that it was made from",
	more: "A folder stands for every record below it. Each record becomes a bag, a folder that is\n" +
		"complete by itself: the record with every file that it reads, its theme, its page, its\n" +
		"numbers, what is what (RO-Crate 1.1), and the SHA-256 and SHA-512 sums of all of them (BagIt,\n" +
		"RFC 8493). It lies in the folder of its apparatus, ARCHIVE/APPARATUS/DATE-TITLE, named after\n" +
		"the `identity` in the apparatus file. What is sealed is what the bag's own files give: the\n" +
		"record is built again from the bag alone.\n\n" +
		"The ledger of each apparatus has a line for each bag; a line names the sums of its bag and\n" +
		"of the line before. `seal` prints the sum of the last line, the head: note it in the lab book,\n" +
		"since nothing in an archive can show that lines were taken off its end. With --key the lines\n" +
		"are signed (Ed25519, RFC 8032).\n\n" +
		"The same record is not sealed again: same files, same theme, same version of taut. A changed\n" +
		"one is a new bag that names the one it amends, DATE-TITLE-r2. Which one that is, taut finds\n" +
		"where it is certain: the same apparatus, path and date below a folder with `taut.root`; or the\n" +
		"same apparatus, path, title, date and author. Where it might be one and is not certain, the\n" +
		"record is refused until --amends says so. Nothing in an archive is ever written over. What was\n" +
		"interrupted, by whatever, is either not sealed or sealed; the next `taut seal` into the archive\n" +
		"clears up. A record with errors is refused, and so is one without a date, unless --sealed\n" +
		"gives one; the others are sealed.\n\n" +
		"The same records give the same bytes at every sealing: no clock is read. As its Bagging-Date\n" +
		"a bag has the date of --sealed, else that of the record.\n\n" +
		"The paths of new bags go to the standard output, all else to the standard error. Exit codes:\n" +
		"0 all are sealed, 1 a record was refused, 2 wrong usage, 3 files that can't be read or written.",
	setup: func(f *flags) func(*call) int {
		s := &sealing{}
		f.text(&s.dir, "o", "DIR", "the archive; it is made where there is none")
		f.yes(&s.options.WithErrors, "with-errors", "seal records that have errors, too")
		f.text(&s.options.Amends, "amends", "BAG", "which bag the one record amends; `none` if it is a record of its own")
		f.text(&s.keyFile, "key", "FILE", "sign with this private key")
		f.text(&s.options.Sealed, "sealed", "DATE", "the date of the sealing, such as 2026-03-14")
		f.text(&s.themeName, "theme", "NAME|DIR", "how the pages look, instead of what the records say")
		f.text(&s.newKey, "new-key", "FILE", "seal nothing; make a key pair: FILE, which is secret, and FILE.pub")
		return s.run
	},
})

// sealing is one call of `taut seal`.
type sealing struct {
	*call
	dir, keyFile, themeName, newKey string
	options                         archive.Options
}

func (s *sealing) run(k *call) int {
	s.call = k
	if s.newKey != "" {
		return s.makeKey()
	}
	if err := s.settle(); err != nil {
		return k.wrongUsage(err.Error())
	}
	if err := s.read(); err != nil {
		return k.complain(err)
	}
	list, err := targets(k.args, s.dir)
	if err != nil {
		return k.complain(err)
	}
	if len(list) > 1 && s.options.Amends != "" && s.options.Amends != archive.AmendsNone {
		return k.wrongUsage("`--amends` needs one record: a bag is amended by one other")
	}
	records := make([]string, len(list))
	for i, t := range list {
		records[i] = t.record
	}
	return s.all(records)
}

// settle looks at what was typed.
func (s *sealing) settle() error {
	if len(s.args) == 0 {
		return errors.New("`seal` needs the path of a record or a folder")
	}
	if s.dir == "" {
		return errors.New("`seal` needs `-o DIR`, the archive")
	}
	if d := s.options.Sealed; d != "" {
		if _, err := time.Parse(time.DateOnly, d); err != nil {
			return fmt.Errorf("`--sealed` can't be `%s`: it is a date of ISO 8601, such as 2026-03-14", d)
		}
	}
	return nil
}

// read reads the key and the theme.
func (s *sealing) read() error {
	s.options.Build, s.options.Module = options(nil), moduleSum()
	s.options.ThemeFiles = themeFiles
	if s.themeName != "" {
		theme := &builder{call: s.call, themeName: s.themeName}
		if _, err := theme.theme(); err != nil {
			return err
		}
		s.options.Theme = os.DirFS(s.themeName)
		if slices.Contains(themes.Names(), s.themeName) {
			var err error
			if s.options.Theme, err = themeFiles(s.themeName); err != nil {
				return err
			}
		}
	}
	if s.keyFile == "" {
		return nil
	}
	text, err := os.ReadFile(s.keyFile)
	if err != nil {
		return err
	}
	if s.options.Key, err = archive.ParseKey(text); err != nil {
		return usageError(fmt.Sprintf("`%s`: %v", slashed(s.keyFile), err))
	}
	if info, err := os.Stat(s.keyFile); err == nil && info.Mode().Perm()&0o077 != 0 && runtime.GOOS != "windows" {
		fmt.Fprintf(s.err, "%s: caution: open-key: others may read this key; take that from them with `chmod 600`\n", slashed(s.keyFile))
	}
	return nil
}

// themeFiles is the folder of a built-in theme, "" for the default.
func themeFiles(name string) (fs.FS, error) {
	if name == "" {
		name = themes.Default
	}
	return fs.Sub(themes.FS(), name)
}

// moduleSum is what the program was made from, where that is known: a program
// that was built in a working copy has no sum.
func moduleSum() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Sum == "" {
		return ""
	}
	return info.Main.Path + " " + info.Main.Version + " " + info.Main.Sum
}

// all seals the records and tells what came of each.
func (s *sealing) all(records []string) int {
	line := newProgress(s.err, "records", len(records))
	code, already := exitOK, 0
	heads, err := archive.Seal(s.dir, records, s.options, func(x *archive.Sealing) {
		line.clear()
		code = max(code, s.tell(x))
		if x.Outcome == archive.Already {
			already++
		}
		line.step()
	})
	line.clear()
	if already > 1 {
		fmt.Fprintf(s.err, "%d of %d records were sealed before\n", already, len(records))
	}
	for _, h := range heads {
		lines := "1 line"
		if h.Lines > 1 {
			lines = fmt.Sprintf("%d lines", h.Lines)
		}
		fmt.Fprintf(s.err, "%s: %s, head %s\n", h.Apparatus, lines, h.Hash)
	}
	if len(heads) > 0 {
		fmt.Fprintln(s.err, "note the head in the lab book: `taut verify --head APPARATUS=HEAD` sees by it that no line is gone")
	}
	if err != nil {
		return max(code, s.complain(inArchive(s.dir, err)))
	}
	return code
}

// inArchive names the place of a finding as the reader would type it.
func inArchive(dir string, err error) error {
	var f *archive.Finding
	if !errors.As(err, &f) {
		return err
	}
	placed := *f
	placed.Path = slashed(dir)
	if f.Path != "." {
		placed.Path += "/" + f.Path
	}
	return &placed
}

// tell prints what came of a record and returns the exit code for it.
func (s *sealing) tell(x *archive.Sealing) int {
	if x.Outcome != archive.Already {
		if err := finding.WriteText(s.err, x.Findings); err != nil {
			return s.complain(err)
		}
	}
	bag := slashed(s.dir) + "/" + x.Bag
	switch x.Outcome {
	case archive.Sealed:
		fmt.Fprintln(s.out, bag)
		if x.Amends != "" {
			fmt.Fprintf(s.err, "%s amends %s\n", x.Bag, x.Amends)
		}
	case archive.Already:
		fmt.Fprintf(s.err, "%s: sealed before as %s\n", slashed(x.Record), bag)
		if x.Differs {
			fmt.Fprintf(s.err, "%s: caution: results-differ: the numbers are others now, though record and version of taut are the same; `taut verify` tells more\n", slashed(x.Record))
		}
	case archive.Refused:
		var f *archive.Finding
		if !errors.As(x.Err, &f) {
			return s.complain(x.Err)
		}
		fmt.Fprintln(s.err, f)
		return exitErrors
	}
	return exitOK
}

// makeKey makes a key pair.
func (s *sealing) makeKey() int {
	if len(s.args) > 0 || s.dir != "" || s.keyFile != "" {
		return s.wrongUsage("`--new-key` stands alone: it makes a key pair and seals nothing")
	}
	private, public, err := archive.NewKey()
	if err != nil {
		return s.complain(err)
	}
	files := []struct {
		name string
		text []byte
		mode fs.FileMode
	}{{s.newKey, private, 0o600}, {s.newKey + ".pub", public, 0o644}}
	for _, f := range files {
		if _, err := os.Lstat(f.name); err == nil {
			return s.complain(usageError(fmt.Sprintf("`%s` is there, and a key is not written over; name another file", slashed(f.name))))
		}
	}
	for _, f := range files {
		if err := writeNew(f.name, f.text, f.mode); err != nil {
			return s.complain(err)
		}
		fmt.Fprintln(s.out, slashed(f.name))
	}
	key, err := archive.ParsePublicKey(public)
	if err != nil {
		return s.complain(err)
	}
	s.tellKey(key)
	return exitOK
}

func (s *sealing) tellKey(key ed25519.PublicKey) {
	fmt.Fprintf(s.err, "the key's fingerprint is %s\n", archive.Fingerprint(key))
	fmt.Fprintf(s.err, "keep %s to yourself and apart from the archive; give %s.pub to whoever verifies\n", slashed(s.newKey), slashed(s.newKey))
}

// writeNew writes a file that is not there yet.
func writeNew(name string, text []byte, mode fs.FileMode) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}
