// Package themes holds the looks that are built in: a folder each, of styles
// over those that all themes share. Adding a theme is adding a folder.
package themes

import (
	"embed"
	"fmt"
	"io/fs"
	"strings"

	"example.org/taut/engine/page"
)

//go:embed */*
var files embed.FS

// Default is the name of the theme that is used where none is named.
const Default = "bench"

// FS returns the folders of all built-in themes.
func FS() fs.FS { return files }

// Names returns the names of the built-in themes, sorted.
func Names() []string {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		if e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return names
}

// Load returns the built-in theme of that name; "" is the default theme. The
// error for an unknown name says which there are.
func Load(name string) (*page.Theme, error) {
	if name == "" {
		name = Default
	}
	names := Names()
	for _, n := range names {
		if n == name {
			sub, err := fs.Sub(files, name)
			if err != nil {
				return nil, err
			}
			return page.LoadTheme(sub)
		}
	}
	return nil, fmt.Errorf("no theme %q; there is %s", name, strings.Join(names, ", "))
}
