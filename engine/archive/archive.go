package archive

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"

	"example.org/taut/engine/finding"
)

// Archive is an archive that is open to be read. Its ledgers were read when it
// was opened; bags are opened one by one. It may be used by several goroutines.
type Archive struct {
	root      *os.Root
	apparatus []*Apparatus
	findings  []*Finding
	sealing   []string // names of what an interrupted sealing left behind
}

// Apparatus is the folder of an apparatus.
type Apparatus struct {
	Folder   string
	Identity string   // "" for records without an apparatus
	Entries  []*Entry // in the order of sealing
	Head     string   // SHA-256 sum of the ledger's last line; "" where there is none
}

// Open opens the archive in a folder. The error is a *Finding where the folder
// can't be read or is no archive; what is wrong within ledgers is among
// Findings. No bag is looked at.
func Open(dir string) (*Archive, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, cannotOpen(err)
	}
	a := &Archive{root: root}
	if err := a.read(); err != nil {
		root.Close()
		return nil, err
	}
	return a, nil
}

// Close closes the archive.
func (a *Archive) Close() error { return a.root.Close() }

// Apparatus returns the apparatus by the names of their folders.
func (a *Archive) Apparatus() []*Apparatus { return slices.Clip(a.apparatus) }

// Findings returns what is wrong with the marker and the ledgers.
func (a *Archive) Findings() []*Finding { return slices.Clip(a.findings) }

// Entry returns the entry of a bag by its path, APPARATUS/BAG; nil where no
// ledger lists it.
func (a *Archive) Entry(path string) *Entry {
	folder, bag, _ := strings.Cut(path, "/")
	for _, p := range a.apparatus {
		if p.Folder != folder {
			continue
		}
		for _, e := range p.Entries {
			if e.Bag == bag {
				return e
			}
		}
	}
	return nil
}

func (a *Archive) read() error {
	text, err := readRegular(a.root, markerName, mostRead)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &Finding{Path: ".", Severity: finding.Error, Slug: "no-archive", Message: "this folder is no archive: it has no `" + markerName + "`",
			Hint: "`taut seal` makes one"}
	case err != nil:
		return unreadable(markerName, err)
	case string(text) != markerText:
		a.findings = append(a.findings, badMarker(text))
	}
	names, err := a.list(".")
	if err != nil {
		return unreadable(".", err)
	}
	for _, e := range names {
		switch {
		case strings.HasPrefix(e.Name(), stagingPrefix):
			a.sealing = append(a.sealing, e.Name())
		case e.IsDir() && isSlug(e.Name()):
			a.addApparatus(e.Name())
		}
	}
	a.linkAmended()
	return nil
}

// list returns what a folder holds, sorted by name.
func (a *Archive) list(dir string) ([]fs.DirEntry, error) {
	return fs.ReadDir(a.root.FS(), dir)
}

func (a *Archive) addApparatus(folder string) {
	g := readLedger(a.root, folder)
	a.findings = append(a.findings, g.findings...)
	p := &Apparatus{Folder: folder, Entries: g.entries}
	if g.last != zeroSum {
		p.Head = g.last
	}
	if len(g.entries) > 0 {
		p.Identity = g.entries[0].line.Apparatus
	}
	a.apparatus = append(a.apparatus, p)
}

// linkAmended tells each bag which one amends it.
func (a *Archive) linkAmended() {
	by := map[string]*Entry{}
	for _, p := range a.apparatus {
		for _, e := range p.Entries {
			by[e.Path()] = e
		}
	}
	for _, p := range a.apparatus {
		for _, e := range p.Entries {
			if e.Amends == "" {
				continue
			}
			old := by[e.Amends]
			at := &Finding{Path: p.Folder + "/" + ledgerName, Line: e.N, Severity: finding.Error}
			switch {
			case old == nil:
				at.Slug, at.Message = "amends-nothing", "the line amends `"+e.Amends+"`, which no ledger lists"
				at.Hint = "an apparatus or lines were removed"
			case old.AmendedBy != "":
				at.Slug, at.Message = "amended-twice", "the line amends `"+e.Amends+"`, as `"+old.AmendedBy+"` does"
			default:
				old.AmendedBy = e.Path()
				continue
			}
			a.findings = append(a.findings, at)
		}
	}
}

func cannotOpen(err error) *Finding {
	f := unreadable(".", err)
	if f.Slug == "missing" {
		f.Slug, f.Message, f.Hint = slugUnreadable, "there is no such folder", ""
	}
	return f
}

// badMarker: `taut archive, layout 2`.
func badMarker(text []byte) *Finding {
	if strings.ReplaceAll(string(text), "\r\n", "\n") == markerText {
		return fault(markerName, "marker", "the marker has line ends of another system (CRLF)",
			"something that copied the archive changed its text files; copy the archive again, as it is")
	}
	first, _, _ := strings.Cut(string(text[:min(len(text), 80)]), "\n")
	want, _, _ := strings.Cut(markerText, "\n")
	if strings.HasPrefix(first, "taut archive, layout ") && first != want {
		return fault(markerName, "layout", "the archive says `"+first+"`; this program knows `"+want+"`", "use a newer program, or copy the file back")
	}
	return fault(markerName, "marker", "the marker is not as it was written", "copy it back from another archive: it is the same in all")
}
