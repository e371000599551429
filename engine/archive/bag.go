package archive

import (
	"bytes"
	"fmt"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/results"
)

// Bag is the bag of a record.
type Bag struct {
	archive *Archive
	path    string
	entry   *Entry
}

// Bag returns the bag of an entry. The error is a *Finding where there is no
// such folder.
func (a *Archive) Bag(e *Entry) (*Bag, error) {
	info, err := a.root.Lstat(e.Path())
	switch {
	case err != nil:
		f := unreadable(e.Path(), err)
		if f.Slug == "missing" {
			f.Message = "the ledger lists this bag, but it is not there"
		}
		return nil, f
	case !info.IsDir():
		return nil, fault(e.Path(), "not-a-folder", "the ledger lists this bag, but it is no folder", "copy it back from another copy of the archive")
	}
	return &Bag{archive: a, path: e.Path(), entry: e}, nil
}

// Path is that of the bag's folder below the archive, with forward slashes.
func (b *Bag) Path() string { return b.path }

// Page is the path of the record's page below the archive.
func (b *Bag) Page() string { return b.path + "/" + pageFile }

// Amends is the path of the bag that this one amends; "" for none.
func (b *Bag) Amends() string { return b.entry.Amends }

// Results reads the bag's results file. The error is a *Finding. Whether the
// file is as it was sealed, Verify tells.
func (b *Bag) Results() (*results.File, error) {
	path := b.path + "/" + resultFile
	text, err := readRegular(b.archive.root, path, mostRead)
	if err != nil {
		return nil, unreadable(path, err)
	}
	r, err := results.Parse(text)
	if err != nil {
		return nil, fault(path, "bad-results", err.Error(), "the file was changed after it was sealed; `taut verify` tells more")
	}
	return r, nil
}

// Info reads the bag's bag-info.txt: the elements in their order. The error is
// a *Finding.
func (b *Bag) Info() ([]Element, error) {
	path := b.path + "/bag-info.txt"
	text, err := readRegular(b.archive.root, path, mostRead)
	if err != nil {
		return nil, unreadable(path, err)
	}
	return parseInfo(path, text)
}

// Element is one metadata element of a bag.
type Element struct{ Label, Value string }

// parseInfo reads lines `Label: value`, as we write them: one line each.
func parseInfo(path string, text []byte) ([]Element, error) {
	var out []Element
	for i, l := range bytes.Split(bytes.TrimSuffix(text, []byte("\n")), []byte("\n")) {
		label, value, ok := bytes.Cut(l, []byte(": "))
		if !ok || len(label) == 0 {
			return nil, &Finding{Path: path, Line: i + 1, Severity: finding.Error, Slug: "bad-info",
				Message: fmt.Sprintf("%q is no element `Label: value`", l), Hint: "the file was changed after it was sealed"}
		}
		out = append(out, Element{string(label), string(value)})
	}
	return out, nil
}
