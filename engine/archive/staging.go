package archive

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"strings"

	"example.org/taut/engine/finding"
)

// Bags are made ready below workDir, in folders of their apparatus, beside the
// ledger as it shall be. Once all has reached the disk the journal is written,
// which says what is to be moved where; from then on the sealing is done, and
// whoever seals next finishes what is left of the moving. Without a journal
// the work is thrown away. A folder of an apparatus that is new is moved as a
// whole; else the bags come first and then the ledger takes the place of the
// old one, so that every line has its bag at all times.
const (
	workDir     = stagingPrefix + "work"
	newMarker   = stagingPrefix + "new"
	journalName = workDir + "/journal"
)

// journal says what is to be moved out of workDir.
type journal struct {
	Folders []string `json:"folders"` // of new apparatus
	Bags    []string `json:"bags"`    // APPARATUS/BAG, of those that are there
	Ledgers []string `json:"ledgers"` // folders of apparatus that are there
	Sum     string   `json:"sum,omitempty"`
}

func (j journal) encode() []byte {
	text, err := json.Marshal(j)
	if err != nil {
		panic(err) // a struct of texts can be encoded
	}
	return text
}

// readJournal reads the journal of an interrupted sealing; nil where there is
// none.
func readJournal(root *os.Root) (*journal, error) {
	text, err := readRegular(root, journalName, mostRead)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, unreadable(journalName, err)
	}
	j := &journal{}
	err = json.Unmarshal(text, j)
	bare := *j
	bare.Sum = ""
	ok := err == nil && j.Sum == sumOf(bare.encode())
	for _, f := range append(append([]string(nil), j.Folders...), j.Ledgers...) {
		ok = ok && isSlug(f)
	}
	for _, b := range j.Bags {
		ok = ok && isBagPath(b)
	}
	if !ok {
		return nil, fault(journalName, "bad-journal", "what an interrupted sealing left behind can't be read",
			"take the folder `"+workDir+"` out of the archive, then let `taut verify` say whether anything is missing")
	}
	return j, nil
}

// commit writes the journal: from here on the sealing is done.
func (d disk) commit(j journal) error {
	j.Sum = sumOf(j.encode())
	if err := d.write(journalName+".new", j.encode()); err != nil {
		return err
	}
	if err := d.sync(journalName + ".new"); err != nil {
		return err
	}
	return d.rename(journalName+".new", journalName)
}

// move does what a journal says, as far as it is not done, and clears the work
// away.
func (d disk) move(j *journal) error {
	for _, f := range j.Folders {
		if err := d.moveOnce(path.Join(workDir, f), f); err != nil {
			return err
		}
	}
	for _, b := range j.Bags {
		if err := d.moveOnce(path.Join(workDir, b), b); err != nil {
			return err
		}
	}
	for _, f := range j.Ledgers {
		name := path.Join(f, ledgerName)
		ready, err := d.has(path.Join(workDir, name))
		if err != nil {
			return err
		}
		if ready { // else it took its place before
			if err := d.rename(path.Join(workDir, name), name); err != nil {
				return err
			}
		}
	}
	return d.clear()
}

// moveOnce moves a folder to where nothing is, unless that was done before.
func (d disk) moveOnce(from, to string) error {
	ready, err := d.has(from)
	if err != nil {
		return err
	}
	there, err := d.has(to)
	if err != nil {
		return err
	}
	switch {
	case ready && there:
		return fault(to, "in-the-way", "this is where a bag belongs that is being sealed, and something else is there", "move it out of the archive")
	case ready:
		return d.rename(from, to)
	case !there:
		return fault(to, "missing", "a sealing that was interrupted had made this ready, and it is gone", "copy the archive back")
	}
	return nil
}

// clear throws away what is below workDir. The journal goes first: what it
// names is in its place.
func (d disk) clear() error {
	if err := d.remove(journalName); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if err := d.remove(workDir); err != nil {
		return err
	}
	return d.sync(".")
}

