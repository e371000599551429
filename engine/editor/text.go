package editor

import (
	"net/url"
	"path/filepath"
	"runtime"
	"strings"
	"unicode/utf8"

	"example.org/taut/engine/source"
)

// Units in which the protocol counts the characters of a line.
const (
	utf8Units  = "utf-8"
	utf16Units = "utf-16" // what holds where nothing else was agreed upon
)

// units is the length of a text in the units of an encoding.
func units(text []byte, encoding string) int {
	if encoding == utf8Units {
		return len(text)
	}
	n := 0
	for len(text) > 0 {
		r, size := utf8.DecodeRune(text)
		text = text[size:]
		if n++; r > 0xFFFF {
			n++ // two units of UTF-16
		}
	}
	return n
}

// positionOf turns a byte offset into a position.
func positionOf(f *source.File, offset int, encoding string) position {
	line, _ := f.Position(offset)
	start := f.LineStart(line)
	return position{Line: line - 1, Character: units(f.Text[start:min(max(offset, start), len(f.Text))], encoding)}
}

func rangeOf(s source.Span, encoding string) textRange {
	return textRange{positionOf(s.File, s.Start, encoding), positionOf(s.File, s.End, encoding)}
}

// offsetOf turns a position into a byte offset. A position behind the end of
// its line stands for that end, as the protocol has it.
func offsetOf(f *source.File, p position, encoding string) int {
	if p.Line < 0 || p.Character < 0 {
		return 0
	}
	start := f.LineStart(p.Line + 1)
	line := []byte(f.Line(p.Line + 1))
	at, n := 0, 0
	for at < len(line) && n < p.Character {
		_, size := utf8.DecodeRune(line[at:])
		n += units(line[at:at+size], encoding)
		at += size
	}
	return start + at
}

// pathOf is the path of a file's URI; "" where it is no file.
func pathOf(uri string) string {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "file" || u.Path == "" {
		return ""
	}
	path := u.Path
	if runtime.GOOS == "windows" {
		path = strings.TrimPrefix(path, "/")
	}
	return resolved(filepath.FromSlash(path))
}

// resolved is a path whose folder is free of symbolic links, as records are
// known by it.
func resolved(path string) string {
	path = filepath.Clean(path)
	if dir, err := filepath.EvalSymlinks(filepath.Dir(path)); err == nil {
		return filepath.Join(dir, filepath.Base(path))
	}
	return path
}

// uriOf is the URI of a file.
func uriOf(path string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return (&url.URL{Scheme: "file", Path: path}).String()
}
