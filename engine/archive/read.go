package archive

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"

	"example.org/taut/engine/finding"
)

// mostRead is the size of the largest file that is read as a whole, in bytes.
const mostRead = 64 << 20

// openRegular opens an ordinary file below a root. What is no ordinary file is
// not opened: a pipe would wait for its writer, and a link leads elsewhere.
func openRegular(root *os.Root, name string) (*os.File, error) {
	info, err := root.Lstat(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &notRegular{info.Mode()}
	}
	f, err := root.OpenFile(name, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	// Asked again of what was opened: it may have been exchanged.
	if again, err := f.Stat(); err != nil || !os.SameFile(info, again) {
		f.Close()
		return nil, errors.New("it was exchanged while it was read")
	}
	return f, nil
}

// readRegular reads an ordinary file of at most so many bytes.
func readRegular(root *os.Root, name string, most int64) ([]byte, error) {
	f, err := openRegular(root, name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, err
	}
	if int64(len(text)) > most {
		return nil, &tooLarge{most}
	}
	return text, nil
}

type notRegular struct{ mode fs.FileMode }

func (e *notRegular) Error() string {
	switch {
	case e.mode.IsDir():
		return "it is a folder, not a file"
	case e.mode&fs.ModeSymlink != 0:
		return "it is a symbolic link, not a file"
	}
	return "it is something special, not a file"
}

type tooLarge struct{ most int64 }

func (e *tooLarge) Error() string {
	return fmt.Sprintf("it has more than %d bytes, the most that is read", e.most)
}

// unreadable is the finding for a file that could not be read. Where it is the
// reader who may not, rather than the file that is wrong, its slug is
// `unreadable`.
func unreadable(path string, err error) *Finding {
	var special *notRegular
	var large *tooLarge
	f := &Finding{Path: path, Severity: finding.Error, Slug: slugUnreadable}
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		f.Slug, f.Message, f.Hint = "missing", "there is no such file", "copy it back from another copy of the archive"
	case errors.As(err, &special):
		f.Slug, f.Message, f.Hint = "not-a-file", special.Error(), "an archive holds folders and files only"
	case errors.As(err, &large):
		f.Slug, f.Message = "too-large", large.Error()
	case errors.Is(err, fs.ErrPermission):
		f.Message, f.Hint = "it may not be read", "its permissions forbid it"
	default:
		f.Message = "it can't be read: " + reason(err)
	}
	return f
}

const slugUnreadable = "unreadable"

// reason is what the system says, without the path, which may be absolute.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	var l *os.LinkError
	if errors.As(err, &l) {
		return l.Err.Error()
	}
	return err.Error()
}