// recover finishes or throws away what an interrupted sealing left behind.
func (d disk) recover() error {
	there, err := d.has(workDir)
	if err != nil || !there {
		return err
	}
	j, err := readJournal(d.root)
	if err != nil {
		return err
	}
	if j == nil {
		return d.clear()
	}
	return d.move(j)
}

// openToSeal opens an archive to be added to, and makes it where there is
// none. The lock is held until the file is closed.
func openToSeal(dir string, h hooks) (d disk, locked *os.File, err error) {
	if err := h.before("mkdir", "."); err != nil {
		return d, nil, writeError(".", err)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return d, nil, writeError(".", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return d, nil, cannotOpen(err)
	}
	d = disk{root, h}
	whole := false
	defer func() {
		if whole {
			return
		}
		if locked != nil {
			locked.Close()
		}
		root.Close()
	}()
	if locked, err = d.takeLock(); err == nil {
		err = d.recover()
	}
	if err != nil {
		return d, locked, writeError(".", err)
	}
	whole = true
	return d, locked, nil
}

// takeLock locks the marker. A new one is locked before it becomes the marker,
// so that there is no moment at which two hold it.
func (d disk) takeLock() (*os.File, error) {
	there, err := d.has(markerName)
	if err == nil && !there {
		if err := d.mayBecomeArchive(); err != nil {
			return nil, err
		}
		if f, err := d.makeMarker(); f != nil || err != nil {
			return f, err
		}
	}
	f, err := openRegular(d.root, markerName)
	if err != nil {
		return nil, unreadable(markerName, err)
	}
	return f, locked(f)
}

func locked(f *os.File) error {
	busy, err := lock(f)
	if busy {
		return &Finding{Path: ".", Severity: finding.Error, Slug: "busy", Message: "another sealing into this archive is under way",
			Hint: "wait until it has ended"}
	}
	return err
}

// mayBecomeArchive refuses a folder that holds something else.
func (d disk) mayBecomeArchive() error {
	inside, err := fs.ReadDir(d.root.FS(), ".")
	if err != nil {
		return err
	}
	for _, e := range inside {
		if !strings.HasPrefix(e.Name(), stagingPrefix) {
			return fault(".", "no-archive", "this folder is no archive, and is not empty", "name a new or empty folder, or an archive")
		}
	}
	return nil
}

// makeMarker returns the new marker, locked; nil where another has made one in
// the meantime.
func (d disk) makeMarker() (made *os.File, err error) {
	if err := d.before("create", newMarker); err != nil {
		return nil, err
	}
	f, err := d.root.OpenFile(newMarker, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	defer func() {
		if made == nil {
			f.Close()
		}
	}()
	if err := locked(f); err != nil {
		return nil, err
	}
	if there, err := d.has(markerName); there || err != nil {
		return nil, errors.Join(err, d.remove(newMarker))
	}
	if err := f.Truncate(0); err != nil {
		return nil, err
	}
	if err := d.fill(f, newMarker, []byte(markerText)); err != nil {
		return nil, err
	}
	if err := d.before("sync", newMarker); err != nil {
		return nil, err
	}
	if err := d.hooks.sync(f); err != nil {
		return nil, err
	}
	if err := d.rename(newMarker, markerName); err != nil {
		return nil, err
	}
	return f, nil
}

// writeError is the finding for a change that could not be made.
func writeError(at string, err error) error {
	var f *Finding
	if err == nil || errors.As(err, &f) {
		return err
	}
	var p *fs.PathError
	if errors.As(err, &p) && fs.ValidPath(p.Path) {
		at = p.Path
	}
	x := fault(at, slugUnwritable, fmt.Sprintf("the archive can't be written: %s", reason(err)), "nothing that was sealed is lost")
	if errors.Is(err, fs.ErrPermission) {
		x.Hint += "; it or the disk is read-only, or belongs to another user"
	}
	return x
}

const slugUnwritable = "unwritable"
