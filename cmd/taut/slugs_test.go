package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// findingMakers are the functions that are given a slug: it is the last text
// of the form of one among their first two arguments.
var findingMakers = []string{"errorAt", "cautionAt", "noteAt", "Fail", "failure", "caution", "fault", "complain", "say", "remark", "refusal"}

// allSlugs lists the slugs that the program can make: strings behind `Slug:`,
// what is assigned to it, and what the functions that make findings are
// given, and constants.
func allSlugs(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("../../engine/*/*.go")
	if err != nil {
		t.Fatal(err)
	}
	more, err := filepath.Glob("../../blocks/*.go")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	add := func(e ast.Expr) {
		if l, ok := e.(*ast.BasicLit); ok && l.Kind == token.STRING {
			if s, err := strconv.Unquote(l.Value); err == nil && slugForm.MatchString(s) {
				out = append(out, s)
			}
		}
	}
	for _, file := range append(files, more...) {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.KeyValueExpr:
				if k, ok := n.Key.(*ast.Ident); ok && k.Name == "Slug" {
					add(n.Value)
				}
			case *ast.ValueSpec:
				for i, name := range n.Names {
					if strings.HasPrefix(name.Name, "slug") && i < len(n.Values) {
						add(n.Values[i])
					}
				}
			case *ast.AssignStmt:
				for i, to := range n.Lhs {
					if field, ok := to.(*ast.SelectorExpr); ok && field.Sel.Name == "Slug" && len(n.Rhs) == len(n.Lhs) {
						add(n.Rhs[i])
					}
				}
			case *ast.CallExpr:
				if slices.Contains(findingMakers, called(n)) && len(n.Args) > 2 {
					had := len(out)
					add(n.Args[0])
					add(n.Args[1])
					out = slices.Delete(out, had, max(had, len(out)-1)) // a path may stand first
				}
			}
			return true
		})
	}
	slices.Sort(out)
	return slices.Compact(out)
}

var slugForm = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

func called(c *ast.CallExpr) string {
	switch f := c.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}
