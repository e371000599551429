package variant

import (
	"fmt"
	"regexp"
	"strings"

	"example.org/taut/engine/record"
)

var headingLine = regexp.MustCompile(`^ {0,3}(#{1,6})[ \t]+(.*?)[ \t#]*$`)

// withRoom gives each heading below which nothing stands, such as the
// conclusion, a question and the block of its answer: what the student writes
// there is then an answer, and an empty sheet has room for it.
func withRoom(text, questions string) string {
	var b strings.Builder
	lines, fenced := strings.SplitAfter(text, "\n"), false
	for i, line := range lines {
		b.WriteString(line)
		if t := strings.TrimSpace(line); strings.HasPrefix(t, "```") || strings.HasPrefix(t, "~~~") {
			fenced = !fenced
		}
		m := headingLine.FindStringSubmatch(strings.TrimRight(line, "\n"))
		if m == nil || fenced || !isEmptyBelow(len(m[1]), lines[i+1:]) {
			continue
		}
		name := "your_" + strings.Join(strings.Fields(strings.ToLower(m[2])), "_")
		if record.IsName(name) && !strings.Contains(questions, "```question "+name) {
			fmt.Fprintf(&b, "\n```question %s\nIn your own words, from your own readings.\n```\n\n```answer %s\n```\n", name, name)
		}
	}
	return b.String()
}

// isEmptyBelow reports whether nothing stands below a heading of that level,
// whose following lines are rest.
func isEmptyBelow(level int, rest []string) bool {
	for _, line := range rest {
		if strings.TrimSpace(line) == "" {
			continue
		}
		m := headingLine.FindStringSubmatch(strings.TrimRight(line, "\n"))
		return m != nil && len(m[1]) <= level
	}
	return true
}
