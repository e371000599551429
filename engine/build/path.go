package build

import (
	"bytes"
	"fmt"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/taut/engine/block"
)

// longestPath is the length of the longest path that is read, in bytes.
const longestPath = 1000

// checkPath refuses what is no path below the root by its very form.
func (d *door) checkPath(name string) error {
	switch {
	case strings.TrimSpace(name) == "":
		return &block.OpenError{Message: "the path of a file is due here", Hint: "give it relative to the record, such as `readings.csv`"}
	case len(name) > longestPath:
		return &block.OpenError{Message: fmt.Sprintf("this path has %d bytes", len(name)), Hint: "give it relative to the record, such as `readings.csv`"}
	case strings.IndexFunc(name, unicode.IsControl) >= 0 || !utf8.ValidString(name):
		return &block.OpenError{Message: "this path holds a character that no path has", Hint: "give it in one line of plain text"}
	case strings.Contains(name, "://"):
		return &block.OpenError{Message: fmt.Sprintf("`%s` is an address; nothing is fetched", name), Hint: "save the file beside the record"}
	case name[0] == '/' || name[0] == '~' && strings.HasPrefix(name, "~/") || isDrive(name):
		return &block.OpenError{Message: fmt.Sprintf("`%s` is not relative to the record", name), Hint: d.belowHint()}
	case strings.Contains(name, `\`):
		return &block.OpenError{Message: fmt.Sprintf("`%s` holds a backslash", name), Hint: "write `/` between folders, on every system"}
	case strings.HasSuffix(name, "/"):
		return &block.OpenError{Message: fmt.Sprintf("`%s` is a folder", name), Hint: "name a file in it"}
	}
	return nil
}

// isDrive reports whether a path begins with a drive or a share, as absolute
// ones do on some systems.
func isDrive(name string) bool {
	letter := len(name) > 1 && name[1] == ':' && (name[0]|0x20 >= 'a' && name[0]|0x20 <= 'z')
	return letter || strings.HasPrefix(name, `\`)
}

func (d *door) belowHint() string {
	if d.marked {
		return "a record reads files below the folder that holds `" + Marker + "` only"
	}
	return "a record reads files below its own folder only; an empty file `" + Marker + "` in a parent folder widens that to all below it"
}

func (d *door) outside(name string) error {
	return &block.OpenError{Message: fmt.Sprintf("`%s` leads outside of what the record may read", name), Hint: d.belowHint()}
}

func (d *door) linkedOutside(name string) error {
	return &block.OpenError{Message: fmt.Sprintf("`%s` is a symbolic link that leads outside of what the record may read", name),
		Hint: d.belowHint() + ", and a link must be relative"}
}

// checkInfo refuses what is not an ordinary file of a fit size.
func checkInfo(info fs.FileInfo, name string) error {
	switch mode := info.Mode(); {
	case mode.IsDir():
		return &block.OpenError{Message: fmt.Sprintf("`%s` is a folder", name), Hint: "name a file in it"}
	case !mode.IsRegular():
		return &block.OpenError{Message: fmt.Sprintf("`%s` is %s, not a file", name, special(mode)), Hint: "save the data in a file"}
	case info.Size() > MaxFile:
		return tooLarge(name, info.Size())
	}
	return nil
}

func special(mode fs.FileMode) string {
	switch {
	case mode&fs.ModeNamedPipe != 0:
		return "a pipe"
	case mode&fs.ModeSocket != 0:
		return "a socket"
	case mode&fs.ModeDevice != 0:
		return "a device"
	}
	return "something special"
}

func tooLarge(name string, size int64) error {
	const mib = 1 << 20
	return &block.OpenError{Message: fmt.Sprintf("`%s` has %.1f MiB, more than the %d MiB that are read", name, float64(size)/mib, MaxFile/mib),
		Hint: "keep the rows that the record needs"}
}

// checkText refuses what is not text in UTF-8, and says where it is not.
func checkText(text []byte, name string) error {
	if bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return &block.OpenError{Message: fmt.Sprintf("`%s` is in UTF-16", name), Hint: "save it as UTF-8"}
	}
	if i := bytes.IndexByte(text, 0); i >= 0 {
		return &block.OpenError{Message: fmt.Sprintf("`%s` is no text: a NUL byte at %s", name, offset(text, i)),
			Hint: "export it as text, such as CSV in UTF-8"}
	}
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n == 1 {
			return &block.OpenError{Message: fmt.Sprintf("`%s` is not in UTF-8: byte 0x%02X at %s", name, text[i], offset(text, i)),
				Hint: "save it as UTF-8"}
		}
		i += n
	}
	return nil
}

// offset tells a place in a file that can't be shown.
func offset(text []byte, i int) string {
	return fmt.Sprintf("offset %d (line %d)", i, 1+bytes.Count(text[:i], []byte("\n")))
}

// Printable is a path as it is printed: with forward slashes and in one line,
// whatever characters its names hold.
func Printable(path string) string {
	path = filepath.ToSlash(path)
	if strings.IndexFunc(path, unicode.IsControl) < 0 {
		return path
	}
	var b strings.Builder
	for _, r := range path {
		if unicode.IsControl(r) {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}
