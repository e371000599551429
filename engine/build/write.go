package build

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile writes a file at once or not at all: a reader finds the old bytes
// or the new ones, never a part. A new file may be read by all, as far as the
// umask lets it; one that is there keeps its permissions.
func WriteFile(path string, text []byte) error { return replace(path, text, true) }

// CreateFile does the same and makes the folders that the file needs.
func CreateFile(path string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return WriteFile(path, text)
}

// replace is WriteFile; with sync the new bytes have reached the disk before they
// take the place of the old ones.
func replace(path string, text []byte, sync bool) error {
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("%s: this is no ordinary file", path)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	f, err := newBeside(path)
	if err != nil {
		return ofPath(path, err)
	}
	_, err = f.Write(text)
	if err == nil && info != nil {
		err = f.Chmod(info.Mode().Perm())
	}
	if err == nil && sync {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		// Once it was renamed, another's new file may have the name.
		os.Remove(f.Name())
		return ofPath(path, err)
	}
	return nil
}

// ofPath tells an error of the new file as one of the file that it was to
// become: nobody knows the other.
func ofPath(path string, err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		err = p.Err
	case errors.As(err, &l):
		err = l.Err
	}
	return &fs.PathError{Op: "write", Path: path, Err: err}
}

// longestBase bounds what the name of a new file takes over, in bytes: names
// have 255 at most.
const longestBase = 200

// newBeside makes a new file in the folder of another. Unlike a temporary file
// of the system it has the permissions of an ordinary new file.
func newBeside(path string) (*os.File, error) {
	dir, base := filepath.Split(path)
	base = base[:min(len(base), longestBase)]
	for n := 0; ; n++ {
		name := fmt.Sprintf("%s.%s.%d-%d.new", dir, base, os.Getpid(), n)
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, fs.ErrExist) && n < 1000 {
			continue
		}
		return f, err
	}
}
