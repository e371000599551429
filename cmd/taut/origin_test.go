package main

import (
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/taut/engine/view"
)

// row is an entry of the table of quantities: the IDs to which its definition
// leads, and those to which what uses it does.
type row struct{ from, to []string }

// links reads a page: the IDs on it, its links to them, and its entries.
func links(t *testing.T, page []byte) (ids map[string]bool, refs []string, entries map[string]*row) {
	t.Helper()
	ids, entries = map[string]bool{}, map[string]*row{}
	d := xml.NewDecoder(strings.NewReader(string(page)))
	d.Entity = xml.HTMLEntity
	var entry *row
	cell := 0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return ids, refs, entries
		}
		if err != nil {
			t.Fatal(err)
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		at := map[string]string{}
		for _, a := range e.Attr {
			at[a.Name.Local] = a.Value
		}
		if id := at["id"]; id != "" {
			ids[id] = true
		}
		switch e.Name.Local {
		case "tr":
			entry, cell = nil, 0
			if strings.HasPrefix(at["id"], "q-") {
				entry = &row{}
				entries[at["id"]] = entry
			}
		case "td":
			cell++
		case "a":
			to, ok := strings.CutPrefix(at["href"], "#")
			if !ok {
				continue
			}
			refs = append(refs, to)
			switch {
			case entry != nil && cell == 2:
				entry.from = append(entry.from, to)
			case entry != nil && cell == 4:
				entry.to = append(entry.to, to)
			}
		}
	}
}

// unprinted are the lines of a record within blocks that have `print=no`.
func unprinted(t *testing.T, path string) map[int]bool {
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	out, inside := map[int]bool{}, false
	for i, line := range strings.Split(string(text), "\n") {
		if strings.HasPrefix(line, "```") {
			inside = strings.Contains(line, " print=no")
		}
		if inside {
			out[i+1] = true
		}
	}
	return out
}

// TestOrigins: on every page every link leads somewhere; every value of the
// results file has an entry; whatever a definition names leads back to it.
func TestOrigins(t *testing.T) {
	for _, path := range examplePaths(t) {
		for _, v := range []view.View{view.AsRecord, view.AsWorked} {
			out := viewOf(t, path, v)
			ids, refs, entries := links(t, out.HTML)
			for _, r := range refs {
				if !ids[r] {
					t.Errorf("%s, %s: a link to #%s, which is not there", path, v, r)
				}
			}
			silent := unprinted(t, path)
			for name, value := range out.Results.Values {
				if silent[value.Line] && !strings.Contains(name, ".") {
					continue // `print=no`: its author has nothing printed of it
				}
				if id := "q-" + strings.ReplaceAll(name, ".", "-"); entries[id] == nil && entries[id[:max(strings.LastIndexByte(id, '-'), 0)]] == nil {
					t.Errorf("%s, %s: %s has no entry", path, v, name)
				}
			}
			for id, e := range entries {
				for _, from := range e.from {
					if entries[from] == nil || !contains(entries[from].to, id) {
						t.Errorf("%s, %s: #%s rests on #%s, which does not lead back", path, v, id, from)
					}
				}
			}
		}
	}
}

// TestFollowedDown: from the result of the main example the entries lead down
// to readings and instruments.
func TestFollowedDown(t *testing.T) {
	_, _, entries := links(t, viewOf(t, filepath.FromSlash("../../examples/steel-wire/record.md"), view.AsRecord).HTML)
	seen := map[string]bool{}
	var follow func(id string)
	follow = func(id string) {
		if !seen[id] && entries[id] != nil {
			seen[id] = true
			for _, from := range entries[id].from {
				follow(from)
			}
		}
	}
	follow("q-young-E")
	for _, want := range []string{"q-young-line", "q-pull-up", "q-wire-across", "q-length-l", "q-@screw", "q-@gauge", "q-@tape", "q-@weights"} {
		if !seen[want] {
			t.Errorf("#%s is not reached", want)
		}
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
