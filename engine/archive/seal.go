package archive

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

// AmendsNone as Options.Amends says that a record is a new one, whatever it
// looks like.
const AmendsNone = "none"

// Options are what a sealing is given beside the records.
type Options struct {
	Build build.Options // its Theme and View are not looked at
	// ThemeFiles returns the folder of the theme that a record names, "" for
	// the default.
	ThemeFiles func(name string) (fs.FS, error)
	Theme      fs.FS  // instead of the one that the record names; nil for none
	Module     string // the program's module with its version and sum; "" where not known
	WithErrors bool   // seal records with errors too
	// Amends is the bag that the one record amends, as APPARATUS/BAG or BAG;
	// AmendsNone; or "" to find out.
	Amends string
	Key    ed25519.PrivateKey // to sign with; nil for none
	// Sealed is the date of the sealing, ISO 8601; "" for that of each record.
	Sealed string

	hooks hooks
}

// Outcome is what came of a record.
type Outcome int

// The outcomes.
const (
	Sealed  Outcome = iota // there is a new bag
	Already                // the same was sealed before
	Refused                // nothing was sealed; Err says why
)

// Sealing is what came of one record.
type Sealing struct {
	Record   string // its path as it was given
	Outcome  Outcome
	Bag      string // APPARATUS/BAG; that of before, where the same was sealed
	Amends   string // the bag that it amends; "" for none
	Findings []*finding.Finding
	Err      error // a *Finding, or an error of build.Record
	// Differs says that the same was sealed before, but that the results are
	// others now: the engine is not the one that its version says.
	Differs bool
}

// Head is the end of the ledger of an apparatus.
type Head struct {
	Apparatus string // folder
	Lines     int
	Hash      string // SHA-256 sum of the last line
}

// chunk is how many records are made ready before they are sealed together. The
// tests make it smaller.
var chunk = 64

// Seal seals records into the archive in a folder, in their order, and makes
// the archive where there is none. What came of each record is handed to done
// once it is settled. A record that is refused hinders no other. The error is a
// *Finding where the archive can't be added to; the records handed to done
// before are sealed then, and the archive is whole. It returns the heads of the
// apparatus that were sealed into.
func Seal(dir string, records []string, o Options, done func(*Sealing)) ([]Head, error) {
	d, locked, err := openToSeal(dir, o.hooks)
	if err != nil {
		return nil, err
	}
	defer d.root.Close()
	defer locked.Close()
	s, err := newSealer(d, o)
	if err != nil {
		return nil, err
	}
	for len(records) > 0 {
		n := min(chunk, len(records))
		list, err := s.some(records[:n])
		if err != nil {
			return s.heads(), writeError(".", err)
		}
		for _, x := range list {
			done(x)
		}
		records = records[n:]
	}
	return s.heads(), nil
}

// sealer is one call of Seal.
type sealer struct {
	disk
	o       Options
	again   *rebuilder
	archive *Archive
	folders map[string]*folder // by name
	order   []*folder          // those sealed into
}

// folder is that of an apparatus, with what is made ready for it.
type folder struct {
	*Apparatus
	isNew   bool
	content map[string]*Entry
	names   map[string]bool
	ready   []*Entry
	sealed  bool
	// met are the bags that records of this call became, or were found to be:
	// another record of the call is no version of them.
	met map[*Entry]bool
}

func newSealer(d disk, o Options) (*sealer, error) {
	if o.Sealed != "" {
		if _, err := time.Parse(time.DateOnly, o.Sealed); err != nil {
			return nil, fmt.Errorf("%q is no date such as 2026-03-14", o.Sealed)
		}
	}
	s := &sealer{disk: d, o: o, again: newRebuilder(d.root, o.Build), archive: &Archive{root: d.root}, folders: map[string]*folder{}}
	if err := s.archive.read(); err != nil {
		return nil, err
	}
	for _, f := range s.archive.findings {
		if f.Severity == finding.Error {
			broken := *f
			broken.Hint = "an archive that is not whole is not added to: put it right first, and let `taut verify` say so"
			return nil, &broken
		}
	}
	for _, p := range s.archive.apparatus {
		s.addFolder(p, false)
	}
	return s, nil
}

func (s *sealer) addFolder(p *Apparatus, isNew bool) *folder {
	f := &folder{Apparatus: p, isNew: isNew, content: map[string]*Entry{}, names: map[string]bool{}, met: map[*Entry]bool{}}
	for _, e := range p.Entries {
		f.content[e.line.Content], f.names[e.Bag] = e, true
	}
	s.folders[p.Folder] = f
	return f
}

func (s *sealer) heads() []Head {
	var out []Head
	for _, f := range s.order {
		out = append(out, Head{f.Folder, len(f.Entries), f.Head})
	}
	return out
}

