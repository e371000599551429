package variant

import (
	"strings"
	"testing"
)

// TestWithRoom: an empty heading gets a question and its answer; one with text,
// a part or a deeper heading below it does not, nor what stands in a block.
func TestWithRoom(t *testing.T) {
	const text = "# Aim\nTo find.\n\n# Parts\n## First\n\n## Second\nText.\n\n```calc\n# note\n# end\n```\n\n# Conclusion\n\n# Own\n"
	got := withRoom(text, "```question your_own marks=2\n")
	want := strings.Replace(text, "## First\n", "## First\n"+"\n```question your_first\nIn your own words, from your own readings.\n```\n\n```answer your_first\n```\n", 1)
	want = strings.Replace(want, "# Conclusion\n", "# Conclusion\n"+"\n```question your_conclusion\nIn your own words, from your own readings.\n```\n\n```answer your_conclusion\n```\n", 1)
	if got != want {
		t.Errorf("got\n%s\nnot\n%s", got, want)
	}
}
