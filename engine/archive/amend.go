package archive

import (
	"fmt"
	"path"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

// amended finds the bag that a record amends, "" for none, or the entry that
// holds just the same.
func (s *sealer) amended(p *folder, t *taken) (amends string, known *Entry, err error) {
	same := p.content[t.content]
	switch s.o.Amends {
	case "":
		if same != nil {
			return "", same, nil
		}
		amends, err = s.find(p, t)
		return amends, nil, err
	case AmendsNone:
		return "", same, nil
	}
	old, err := s.named(s.o.Amends, t)
	switch {
	case err != nil:
		return "", nil, err
	case same != nil && (same == old || same.Amends == old.Path()):
		return "", same, nil
	case old.AmendedBy != "":
		return "", nil, refusal(t.path, "amended-already", fmt.Sprintf("`%s` was amended before, by `%s`", old.Path(), old.AmendedBy), "amend that one")
	}
	return old.Path(), nil, nil
}

// named finds the bag that was named, by its path or by its name alone.
func (s *sealer) named(name string, t *taken) (*Entry, error) {
	var fits []*Entry
	var all []string
	for _, f := range sortedFolders(s.folders) {
		for _, e := range f.Entries {
			if e.Path() == name || e.Bag == name {
				fits = append(fits, e)
			}
			all = append(all, e.Bag, e.Path())
		}
	}
	switch len(fits) {
	case 0:
		return nil, refusal(t.path, "no-such-bag", fmt.Sprintf("the archive has no bag `%s` that could be amended", name), finding.DidYouMean(name, all))
	case 1:
		return fits[0], nil
	}
	return nil, refusal(t.path, "no-such-bag", fmt.Sprintf("there are %d bags `%s`", len(fits), name), fmt.Sprintf("name its apparatus too: `%s`", fits[0].Path()))
}

// find looks for the bag that a record is a changed version of. It is certain
// where one bag of the apparatus alone has the same path below a marked root
// and the same date, or the same path, title, date and author. Where a bag
// might be meant and that is not certain, the author has to say so: a record
// taken for a version of another would hide it.
func (s *sealer) find(p *folder, t *taken) (string, error) {
	var sure, perhaps []string
	for _, e := range p.Entries {
		if e.AmendedBy != "" || e.Record != t.out.Path || p.met[e] {
			continue
		}
		marked, author := s.ofOld(e)
		marked = marked && t.marked
		sameTitle, sameDate := e.Title == t.out.Title, e.Date == t.date
		switch {
		case marked && sameDate, sameTitle && sameDate && author != "" && author == t.out.Results.Record.Author:
			sure = append(sure, e.Path())
		case marked && sameTitle, sameTitle && sameDate && (author == "" || t.out.Results.Record.Author == ""):
			perhaps = append(perhaps, e.Path())
		}
	}
	switch all := append(sure, perhaps...); {
	case len(all) == 0:
		return "", nil
	case len(sure) == 1 && len(perhaps) == 0:
		return sure[0], nil
	default:
		list := "`" + strings.Join(all[:min(3, len(all))], "`, `") + "`"
		if len(all) > 3 {
			list += fmt.Sprintf(" and %d more", len(all)-3)
		}
		return "", refusal(t.path, "amends-unclear", "this may be a changed version of "+list,
			fmt.Sprintf("say so with `--amends %s`, or `--amends %s` if it is a record of its own", all[0], AmendsNone))
	}
}

// ofOld returns what is known of a record that was sealed before: whether its
// root is marked, and who wrote it.
func (s *sealer) ofOld(e *Entry) (marked bool, author string) {
	_, err := s.root.Lstat(path.Join(e.Path(), sourceDir, build.Marker))
	b := &Bag{archive: s.archive, path: e.Path(), entry: e}
	r, badResults := b.Results()
	if badResults != nil {
		return err == nil, ""
	}
	return err == nil, r.Record.Author
}

// nameFor is the name of a new bag: date and title, or the name of the first
// version and the number of this one.
func (s *sealer) nameFor(p *folder, t *taken, amends string) string {
	taken := func(name string) bool {
		if p.names[name] {
			return true
		}
		// Something may lie there that no ledger lists; it is not touched.
		there, err := s.has(p.Folder + "/" + name)
		return there || err != nil
	}
	if amends == "" {
		return free(t.date+"-"+slug(t.out.Title, "record"), "-", 1, taken)
	}
	first, version := amends, 2
	for e := s.entry(first); e != nil && e.Amends != ""; e = s.entry(first) {
		first, version = e.Amends, version+1
	}
	return free(path.Base(first), "-r", version, taken)
}

func (s *sealer) entry(at string) *Entry {
	folder, bag, _ := strings.Cut(at, "/")
	if f := s.folders[folder]; f != nil {
		for _, e := range f.Entries {
			if e.Bag == bag {
				return e
			}
		}
	}
	return nil
}