// some seals some records together.
func (s *sealer) some(records []string) ([]*Sealing, error) {
	type outcome struct {
		t   *taken
		err error
	}
	o := s.o
	if len(records) > 1 {
		o.Build.Workers = 1 // the records themselves are built side by side
	}
	var out []*Sealing
	var err error
	build.InOrder(context.Background(), len(records), s.o.Build.Workers,
		func(i int) outcome {
			t, err := take(records[i], o)
			return outcome{t, err}
		},
		func(i int, r outcome) bool {
			var x *Sealing
			if err != nil {
				return false
			}
			if x, err = s.one(records[i], r.t, r.err); err == nil {
				out = append(out, x)
			}
			return err == nil
		})
	if err != nil {
		return nil, s.giveUp(err)
	}
	return out, s.finish()
}

// giveUp clears the work away, as far as that can be done: the next sealing
// does the rest.
func (s *sealer) giveUp(err error) error {
	if e := s.clear(); e != nil {
		return errors.Join(err, e)
	}
	return err
}

// finish writes the ledgers and the journal and moves all into its place.
func (s *sealer) finish() error {
	var j journal
	var with []*folder
	for _, p := range sortedFolders(s.folders) {
		if len(p.ready) == 0 {
			continue
		}
		with = append(with, p)
		if p.isNew {
			j.Folders = append(j.Folders, p.Folder)
		} else {
			j.Ledgers = append(j.Ledgers, p.Folder)
			for _, e := range p.ready {
				j.Bags = append(j.Bags, e.Path())
			}
		}
	}
	if len(with) == 0 {
		return s.clearIfThere()
	}
	if err := s.prepare(with, j); err != nil {
		return s.giveUp(err)
	}
	if err := s.move(&j); err != nil {
		return fmt.Errorf("the records are sealed, but not all in their places; the next `taut seal` finishes that: %w", err)
	}
	for _, p := range with {
		p.isNew, p.ready = false, nil
		if !p.sealed {
			p.sealed = true
			s.order = append(s.order, p)
		}
	}
	return nil
}

func (s *sealer) clearIfThere() error {
	there, err := s.has(workDir)
	if err != nil || !there {
		return err
	}
	return s.clear()
}

func (s *sealer) prepare(with []*folder, j journal) error {
	for _, p := range with {
		if err := s.prepareLedger(p); err != nil {
			return err
		}
	}
	if err := s.syncAll(workDir); err != nil {
		return err
	}
	return s.commit(j)
}

// prepareLedger writes the ledger as it shall be: the old one with the new
// lines.
func (s *sealer) prepareLedger(p *folder) error {
	var text []byte
	if !p.isNew {
		old, err := readRegular(s.root, p.Folder+"/"+ledgerName, 1<<40)
		if err != nil {
			return err
		}
		text = old
	}
	for _, e := range p.ready {
		text = append(append(text, e.line.encode()...), '\n')
	}
	return s.write(workDir+"/"+p.Folder+"/"+ledgerName, text)
}

// one makes one record ready, with what came of taking it. An error is one of
// the archive; what is wrong with the record is in the Sealing.
func (s *sealer) one(path string, t *taken, err error) (*Sealing, error) {
	x := &Sealing{Record: path}
	if t != nil {
		x.Findings = t.out.Findings
	}
	if err != nil {
		return x.refuse(err), nil
	}
	p := s.folderOf(t)
	amends, known, err := s.amended(p, t)
	if err != nil {
		return x.refuse(err), nil
	}
	if known != nil {
		p.met[known] = true
		x.Outcome, x.Bag, x.Amends = Already, known.Path(), known.Amends
		x.Differs = s.differs(known, t)
		return x, nil
	}
	e, err := s.stage(p, t, amends)
	var f *Finding
	if errors.As(err, &f) && f.Path == path {
		return x.refuse(err), s.remove(workDir + "/" + p.Folder + "/" + e.Bag)
	}
	if err != nil {
		return nil, err
	}
	x.Bag, x.Amends = e.Path(), e.Amends
	return x, nil
}

func (x *Sealing) refuse(err error) *Sealing {
	x.Outcome, x.Err = Refused, err
	return x
}

// folderOf returns the folder of a record's apparatus, a new one where there
// is none.
func (s *sealer) folderOf(t *taken) *folder {
	identity := t.identity()
	var there *folder
	name := free(folderName(identity), "-", 1, func(n string) bool {
		f := s.folders[n]
		if f != nil && f.Identity == identity {
			there = f
			return false
		}
		if f == nil {
			// Something else may lie there; it is not touched.
			taken, err := s.has(n)
			return taken || err != nil
		}
		return true
	})
	if there != nil {
		return there
	}
	return s.addFolder(&Apparatus{Folder: name, Identity: identity}, true)
}

// differs reports whether the results of what was sealed before are others
// than those of now.
func (s *sealer) differs(e *Entry, t *taken) bool {
	old, err := readRegular(s.root, e.Path()+"/"+resultFile, mostRead)
	if err != nil {
		return false // verify tells
	}
	now, err := t.out.Results.Bytes()
	return err == nil && compareResults(old, now, false).status == Changed
}
