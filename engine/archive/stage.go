package archive

import (
	"path"
	"slices"
	"sort"

	"example.org/taut/engine/build"
)

// stage makes the bag of a record ready, below workDir, and its line. What is
// sealed is built once more from the bag's own source with the bag's own
// theme: so it is certain that it can be. A refusal is a *Finding with the
// path of the record; the entry then says which bag to clear away.
func (s *sealer) stage(p *folder, t *taken, amends string) (*Entry, error) {
	e := &Entry{N: len(p.Entries) + 1, Apparatus: p.Folder, Bag: s.nameFor(p, t, amends),
		Record: t.out.Path, Date: t.date, Title: t.out.Title, Amends: amends}
	at := path.Join(workDir, e.Path())
	if err := s.writeAll(at, t.payload); err != nil {
		return e, err
	}
	out, err := s.again.rebuild(at, e.Record)
	if err != nil {
		return e, refusal(t.path, "not-rebuilt", "the record can't be built from its bag: "+err.Error(), "")
	}
	if !slices.Equal(out.Inputs, t.out.Inputs) {
		return e, refusal(t.path, "changed-while-sealing", "the bag's source does not give what the record gave", "nothing of this record was sealed; seal it again")
	}
	files, err := s.made(e, t, out)
	if err != nil {
		return e, err
	}
	if err := s.writeAll(at, files); err != nil {
		return e, err
	}
	s.enlist(p, e, t, files)
	return e, nil
}

// made are the files of a bag beside its source and theme.
func (s *sealer) made(e *Entry, t *taken, out *build.Output) (map[string][]byte, error) {
	results, err := out.Results.Bytes()
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{pageFile: out.HTML, resultFile: results}
	payload := map[string][]byte{pageFile: out.HTML, resultFile: results}
	for p, text := range t.payload {
		payload[p] = text
	}
	c := &crate{out: out, date: t.date, files: payload, module: s.o.Module}
	if files[crateFile], err = c.encode(); err != nil {
		return nil, err
	}
	payload[crateFile] = files[crateFile]

	info := bagInfo{description: e.Title, identifier: e.Path(), date: t.date, files: len(payload),
		agent: s.agent(), record: e.Record, apparatus: t.identity(), amends: e.Amends}
	if s.o.Sealed != "" {
		info.date = s.o.Sealed
	}
	all := map[string]sums{}
	for p, text := range payload {
		info.octets += int64(len(text))
		all[p] = sumsOf(text)
	}
	files["bagit.txt"], files["bag-info.txt"] = []byte(bagitText), info.encode()
	tags := map[string]sums{"bagit.txt": sumsOf(files["bagit.txt"]), "bag-info.txt": sumsOf(files["bag-info.txt"])}
	for _, a := range algorithms {
		name, _ := a.manifests()
		files[name] = formatManifest(a, all)
		tags[name] = sumsOf(files[name])
	}
	for _, a := range algorithms {
		_, name := a.manifests()
		files[name] = formatManifest(a, tags)
	}
	return files, nil
}

// agent names the program.
func (s *sealer) agent() string {
	text := "taut " + s.o.Build.Version
	if s.o.Module != "" {
		text += " (" + s.o.Module + ")"
	}
	return text
}

// enlist makes the line of a bag.
func (s *sealer) enlist(p *folder, e *Entry, t *taken, files map[string][]byte) {
	e.line = line{N: e.N, Previous: zeroSum, Apparatus: p.Identity, Bag: e.Bag, Record: e.Record, Date: e.Date, Title: e.Title, Amends: e.Amends,
		Content: t.content}
	for i, to := range []*string{&e.line.TagSHA256, &e.line.TagSHA512} {
		_, name := algorithms[i].manifests()
		*to = algorithms[i].of(files[name])
	}
	if p.Head != "" {
		e.line.Previous = p.Head
	}
	e.line.sign(s.o.Key)
	e.line.Sum = e.line.sum()
	e.Hash = sumOf(append(e.line.encode(), '\n'))

	p.Head, p.names[e.Bag], p.content[t.content], p.met[e] = e.Hash, true, e, true
	p.Entries, p.ready = append(p.Entries, e), append(p.ready, e)
	if old := s.entry(e.Amends); old != nil {
		old.AmendedBy = e.Path()
	}
}

// writeAll writes files below a folder, in the order of their paths.
func (s *sealer) writeAll(at string, files map[string][]byte) error {
	var paths []string
	for p := range files {
		paths = append(paths, p)
	}
	sort.Strings(paths)
	for _, p := range paths {
		name := path.Join(at, p)
		if err := s.mkdirAll(path.Dir(name)); err != nil {
			return err
		}
		if err := s.write(name, files[p]); err != nil {
			return err
		}
	}
	return nil
}
