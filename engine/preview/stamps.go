package preview

import (
	"os"
	"time"
)

// stamps are what the system says of files, by path; nil where there is none.
type stamps map[string]os.FileInfo

func stampsOf(paths []string) stamps {
	out := stamps{}
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil {
			info = nil
		}
		out[p] = info
	}
	return out
}

// joined returns the stamps from after a build that began at a time, with
// those from before it where there are any: a file that was saved while it was
// read is read again. One that was not known before, and is as young as the
// build, counts as changed.
func (s stamps) joined(after stamps, began time.Time) stamps {
	const coarse = 20 * time.Millisecond // the system's clock of files
	for p, info := range after {
		if before, ok := s[p]; ok {
			after[p] = before
		} else if info != nil && info.ModTime().After(began.Add(-coarse)) {
			after[p] = nil
		}
	}
	return after
}

// changed reports whether a file is another than it was.
func (s stamps) changed(now stamps) bool {
	if len(s) != len(now) {
		return true
	}
	for p, info := range now {
		before, ok := s[p]
		if !ok || differs(before, info) {
			return true
		}
	}
	return false
}

func differs(a, b os.FileInfo) bool {
	if a == nil || b == nil {
		return (a == nil) != (b == nil)
	}
	return a.Size() != b.Size() || !a.ModTime().Equal(b.ModTime()) || a.Mode() != b.Mode() || !os.SameFile(a, b)
}

// isHollow reports whether a file is not there or holds nothing: an editor may
// be about to write it.
func isHollow(info os.FileInfo) bool { return info == nil || info.Size() == 0 }
