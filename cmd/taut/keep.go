package main

import (
	"crypto/sha256"
	"debug/elf"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"example.org/taut/engine/build"
)

// keepVariable names the folder where it is kept from build to build what the
// pages were made from; "off" keeps nothing.
const keepVariable = "TAUT_CACHE"

// keep is what is known of earlier builds, nil where nothing is kept. The pages
// depend on the program and on what themes say beside the files of the record.
func keep(theme string) *build.Keep {
	dir := os.Getenv(keepVariable)
	switch dir {
	case "off":
		return nil
	case "":
		caches, err := os.UserCacheDir()
		if err != nil {
			return nil
		}
		dir = filepath.Join(caches, "taut")
	}
	program := sync.OnceValues(programSum)
	go program() // may read some megabytes: meanwhile there is other work
	return build.NewKeep(dir, func() (string, error) {
		sum, err := program()
		return sum + " " + theme, err
	})
}

// programSum tells this program from all others: whatever of it changes, its
// version number or not, may change pages. It is what the go command has
// written into it to tell it by, and the SHA-256 sum of the file where there is
// no such thing.
func programSum() (string, error) {
	f, err := openProgram()
	if err != nil {
		return "", err
	}
	defer f.Close()
	if id := buildID(f); id != "" {
		return "build " + id, nil
	}
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// wholeBuildID is one as the go command makes it, of sums of whatever went into
// the program and of the program itself. Others that link may write anything.
var wholeBuildID = regexp.MustCompile(`^[-\w]{20}/[-\w]{20}/[-\w]{20}/[-\w]{20}$`)

// buildID is the build ID of a program in the form of ELF; "" for none.
func buildID(program io.ReaderAt) string {
	f, err := elf.NewFile(program)
	if err != nil {
		return ""
	}
	defer f.Close()
	s := f.Section(".note.go.buildid")
	if s == nil {
		return ""
	}
	note, err := s.Data()
	const head = 16 // three lengths of four bytes, and the name of the note
	if err != nil || len(note) < head {
		return ""
	}
	id := note[head:]
	if n := f.ByteOrder.Uint32(note[4:]); uint64(n) < uint64(len(id)) {
		id = id[:n]
	}
	if !wholeBuildID.Match(id) {
		return ""
	}
	return string(id)
}

// openProgram opens the very file that runs. Where the system can't give it,
// another may by now stand at its path.
func openProgram() (*os.File, error) {
	if f, err := os.Open("/proc/self/exe"); err == nil || !errors.Is(err, fs.ErrNotExist) {
		return f, err
	}
	path, err := os.Executable()
	if err != nil {
		return nil, err
	}
	return os.Open(path)
}

// notedFS is a file system that notes the sums of the files that are read of it.
type notedFS struct {
	fs.FS
	sums []string
}

var _ fs.ReadFileFS = (*notedFS)(nil)

// ReadFile implements fs.ReadFileFS.
func (n *notedFS) ReadFile(name string) ([]byte, error) {
	text, err := fs.ReadFile(n.FS, name)
	if err == nil {
		n.sums = append(n.sums, fmt.Sprintf("%s %x", name, sha256.Sum256(text)))
	}
	return text, err
}

// sum is that of all that was read.
func (n *notedFS) sum() string {
	sums := slices.Clone(n.sums)
	slices.Sort(sums)
	sum := sha256.Sum256([]byte(strings.Join(sums, "\n")))
	return hex.EncodeToString(sum[:])
}
