package build

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Together has write fill a folder, and gives it to dir when all of it is
// there: a new or empty folder then holds everything, else nothing new.
func Together(dir string, write func(dir string) error) (err error) {
	entries, err := os.ReadDir(dir)
	there := err == nil
	switch {
	case there && len(entries) > 0:
		return errors.New(dir + ": this folder is not empty")
	case !there && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	beside := dir // within what is there: its parent may not be ours
	if !there {
		beside = filepath.Dir(dir)
		if err := os.MkdirAll(beside, 0o777); err != nil {
			return err
		}
	}
	temp, err := os.MkdirTemp(beside, ".part-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(temp)) }()
	made := filepath.Join(temp, "made") // with the permissions of any new folder
	if err := os.Mkdir(made, 0o777); err != nil {
		return err
	}
	if err := write(made); err != nil {
		return err
	}
	if !there {
		return os.Rename(made, dir)
	}
	return moveInto(dir, made)
}

// moveInto moves all that is in one folder into another; where that fails,
// what was moved is taken back.
func moveInto(dir, from string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	var moved []string
	for _, e := range entries {
		to := filepath.Join(dir, e.Name())
		if err := os.Rename(filepath.Join(from, e.Name()), to); err != nil {
			for _, m := range moved {
				err = errors.Join(err, os.RemoveAll(m))
			}
			return err
		}
		moved = append(moved, to)
	}
	return nil
}
