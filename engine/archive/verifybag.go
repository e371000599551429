package archive

import (
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"sort"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/results"
)

// bag verifies the bag of an entry and runs its record again.
func (v *verifier) bag(e *Entry) *Unit {
	u := &Unit{Path: e.Path(), Bag: &BagReport{Title: e.Title, Status: Unchecked, Amends: e.Amends}}
	if _, err := v.a.Bag(e); err != nil {
		u.Findings = append(u.Findings, err.(*Finding))
		return u
	}
	b := &bagCheck{v: v, e: e, unit: u, files: map[string]sums{}}
	b.walk(".")
	b.compareFiles()
	b.compareLine()
	b.readSealed()
	if !v.o.Quick {
		b.again()
	}
	u.cap()
	return u
}

// bagCheck verifies one bag.
type bagCheck struct {
	v    *verifier
	e    *Entry
	unit *Unit
	// files are the sums of all files by their path within the bag; nil where
	// one could not be read.
	files  map[string]sums
	octets int64 // of the payload
	linked bool  // there is something else than files and folders
	listed map[string]string
}

func (b *bagCheck) complain(path, slug, message, hint string) {
	b.unit.Findings = append(b.unit.Findings, fault(b.path(path), slug, message, hint))
}

// path is that of a file below the archive.
func (b *bagCheck) path(name string) string {
	if name == "." {
		return b.e.Path()
	}
	return b.e.Path() + "/" + name
}

// deepest is how deep folders lie within one another at most.
const deepest = 100

// walk reads all files of a folder of the bag and makes their sums. It returns
// how many files there are.
func (b *bagCheck) walk(dir string) int {
	if strings.Count(dir, "/") > deepest {
		b.complain(dir, "too-deep", fmt.Sprintf("there are more than %d folders within one another", deepest), "what is below was not read")
		return 1
	}
	inside, err := b.v.a.list(b.path(dir))
	if err != nil {
		b.unit.Findings = append(b.unit.Findings, unreadable(b.path(dir), err))
		return 1
	}
	n := 0
	for _, e := range inside {
		name := e.Name()
		if dir != "." {
			name = dir + "/" + name
		}
		if e.IsDir() {
			n += b.walk(name)
			continue
		}
		n++
		b.read(name)
	}
	if n == 0 {
		b.complain(dir, "stray", "this folder is empty; a sealing makes none", "take it out, or copy back what was in it")
	}
	return n
}

func (b *bagCheck) read(name string) {
	s, n, err := b.v.sumsOfFile(b.path(name))
	b.files[name] = s
	if err != nil {
		f := unreadable(b.path(name), err)
		b.linked = b.linked || f.Slug == "not-a-file"
		b.unit.Findings = append(b.unit.Findings, f)
		return
	}
	if strings.HasPrefix(name, "data/") {
		b.octets += n
	}
}

// sumsOfFile makes the sums of a file, whatever its size.
func (v *verifier) sumsOfFile(path string) (sums, int64, error) {
	f, err := openRegular(v.a.root, path)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	var hashes []hash.Hash
	var all []io.Writer
	for _, a := range algorithms {
		h := a.new()
		hashes, all = append(hashes, h), append(all, h)
	}
	n, err := io.Copy(io.MultiWriter(all...), f)
	if err != nil {
		return nil, 0, err
	}
	out := sums{}
	for i, a := range algorithms {
		out[a.name] = hex.EncodeToString(hashes[i].Sum(nil))
	}
	return out, n, nil
}

// tagFiles are the files of a bag beside its payload.
func tagFiles() (listed, tagManifests []string) {
	listed = []string{"bagit.txt", "bag-info.txt"}
	for _, a := range algorithms {
		p, t := a.manifests()
		listed, tagManifests = append(listed, p), append(tagManifests, t)
	}
	return listed, tagManifests
}

