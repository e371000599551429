package archive

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path"
	"runtime"
	"syscall"

	"example.org/taut/engine/build"
)

// hooks are where the tests interrupt sealings.
type hooks struct {
	// step is told of everything that is about to happen to the file system,
	// and can stop it; nil for no one.
	step func(op, name string) error
	// reading is told which file of a record's source is about to be read, by
	// several goroutines; nil for no one.
	reading func(name string) error
	// flush makes a file or folder reach the disk; nil for the system's way.
	flush func(*os.File) error
}

func (h hooks) before(op, name string) error {
	if h.step == nil {
		return nil
	}
	return h.step(op, name)
}

func (h hooks) beforeReading(name string) error {
	if h.reading == nil {
		return nil
	}
	return h.reading(name)
}

func (h hooks) sync(f *os.File) error {
	if h.flush == nil {
		return f.Sync()
	}
	return h.flush(f)
}

// disk is the file system below the archive as a sealing changes it. Every
// change passes by the hooks.
type disk struct {
	root *os.Root
	hooks
}

// mkdirAll makes a folder and those above it. What lists them is to be synced.
func (d disk) mkdirAll(name string) error {
	if name == "." {
		return nil
	}
	if info, err := d.root.Lstat(name); err == nil && info.IsDir() {
		return nil
	}
	if err := d.mkdirAll(path.Dir(name)); err != nil {
		return err
	}
	if err := d.before("mkdir", name); err != nil {
		return err
	}
	return d.root.Mkdir(name, 0o777)
}

// write writes a new file. In an archive no file is ever written again, and its
// permissions say so. It reaches the disk with syncAll.
func (d disk) write(name string, text []byte) error {
	if err := d.before("create", name); err != nil {
		return err
	}
	f, err := d.root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o444)
	if err != nil {
		return err
	}
	if err := d.fill(f, name, text); err != nil {
		f.Close()
		return err
	}
	if runtime.GOOS == "windows" {
		// A file that is not to be written to again can't be synced there
		// later.
		if err := d.hooks.sync(f); err != nil {
			f.Close()
			return err
		}
	}
	return f.Close()
}

// fill writes in two pieces, so that an interruption can fall between.
func (d disk) fill(f *os.File, name string, text []byte) error {
	for _, piece := range [][]byte{text[:len(text)/2], text[len(text)/2:]} {
		if err := d.before("write", name); err != nil {
			return err
		}
		if _, err := f.Write(piece); err != nil {
			return err
		}
	}
	return nil
}

// rename moves a file or folder; a file takes the place of another at once.
func (d disk) rename(from, to string) error {
	if err := d.before("rename", to); err != nil {
		return err
	}
	if err := d.root.Rename(from, to); err != nil {
		return err
	}
	if err := d.sync(path.Dir(to)); err != nil {
		return err
	}
	return d.sync(path.Dir(from))
}

// sync makes a file, or what a folder lists, reach the disk.
func (d disk) sync(name string) error {
	if err := d.before("sync", name); err != nil {
		return err
	}
	return d.flushOne(name)
}

// flushOne makes a file, or what a folder lists, reach the disk.
func (d disk) flushOne(name string) error {
	if runtime.GOOS == "windows" {
		return nil // see write; folders cannot be synced there
	}
	f, err := d.root.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	// Some file systems, mostly of networks, know no such thing for folders.
	if err := d.hooks.sync(f); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}

// atOnce is how many files are synced at once: a disk that is asked for many
// does them together.
const atOnce = 16

// syncAll makes a folder with all that it holds reach the disk.
func (d disk) syncAll(dir string) error {
	var names []string
	err := fs.WalkDir(d.root.FS(), dir, func(name string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		names = append(names, name)
		return d.before("sync", name)
	})
	if err != nil {
		return err
	}
	build.InOrder(context.Background(), len(names), atOnce,
		func(i int) error { return d.flushOne(names[i]) },
		func(_ int, e error) bool { err = e; return e == nil })
	return err
}

// remove removes a file or a folder with all that it holds.
func (d disk) remove(name string) error {
	info, err := d.root.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if info.IsDir() {
		inside, err := fs.ReadDir(d.root.FS(), name)
		if err != nil {
			return err
		}
		for _, e := range inside {
			if err := d.remove(path.Join(name, e.Name())); err != nil {
				return err
			}
		}
	}
	if err := d.before("remove", name); err != nil {
		return err
	}
	return d.root.Remove(name)
}

// has reports whether there is something of that name.
func (d disk) has(name string) (bool, error) {
	_, err := d.root.Lstat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
