package editor

import (
	"testing"

	"example.org/taut/engine/source"
)

// The cases are counted by hand: “µ” has 2 bytes and 1 unit of UTF-16, “𝑑”
// (U+1D451) 4 bytes and 2 units.
func TestPositions(t *testing.T) {
	f := source.NewFile("r.md", []byte("aµ𝑑z\r\n\nend"))
	for _, c := range []struct {
		offset int
		want8  position
		want16 position
	}{
		{0, position{0, 0}, position{0, 0}},
		{1, position{0, 1}, position{0, 1}},
		{3, position{0, 3}, position{0, 2}},
		{7, position{0, 7}, position{0, 4}},
		{8, position{0, 8}, position{0, 5}},
		{10, position{1, 0}, position{1, 0}},
		{11, position{2, 0}, position{2, 0}},
		{14, position{2, 3}, position{2, 3}},
	} {
		if got := positionOf(f, c.offset, utf8Units); got != c.want8 {
			t.Errorf("offset %d is %v in UTF-8, not %v", c.offset, got, c.want8)
		}
		if got := positionOf(f, c.offset, utf16Units); got != c.want16 {
			t.Errorf("offset %d is %v in UTF-16, not %v", c.offset, got, c.want16)
		}
		for _, e := range []string{utf8Units, utf16Units} {
			if got := offsetOf(f, positionOf(f, c.offset, e), e); got != c.offset {
				t.Errorf("offset %d comes back as %d in %s", c.offset, got, e)
			}
		}
	}
	for _, p := range []position{{0, 99}, {0, 5}} {
		if got := offsetOf(f, p, utf16Units); got != 8 {
			t.Errorf("%v is offset %d, not the end of its line", p, got)
		}
	}
	for _, p := range []position{{9, 9}, {2, 50}} {
		if got := offsetOf(f, p, utf16Units); got != len(f.Text) {
			t.Errorf("%v is offset %d, not the end of the text", p, got)
		}
	}
	if got := offsetOf(f, position{-1, -5}, utf16Units); got != 0 {
		t.Errorf("a position before the text is offset %d", got)
	}
}

func TestWordAt(t *testing.T) {
	f := source.NewFile("r.md", []byte("E = 4*line.slope of @screw and d_1. Æ"))
	for _, c := range []struct {
		offset int
		want   string
	}{
		{0, "E"}, {1, "E"}, {2, ""}, {7, "line.slope"}, {12, "line.slope"}, {16, "line.slope"}, {22, "@screw"}, {33, "d_1"}, {38, "Æ"},
	} {
		if got := wordAt(f, c.offset, "").Text(); got != c.want {
			t.Errorf("at %d stands %q, not %q", c.offset, got, c.want)
		}
	}
}

func TestPaths(t *testing.T) {
	for uri, want := range map[string]string{
		"file:///no-such/a%20b/w%C3%A4gung.md": "/no-such/a b/wägung.md",
		"untitled:Untitled-1":                  "",
		"file://":                              "",
		"https://example.org/a.md":             "",
		"%zz":                                  "",
	} {
		got := pathOf(uri)
		if got != want {
			t.Errorf("%s is %q, not %q", uri, got, want)
		}
		if got != "" && pathOf(uriOf(got)) != got {
			t.Errorf("%s does not come back from %s", got, uriOf(got))
		}
	}
}