// compareFiles holds the files against the manifests, both ways.
func (b *bagCheck) compareFiles() {
	var payload, tags []*manifest
	for _, a := range algorithms {
		p, t := a.manifests()
		payload, tags = append(payload, b.manifest(a, p, true)), append(tags, b.manifest(a, t, false))
	}
	b.listed = payload[0].sums
	listed, tagManifests := tagFiles()
	known := map[string]bool{}
	for _, name := range append(listed, tagManifests...) {
		known[name] = true
		if _, there := b.files[name]; !there {
			b.complain(name, "missing", "there is no such file; every bag has one", "copy it back from another copy of the archive")
		}
	}
	for _, name := range b.names(append(payload, tags...)) {
		switch {
		case strings.HasPrefix(name, "data/"):
			b.compareFile(name, payload, "manifest")
		case known[name] && !strings.HasPrefix(name, "tagmanifest-"):
			b.compareFile(name, tags, "tagmanifest")
		case !known[name]:
			b.unit.Findings = append(b.unit.Findings, stray(b.path(name)))
		}
	}
}

// manifest reads a manifest; an empty one stands for what can't be read, and
// that it is missing is said elsewhere.
func (b *bagCheck) manifest(a algorithm, name string, payload bool) *manifest {
	text, err := readRegular(b.v.a.root, b.path(name), longestManifest)
	if err != nil {
		if large := (*tooLarge)(nil); errors.As(err, &large) {
			b.unit.Findings = append(b.unit.Findings, unreadable(b.path(name), err))
		}
		return &manifest{sums: map[string]string{}}
	}
	m := parseManifest(b.path(name), a, payload, text)
	b.unit.Findings = append(b.unit.Findings, m.findings...)
	return m
}

