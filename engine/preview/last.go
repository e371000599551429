package preview

import (
	"fmt"
	"html"
	"path"
	"regexp"
	"slices"
	"strings"

	"example.org/taut/engine/build"
	"example.org/taut/engine/finding"
)

// keep notes the values of a build, for when they cannot be had any more. A
// name that is gone without a fault is gone for good.
func (s *Server) keep(record string, out *build.Output) {
	values := s.lasting[record]
	if values == nil || count(out.Findings, finding.Error) == 0 {
		values = map[string]string{}
		s.lasting[record] = values
	}
	for name, v := range out.Results.Values {
		values[name] = v.Display
	}
}

// missing is the mark that pages have where a value cannot be had, with the
// name of the value.
var missing = regexp.MustCompile(`<span class="missing" data-of="([^"]*)">[^<]*</span>`)

// withLast sets the last good value, marked as such, behind each place where a
// value cannot be had. It returns how many there are.
func withLast(page []byte, values map[string]string, before string) ([]byte, int) {
	n := 0
	out := missing.ReplaceAllFunc(page, func(mark []byte) []byte {
		name := html.UnescapeString(string(missing.FindSubmatch(mark)[1]))
		value, ok := values[name]
		if !ok {
			return mark
		}
		n++
		return fmt.Appendf(slices.Clip(mark), ` <span class="taut-last"><small>not current, %s:</small> %s = %s</span>`,
			html.EscapeString(before), html.EscapeString(name), raised(html.EscapeString(value)))
	})
	return out, n
}

var exponent = regexp.MustCompile(`\^([-−+]?\d+)`)

// raised sets exponents of a display as such.
func raised(text string) string { return exponent.ReplaceAllString(text, "<sup>$1</sup>") }

// mostLines is how many faults are named by their lines.
const mostLines = 3

// faults says when the last good values were: before the faults there are now.
func faults(list []*finding.Finding, record string) string {
	var lines []string
	more := 0
	for _, f := range list {
		if f.Severity != finding.Error || f.At.IsZero() {
			continue
		}
		line, _ := f.At.Position()
		text := fmt.Sprintf("line %d", line)
		if base := path.Base(f.At.File.Name); base != path.Base(strings.ReplaceAll(record, `\`, "/")) {
			text = fmt.Sprintf("%s, line %d", base, line)
		}
		switch {
		case len(lines) > 0 && lines[len(lines)-1] == text:
		case len(lines) == mostLines:
			more++
		default:
			lines = append(lines, text)
		}
	}
	switch {
	case len(lines) == 0:
		return "from before the last change"
	case len(lines) == 1 && more == 0:
		return "from before the fault of " + lines[0]
	case more > 0:
		return fmt.Sprintf("from before the faults of %s and %d more", strings.Join(lines, "; "), more)
	}
	return "from before the faults of " + strings.Join(lines[:len(lines)-1], "; ") + " and " + lines[len(lines)-1]
}

// since says it of the whole page.
func since(list []*finding.Finding, record string) string {
	return "The grey, hatched numbers are not current: they are " + faults(list, record) + ". All others are of the files as they are now."
}
