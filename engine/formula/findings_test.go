package formula

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"example.org/taut/engine/finding"
	"example.org/taut/engine/source"
)

var update = flag.Bool("update", false, "rewrite testdata/findings.txt")

// readers are the entry points by the heading of their section.
var readers = map[string]func(source.Span, *finding.Set){
	"expression": func(s source.Span, set *finding.Set) { ParseExpr(s, set) },
	"statement":  func(s source.Span, set *finding.Set) { ParseStatements(s, set) },
	"binding":    func(s source.Span, set *finding.Set) { ParseBindings(s, set) },
	"condition":  func(s source.Span, set *finding.Set) { ParseConditions(s, set) },
	"insert":     func(s source.Span, set *finding.Set) { ParseInsert(s, false, set) },
	"claim":      func(s source.Span, set *finding.Set) { ParseInsert(s, true, set) },
	"literal":    func(s source.Span, set *finding.Set) { ParseLiteral(s, false, set) },
	"cell":       func(s source.Span, set *finding.Set) { ParseLiteral(s, true, set) },
	"limit":      func(s source.Span, set *finding.Set) { ParseLimit(s, set) },
	"unit":       func(s source.Span, set *finding.Set) { parseUnit(s, set) },
}

// TestFindings reads testdata/findings.txt: under the heading of an entry
// point, lines "> text" and below each the findings, with carets at their
// place. Inside the text, \uXXXX and \xXX stand for what cannot be seen.
func TestFindings(t *testing.T) {
	const file = "testdata/findings.txt"
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	section := ""
	seen := map[string]bool{}
	for _, line := range strings.Split(strings.TrimSuffix(string(want), "\n"), "\n") {
		switch {
		case strings.HasPrefix(line, "== "):
			section = line[3:]
			fmt.Fprintln(&out, line)
		case strings.HasPrefix(line, ">"):
			fmt.Fprintln(&out, line)
			text := unescape(t, strings.TrimPrefix(line[1:], " "))
			var set finding.Set
			readers[section](whole(text), &set)
			if set.Len() == 0 {
				t.Errorf("%s: no finding in %q", section, text)
			}
			for _, f := range set.Sorted() {
				seen[f.Slug] = true
				before := utf8.RuneCountInString(text[:f.At.Start])
				fmt.Fprintf(&out, "  %s%s %s: %s: %s\n", strings.Repeat(" ", before),
					strings.Repeat("^", max(1, utf8.RuneCountInString(f.At.Text()))), f.Severity, f.Slug, f.Full())
				if f.Hint == "" {
					t.Errorf("%q: %s has no hint", text, f.Slug)
				}
			}
		case line == "" || line[0] == '#':
			fmt.Fprintln(&out, line)
		}
	}
	if *update {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	a, b := strings.Split(out.String(), "\n"), strings.Split(string(want), "\n")
	for i := 0; i < max(len(a), len(b)); i++ {
		x, y := "", ""
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if x != y {
			t.Fatalf("findings.txt:%d\n got %s\nwant %s", i+1, x, y)
		}
	}
	for _, slug := range declaredSlugs(t) {
		if !seen[slug] && slug != "nesting" && slug != "length" {
			t.Errorf("no case makes the finding %s", slug)
		}
	}
}

// declaredSlugs reads the slugs out of the files that declare the findings.
func declaredSlugs(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, file := range []string{"findings.go", "findings_unit.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, call := range []string{`failure(at, "`, `failure(gap, "`, `caution(at, "`, `failure(at.Sub(0, 1), "`} {
			for _, part := range strings.Split(string(text), call)[1:] {
				slug, _, _ := strings.Cut(part, `"`)
				out = append(out, slug)
			}
		}
	}
	if len(out) < 50 {
		t.Fatalf("only %d slugs found", len(out))
	}
	return out
}

func unescape(t *testing.T, s string) string {
	t.Helper()
	var b strings.Builder
	for i := 0; i < len(s); {
		n := map[bool]int{strings.HasPrefix(s[i:], `\u`): 6, strings.HasPrefix(s[i:], `\x`): 4}[true]
		if n == 0 {
			b.WriteByte(s[i])
			i++
			continue
		}
		var v int
		if _, err := fmt.Sscanf(s[i+2:i+n], "%x", &v); err != nil {
			t.Fatal(err)
		}
		if n == 6 {
			b.WriteRune(rune(v))
		} else {
			b.WriteByte(byte(v))
		}
		i += n
	}
	return b.String()
}

func TestDepthAndLength(t *testing.T) {
	for _, c := range []struct{ text, slug string }{
		{strings.Repeat("(", 201) + "a" + strings.Repeat(")", 201), "nesting"},
		{strings.Repeat("-", 201) + "a", "nesting"},
		{strings.Repeat("√", 201) + "a", "nesting"},
		{strings.Repeat("not ", 201) + "a", "nesting"},
		{strings.Repeat("a^", 201) + "a", "nesting"},
		{strings.Repeat("f(", 201) + "a" + strings.Repeat(")", 201), "nesting"},
		{strings.Repeat("a+", 5000) + "a", "length"},
		{strings.Repeat("(", 1000000), "length"},
		{strings.Repeat("(", 150) + "a" + strings.Repeat(")", 150), ""},
		{strings.Repeat("a+", 4999) + "a", ""},
	} {
		var set finding.Set
		e := ParseExpr(whole(c.text), &set)
		got := ""
		if set.Len() > 0 {
			got = set.Sorted()[0].Slug
		}
		if _, bad := e.(*Bad); got != c.slug || bad != (c.slug != "") {
			t.Errorf("%.20s…: got %q, want %q", c.text, got, c.slug)
		}
	}
}