// names are those of all files that are there or listed, sorted.
func (b *bagCheck) names(all []*manifest) []string {
	set := map[string]bool{}
	for name := range b.files {
		set[name] = true
	}
	for _, m := range all {
		for name := range m.sums {
			set[name] = true
		}
	}
	var out []string
	for name := range set {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}

// compareFile holds a file against the manifests of all algorithms.
func (b *bagCheck) compareFile(name string, all []*manifest, kind string) {
	have, there := b.files[name]
	if there && have == nil {
		return // that it could not be read was said
	}
	var unlisted, differ []string
	for i, a := range algorithms {
		want, ok := all[i].sums[name]
		switch {
		case !ok:
			unlisted = append(unlisted, kind+"-"+a.name+".txt")
		case there && want != have[a.name]:
			differ = append(differ, kind+"-"+a.name+".txt")
		}
	}
	switch {
	case !there && !strings.HasPrefix(name, "data/"): // that a tag file is missing was said
	case !there:
		b.complain(name, "missing", "the manifest lists this file, but it is not there", "copy it back from another copy of the archive")
	case len(unlisted) == len(algorithms):
		b.complain(name, "stray", "no manifest lists this file: it was added after the sealing", "take it out")
	case len(unlisted) > 0:
		b.complain(unlisted[0], "bad-manifest", fmt.Sprintf("%q is not listed here", name), "the manifest was changed after the sealing")
	case len(differ) == len(algorithms):
		b.complain(name, "changed", "the file was changed after the sealing: its sums are others than those in the manifests",
			"copy it back from another copy of the archive")
	case len(differ) > 0:
		b.complain(differ[0], "bad-manifest", fmt.Sprintf("the sum of %q is another one", name), "the manifest was changed after the sealing")
	}
}

// compareLine holds the bag against its line in the ledger.
func (b *bagCheck) compareLine() {
	for i, want := range []string{b.e.line.TagSHA256, b.e.line.TagSHA512} {
		_, name := algorithms[i].manifests()
		if have := b.files[name]; have != nil && have[algorithms[i].name] != want {
			b.complain(name, "not-as-sealed", "the ledger names another sum for this file: the bag is not the one that was sealed",
				"its manifests were made anew, or it was exchanged; copy it back from another copy of the archive")
		}
	}
	b.compareInfo()
	if text, err := readRegular(b.v.a.root, b.path("bagit.txt"), mostRead); err == nil && string(text) != bagitText {
		b.complain("bagit.txt", "changed", "the file is not as every bag has it", "the bag was changed after the sealing")
	}
}

// compareInfo holds bag-info.txt against what it tells of.
func (b *bagCheck) compareInfo() {
	bag := &Bag{archive: b.v.a, path: b.e.Path(), entry: b.e}
	list, err := bag.Info()
	var f *Finding
	if errors.As(err, &f) {
		if f.Slug == "bad-info" {
			b.unit.Findings = append(b.unit.Findings, f)
		}
		return
	}
	have := map[string]string{}
	for _, e := range list {
		have[e.Label] = e.Value
	}
	told := len(b.unit.Findings) > 0 // of files that are missing or have another size
	n := 0
	for name := range b.files {
		if strings.HasPrefix(name, "data/") {
			n++
		}
	}
	for _, want := range []Element{
		{"Payload-Oxum", fmt.Sprintf("%d.%d", b.octets, n)},
		{"External-Description", oneLine(b.e.Title)},
		{"External-Identifier", b.e.Path()},
		{"Record", oneLine(sourceDir + "/" + b.e.Record)},
		{"Apparatus", oneLine(b.e.line.Apparatus)},
		{"Amends", b.e.Amends},
	} {
		if have[want.Label] != want.Value && !(told && want.Label == "Payload-Oxum") {
			b.complain("bag-info.txt", "bad-info", fmt.Sprintf("`%s` is %q, where %q is due", want.Label, short(have[want.Label]), short(want.Value)),
				"the bag was changed after the sealing")
		}
	}
}

// readSealed reads by which version the bag was sealed, and holds its content
// against the line.
func (b *bagCheck) readSealed() {
	text, err := readRegular(b.v.a.root, b.path(resultFile), mostRead)
	if err != nil {
		return // that was said
	}
	r, err := results.Parse(text)
	if err != nil {
		b.complain(resultFile, "bad-results", err.Error(), "the file was changed after the sealing")
		return
	}
	b.unit.Bag.Taut = r.Taut
	files := map[string]string{}
	for name, s := range b.files {
		files[name] = s["sha256"]
	}
	if contentSum(r.Taut, b.e.Record, files) != b.e.line.Content {
		b.complain("data", "not-as-sealed", "source, theme and version are not those that the ledger tells of", "copy the bag back from another copy of the archive")
	}
}

// again runs the record again from the bag alone and compares.
func (b *bagCheck) again() {
	if b.linked {
		b.complain(".", "not-run", "the record was not run again: the bag holds links or the like, which might lead out of it", "")
		return
	}
	out, err := b.v.again.rebuild(b.e.Path(), b.e.Record)
	if err != nil {
		b.complain(sourceDir, "not-run", "the record can't be run again: "+err.Error(), "")
		return
	}
	b.compareRun(out)
}

func (b *bagCheck) compareRun(out *build.Output) {
	now, err := out.Results.Bytes()
	if err != nil {
		b.complain(resultFile, "not-run", err.Error(), "")
		return
	}
	var versions []string
	if sealed := b.unit.Bag.Taut; sealed != b.v.o.Build.Version && sealed != "" {
		versions = []string{sealed, b.v.o.Build.Version}
	}
	report := b.unit.Bag
	for _, x := range []struct {
		name    string
		compare func(sealed []byte) *comparison
	}{
		{resultFile, func(t []byte) *comparison { return compareResults(t, now, versions != nil) }},
		{pageFile, func(t []byte) *comparison { return comparePages(t, out.HTML, versions) }},
	} {
		text, err := readRegular(b.v.a.root, b.path(x.name), mostRead)
		if err != nil {
			if !errors.Is(err, fs.ErrNotExist) && b.files[x.name] != nil {
				b.unit.Findings = append(b.unit.Findings, unreadable(b.path(x.name), err))
			}
			report.Status = Changed
			continue
		}
		c := x.compare(text)
		report.Status = worse(report.Status, c.status)
		report.Changes = append(report.Changes, c.changes...)
		report.More += c.more
	}
	if report.Status == Changed {
		b.tell(versions)
	}
}

// tell is the finding on a record that gives something else than was sealed.
func (b *bagCheck) tell(versions []string) {
	message := "run again, the record does not give what was sealed"
	hint := "the table of changes says what; the page or the numbers are not those of the data"
	if versions != nil {
		message = fmt.Sprintf("run again by version %s, the record does not give what version %s gave", versions[1], versions[0])
		hint = "to see whether it is the record or the program, verify with version " + versions[0]
	}
	b.complain(".", "rerun-differs", message, hint)
}
