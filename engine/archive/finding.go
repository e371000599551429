package archive

import (
	"fmt"

	"example.org/taut/engine/finding"
)

// Finding is something to say about an archive. Slug names its kind for good.
type Finding struct {
	Path     string           // below the archive, with forward slashes; "." for the archive itself
	Line     int              // in that file, from 1; 0 for the file as a whole
	Severity finding.Severity // an error where the archive is not as it was sealed
	Slug     string
	Message  string
	Hint     string
}

// String is the one-line form: path:line: severity: slug: message; hint.
func (f *Finding) String() string {
	at := f.Path
	if f.Line > 0 {
		at = fmt.Sprintf("%s:%d", f.Path, f.Line)
	}
	text := fmt.Sprintf("%s: %s: %s: %s", at, f.Severity, f.Slug, f.Message)
	if f.Hint != "" {
		text += "; " + f.Hint
	}
	return text
}

// Error implements error.
func (f *Finding) Error() string { return f.String() }

var _ error = (*Finding)(nil)

// fault is an error about a file.
func fault(path, slug, message, hint string) *Finding {
	return &Finding{Path: path, Severity: finding.Error, Slug: slug, Message: message, Hint: hint}
}

// counted is a number of things in words: "1 line", "2 lines".
func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
