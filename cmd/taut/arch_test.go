package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "example.org/taut/"

// packageOrder is the package map: each package of the engine may import those
// before it only. To add a package, give it its place here.
var packageOrder = []string{
	"engine/source", "engine/finding", "engine/unit", "engine/quantity", "engine/stat", "engine/fit", "engine/instrument",
	"engine/formula", "engine/record", "engine/graph", "engine/eval", "engine/trial", "engine/budget", "engine/view",
	"engine/block", "engine/method", "engine/tex", "engine/draw", "engine/page", "engine/results", "engine/build",
	"engine/plaintext", "engine/archive", "engine/variant", "engine/plan", "engine/pdf", "engine/preview", "engine/editor",
}

// libraries tells which packages may use which modules; only tests may use
// any other.
var libraries = map[string][]string{
	"github.com/yuin/goldmark":        {"engine/record", "engine/view", "engine/block", "engine/method", "engine/page", "engine/plaintext", "engine/build", "blocks"},
	"gopkg.in/yaml.v3":                {"engine/record"},
	"gonum.org/v1/gonum":              {"engine/stat", "engine/fit"},
	"gonum.org/v1/plot":               {"engine/draw"},
	"golang.org/x/image":              {"engine/draw"},
	"github.com/spf13/cobra":          {"cmd/taut"},
	"github.com/spf13/pflag":          {"cmd/taut"},
	"github.com/fsnotify/fsnotify":    {"engine/preview"},
	"github.com/chromedp/chromedp":    {"engine/internal/browser"},
	"github.com/chromedp/cdproto":     {"engine/internal/browser"},
	"github.com/sourcegraph/jsonrpc2": {"engine/editor"},
	"golang.org/x/text":               {"engine/formula", "engine/record", "engine/block", "engine/method", "engine/archive", "blocks"},
}

// TestImports reads every import of the repository and holds it to the
// package map.
func TestImports(t *testing.T) {
	place := map[string]int{}
	for i, p := range packageOrder {
		place[p] = i
	}
	checked := 0
	for _, im := range imports(t) {
		checked++
		if why := forbidden(im.from, im.to, place); why != "" {
			t.Errorf("%s imports %s: %s", im.file, im.to, why)
		}
	}
	if checked < 100 {
		t.Errorf("only %d imports were found: is this the repository?", checked)
	}
}

// forbidden says why one package may not import another, "" if it may.
func forbidden(from, to string, place map[string]int) string {
	own, isOwn := strings.CutPrefix(to, module)
	if !isOwn {
		return library(from, to)
	}
	limit, inEngine := place[from]
	switch {
	case from == "cmd/taut", strings.HasPrefix(from, "examples/"): // a program that makes an example
		return ""
	case strings.HasPrefix(from, "engine/internal/"):
		if !strings.HasPrefix(own, "engine/internal/") {
			return "a small helper uses no package of the engine"
		}
		return ""
	case strings.HasPrefix(own, "engine/internal/") && inEngine:
		return ""
	case from == "blocks":
		limit = place["engine/method"] + 1
	case from == "themes":
		if own != "engine/page" {
			return "a theme is for pages"
		}
		return ""
	case !inEngine:
		return from + " has no place in the package map"
	}
	at, known := place[own]
	switch {
	case !known:
		return "it is not a package that " + from + " may know"
	case at >= limit:
		return "it stands behind " + from + " in the package map"
	}
	return ""
}

func library(from, to string) string {
	if !strings.Contains(strings.Split(to, "/")[0], ".") {
		return "" // of Go itself
	}
	for lib, users := range libraries {
		if to != lib && !strings.HasPrefix(to, lib+"/") {
			continue
		}
		for _, u := range users {
			if u == from {
				return ""
			}
		}
		return from + " is not among the users of that library"
	}
	return "this library is not one of the program's"
}

// TestForbidden holds the check itself to what it should refuse.
func TestForbidden(t *testing.T) {
	place := map[string]int{}
	for i, p := range packageOrder {
		place[p] = i
	}
	for _, c := range []struct {
		from, to string
		ok       bool
	}{
		{"engine/eval", module + "engine/graph", true},
		{"engine/graph", module + "engine/eval", false},
		{"engine/eval", module + "engine/eval", false},
		{"engine/eval", module + "engine/internal/near", true},
		{"engine/internal/near", module + "engine/finding", false},
		{"engine/build", module + "blocks", false},
		{"engine/new", module + "engine/source", false},
		{"blocks", module + "engine/method", true},
		{"blocks", module + "engine/page", false},
		{"blocks", module + "engine/build", false},
		{"blocks", module + "cmd/taut", false},
		{"themes", module + "engine/draw", false},
		{"cmd/taut", module + "themes", true},
		{"engine/eval", "math", true},
		{"engine/eval", "gopkg.in/yaml.v3", false},
		{"engine/record", "gopkg.in/yaml.v3", true},
		{"engine/page", "github.com/yuin/goldmark/ast", true},
		{"engine/page", "github.com/other/thing", false},
	} {
		if why := forbidden(c.from, c.to, place); (why == "") != c.ok {
			t.Errorf("%s imports %s: allowed is %v, %q", c.from, c.to, !c.ok, why)
		}
	}
}

type imported struct{ file, from, to string }

// imports lists the imports of all files that are not tests.
func imports(t *testing.T) []imported {
	t.Helper()
	root := filepath.Join("..", "..")
	var out []imported
	err := filepath.WalkDir(root, func(p string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() {
			if name := e.Name(); p != root && (strings.HasPrefix(name, ".") || name == "testdata") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(p, ".go") || strings.HasSuffix(p, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), p, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		file := filepath.ToSlash(rel)
		for _, s := range f.Imports {
			to, err := strconv.Unquote(s.Path.Value)
			if err != nil {
				return err
			}
			out = append(out, imported{file, path.Dir(file), to})
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
